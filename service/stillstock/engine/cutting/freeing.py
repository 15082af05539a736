"""When a part comes free: the move that cuts the last of its outline."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from stillstock.engine.cutting.stock_removal import Removal
from stillstock.engine.mechanics.area import grown
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import Cut, FloatArray

__all__ = ["Freed", "freed_by_cut", "freed_by_program"]

#: Share of the kerf round a part that must be cut before it counts as free; the rest may be tabs. Own judgement. [-]
ENOUGH = 0.6

#: What the distance of a point from one edge of an outline costs, by measurement. [units]
A_DISTANCE = 4e-5


@dataclass(frozen=True, kw_only=True)
class Freed:
    """What frees a part.

    Attributes
    ----------
    first : int
        Row of the program's moves, or number of the described cut, from which on the part is on its own.
    share : float
        Part of its outline that is cut. [-]
    """

    first: int
    share: float


def _kerf_cells(removal: Removal, outline: FloatArray) -> NDArray[np.bool_]:
    """Return which cells of the height map lie in the kerf just outside an outline."""
    cell = removal.map.cell
    shape = Polygon(outline)
    ring = grown(shape, by=2.5 * cell).difference(grown(shape, by=0.8 * cell))
    heights = removal.map.heights
    x, y = (
        start + (np.arange(count) + 0.5) * cell for start, count in zip(removal.map.origin, heights.shape, strict=False)
    )
    x0, y0, x1, y1 = ring.bounds
    box = np.ix_((x >= x0) & (x <= x1), (y >= y0) & (y <= y1))
    inside = np.zeros(heights.shape, dtype=bool)
    inside[box] = shapely.contains_xy(ring, x[box[0]], y[box[1]])
    return inside & (np.isfinite(heights) | (removal.first_cut >= 0))


def freed_by_program(removal: Removal, outline: FloatArray) -> Freed | None:
    """Return the move that frees a part, or None if its outline is never cut through.

    Parameters
    ----------
    removal : Removal
        Taken with the skin that the parts keep, so that a skin counts as cut through.
    outline : (n, 2) array
        Of the part. [m]

    Notes
    -----
    The kerf is looked at in a ring of two cells just outside the outline. What is never cut there is a tab.
    """
    kerf = _kerf_cells(removal, outline)
    if not kerf.any():
        return None
    when = removal.first_cut[kerf]
    share = float((when >= 0).mean())
    return Freed(first=int(when.max()), share=share) if share >= ENOUGH else None


def freed_by_cut(cut: Cut, *, number: int, outline: FloatArray, floor: float, reach: float) -> Freed | None:
    """Return whether a described cut frees a part: it follows the outline and reaches the floor.

    Parameters
    ----------
    cut : Cut
    number : int
        Of the cut.
    outline : (n, 2) array
        Of the part. [m]
    floor : float
        Level at which the part is through, its skin included. [m]
    reach : float
        How far the path may lie from the outline: the tool's diameter. [m]
    """
    if len(cut.path) < 3 or cut.path[:, 2].min() > floor:
        return None
    way = cut.path[:, :2]
    if np.any(way.min(axis=0) < outline.min(axis=0) - reach) or np.any(way.max(axis=0) > outline.max(axis=0) + reach):
        return None
    spend(A_DISTANCE * len(way) * len(outline))
    edge = Polygon(outline).exterior
    if float(shapely.distance(edge, shapely.points(way)).max()) > reach:
        return None
    path = shapely.LineString(way)
    share = min(path.length / edge.length, 1.0)
    return Freed(first=number, share=float(share)) if share >= ENOUGH else None
