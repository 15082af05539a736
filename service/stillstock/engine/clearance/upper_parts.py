"""What stands above the cutter against the stock as it stands at that moment: a slot narrower than shank or nut."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.clearance.turned_body import ToolPart
from stillstock.engine.cutting.height_map import HeightMap
from stillstock.engine.program.moves import Moves
from stillstock.engine.set_up import FloatArray, Stock, Tool, ToolKind

__all__ = ["Rub", "StockWatch"]

IntArray = NDArray[np.int64]

RUBS = 3e-5
"""Overlap that counts as nothing, in plan and in height: what an arc in chords may leave of a wall. [m]"""
CELL_VISITS = 6e7
"""Cells that are looked at for one part in all before only each second, third, ... of a row is: seconds of work. [-]"""


MANY = 20_000
"""Rubs of one part from which only those that may be deeper than all before are still looked for. [-]"""


@dataclass(frozen=True, kw_only=True)
class Rub:
    """A part of the tool in the stock.

    Attributes
    ----------
    move : int
    part : ToolPart
    at : (3,) array
        Where the tip is when they first touch, to a cell of the map. [m]
    rise, sideways : float
        How far up, and how far aside, the part would have to go; no way aside leads out of a slot, nor of what the
        cutter has yet to clear. [m]
    """

    move: int
    part: ToolPart
    at: FloatArray
    rise: float
    sideways: float


class _Samples:
    """Where the samples of a map stand, worked out once; their heights are the map's own, as it is being cut."""

    def __init__(self, stock_map: HeightMap) -> None:
        samples = stock_map.samples
        self._map = stock_map
        self._origin = np.array(stock_map.origin)
        self._by_row, self._by_column = samples.by_row + self._origin, samples.by_column

    def above(
        self, level: float, low: FloatArray, high: FloatArray, *, every: int
    ) -> tuple[FloatArray, FloatArray] | None:
        """Return places in plan (k, 2) and heights (k,) of the samples in a box above a level; None of none. [m]"""
        heights, cell = self._map.heights, self._map.cell
        (i0, j0), (i1, j1) = ((low - self._origin) // cell).tolist(), ((high - self._origin) // cell + 1).tolist()
        rows = slice(max(int(i0), 0), max(int(i1), 0), every)
        columns = slice(max(int(j0), 0), max(int(j1), 0), every)
        box = heights[rows, columns]
        i, j = np.nonzero(box > level)
        if not len(i):
            return None
        return self._by_row[rows][i] + self._by_column[columns][j], box[i, j]


def _upper(tool: Tool, parts: Sequence[ToolPart]) -> tuple[ToolPart, ...]:
    """Return the parts that cannot cut: of a probe all, of a cutter those above its edge."""
    return tuple(part for part in parts if part.name != "cutter" or tool.kind is ToolKind.PROBE)


class _Rubbed(NamedTuple):
    """How often a part was found in the stock, and how deep at the most. [-, m]"""

    times: int = 0
    rise: float = 0.0


class _Cutter(NamedTuple):
    """What clears the way: the radius of the cutter, and the height of the edge's upper end above the tip. [m]"""

    radius: float
    top: float


def _cutter(tool: Tool, parts: Sequence[ToolPart]) -> _Cutter:
    return _Cutter(0.0, 0.0) if tool.kind is ToolKind.PROBE else _Cutter(tool.diameter / 2.0, parts[0].top)


class StockWatch:
    """Looks at the stock before each move on which a part above the cutter comes lower than its uncut top.

    Parameters
    ----------
    moves : Moves
    stock : Stock
    tools : mapping of int to Tool
    parts : mapping of int to sequence of ToolPart
        By the tool's number.

    Attributes
    ----------
    rubs : list of Rub
        By move, what was found.

    Notes
    -----
    Own derivation. On a straight move the axis is nearer to a sample than a part's radius R from one station to
    another. The cutter, radius r, lowers the sample as soon as it is nearer than r, if its edge reaches up to it;
    until then, or until the part has passed, whichever is sooner, the part must stand higher than the sample did before
    the move. Its least height on that stretch is at one of the ends. Straight down it is the start of the move that
    counts within r, as the cutter's end clears the way, and the lower end beyond. What a part is in already when a move
    starts that does not go lower belongs to the move before.
    """

    def __init__(
        self,
        moves: Moves,
        stock: Stock,
        tools: Mapping[int, Tool],
        parts: Mapping[int, Sequence[ToolPart]],
    ) -> None:
        self.rubs: list[Rub] = []
        self._moves = moves
        self._cutter = {number: _cutter(tools[number], mine) for number, mine in parts.items()}
        self._parts = {number: _upper(tools[number], mine) for number, mine in parts.items()}
        self._top = stock.origin[2] + stock.thickness[1]
        self._samples: _Samples | None = None
        self._deepest: defaultdict[tuple[int, str], _Rubbed] = defaultdict(_Rubbed)
        self._waiting, self._area = self._marked(np.asarray(stock.plan))
        self._next = 0

    def _marked(self, plan: FloatArray) -> tuple[IntArray, dict[tuple[int, str], float]]:
        """Return the moves to look at, and the area to look at for all of them, by tool and part. [m2]"""
        moves = self._moves
        low, high = np.minimum(moves.start, moves.end), np.maximum(moves.start, moves.end)
        marks, area = np.zeros(len(moves), dtype=np.bool_), {}
        least, most = plan.min(axis=0), plan.max(axis=0)
        for number, mine in self._parts.items():
            for part in mine:
                near = moves.known & (moves.tool == number) & (low[:, 2] + part.bottom < self._top - RUBS)
                near &= np.all((low[:, :2] < most + part.radius) & (high[:, :2] > least - part.radius), axis=1)
                box = np.minimum((high - low)[near, :2] + 2.0 * part.radius, most - least)
                area[number, part.name] = float(np.sum(np.prod(box, axis=1)))
                marks |= near
        return np.flatnonzero(marks), area

    @property
    def waits_for(self) -> int:
        """Return the index of the next move before which it looks. [-]"""
        return int(self._waiting[self._next]) if self._next < len(self._waiting) else len(self._moves)

    def look(self, until: int, stock_map: HeightMap) -> None:
        """Look at the stock for all moves that it waits for, up to one and with it."""
        while self.waits_for <= until and self._next < len(self._waiting):
            self._look(self.waits_for, stock_map)
            self._next += 1

    def _look(self, move: int, stock_map: HeightMap) -> None:
        start, end = self._moves.start[move], self._moves.end[move]
        number = int(self._moves.tool[move])
        samples = self._samples = self._samples or _Samples(stock_map)
        for part in self._parts[number]:
            level = min(start[2], end[2]) + part.bottom + RUBS
            rubbed = self._deepest[number, part.name]
            if part.radius <= RUBS or self._top - level <= (rubbed.rise if rubbed.times >= MANY else 0.0):
                continue
            every = max(1, int(np.ceil(np.sqrt(self._area[number, part.name] / CELL_VISITS) / stock_map.cell)))
            low, high = np.minimum(start, end)[:2] - part.radius, np.maximum(start, end)[:2] + part.radius
            standing = samples.above(level, low, high, every=every)
            found = standing and _rub(*standing, start=start, end=end, part=part, cutter=self._cutter[number])
            if found is not None:
                at, rise, sideways = found
                self.rubs.append(Rub(move=move, part=part, at=at, rise=rise, sideways=sideways))
                self._deepest[number, part.name] = _Rubbed(rubbed.times + 1, max(rubbed.rise, rise))


def _rub(
    places: FloatArray, heights: FloatArray, *, start: FloatArray, end: FloatArray, part: ToolPart, cutter: _Cutter
) -> tuple[FloatArray, float, float] | None:
    """Return where a part first touches samples of the stock on a move, and how deep; None if it does not."""
    step = end - start
    length = float(np.hypot(step[0], step[1]))
    radius = part.radius - RUBS
    feed = step[:2] / length if length > 0.0 else np.array([1.0, 0.0])
    away = places - start[:2]
    along, offset = away @ feed, away @ np.array([-feed[1], feed[0]])
    half = np.sqrt(np.maximum(radius**2 - offset**2, 0.0))
    first, last = np.maximum(along - half, 0.0), np.minimum(along + half, length)
    met = (np.abs(offset) < radius) & (first <= last)
    cut_half = np.sqrt(np.maximum(cutter.radius**2 - offset**2, 0.0))
    cut_at = np.maximum(along - cut_half, 0.0)
    slope = step[2] / length if length > 0.0 else 0.0
    cleared = (np.abs(offset) < cutter.radius) & (cut_at <= np.minimum(along + cut_half, length))
    cleared &= heights <= start[2] + slope * cut_at + cutter.top
    last = np.where(cleared, np.minimum(cut_at, last), last)
    first = np.minimum(first, last)
    lowest = start[2] + slope * (first if slope >= 0.0 else last)
    if length == 0.0:
        lowest = np.where(cleared, start[2], min(start[2], end[2]))
    rise = heights - lowest - part.bottom
    met &= rise > RUBS
    if step[2] >= 0.0:
        met &= (np.hypot(along, offset) >= radius) | (heights - start[2] - part.bottom <= RUBS)
    if not met.any():
        return None
    touch = first if slope >= 0.0 else np.clip((start[2] + part.bottom - heights) / -slope, first, last)
    station = float(touch[met].min())
    beyond = along - np.clip(along, 0.0, length)
    aside = part.radius - np.hypot(beyond, offset)
    walled_in = (met & cleared).any() or np.ptp(np.sign(offset[met])) > 1.0
    sideways = np.inf if walled_in else float(aside[met].max())
    at = start + (station / length if length > 0.0 else 0.0) * step
    if length == 0.0:
        at = np.array([*start[:2], max(min(start[2], end[2]), min(start[2], float(heights[met].max()) - part.bottom))])
    return at, float(rise[met].max()), sideways
