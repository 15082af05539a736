"""Engagement of every move of a program, from removing the stock along it on a height map."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.height_map import NEVER, HeightMap, height_map
from stillstock.engine.cutting.pass_blocks import SLIVER, Met, directions, remove_passes
from stillstock.engine.cutting.passes import Passes, cell_size, passes
from stillstock.engine.cutting.short_moves import greatest_nearby, nearby
from stillstock.engine.cutting.watch import BLIND, Watch
from stillstock.engine.program.moves import FEED, RAPID, Moves
from stillstock.engine.set_up import Bed, FloatArray, Stock, Tool

__all__ = ["Removal", "remove_stock", "watched_removal"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

WINDOW = 3.0
"""Cells of path before and after a short move that are judged with it. [-]"""


@dataclass(frozen=True, kw_only=True)
class Removal:
    """What each move of a program removes, and what is left.

    The angle phi runs clockwise, seen from above, from the left of the feed: 0 on the left, pi / 2 ahead, pi on the
    right. With a spindle that turns clockwise conventional cutting engages 0 to something, climb something to pi.

    Attributes
    ----------
    depth : (n,) array
        Greatest height of stock above the tip on the engaged arc, 0 where nothing is cut. [m]
    arc_start, arc_end : (n,) arrays
        Where the engaged arc is entered and left; 0 to 2 pi where `full`; both 0 where nothing is cut. [rad]
    full : (n,) bool array
        The end cuts all round: plunges, descents steeper than 45 degrees, and moves that start inside uncut stock.
    cutting : (n,) bool array
        Removes anything, feed or rapid.
    rapid_hit : (n,) bool array
        A rapid that passes through uncut stock; it is taken to cut it.
    through : (n,) array
        Depth below the bed's top that the tip reaches, negative above it, ``-inf`` where the place is not known. [m]
    position : (n, 3) array
        Tool tip where the engagement is deepest; the end of the move where nothing is cut. [m]
    span : (n, 2) array
        Part of the move between which it cuts, from 0 at its start to 1 at its end; both 0 where it cuts nothing. [-]
    enters, exits : (n,) bool arrays
        The first and the last of moves that cut one after the other.
    resolved : (n,) bool array
        False where the tool's end is too small for the cells; its arc is then the whole front.
    map : HeightMap
        The stock that is left.
    first_cut : (nx, ny) int array
        Index of the move that first cut a cell through, down to the level asked for; -1 never.
    """

    depth: FloatArray
    arc_start: FloatArray
    arc_end: FloatArray
    full: BoolArray
    cutting: BoolArray
    rapid_hit: BoolArray
    through: FloatArray
    position: FloatArray
    span: FloatArray
    enters: BoolArray
    exits: BoolArray
    resolved: BoolArray
    map: HeightMap
    first_cut: NDArray[np.int32]

    @property
    def low(self) -> FloatArray:
        """Height of the stock that is left in each cell, (nx, ny); ``-inf`` where there was none. [m]"""
        return self.map.heights


@dataclass(frozen=True, kw_only=True)
class _Engagement:
    """What each move met, over all its pieces: as `Met`, with stations as parts of the move."""

    depth: FloatArray
    left: FloatArray
    right: FloatArray
    span: FloatArray
    worst: FloatArray
    standing: FloatArray
    resolved: BoolArray


def _by_move(sweep: Passes, met: Met, *, count: int) -> _Engagement:
    """Join the pieces of each move: the greatest depth, the widest arc, the whole span."""
    length, _ = directions(sweep)
    opens = np.flatnonzero(np.diff(sweep.move, prepend=-1))
    closes = np.append(opens[1:], len(sweep.move))[: len(opens)] - 1
    along = np.stack((met.first, met.last, met.worst), axis=1) / np.where(length > 0.0, length, 1.0)[:, None]
    along[(length == 0.0) & (sweep.end[:, 2] < sweep.start[:, 2]), 1:] = 1.0
    parts = sweep.part[:, :1] + along * np.diff(sweep.part, axis=1)
    cuts = met.depth > 0.0
    deepest = np.lexsort((-sweep.part[:, 0], met.depth, sweep.move))[closes]
    at = sweep.move[opens]

    def joined(values: FloatArray, pick: np.ufunc, blank: float) -> FloatArray:
        whole = np.full(count, blank)
        if len(opens):
            whole[at] = pick.reduceat(values, opens)
        return whole

    worst, resolved = np.ones(count), np.ones(count, dtype=np.bool_)
    worst[at] = parts[deepest, 2]
    resolved[at] = sweep.resolved[opens]
    first = joined(np.where(cuts, parts[:, 0], np.inf), np.minimum, np.inf)
    last = joined(np.where(cuts, parts[:, 1], 0.0), np.maximum, 0.0)
    return _Engagement(
        depth=joined(met.depth, np.maximum, 0.0),
        left=joined(met.left, np.maximum, -np.inf),
        right=joined(met.right, np.minimum, np.inf),
        span=np.stack((np.where(np.isfinite(first), first, 0.0), last), axis=1),
        worst=worst,
        # Only the first piece of a move can start in stock that no piece before it has cleared. A disc that stands in
        # for a smaller end is larger than what the end itself has cleared, and says nothing.
        standing=joined(np.where((sweep.part[:, 0] == 0.0) & sweep.resolved, met.standing, 0.0), np.maximum, 0.0),
        resolved=resolved,
    )


def _shifted(flags: BoolArray) -> BoolArray:
    """Flag of the move before, False for the first."""
    return np.concatenate(([False], flags[:-1]))[: len(flags)]


def _carries_on(moves: Moves) -> BoolArray:
    """Whether a move starts where the one before, with the same tool, has stopped."""
    gap = np.max(np.abs(moves.start[1:] - moves.end[:-1]), axis=1, initial=0.0)
    same = (moves.tool[1:] == moves.tool[:-1]) & moves.known[1:] & moves.known[:-1] & (gap < SLIVER)
    return np.concatenate(([False], same))[: len(moves)]


def _with_neighbours(moves: Moves, met: _Engagement, *, all_round: BoolArray, cell: float) -> _Engagement:
    """Give short feed moves the greatest engagement on the path around them; those all round neither give nor take."""
    run = np.hypot(*(moves.end - moves.start)[:, :2].T)
    feeds = (moves.kind == FEED) & moves.known
    short = feeds & ~all_round & (run < 2.0 * WINDOW * cell) & np.any(moves.end != moves.start, axis=1)
    first, last = nearby(run, breaks=~(_carries_on(moves) & feeds & _shifted(feeds)), reach=WINDOW * cell)

    def widest(values: FloatArray, blank: float) -> FloatArray:
        return np.where(short, greatest_nearby(np.where(all_round, blank, values), first, last), values)

    return replace(
        met, depth=widest(met.depth, 0.0), left=widest(met.left, -np.inf), right=-widest(-met.right, -np.inf)
    )


def _removal(
    moves: Moves, met: _Engagement, *, bed: Bed, stock_map: HeightMap, first_cut: NDArray[np.int32]
) -> Removal:
    """Arcs, flags and places from what each move met."""
    step = moves.end - moves.start
    steep = -step[:, 2] > np.hypot(step[:, 0], step[:, 1])
    inside = met.standing > SLIVER
    met = _with_neighbours(moves, met, all_round=steep | inside, cell=stock_map.cell)
    depth = np.maximum(met.depth, met.standing)
    cutting = depth > 0.0
    full = cutting & (steep | inside | np.isneginf(met.left))
    arc_start = np.where(met.resolved, np.arccos(np.clip(met.left, -1.0, 1.0)), 0.0)
    arc_end = np.where(met.resolved, np.arccos(np.clip(met.right, -1.0, 1.0)), np.pi)
    low = np.minimum(moves.start[:, 2], moves.end[:, 2])
    before = _shifted(cutting) & _carries_on(moves)
    return Removal(
        depth=depth,
        arc_start=np.where(cutting & ~full, arc_start, 0.0),
        arc_end=np.where(full, 2.0 * np.pi, np.where(cutting, arc_end, 0.0)),
        full=full,
        cutting=cutting,
        rapid_hit=cutting & (moves.kind == RAPID),
        through=np.where(moves.known, bed.top - low, -np.inf),
        position=np.where(cutting[:, None], moves.start + met.worst[:, None] * step, moves.end),
        span=met.span,
        enters=cutting & ~before,
        exits=cutting & ~np.concatenate((before[1:] & cutting[1:], [False]))[: len(moves)],
        resolved=met.resolved,
        map=stock_map,
        first_cut=first_cut,
    )


def remove_stock(
    moves: Moves,
    stock: Stock,
    bed: Bed,
    tools: Mapping[int, Tool],
    *,
    cell: float | None = None,
    max_cells: int,
    skin: float = 0.0,
) -> Removal:
    """Remove the stock along a program, and say what each move is engaged in.

    Parameters
    ----------
    moves : Moves
        Those whose place is not known, and rapids without a tool of the set-up, are passed over.
    stock : Stock
        Taken at its greatest measured thickness.
    bed : Bed
    tools : mapping of int to Tool
    cell : float or None
        Side of a cell of the map; None takes a sixth of the smallest contact radius, coarser if `max_cells` or the
        work asks for it. [m]
    max_cells : int
        Most cells of the map. [-]
    skin : float
        Height above the stock's bottom below which a cell counts as cut through in `first_cut`. [m]

    Returns
    -------
    Removal

    Raises
    ------
    ValueError
        If a feed move has a tool that is not in `tools`, or `cell` asks for more than `max_cells`.

    Notes
    -----
    Own derivation. A sample of the map is removed where a pass's swept surface lies more than 5 micrometres below it.
    Those that the tool would not have reached from the pass's start were met by its front, at
    ``phi = arccos(d / r)`` for an offset d to the left of the feed and the end's radius r at the stock's height there;
    those within 30 micrometres of the tool's side are removed, but do not count.
    The depth is taken from the tip, also where a ball or cone meets the stock only higher up.

    Engagement is rounded to the greater side within the cells: the engaged width is widened on both sides, by half a
    cell on long moves, by a whole one on short; a move takes the widest arc and the greatest depth that occur anywhere
    along it; one shorter than six cells takes the greatest of all that is cut up to three cells of path before and
    after it; an end too small for the cells engages its whole front. Strips thinner than a cell may be missed on some
    of a row of short moves, not on all; on long moves they are met, as no two samples in a row stand at one offset.
    On a slope the depth at the front is known within the slope times a cell.
    """
    size = cell_size(moves, stock, tools, max_cells=max_cells) if cell is None else cell
    if np.prod(np.ceil(np.ptp(np.asarray(stock.plan), axis=0) / size - 1e-9)) > max_cells:
        raise ValueError(f"cells of {size} m need a map of more than {max_cells} cells")
    work = _Work(map=height_map(stock, cell=size), top=stock.origin[2] + stock.thickness[1], skin=skin, watch=BLIND)
    return _removed(moves, bed, tools, work)


def watched_removal(
    moves: Moves, stock: Stock, bed: Bed, tools: Mapping[int, Tool], *, max_cells: int, watch: Watch
) -> Removal:
    """Remove the stock as `remove_stock` does, and let somebody look at it as it stands before certain moves.

    Parameters
    ----------
    moves, stock, bed, tools
        As `remove_stock` takes them.
    max_cells : int
        Most cells of the map. [-]
    watch : Watch
        Looks in the order of the moves.

    Raises
    ------
    ValueError
        If a feed move has a tool that is not in `tools`.
    """
    size = cell_size(moves, stock, tools, max_cells=max_cells)
    work = _Work(map=height_map(stock, cell=size), top=stock.origin[2] + stock.thickness[1], skin=0.0, watch=watch)
    return _removed(moves, bed, tools, work)


class _Work(NamedTuple):
    """The stock before the first cut, its top [m], the skin that counts as cut through [m], and who looks on."""

    map: HeightMap
    top: float
    skin: float
    watch: Watch


def _removed(moves: Moves, bed: Bed, tools: Mapping[int, Tool], work: _Work) -> Removal:
    """Remove the stock along all moves."""
    first_cut = np.full(work.map.heights.shape, NEVER, dtype=np.int32)
    sweep = passes(moves, work.map, tools, top=work.top)
    met = remove_passes(sweep, work.map, first_cut, level=work.map.bottom + work.skin, watch=work.watch)
    work.watch.look(len(moves), work.map)
    return _removal(moves, _by_move(sweep, met, count=len(moves)), bed=bed, stock_map=work.map, first_cut=first_cut)
