"""What cannot be in a request for repeat parts, all of it at once."""

import math
from collections.abc import Iterator

from stillstock.answers.positions_request import PositionsRequest
from stillstock.engine.positions.fit import LARGEST, limits
from stillstock.engine.positions.layout import Room, Row
from stillstock.engine.positions.request import Dowels, Stops
from stillstock.engine.positions.two_sided import ways
from stillstock.errors import Fault, ImpossibleSetUp, TooMuchWork
from stillstock.tables.load import Tables

__all__ = ["check_fits", "check_request"]

_NOISE = 1e-7  # [m]


def check_request(asked: PositionsRequest, tables: Tables) -> None:
    """Refuse what cannot be, whatever the room.

    Raises
    ------
    ImpossibleSetUp
        With every fault.
    """
    faults = [*_sizes(asked), *_dowel_faults(asked, tables), *_spaces(asked)]
    if faults:
        raise ImpossibleSetUp(faults)


def check_fits(asked: PositionsRequest, room: Room) -> None:
    """Refuse a table on which not one part lies within reach, and more places than the limit.

    Raises
    ------
    ImpossibleSetUp, TooMuchWork
    """
    faults = [_no_room(asked, row, axis) for axis, row in enumerate((room.x, room.y)) if not row.count]
    if faults:
        raise ImpossibleSetUp(faults)
    places = min(room.count, asked.count or room.count)
    if places > asked.most_places:
        detail = f"{room.count} parts lie on this table; one request may place {asked.most_places}: state a count"
        raise TooMuchWork(
            [Fault(pointer="/count", code="too_many_places", detail=detail, limit=asked.most_places, seen=places)]
        )


def _no_room(asked: PositionsRequest, row: Row, axis: int) -> Fault:
    along = "xy"[axis]
    detail = (
        f"not one part lies within table and reach along {along}: it is {asked.length(row.needs)} long, and what is "
        f"left beside stop and overrun is {asked.length(max(row.has, 0.0))}"
    )
    if row.has >= row.needs:
        detail = f"no place of the pattern lets a part lie within table and reach along {along}: shift or refine it"
    return Fault(
        pointer=f"/part/size/{axis}",
        code="does_not_fit",
        detail=detail,
        limit=asked.shown(max(row.has, 0.0)),
        seen=asked.shown(row.needs),
    )


def _sizes(asked: PositionsRequest) -> Iterator[Fault]:
    part = asked.part
    for axis in (0, 1):
        if 2.0 * part.tolerance[axis] >= part.size[axis]:
            detail = "a blank cannot differ by half of its own size"
            yield Fault(pointer="/part/tolerance", code="mismatch", detail=detail)
            return
    if part.thickness_tolerance >= part.size[2]:
        detail = "a blank cannot differ by its whole thickness"
        yield Fault(pointer="/part/thickness_tolerance", code="mismatch", detail=detail)


def _spaces(asked: PositionsRequest) -> Iterator[Fault]:
    if isinstance(asked.locating, Stops) and asked.gap < asked.locating.diameter:
        detail = f"stops of {asked.length(asked.locating.diameter)} stand between the parts: the gap must leave room"
        yield Fault(pointer="/gap", code="too_close", detail=detail)
    if asked.loading > 1 and asked.count is not None and asked.loading > asked.count:
        detail = "there are fewer parts than loadings"
        yield Fault(pointer="/loading", code="range", detail=detail, limit=asked.count, seen=asked.loading)


def _dowel_faults(asked: PositionsRequest, tables: Tables) -> Iterator[Fault]:
    dowels = asked.locating
    if not isinstance(dowels, Dowels):
        return
    size, where = asked.part.size, "/locate/at"
    for (x, y), diameter in zip(dowels.at, dowels.diameters, strict=True):
        room = min(x, y, size[0] - x, size[1] - y)
        if room < diameter / 2.0 - _NOISE:
            detail = "a dowel's hole must lie wholly within the part"
            yield Fault(pointer="/locate/inset" if dowels.flip else where, code="outside", detail=detail)
            return
    apart = math.dist(*dowels.at)
    if apart < sum(dowels.diameters):
        detail = f"the dowels stand {asked.length(apart)} apart: too close to each other to keep a part from turning"
        yield Fault(pointer="/locate", code="too_close", detail=detail)
        return
    yield from _fit_faults(asked, dowels, tables)
    yield from _pattern_faults(asked, dowels)
    yield from _flip_faults(asked, dowels)


def _fit_faults(asked: PositionsRequest, dowels: Dowels, tables: Tables) -> Iterator[Fault]:
    if dowels.fit is None:
        return
    if max(dowels.diameters) > LARGEST + _NOISE:
        detail = f"fits are known up to {asked.length(LARGEST)}; state the play instead"
        most, seen = asked.length(LARGEST), asked.length(max(dowels.diameters))
        yield Fault(pointer="/locate/diameter", code="range", detail=detail, limit=most, seen=seen)
        return
    plays = [limits(dowels.fit, diameter=size, tables=tables).play for size in dowels.diameters]
    if any(play[1] <= 0.0 for play in plays):
        detail = f"{dowels.fit} is a press fit even at its loosest: the part would not go on and off by hand"
        yield Fault(pointer="/locate/fit", code="press_fit", detail=detail)


def _pattern_faults(asked: PositionsRequest, dowels: Dowels) -> Iterator[Fault]:
    if asked.pattern is None:
        return
    for axis in (0, 1):
        apart = (dowels.at[1][axis] - dowels.at[0][axis]) / asked.pattern.pitch[axis]
        if abs(apart - round(apart)) * asked.pattern.pitch[axis] > 1e-5:
            detail = f"along {'xy'[axis]} the dowels do not stand a whole number of pitches apart"
            yield Fault(pointer="/locate", code="off_pattern", detail=detail)


def _flip_faults(asked: PositionsRequest, dowels: Dowels) -> Iterator[Fault]:
    if dowels.flip is None:
        return
    if len(ways(dowels.at, dowels.diameters)) > 2:
        detail = "like dowels let the part go on turned by half a turn: make the second one of another diameter"
        yield Fault(pointer="/locate/second", code="alike", detail=detail)
    if asked.offsets.count < 2:
        detail = "front and back take a work offset each"
        yield Fault(pointer="/offsets", code="range", detail=detail, limit=2, seen=asked.offsets.count)
