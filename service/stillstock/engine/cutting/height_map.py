"""The stock as a height map: one sampled height a cell, and when each cell was cut through."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from stillstock.engine.set_up import FloatArray, Stock

__all__ = ["NEVER", "HeightMap", "HeightMapCells", "height_map"]

NEVER = -1
"""Move index of a cell that no move cut through. [-]"""

ROW_SHIFT = (np.sqrt(5.0) - 1.0) / 2.0
COLUMN_SHIFT = np.sqrt(2.0) - 1.0


@dataclass(frozen=True, kw_only=True)
class HeightMapCells:
    """Where the sample of each cell lies, in two separable parts.

    The sample of cell (i, j) stands at ``by_row[i] + by_column[j]``, so a coordinate along any direction is an outer
    sum of two short vectors.

    Attributes
    ----------
    by_row, by_column : (nx, 2), (ny, 2) arrays
        The two parts, from the map's origin. [m]

    Notes
    -----
    Samples in the middle of the cells would all miss a finishing pass thinner than a cell that runs along an axis.
    So each row of samples is shifted by a further part of a cell, row by row and column by column, by two irrational
    parts that have nothing in common: a strip of any heading then meets samples after a few cells of travel. Own
    derivation; that multiples of the golden section fill the unit interval evenly is the three-gap theorem
    (V. T. Sos, 1958, from memory).
    """

    by_row: FloatArray
    by_column: FloatArray


@dataclass(frozen=True, kw_only=True)
class HeightMap:
    """Heights of the stock over a grid of square cells; ``-inf`` where there is no stock.

    Attributes
    ----------
    origin : (2,) tuple
        Lowest corner of cell (0, 0) in the work frame. [m]
    cell : float
        Side of a cell. [m]
    heights : (nx, ny) array
        Height of the stock's upper face at each cell's sample; the bottom face where it is cut through. [m]
    bottom : float
        Height of the stock's bottom face. [m]
    """

    origin: tuple[float, float]
    cell: float
    heights: FloatArray
    bottom: float

    @property
    def samples(self) -> HeightMapCells:
        """Where the samples stand, from the origin. [m]"""
        nx, ny = self.heights.shape
        i, j = np.arange(nx), np.arange(ny)
        by_row = np.column_stack((i * self.cell, (i * COLUMN_SHIFT % 1.0) * self.cell))
        by_column = np.column_stack(((j * ROW_SHIFT % 1.0) * self.cell, j * self.cell))
        return HeightMapCells(by_row=by_row, by_column=by_column)

    @property
    def stands(self) -> NDArray[np.bool_]:
        """Whether a cell still has stock, (nx, ny)."""
        return self.heights > self.bottom

    @property
    def volume(self) -> float:
        """Volume of the stock that is left. [m3]"""
        return float(np.sum(self.heights[self.stands] - self.bottom) * self.cell**2)


def height_map(stock: Stock, *, cell: float) -> HeightMap:
    """Map of the stock before the first cut, at its greatest measured thickness.

    Parameters
    ----------
    stock : Stock
    cell : float
        Side of a cell. [m]

    Returns
    -------
    HeightMap
        Covers the plan outline's bounding box; its last row and column may overhang it by part of a cell.

    Raises
    ------
    ValueError
        If `cell` is not positive.
    """
    if not cell > 0.0:
        raise ValueError(f"cell must be positive, got {cell}")
    plan = np.asarray(stock.plan, dtype=np.float64)
    low, high = plan.min(axis=0), plan.max(axis=0)
    nx, ny = (max(1, int(np.ceil(extent / cell - 1e-9))) for extent in high - low)
    bottom = stock.origin[2]
    blank = HeightMap(origin=(low[0], low[1]), cell=cell, heights=np.empty((nx, ny)), bottom=bottom)
    samples = blank.samples
    x = low[0] + samples.by_row[:, :1] + samples.by_column[:, 0]
    y = low[1] + samples.by_row[:, 1:] + samples.by_column[:, 1]
    if stock.outline is None:
        inside = (x <= high[0]) & (y <= high[1])
    else:
        outline = shapely.Polygon(plan)
        shapely.prepare(outline)
        inside = shapely.contains_xy(outline, x, y)
    blank.heights[:] = np.where(inside, bottom + stock.thickness[1], -np.inf)
    return blank
