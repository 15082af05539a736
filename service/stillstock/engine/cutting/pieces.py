"""Into which pieces a job cuts the stock apart."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage

from stillstock.engine.cutting.height_map import NEVER
from stillstock.engine.cutting.stock_removal import Removal
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import THROUGH, Cut, FloatArray, SetUp

__all__ = ["Piece", "pieces_of_cuts", "pieces_of_program"]

#: Smallest piece that is told; what is smaller is dust or a rib between two passes. Own judgement. [m2]
LEAST = 1e-4

#: Samples of a piece along each side, from which it is told what lies on it. [-]
SAMPLES = 40

#: What it costs to tell a cell from its neighbours, to cut along a step of a described path, and to look whether a
#: sample lies within an outline, in all and for each of its corners; by measurement. [units]
A_CELL, A_STEP, A_SAMPLE = 1e-4, 0.02, (4e-4, 6e-7)


@dataclass(frozen=True, kw_only=True, eq=False)
class Piece:
    """A piece of the stock that hangs together by itself.

    Attributes
    ----------
    points : (n, 2) array
        Places on it, evenly spread. [m]
    box : (4,) array
        Its least and greatest x and y: x0, y0, x1, y1. [m]
    area : float
        In plan. [m2]
    freed : int
        Row of the program's moves that frees it, or number of the described cut that does.
    """

    points: FloatArray
    box: FloatArray
    area: float
    freed: int

    def surrounds(self, other: "Piece") -> bool:
        """Return whether it lies all round another, as waste round a part does."""
        return bool(np.all(self.box[:2] < other.box[:2]) and np.all(self.box[2:] > other.box[2:]))

    def within(self, outline: FloatArray) -> float:
        """Return which share of it lies within an outline (n, 2). [-]"""
        near = ((self.points >= outline.min(axis=0)) & (self.points <= outline.max(axis=0))).all(axis=1)
        if not near.any():
            return 0.0
        spend((A_SAMPLE[0] + A_SAMPLE[1] * len(outline)) * int(near.sum()))
        return float(shapely.contains_xy(shapely.Polygon(outline), *self.points[near].T).sum() / len(near))


def pieces_of_program(removal: Removal) -> tuple[Piece, ...]:
    """Return the pieces that a program leaves of the stock; one or none where it cuts nothing off."""
    heights, through = removal.map.heights, removal.first_cut != NEVER
    spend(A_CELL * heights.size)
    labels, count = ndimage.label(np.isfinite(heights) & ~through)
    if count < 2:
        return ()
    large = np.bincount(labels.ravel())[1:] * removal.map.cell**2 >= LEAST
    boxes = ndimage.find_objects(labels)
    found = [_of_cells(removal, labels, int(number) + 1, boxes[number]) for number in np.flatnonzero(large)]
    return tuple(piece for piece in found if piece is not None)


def _of_cells(removal: Removal, labels: NDArray[np.integer], number: int, box: tuple[slice, ...]) -> Piece | None:
    """Return the cells of a label as a piece, or None for a rib between two passes."""
    cell, origin = removal.map.cell, np.array(removal.map.origin)
    # two cells more on each side: there lies the kerf that frees it
    wide = tuple(slice(max(side.start - 2, 0), side.stop + 2) for side in box)
    mine = labels[wide] == number
    if not ndimage.binary_erosion(mine, iterations=2).any():
        return None
    round_it = removal.first_cut[wide][ndimage.binary_dilation(mine, iterations=2) & ~mine]
    cells = np.argwhere(mine) + np.array([side.start for side in wide])
    return Piece(
        points=origin + (cells[:: max(1, len(cells) // SAMPLES**2)] + 0.5) * cell,
        box=np.concatenate([origin + cells.min(axis=0) * cell, origin + (cells.max(axis=0) + 1) * cell]),
        area=len(cells) * cell**2,
        freed=int(round_it.max(initial=NEVER)),
    )


def pieces_of_cuts(set_up: SetUp) -> tuple[Piece, ...]:
    """Return the pieces that described cuts leave of the stock; one or none where they cut nothing off."""
    kerfs = {number: kerf for number, cut in enumerate(set_up.cuts) if (kerf := _kerf(cut, set_up)) is not None}
    if not kerfs:
        return ()
    left = shapely.Polygon(set_up.stock.plan).difference(shapely.union_all(list(kerfs.values())))
    shapes = [one for one in shapely.get_parts(left) if one.area >= LEAST]
    return tuple(_of_shape(one, kerfs) for one in shapes) if len(shapes) > 1 else ()


def _kerf(cut: Cut, set_up: SetUp) -> shapely.Geometry | None:
    """Return what a cut takes out of the stock from top to bottom, in plan; None if it stays above the bottom."""
    through = cut.path[:, 2] <= set_up.stock.origin[2] + THROUGH
    runs = np.split(np.arange(len(through)), np.flatnonzero(np.diff(through)) + 1)
    ways = [cut.path[run, :2] for run in runs if through[run[0]] and len(run) > 1]
    if not ways:
        return None
    spend(A_STEP * sum(map(len, ways)))
    radius = set_up.tools[cut.tool].diameter / 2.0
    return shapely.union_all([shapely.LineString(way).buffer(radius) for way in ways])


def _of_shape(shape: shapely.Polygon, kerfs: dict[int, shapely.Geometry]) -> Piece:
    x0, y0, x1, y1 = shape.bounds
    net = np.meshgrid(*(np.linspace(a, b, SAMPLES + 2)[1:-1] for a, b in ((x0, x1), (y0, y1))), indexing="ij")
    points = np.stack(net, axis=-1).reshape(-1, 2)
    points = points[shapely.contains_xy(shape, *points.T)]
    here = np.array(shape.representative_point().coords)
    return Piece(
        points=points if len(points) else here,
        box=np.array(shape.bounds),
        area=float(shape.area),
        freed=max(number for number, kerf in kerfs.items() if kerf.distance(shape) < THROUGH),
    )
