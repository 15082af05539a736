"""Repeat parts: where they lie, what locates them, the work offset of each, and how closely they come back."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillstock.answers.positions_faults import check_fits, check_request
from stillstock.answers.positions_request import PositionsRequest
from stillstock.answers.positions_words import cautions, summary
from stillstock.engine.positions.fit import Fit, limits
from stillstock.engine.positions.layout import Room, rooms
from stillstock.engine.positions.location import Locator, Stack, Term, locator_terms, shift_term, stacked
from stillstock.engine.positions.request import Dowels, Height, Lines, Refer, Stops
from stillstock.engine.positions.stops import dowel_locators, stop_locators
from stillstock.engine.positions.two_sided import Way, flipped_corner, ways
from stillstock.engine.program.modal_state import OFFSET_WORDS
from stillstock.engine.set_up import FloatArray
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["Offset", "Place", "PositionsAnswer", "ReSeat", "positions"]

Corner = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Offset:
    """A work offset: its word, its number for G10, and its zero in the machine, or from the table's zero. [m]"""

    word: str
    number: int
    machine: tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where one part lies.

    Attributes
    ----------
    column, row : int
        From the front left, from 1. [-]
    loading : int
        The loading of the table in which its offset is set, from 1. [-]
    corner : (2,) tuple
        Its lower corner on the table. [m]
    locators : tuple of (2,) tuples
        Middles of stops or dowels, or where lines touch. [m]
    front : Offset
    back : Offset or None
        Once it is turned over.
    """

    column: int
    row: int
    loading: int
    corner: Corner
    locators: tuple[Corner, ...]
    front: Offset
    back: Offset | None


@dataclass(frozen=True, kw_only=True)
class ReSeat:
    """How closely a part comes back.

    Attributes
    ----------
    terms : tuple of Term
        In the plane, at the part's corners.
    plan : Stack
    at : (2,) tuple
        The corner at which it is worst, in the part. [m]
    height_terms : tuple of Term
    height : Stack
    sides : (2,) tuple or None
        Root of the sum of squares, and worst, of one side against the other. [m]
    """

    terms: tuple[Term, ...]
    plan: Stack
    at: Corner
    height_terms: tuple[Term, ...]
    height: Stack
    sides: tuple[float, float] | None


@dataclass(frozen=True, kw_only=True)
class PositionsAnswer:
    """All that is to be said of a batch.

    Attributes
    ----------
    asked : PositionsRequest
    summary : str
    room : Room
    turned : int
        How many would lie on the table turned by a quarter. [-]
    places : tuple of Place
    loadings, fills : int
        Offset loadings of one full table, and full tables for the batch. [-]
    re_seat : ReSeat
    meets : str
        ``always``, ``usually``, ``no``, or empty if nothing was asked.
    fits : tuple of Fit
        Of the dowels.
    ways : tuple of Way
        In which a part goes onto its dowels.
    assumptions : tuple of Triple
    cautions : tuple of str
    """

    asked: PositionsRequest
    summary: str
    room: Room
    turned: int
    places: tuple[Place, ...]
    loadings: int
    fills: int
    re_seat: ReSeat
    meets: str
    fits: tuple[Fit, ...]
    ways: tuple[Way, ...]
    assumptions: tuple[Triple, ...]
    cautions: tuple[str, ...]


def positions(asked: PositionsRequest, tables: Tables) -> PositionsAnswer:
    """Return the places of a batch.

    Raises
    ------
    ImpossibleSetUp
        If not one part fits, or what locates it cannot.
    TooMuchWork
        If there would be more places than the limit.
    """
    check_request(asked, tables)
    room = _room(asked)
    check_fits(asked, room)
    fits = _fits(asked, tables)
    re_seat, assumptions = _re_seat(asked, room, fits, tables)
    places = tuple(_place(asked, room, number) for number in range(min(room.count, asked.count or room.count)))
    if asked.loading > places[-1].loading:
        detail = f"the offsets of these places take {places[-1].loading} loadings; there is no loading {asked.loading}"
        raise ImpossibleSetUp(
            [Fault(pointer="/loading", code="range", detail=detail, limit=places[-1].loading, seen=asked.loading)]
        )
    meets = _meets(re_seat, asked.tolerance)
    dowels = asked.locating if isinstance(asked.locating, Dowels) else None
    every_way = () if dowels is None else ways(dowels.at, dowels.diameters)
    return PositionsAnswer(
        asked=asked,
        summary=summary(asked, room, len(places), re_seat.plan, meets),
        room=room,
        turned=_room(_turned(asked)).count,
        places=places,
        loadings=places[-1].loading,
        fills=math.ceil((asked.count or len(places)) / len(places)),
        re_seat=re_seat,
        meets=meets,
        fits=fits,
        ways=every_way,
        assumptions=assumptions,
        cautions=cautions(asked, fits, every_way, re_seat.terms),
    )


def _room(asked: PositionsRequest) -> Room:
    return rooms(asked.part, asked.table, asked.locating, pattern=asked.pattern, gap=asked.gap, overrun=asked.overrun)


def _turned(asked: PositionsRequest) -> PositionsRequest:
    """Return the same with the part turned by a quarter."""
    (x, y, z), locating = asked.part.size, asked.locating
    if isinstance(locating, Dowels):
        first, second = locating.at
        locating = replace(locating, at=((y - first[1], first[0]), (y - second[1], second[0])))
    return replace(asked, part=replace(asked.part, size=(y, x, z)), locating=locating)


def _fits(asked: PositionsRequest, tables: Tables) -> tuple[Fit, ...]:
    dowels = asked.locating
    if not isinstance(dowels, Dowels) or dowels.fit is None:
        return ()
    return tuple(limits(dowels.fit, diameter=diameter, tables=tables) for diameter in dowels.diameters)


def _place(asked: PositionsRequest, room: Room, number: int) -> Place:
    dowels = asked.locating if isinstance(asked.locating, Dowels) else None
    corner = room.corner(number)
    flip = dowels.flip if dowels else None
    sides = 2 if flip else 1
    loading, slot = divmod(number, asked.offsets.count // sides)
    row, column = divmod(number, room.x.count)
    back = None if flip is None else flipped_corner(corner, asked.part.size, flip)
    return Place(
        column=column + 1,
        row=row + 1,
        loading=loading + 1,
        corner=corner,
        locators=_middles(asked, corner),
        front=_offset(asked, corner, slot * sides),
        back=None if back is None else _offset(asked, back, slot * sides + 1),
    )


def _offset(asked: PositionsRequest, corner: Corner, slot: int) -> Offset:
    x, y, z = asked.offsets.machine or (0.0, 0.0, 0.0)
    top = asked.part.size[2] if asked.offsets.height is Height.STOCK_TOP else 0.0
    return Offset(word=OFFSET_WORDS[slot], number=slot + 1, machine=(x + corner[0], y + corner[1], z + top))


def _middles(asked: PositionsRequest, corner: Corner) -> tuple[Corner, ...]:
    """Return the middles of what locates a part. [m]"""
    if isinstance(asked.locating, Dowels):
        return tuple((corner[0] + x, corner[1] + y) for x, y in asked.locating.at)
    radius = _radius(asked)
    return tuple(
        (one.at[0] - radius * one.normal[0], one.at[1] - radius * one.normal[1]) for one in _stops(asked, corner)
    )


def _radius(asked: PositionsRequest) -> float:
    return asked.locating.diameter / 2.0 if isinstance(asked.locating, Stops) else 0.0


def _stops(asked: PositionsRequest, corner: Corner) -> tuple[Locator, ...]:
    found = stop_locators(asked.part, corner, radius=_radius(asked), pattern=asked.pattern)
    if found is None:
        detail = "the pattern has no two places along the longer edge and one along the shorter for the stops to stand"
        raise ImpossibleSetUp([Fault(pointer="/pattern/pitch", code="too_coarse", detail=detail)])
    return found


def _re_seat(
    asked: PositionsRequest, room: Room, fits: Sequence[Fit], tables: Tables
) -> tuple[ReSeat, tuple[Triple, ...]]:
    part, corner = asked.part, room.corner(0)
    corners = np.array([(x, y) for y in (0.0, part.size[1]) for x in (0.0, part.size[0])])
    if isinstance(asked.locating, Dowels):
        terms, assumptions = _dowel_terms(asked.locating, corners, fits, tables)
    else:
        stops = _stops(asked, corner)
        terms, assumptions = _stop_terms(asked.locating, asked.part.edge, corners + corner, stops, tables=tables)
    heights = _height_terms(asked)
    seat = stacked(terms)
    terms = (*terms, *_size_terms(asked, corners))
    plan = stacked(terms)
    turned_over = isinstance(asked.locating, Dowels) and asked.locating.flip is not None
    return ReSeat(
        terms=terms,
        plan=plan,
        at=(float(corners[plan.at, 0]), float(corners[plan.at, 1])),
        height_terms=heights,
        height=stacked(heights),
        # Both seats are off by as much, each by itself; the size of the blank is the same on both.
        sides=(math.sqrt(2.0) * seat.rss, 2.0 * seat.worst) if turned_over else None,
    ), assumptions


def _stop_terms(
    locating: Stops | Lines, edge: float, corners: FloatArray, locators: Sequence[Locator], *, tables: Tables
) -> tuple[tuple[Term, ...], tuple[Triple, ...]]:
    by_stops = isinstance(locating, Stops)
    usual = tables.value("practice", "fence" if by_stops else "grid_line", "repeatability")
    error = usual.high if locating.error is None else locating.error
    what = "stop" if by_stops else "line"
    names = [f"{what} {number}" for number in (1, 2, 3)]
    terms = locator_terms(locators, corners, names=[f"seat on {name}" for name in names], amounts=[error] * 3)
    if edge > 0.0:
        edges = [f"edge of the blank at {name}" for name in names]
        terms += locator_terms(locators, corners, names=edges, amounts=[edge] * 3)
    return terms, (usual,) if locating.error is None else ()


def _dowel_terms(
    dowels: Dowels, corners: FloatArray, fits: Sequence[Fit], tables: Tables
) -> tuple[tuple[Term, ...], tuple[Triple, ...]]:
    locators = dowel_locators(dowels)
    greatest = [fit.play[1] for fit in fits] or [(dowels.play or (0.0, 0.0))[1]] * 2
    first, second = (max(0.0, play) / 2.0 for play in greatest)
    usual = tables.value("practice", "router", "repeatability")
    hole = usual.high if dowels.hole_error is None else dowels.hole_error
    directions = ("dowel 1, along their line", "dowel 1, across it", "dowel 2, across it")
    terms = locator_terms(
        locators, corners, names=[f"play on {name}" for name in directions], amounts=(first, first, second)
    )
    terms += locator_terms(
        locators, corners, names=[f"place of the hole of {name}" for name in directions], amounts=[hole] * 3
    )
    return terms, (usual,) if dowels.hole_error is None else ()


def _size_terms(asked: PositionsRequest, corners: FloatArray) -> tuple[Term, ...]:
    """Return what blanks of different size do where the cut must sit in their middle."""
    if asked.refer is Refer.LOCATORS:
        return ()
    x, y = (tolerance / 2.0 for tolerance in asked.part.tolerance)
    return (
        shift_term("size of the blank along x, half of it", (x, 0.0), corners),
        shift_term("size of the blank along y, half of it", (0.0, y), corners),
    )


def _height_terms(asked: PositionsRequest) -> tuple[Term, ...]:
    one = np.zeros((1, 2))
    terms: tuple[Term, ...] = (shift_term("flatness of the table", (asked.table.flatness, 0.0), one),)
    if asked.offsets.height is Height.STOCK_TOP:
        terms += (shift_term("thickness of the blank", (asked.part.thickness_tolerance, 0.0), one),)
    return terms


def _meets(re_seat: ReSeat, tolerance: float | None) -> str:
    if tolerance is None:
        return ""
    rss, worst = re_seat.sides or (0.0, 0.0)
    if max(worst, re_seat.plan.worst, re_seat.height.worst) <= tolerance:
        return "always"
    return "usually" if max(rss, re_seat.plan.rss, re_seat.height.rss) <= tolerance else "no"
