"""Engagement of every move of a program, from removing the stock along it on a height map."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.height_map import NEVER, HeightMap, height_map
from stillstock.engine.cutting.passes import Passes, cell_size, passes
from stillstock.engine.cutting.short_moves import greatest_nearby, nearby
from stillstock.engine.cutting.swept import FlatEnd, Profile, swept_surface
from stillstock.engine.cutting.watch import BLIND, Watch
from stillstock.engine.program.moves import FEED, RAPID, Moves
from stillstock.engine.set_up import Bed, FloatArray, Stock, Tool

__all__ = ["Removal", "remove_stock", "watched_removal"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

SLIVER = 5e-6
"""Thickness that counts as nothing: two steps of a program's last decimal in inches, 0.0001 in. [m]"""
SIDE_SLIVER = 3e-5
"""Width beside the tool that counts as nothing: an arc at two levels, read in chords, need not leave one wall. [m]"""
SMOOTH = np.cos(np.radians(20.0))
"""Cosine of the greatest turn between two chords of one arc. [-]"""
EDGE = 0.5
SHORT_EDGE = 1.0
"""Cells by which the engaged width is widened on both sides: on long moves, on moves of four cells or less. [-]"""
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


class _Pass(NamedTuple):
    """One straight piece of a move, as the removal needs it; `turn` is the cosine of the turn after it. [m], [-]"""

    shape: Profile
    length: float
    z: float
    slope: float
    end_z: float
    bottom: float
    edge: float
    turn: float


class _Met(NamedTuple):
    """What one pass met: depths [m], greatest and least offset to the left over the radius [-], stations [m]."""

    depth: float = 0.0
    left: float = -np.inf
    right: float = np.inf
    first: float = 0.0
    last: float = 0.0
    worst: float = 0.0
    standing: float = 0.0


def _met(before: FloatArray, along: FloatArray, offset: FloatArray, tip: FloatArray, cut: _Pass) -> _Met:
    """Engagement from the samples that one pass removes.

    A sample that the tool, standing at the start, would already have reached is no part of the front: a move that
    carries on from another has none of these, save the floor under the tool on the way down. Where the end goes down
    steeper than 45 degrees all that it removes counts. Slivers along the tool's side never do.
    """
    shape, length = cut.shape, cut.length
    depth = before - np.maximum(tip, cut.bottom)
    square = along * along + offset * offset
    behind = square <= shape.reach(before - cut.z - SLIVER) ** 2
    radius = shape.reach(before - tip)
    past = along - np.minimum(np.maximum(along, 0.0), length)
    inner = np.sqrt(offset * offset + past * past) <= radius - SIDE_SLIVER
    if length > 0.0:
        # Past the end the wall belongs to the next chord: there the side is as wide as the path turns.
        inner |= np.abs(offset) <= (radius - SIDE_SLIVER) * cut.turn
    uncleared = inner & behind & (before > cut.z + SLIVER)
    standing = float(depth[uncleared].max()) if uncleared.any() else 0.0
    if length == 0.0 or cut.slope < -1.0:
        return _Met(depth=float(np.max(depth, where=inner, initial=0.0)), standing=standing, last=length, worst=length)
    ahead = inner & ~behind & (along > 0.0)
    if not ahead.any():
        under = float(np.max(depth, where=inner & behind, initial=0.0))
        return _Met(depth=under, standing=standing, last=length, worst=length if cut.slope < 0.0 else 0.0)
    depth, tip, along, offset, radius = depth[ahead], tip[ahead], along[ahead], offset[ahead], radius[ahead]
    deepest = int(depth.argmax())
    at = float(offset[deepest])
    lead = max(float(radius[deepest]) ** 2 - at * at, 0.0) ** 0.5
    worst = (float(tip[deepest]) - cut.z) / cut.slope if cut.slope else float(along[deepest]) - lead
    return _Met(
        depth=float(depth[deepest]),
        left=float(((offset + cut.edge) / radius).max()),
        right=float(((offset - cut.edge) / radius).min()),
        first=min(max(float(along.min()) - shape.radius, 0.0), length),
        last=min(float(along.max()), length),
        worst=min(max(worst, 0.0), length),
        standing=standing,
    )


