"""What the program leaves standing between a part and its sheet: tabs and skins."""

import math

import shapely

from stillstock.answers.placing.ground import Ground, Layout, NoPlace, Piece
from stillstock.answers.placing.growth import Tries
from stillstock.answers.shop import Entry
from stillstock.engine.holding.tab_places import tab_places
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
    """Return tabs evenly round an outline, away from its corners. [m]"""
    return [
        ground.piece(
            entry,
            {"at": ground.point((x, y)), "angle": ground.snap(angle, "angle"), **_kerf(ground, entry, number)},
            part=number,
        )
        for x, y, angle in tab_places(outline, count)
    ]


def _kerf(ground: Ground, entry: Entry, number: int) -> dict[str, float]:
    """Return the width that tabs or a skin span: the freeing tool's, unless the shop states another. [m]"""
    tool = ground.set_up.tools.get(ground.freed[number])
    return {} if "kerf" in entry.pattern or tool is None else {"kerf": ground.snap(tool.diameter)}


def skins(ground: Ground, entry: Entry, taken: Layout) -> Tries:  # noqa: ARG001
    """Yield a skin under each part that comes free."""
    yield tuple(ground.piece(entry, _kerf(ground, entry, number), part=number) for number, _ in _loose(ground))
