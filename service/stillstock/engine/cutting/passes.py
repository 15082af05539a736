"""A program laid over a height map: which moves can meet stock, with which end, over which cells."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.height_map import HeightMap
from stillstock.engine.cutting.swept import FlatEnd, Profile, profile
from stillstock.engine.mechanics.work import spend
from stillstock.engine.program.moves import FEED, PROBE, Moves
from stillstock.engine.set_up import FloatArray, Stock, Tool, ToolKind

__all__ = ["Passes", "cell_size", "passes"]

IntArray = NDArray[np.int64]

CELLS_A_RADIUS = 6.0
FINEST_CELL = 1e-4
"""No stock of wood is better known than this. [m]"""
CELL_VISITS = 4e8
"""Cells that the moves may sweep in all before the cells are chosen coarser: some seconds of work. [-]"""
RESOLVED = 1.5
"""Cells in the radius of the smallest disc that always meets samples. [-]"""
A_PIECE, A_CELL = 1.6e-2, 7e-5
"""What it costs to remove a piece, and each cell of its box, by measurement. [units]"""
PIECE = 48.0
"""Cells in a piece of an oblique move, at which a call costs as much as the cells of its bounding box. [-]"""


@dataclass(frozen=True, kw_only=True)
class Passes:
    """Straight pieces of the moves that can meet stock, in program order.

    Attributes
    ----------
    move : (m,) int array
        Index of the move that each is a piece of.
    part : (m, 2) array
        Where on its move it starts and ends, from 0 to 1. [-]
    start, end : (m, 3) arrays
        Tool-tip position. [m]
    box : (m, 4) int array
        First and last + 1 row, first and last + 1 column of cells that it can touch.
    shape : (m,) int array
        Index into `shapes`.
    shapes : tuple of Profile
    resolved : (m,) bool array
        False where the end is too small for the cells: a disc of 1.5 cells stands in for it.
    """

    move: IntArray
    part: FloatArray
    start: FloatArray
    end: FloatArray
    box: IntArray
    shape: IntArray
    shapes: tuple[Profile, ...]
    resolved: NDArray[np.bool_]


def _can_meet(moves: Moves, tools: Mapping[int, Tool], *, top: float) -> NDArray[np.bool_]:
    """Whether a move goes below the stock's top with a known cutter at a known place; probing cuts nothing."""
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    if np.any(moves.known & (moves.kind == FEED) & ~np.isin(moves.tool, list(tools))):
        raise ValueError("a feed move has a tool that the set-up does not describe")
    moving = np.any(moves.start != moves.end, axis=1)
    cutters = [number for number, tool in tools.items() if tool.kind is not ToolKind.PROBE]
    cuts = np.isin(moves.tool, cutters) & (moves.kind != PROBE)
    return np.asarray(moves.known & cuts & moving & (low < top))


def _contact_radius(shape: Profile, *, height: FloatArray) -> FloatArray:
    """Radius of an end at the height of the uncut stock's top above its tip. [m]"""
    return shape.reach(np.maximum(height, 0.0))


def cell_size(moves: Moves, stock: Stock, tools: Mapping[int, Tool], *, max_cells: int) -> float:
    """Side of a cell: a sixth of the smallest contact radius, coarser where the limits on work ask for it.

    Parameters
    ----------
    moves : Moves
    stock : Stock
    tools : mapping of int to Tool
    max_cells : int
        Most cells of the map. [-]

    Returns
    -------
    float
        Side of a cell. [m]
    """
    extent = np.ptp(np.asarray(stock.plan), axis=0)
    top = stock.origin[2] + stock.thickness[1]
    meets = _can_meet(moves, tools, top=top)
    finest, swept = np.inf, 0.0
    for number, tool in tools.items():
        mine = meets & (moves.tool == number)
        if not np.any(mine):
            continue
        shape = profile(tool)
        low = np.minimum(moves.start[mine, 2], moves.end[mine, 2])
        finest = min(finest, float(np.max(_contact_radius(shape, height=top - low))) / CELLS_A_RADIUS)
        run = np.abs(moves.end[mine, :2] - moves.start[mine, :2])
        box = np.prod(np.minimum(run, extent) + tool.diameter, axis=1)
        pieces = 3.0 * tool.diameter * (np.hypot(*np.minimum(run, extent).T) + tool.diameter)
        swept += float(np.sum(np.minimum(box, pieces)))
    if not np.isfinite(finest):
        finest = float(np.max(extent)) / 100.0
    cell = max(finest, FINEST_CELL, float(np.sqrt(swept / CELL_VISITS)))
    while np.prod(np.ceil(extent / cell)) > max(1, max_cells):
        cell *= 1.02
    return cell