def _level_cut(heights: FloatArray, along: FloatArray, offset: FloatArray, cut: _Pass) -> tuple[BoolArray, _Met] | None:
    """Remove what a flat end sweeps at one height, in place; the general cut gives the same, slower."""
    past = along - np.minimum(np.maximum(along, 0.0), cut.length)
    floor = max(cut.z, cut.bottom)
    square = cut.shape.radius * cut.shape.radius
    removed = (offset * offset + past * past <= square) & (heights > floor + SLIVER)
    if not removed.any():
        return None
    before, u, d = heights[removed], along[removed], offset[removed]
    heights[removed] = floor
    inner = np.abs(d) <= (cut.shape.radius - SIDE_SLIVER) * cut.turn
    if not (inner & (u > 0.0) & (u * u + d * d > square)).all():
        return removed, _met(before, u, d, np.full_like(u, cut.z), cut)
    deepest = int(before.argmax())
    radius, at = cut.shape.radius, float(d[deepest])
    worst = float(u[deepest]) - max(square - at * at, 0.0) ** 0.5
    return removed, _Met(
        depth=float(before[deepest]) - floor,
        left=(float(d.max()) + cut.edge) / radius,
        right=(float(d.min()) - cut.edge) / radius,
        first=min(max(float(u.min()) - radius, 0.0), cut.length),
        last=min(float(u.max()), cut.length),
        worst=min(max(worst, 0.0), cut.length),
    )


def _general_cut(
    heights: FloatArray, along: FloatArray, offset: FloatArray, cut: _Pass
) -> tuple[BoolArray, _Met] | None:
    """Remove what any end sweeps on any straight piece, in place."""
    if cut.length > 0.0:
        surface, tip = swept_surface(cut.shape, along=along, offset=offset, length=cut.length, z=cut.z, slope=cut.slope)
    else:
        low = min(cut.z, cut.end_z)
        surface, tip = swept_surface(cut.shape, along=along, offset=offset, length=0.0, z=low, slope=0.0)
    floor = np.maximum(surface, cut.bottom)
    removed = heights > floor + SLIVER
    if not removed.any():
        return None
    before = heights[removed]
    heights[removed] = floor[removed]
    return removed, _met(before, along[removed], offset[removed], tip[removed], cut)


def _directions(sweep: Passes) -> tuple[FloatArray, FloatArray]:
    """Horizontal length of each pass, and unit vector of its feed; a plunge takes +x. [m], [-]"""
    run = sweep.end[:, :2] - sweep.start[:, :2]
    length = np.hypot(run[:, 0], run[:, 1])
    flat = length > 0.0
    feed = np.where(flat[:, None], run / np.where(flat, length, 1.0)[:, None], (1.0, 0.0))
    return length, feed


def _turns(sweep: Passes, feed: FloatArray) -> FloatArray:
    """Cosine of the angle by which the path turns after each pass; 1 at corners, where no arc goes on. [-]"""
    cosine = np.sum(feed[:-1] * feed[1:], axis=1)
    carries_on = np.all(np.abs(sweep.start[1:] - sweep.end[:-1]) < SLIVER, axis=1)
    return np.append(np.where(carries_on & (cosine >= SMOOTH), cosine, 1.0), 1.0)[: len(feed)]


