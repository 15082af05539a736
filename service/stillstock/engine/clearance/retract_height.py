"""The lowest heights at which the tool passes over everything that stands on its way."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from stillstock.engine.clearance.margins import Margins
from stillstock.engine.clearance.obstacles import STOCK, plan_shape
from stillstock.engine.clearance.plan import segment_distance
from stillstock.engine.clearance.turned_body import ToolPart, lowest_bottom
from stillstock.engine.holding.body import Body
from stillstock.engine.program.moves import RAPID, Moves
from stillstock.engine.set_up import FloatArray

__all__ = ["Crossing", "RapidHeights", "clearance_height", "crossing_heights", "over_stock", "rapid_heights"]

IntArray = NDArray[np.int64]
Parts = Mapping[int, Sequence[ToolPart]]

LEAST_RUN = 1e-6
"""Way in plan below which a rapid goes straight up or down. [m]"""


@dataclass(frozen=True, kw_only=True)
class Crossing:
    """Lowest safe height of a way across the table.

    Attributes
    ----------
    height : (n,) array
        Of the tool tip. [m]
    ruled_by : (n,) int array
        Index of the body that asks for it; -1 for the bare bed.
    part : (n,) int array
        Index of the tool's part that would meet it.
    """

    height: FloatArray
    ruled_by: IntArray
    part: IntArray


@dataclass(frozen=True, kw_only=True)
class RapidHeights:
    """Every rapid that goes across, one a row.

    Attributes
    ----------
    move : (k,) int array
        Index of the move.
    programmed : (k,) array
        Lowest height of the tip on it. [m]
    lowest : (k,) array
        Lowest safe height. [m]
    ruled_by : (k,) int array
        Index of the ruling body; -1 for the bare bed.
    part : (k,) int array
        Index of the tool's part that would meet it.
    within : (k,) bool array
        Between two cuts of one tool: a retract, not an approach, a return or the way to a tool change.
    travel : (k,) int array
        Number of the way from cut to cut that it belongs to.
    """

    move: IntArray
    programmed: FloatArray
    lowest: FloatArray
    ruled_by: IntArray
    part: IntArray
    within: NDArray[np.bool_]
    travel: IntArray

    def __len__(self) -> int:
        return len(self.move)

    def time_saved(self, *, clearance: float, rate: float) -> float:
        """Return what retracts as low as is safe save against one height for all, up and down at a constant rate. [s]

        Parameters
        ----------
        clearance : float
            The one height. [m]
        rate : float
            Of rapids in z. [m/s]
        """
        highest: dict[int, float] = {}
        for travel, lowest, within in zip(self.travel.tolist(), self.lowest.tolist(), self.within, strict=True):
            if within:
                highest[travel] = max(highest.get(travel, lowest), lowest)
        return sum(2.0 * max(clearance - lowest, 0.0) for lowest in highest.values()) / rate


def clearance_height(bodies: Sequence[Body], *, margins: Margins, lowest_part: float, bed: float) -> float:
    """Return the lowest height of the tip at which the tool passes over everything, wherever it goes. [m]

    Parameters
    ----------
    bodies : sequence of Body
        With the stock's.
    margins : Margins
    lowest_part : float
        Height above the tip of what hangs lowest: 0, or negative for a dust shoe. [m]
    bed : float
        Height of the bed. [m]
    """
    tops = [body.high + margins.above(body) for body in bodies]
    return max([bed + margins.over, *tops]) - min(lowest_part, 0.0)


def crossing_heights(
    start: FloatArray,
    end: FloatArray,
    *,
    parts: Sequence[ToolPart],
    bodies: Sequence[Body],
    margins: Margins,
    bed: float,
) -> Crossing:
    """Return the lowest safe heights of straight ways across the table.

    Parameters
    ----------
    start, end : (n, 2) arrays
        Their ends in plan. [m]
    parts : sequence of ToolPart
    bodies : sequence of Body
        With the stock's.
    margins : Margins
    bed : float
        Height of the bed. [m]

    Notes
    -----
    A part that comes nearer to a body in plan than its radius and the margin beside it has to pass above it by the
    margin over it. A ball or cone may be lower where the body is off its axis by more than that. Round the stock there
    is no margin beside: the tool may run down along its edge. Own derivation, exact but for rounding.
    """
    count = len(start)
    height = np.full(count, bed + margins.over - min(lowest_bottom(parts), 0.0))
    ruled_by, part_of = np.full(count, -1), np.zeros(count, dtype=np.int64)
    widest = max(part.radius for part in parts)
    low, high = np.minimum(start, end), np.maximum(start, end)
    for number, body in enumerate(bodies):
        beside = 0.0 if body.holder == STOCK else margins.around(body)
        reach = widest + beside
        x0, y0, x1, y1 = body.box
        near = np.flatnonzero(
            np.all(low < (x1 + reach, y1 + reach), axis=1) & np.all(high > (x0 - reach, y0 - reach), axis=1)
        )
        if not len(near):
            continue
        away = segment_distance(start[near], end[near], core=body.core) - body.radius - beside
        for index, part in enumerate(parts):
            under = body.high + margins.above(body) - part.bottom
            asked = np.where(away < part.radius, under - part.end.rise(np.maximum(away, 0.0) ** 2), -np.inf)
            more = asked > height[near]
            rows = near[more]
            height[rows], ruled_by[rows], part_of[rows] = asked[more], number, index
    return Crossing(height=height, ruled_by=ruled_by, part=part_of)


def over_stock(
    stock: Body, *, parts: Sequence[ToolPart], bodies: Sequence[Body], margins: Margins
) -> tuple[float, Body]:
    """Return the lowest height at which the tool goes from any place of the stock to any other, and what rules it.

    Parameters
    ----------
    stock : Body
        Convex in plan, so that straight ways between its places stay over it.
    parts : sequence of ToolPart
        Of every tool that may be meant.
    bodies : sequence of Body
        Holders.
    margins : Margins
    """
    lowest = min(lowest_bottom(parts), 0.0)
    height, ruled_by = stock.high + margins.over - lowest, stock
    shape = plan_shape(stock)
    for body in bodies:
        core = shapely.Point(body.core[0]) if len(body.core) == 1 else plan_shape(replace(body, radius=0.0))
        away = float(shapely.distance(shape, core)) - body.radius - margins.around(body)
        for part in parts:
            asked = body.high + margins.above(body) - part.bottom
            if away < part.radius and asked > height:
                height, ruled_by = asked, body
    return height, ruled_by


def _travels(moves: Moves) -> tuple[IntArray, NDArray[np.bool_]]:
    """Return the number of each move's way from cut to cut, and whether it leads from a cut to one of the same tool."""
    rapid = moves.kind == RAPID
    opens = rapid & ~np.concatenate(([False], rapid[:-1]))
    travel = np.cumsum(opens)
    feeds = np.flatnonzero(~rapid)
    before = np.searchsorted(feeds, np.arange(len(moves))) - 1
    inside = (before >= 0) & (before + 1 < len(feeds))
    first, last = np.clip(before, 0, None), np.clip(before + 1, None, max(len(feeds) - 1, 0))
    if not len(feeds):
        return travel, np.zeros(len(moves), dtype=np.bool_)
    same = moves.tool[feeds[first]] == moves.tool[feeds[last]]
    return travel, np.asarray(rapid & inside & same)