def _pieces(moves: Moves, meets: NDArray[np.bool_], *, cell: float) -> tuple[IntArray, FloatArray]:
    """Split the moves that can meet stock, long oblique ones into small boxes: index of the move, part of it."""
    index = np.flatnonzero(meets)
    start, end = moves.start[index], moves.end[index]
    oblique = np.sqrt(np.abs(np.prod(end[:, :2] - start[:, :2], axis=1)))
    count = np.maximum(1, np.ceil(oblique / (PIECE * cell))).astype(np.int64)
    spend(A_PIECE * float(count.sum()))
    move = np.repeat(np.arange(len(index)), count)
    number = np.arange(len(move)) - np.repeat(np.cumsum(count) - count, count)
    return index[move], np.stack((number, number + 1), axis=1) / count[move, None]


def _boxes(stock_map: HeightMap, start: FloatArray, end: FloatArray, *, radius: FloatArray) -> IntArray:
    """Rows and columns of cells that a tool of a radius can touch between two points."""
    origin = np.array(stock_map.origin)
    low = (np.minimum(start, end)[:, :2] - radius[:, None] - origin) / stock_map.cell
    high = (np.maximum(start, end)[:, :2] + radius[:, None] - origin) / stock_map.cell
    shape = np.array(stock_map.heights.shape, dtype=np.float64)
    first = np.clip(np.floor(low), 0.0, shape)
    last = np.clip(np.floor(high) + 1.0, 0.0, shape)
    return np.stack((first[:, 0], last[:, 0], first[:, 1], last[:, 1]), axis=1).astype(np.int64)


def passes(moves: Moves, stock_map: HeightMap, tools: Mapping[int, Tool], *, top: float) -> Passes:
    """Pieces of a program that can meet the stock, with the cells that each can touch.

    Parameters
    ----------
    moves : Moves
    stock_map : HeightMap
    tools : mapping of int to Tool
    top : float
        Height of the uncut stock's top. [m]

    Returns
    -------
    Passes

    Raises
    ------
    ValueError
        If a feed move has a tool that is not in `tools`.

    Notes
    -----
    An end whose contact circle at the uncut top is smaller than 1.5 cells is stood in for by a flat disc of that
    radius: it meets samples wherever it goes, so that no cut and no depth is missed, while its arc says nothing.
    """
    meets = _can_meet(moves, tools, top=top)
    move, part = _pieces(moves, meets, cell=stock_map.cell)
    step = moves.end[move] - moves.start[move]
    start = moves.start[move] + part[:, :1] * step
    # The end itself, not a sum that rounds: the next move starts exactly where this one stops.
    end = np.where(part[:, 1:] == 1.0, moves.end[move], moves.start[move] + part[:, 1:] * step)
    numbers = moves.tool[move]
    radius, shape = np.zeros(len(move)), np.zeros(len(move), dtype=np.int64)
    least = RESOLVED * stock_map.cell
    shapes: list[Profile] = [FlatEnd(radius=least)]
    low = np.minimum(start[:, 2], end[:, 2])
    for number, tool in tools.items():
        mine = np.flatnonzero(numbers == number)
        shapes.append(profile(tool))
        large = _contact_radius(shapes[-1], height=top - low[mine]) >= least
        shape[mine] = np.where(large, len(shapes) - 1, 0)
        radius[mine] = np.where(large, shapes[-1].radius, least)
    box = _boxes(stock_map, start, end, radius=radius)
    keep = (box[:, 0] < box[:, 1]) & (box[:, 2] < box[:, 3])
    spend(A_CELL * float(np.sum((box[keep, 1] - box[keep, 0]) * (box[keep, 3] - box[keep, 2]))))
    return Passes(
        move=move[keep],
        part=part[keep],
        start=start[keep],
        end=end[keep],
        box=box[keep],
        shape=shape[keep],
        shapes=tuple(shapes),
        resolved=shape[keep] > 0,
    )