def _remove(
    sweep: Passes, stock_map: HeightMap, first_cut: NDArray[np.int32], *, level: float, watch: Watch
) -> FloatArray:
    """Remove the stock pass by pass, in place; what each met, (m, 7)."""
    length, feed = _directions(sweep)
    # Both coordinates, along the feed and to its left, are an outer sum over rows and columns of cells.
    frame = np.stack((feed, np.stack((-feed[:, 1], feed[:, 0]), axis=1)), axis=2)
    start = sweep.start[:, None, :2] - np.array(stock_map.origin)
    offset = (start @ frame)[:, 0]
    rise = sweep.end[:, 2] - sweep.start[:, 2]
    slope = np.where(length > 0.0, rise / np.where(length > 0.0, length, 1.0), 0.0)
    by_row, by_column = stock_map.samples.by_row, stock_map.samples.by_column
    bottom, through = stock_map.bottom, level + SLIVER
    edge = stock_map.cell * np.minimum(EDGE + 2.0 * stock_map.cell / np.maximum(length, stock_map.cell), SHORT_EDGE)
    columns = (sweep.shape, length, slope, sweep.start[:, 2], sweep.end[:, 2], edge, _turns(sweep, feed), sweep.move)
    # Plain lists: numbers taken out of arrays one by one cost more than the cutting.
    rows = zip(sweep.box.tolist(), *(values.tolist() for values in columns), strict=True)
    met: list[_Met] = []
    nothing = _Met()
    for k, ((i0, i1, j0, j1), shape_index, run, gradient, z, end_z, wider, turn, move) in enumerate(rows):
        if move >= watch.waits_for:
            watch.look(move, stock_map)
        heights = stock_map.heights[i0:i1, j0:j1]
        row = by_row[i0:i1] @ frame[k]
        column = by_column[j0:j1] @ frame[k] - offset[k]
        along = row[:, :1] + column[:, 0]
        across = row[:, 1:] + column[:, 1]
        shape = sweep.shapes[shape_index]
        cut = _Pass(shape, run, z, gradient, end_z, bottom, wider, turn)
        level_flat = z == end_z and isinstance(shape, FlatEnd)
        deep = min(z, end_z) <= through
        uncut = heights > through if deep else None
        found = _level_cut(heights, along, across, cut) if level_flat else _general_cut(heights, along, across, cut)
        if found is None:
            met.append(nothing)
            continue
        met.append(found[1])
        if uncut is not None:
            first_cut[i0:i1, j0:j1][uncut & (heights <= through)] = move
    return np.array(met, dtype=np.float64).reshape(-1, 7)


@dataclass(frozen=True, kw_only=True)
class _Engagement:
    """What each move met, over all its pieces; the columns of `_Met`, stations as parts of the move."""

    depth: FloatArray
    left: FloatArray
    right: FloatArray
    span: FloatArray
    worst: FloatArray
    standing: FloatArray
    resolved: BoolArray


def _by_move(sweep: Passes, met: FloatArray, *, count: int) -> _Engagement:
    """Join the pieces of each move: the greatest depth, the widest arc, the whole span."""
    length, _ = _directions(sweep)
    opens = np.flatnonzero(np.diff(sweep.move, prepend=-1))
    closes = np.append(opens[1:], len(sweep.move))[: len(opens)] - 1
    along = met[:, 3:6] / np.where(length > 0.0, length, 1.0)[:, None]
    along[(length == 0.0) & (sweep.end[:, 2] < sweep.start[:, 2]), 1:] = 1.0
    parts = sweep.part[:, :1] + along * np.diff(sweep.part, axis=1)
    cuts = met[:, 0] > 0.0
    deepest = np.lexsort((-sweep.part[:, 0], met[:, 0], sweep.move))[closes]
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
        depth=joined(met[:, 0], np.maximum, 0.0),
        left=joined(met[:, 1], np.maximum, -np.inf),
        right=joined(met[:, 2], np.minimum, np.inf),
        span=np.stack((np.where(np.isfinite(first), first, 0.0), last), axis=1),
        worst=worst,
        # Only the first piece of a move can start in stock that no piece before it has cleared. A disc that stands in
        # for a smaller end is larger than what the end itself has cleared, and says nothing.
        standing=joined(np.where((sweep.part[:, 0] == 0.0) & sweep.resolved, met[:, 6], 0.0), np.maximum, 0.0),
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
    met = _remove(sweep, work.map, first_cut, level=work.map.bottom + work.skin, watch=work.watch)
    work.watch.look(len(moves), work.map)
    return _removal(moves, _by_move(sweep, met, count=len(moves)), bed=bed, stock_map=work.map, first_cut=first_cut)