def rapid_heights(moves: Moves, *, parts: Parts, bodies: Sequence[Body], margins: Margins, bed: float) -> RapidHeights:
    """Return the lowest safe height of every rapid that goes across, at a known place and with a known tool.

    Parameters
    ----------
    moves : Moves
    parts : mapping of int to sequence of ToolPart
        By the tool's number.
    bodies : sequence of Body
        With the stock's.
    margins : Margins
    bed : float
        Height of the bed. [m]
    """
    step = moves.end - moves.start
    across = (moves.kind == RAPID) & moves.known & (np.hypot(step[:, 0], step[:, 1]) > LEAST_RUN)
    across &= np.isin(moves.tool, list(parts))
    index = np.flatnonzero(across)
    lowest, ruled_by, part_of = np.zeros(len(index)), np.full(len(index), -1), np.zeros(len(index), dtype=np.int64)
    for number, mine in parts.items():
        rows = np.flatnonzero(moves.tool[index] == number)
        if len(rows):
            chosen = index[rows]
            found = crossing_heights(
                moves.start[chosen, :2], moves.end[chosen, :2], parts=mine, bodies=bodies, margins=margins, bed=bed
            )
            lowest[rows], ruled_by[rows], part_of[rows] = found.height, found.ruled_by, found.part
    travel, within = _travels(moves)
    programmed = np.minimum(moves.start[index, 2], moves.end[index, 2])
    return RapidHeights(
        move=index,
        programmed=programmed,
        lowest=lowest,
        ruled_by=ruled_by,
        part=part_of,
        within=within[index],
        travel=travel[index],
    )
