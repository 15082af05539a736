"""Screws, nails, bolts through the part's own holes, pins: on a grid over the stock, clear of the cutter."""

import numpy as np
import shapely

from stillstock.answers.placing.ground import Ground, Layout, NoPlace, Piece
from stillstock.answers.placing.growth import Tries, grown
from stillstock.answers.shop import Entry
from stillstock.engine.holding.candidate_places import inner_places
from stillstock.engine.mechanics import area

__all__ = ["bolts_in_holes", "dowel_pins", "nails", "screws"]

#: Places looked at, and how many of each are tried. Own judgement. [-]
LOOKED_AT = 160
SCREWS, NAILS, BOLTS = (4, 6, 9, 14, 22), (6, 12, 20, 32), (2, 3, 4, 6, 8)

#: Diameters that a screw keeps from the stock's edge, so as not to split it; common practice, no source. [-]
EDGE_DISTANCE = 4.0

#: What a nail and a pin keep from the stock's edge; common practice, no source. [m]
NAIL_EDGE, PIN_EDGE = 0.01, 0.012


def _waste(ground: Ground, *, inset: float) -> list[tuple[float, float]]:
    """Return places on a grid over the stock outside all parts that are stated. [m]"""
    places = inner_places(ground.set_up.stock, count=LOOKED_AT, inset=inset)
    parts = area.joined([part.outline for part in ground.set_up.parts])
    shapely.prepare(parts)
    return [ground.point(at) for at in places if not parts.intersects(shapely.Point(at))]


def _pool(ground: Ground, entry: Entry, places: list[tuple[float, float]], taken: Layout, what: str) -> list[Piece]:
    return ground.free([ground.piece(entry, {"at": at}) for at in places], taken=taken, what=what)


def screws(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield layouts of screws through waste, from four on."""
    diameter = float(entry.holder({"at": (0.0, 0.0)}).diameter)
    pool = _pool(ground, entry, _waste(ground, inset=EDGE_DISTANCE * diameter), taken, "screw")
    yield from grown(ground, pool, sizes=SCREWS, taken=taken, what="screw")


def nails(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield layouts of nails: two in each part that comes free, and from six on over the sheet."""
    within = [at for part in ground.set_up.parts for at in _two_inside(shapely.Polygon(part.outline))]
    inside = [ground.piece(entry, {"at": ground.point(at)}) for at in within]
    if not entry.enough(len(inside) + NAILS[0]):
        wanted = len(inside) + NAILS[0]
        detail = f"it takes {wanted} nails at the least, and the shop has {entry.count}"
        raise NoPlace("count", detail, value=float(entry.count or 0), limit=float(wanted))
    grid = [ground.point(at) for at in inner_places(ground.set_up.stock, count=LOOKED_AT, inset=NAIL_EDGE)]
    taken_up = shapely.MultiPoint([piece.at for piece in inside]).buffer(NAIL_EDGE)
    places = [at for at in grid if not taken_up.covers(shapely.Point(at))]
    pool = _pool(ground, entry, places, taken, "nail")
    spare = None if entry.count is None else entry.count - len(inside)
    sizes = [size for size in NAILS if spare is None or size <= spare]
    tries = grown(ground, pool, sizes=sizes, taken=taken, what="nail")
    layout = next(tries, None)
    while layout is not None:
        told = yield (*inside, *layout)
        try:
            layout = tries.send(told)
        except StopIteration:
            return


def _two_inside(part: shapely.Polygon) -> list[tuple[float, float]]:
    """Return two places well within a part, far from each other. [m]"""
    middle = part.representative_point()
    box = part.minimum_rotated_rectangle
    corners = np.asarray(box.exterior.coords)[:4]
    sides = np.roll(corners, -1, axis=0) - corners
    along = sides[int(np.argmax(np.hypot(*sides.T)))] / 4.0
    found = [(middle.x + sign * along[0], middle.y + sign * along[1]) for sign in (1.0, -1.0)]
    inner = area.grown(part, by=-NAIL_EDGE / 2.0)
    kept = [at for at in found if inner.covers(shapely.Point(at))]
    return kept or [(middle.x, middle.y)]


def bolts_in_holes(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield layouts of bolts through the holes that the stock has."""
    holes = ground.question.holes
    if not holes:
        raise NoPlace("no_holes", "no holes of the stock are stated that a bolt could go through", value=0.0, limit=1.0)
    pool = _pool(ground, entry, [ground.point(at) for at in holes], taken, "bolt")
    sizes = [size for size in BOLTS if size <= len(pool)] or [BOLTS[0]]
    yield from grown(ground, pool, sizes=sizes, taken=taken, what="bolt")


def dowel_pins(ground: Ground, entry: Entry, taken: Layout) -> Tries:
    """Yield two pins in waste, as far from each other as they go."""
    pool = _pool(ground, entry, _waste(ground, inset=PIN_EDGE), taken, "dowel")
    yield from grown(ground, pool, sizes=(2,), taken=taken, what="dowel")
