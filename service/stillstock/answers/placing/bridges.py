"""What the program leaves standing between a part and its sheet: tabs and skins."""

import math

import numpy as np
import shapely

from stillstock.answers.placing.ground import Ground, Layout, NoPlace, Piece
from stillstock.answers.placing.growth import Tries
from stillstock.answers.shop import Entry
from stillstock.engine.set_up import FloatArray, Part

__all__ = ["skins", "tabs"]

#: Distance between tabs, and least number of them on a part, so that no side can hinge; common practice, no source.
SPACING, LEAST = 0.15, 3

#: How often the number of tabs is doubled. [-]
DOUBLED = 2


def _loose(ground: Ground) -> list[tuple[int, Part]]:
    """Return the parts that come free and that nothing is stated to keep in the sheet."""
    parts = ground.set_up.parts
    found = [(number, parts[number]) for number in ground.freed if not parts[number].held_by]
    if not found:
        detail = "no part that is stated comes free: it would have nothing to hold"
        raise NoPlace("no_parts", detail, value=0.0, limit=1.0)
    return found


def tabs(ground: Ground, entry: Entry, taken: Layout) -> Tries:  # noqa: ARG001
    """Yield tabs round each part that comes free, then twice and four times as many."""
    loose = _loose(ground)
    for times in range(DOUBLED + 1):
        found: list[Piece] = []
        for number, part in loose:
            length = float(shapely.Polygon(part.outline).exterior.length)
            count = max(LEAST, math.ceil(length / SPACING)) * 2**times
            found += _round(ground, entry, number, part.outline, count)
        if not entry.enough(len(found)):
            if not times:
                detail = f"it takes {len(found)} of them, and the shop has {entry.count}"
                raise NoPlace("count", detail, value=float(entry.count or 0), limit=float(len(found)))
            return
        yield tuple(found)


def _round(ground: Ground, entry: Entry, number: int, outline: FloatArray, count: int) -> list[Piece]:
    """Return tabs evenly round an outline, moved off its corners. [m]"""
    corners = np.concatenate([outline, outline[:1]])
    sides = np.diff(corners, axis=0)
    lengths = np.hypot(*sides.T)
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    keep = entry.pattern["width"]
    found = []
    for station in (np.arange(count) + 0.5) * ends[-1] / count:
        side = min(int(np.searchsorted(ends, station, side="right")) - 1, len(sides) - 1)
        room = min(keep, lengths[side] / 2.0)
        along = float(np.clip(station - ends[side], room, lengths[side] - room))
        at = corners[side] + along * sides[side] / lengths[side]
        angle = math.atan2(sides[side][1], sides[side][0])
        members = {"at": ground.point(at), "angle": ground.snap(angle, "angle")}
        found.append(ground.piece(entry, members, part=number))
    return found


def skins(ground: Ground, entry: Entry, taken: Layout) -> Tries:  # noqa: ARG001
    """Yield a skin under each part that comes free."""
    yield tuple(ground.piece(entry, {}, part=number) for number, _ in _loose(ground))
