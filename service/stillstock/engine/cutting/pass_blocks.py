"""Removing stock pass by pass on a height map, with the arithmetic of many short passes done together."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.height_map import HeightMap
from stillstock.engine.cutting.passes import Passes
from stillstock.engine.cutting.swept import Profile, swept_surface
from stillstock.engine.cutting.watch import Watch
from stillstock.engine.set_up import FloatArray

__all__ = ["SLIVER", "Met", "directions", "remove_passes"]

IntArray = NDArray[np.int64]

SLIVER = 5e-6
"""Thickness that counts as nothing: two steps of a program's last decimal in inches, 0.0001 in. [m]"""
SIDE_SLIVER = 3e-5
"""Width beside the tool that counts as nothing: an arc at two levels, read in chords, need not leave one wall. [m]"""
SMOOTH = np.cos(np.radians(20.0))
"""Cosine of the greatest turn between two chords of one arc. [-]"""
EDGE = 0.5
SHORT_EDGE = 1.0
"""Cells by which the engaged width is widened on both sides: on long moves, on moves of four cells or less. [-]"""
BLOCK = 24_000
"""Cells that the passes of one block visit together: what a processor's own memory holds. [-]"""
WASTE = 1.5
"""Most that the boxes of a block, made equal, may have more cells than their own. [-]"""


class Met(NamedTuple):
    """What each pass met, arrays of one length, in the order of the passes.

    Attributes
    ----------
    depth : array
        Greatest height of removed stock above the tip; 0 where nothing is removed. [m]
    left, right : arrays
        Greatest and least offset to the left of the feed over the end's radius there; ``-inf`` and ``inf`` where the
        pass has no front. [-]
    first, last, worst : arrays
        Stations on the pass where it begins to cut, where it ends, and where it is deepest. [m]
    standing : array
        Depth of what the tool, standing at the start, would already have reached. [m]
    """

    depth: FloatArray
    left: FloatArray
    right: FloatArray
    first: FloatArray
    last: FloatArray
    worst: FloatArray
    standing: FloatArray


NOTHING = Met(*np.array([[0.0], [-np.inf], [np.inf], [0.0], [0.0], [0.0], [0.0]]))
"""What a pass meets that removes nothing."""


class _Lines(NamedTuple):
    """Passes as straight lines in their own frames, (m, ...) arrays.

    `frame` takes plan coordinates to those along the feed and to its left, which start at `offset`; `low` is the tip's
    height from which the swept surface is counted, `turn` the cosine of the turn after the pass. [m], [-]
    """

    frame: FloatArray
    offset: FloatArray
    length: FloatArray
    z: FloatArray
    low: FloatArray
    slope: FloatArray
    edge: FloatArray
    turn: FloatArray


def directions(sweep: Passes) -> tuple[FloatArray, FloatArray]:
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


def _lines(sweep: Passes, stock_map: HeightMap) -> _Lines:
    """Bring every pass into its own frame."""
    length, feed = directions(sweep)
    # Both coordinates, along the feed and to its left, are an outer sum over rows and columns of cells.
    frame = np.stack((feed, np.stack((-feed[:, 1], feed[:, 0]), axis=1)), axis=2)
    start = sweep.start[:, None, :2] - np.array(stock_map.origin)
    z, end_z = sweep.start[:, 2], sweep.end[:, 2]
    goes = length > 0.0
    return _Lines(
        frame=frame,
        offset=(start @ frame)[:, 0],
        length=length,
        z=z,
        low=np.where(goes, z, np.minimum(z, end_z)),
        slope=np.where(goes, (end_z - z) / np.where(goes, length, 1.0), 0.0),
        edge=stock_map.cell * np.minimum(EDGE + 2.0 * stock_map.cell / np.maximum(length, stock_map.cell), SHORT_EDGE),
        turn=_turns(sweep, feed),
    )


def _block_end(sizes: list[tuple[int, int, int, int]], at: int, *, until: int) -> int:
    """First pass that does not go into the block of the pass `at`: of another end, too much, or at a move to stop at.

    `sizes` has the rows and columns of each pass's box, its end and its move.
    """
    rows, columns, shape, _ = sizes[at]
    own = rows * columns
    for k in range(at + 1, len(sizes)):
        more_rows, more_columns, end, move = sizes[k]
        if end != shape or move >= until:
            return k
        rows, columns = max(rows, more_rows), max(columns, more_columns)
        own += more_rows * more_columns
        padded = rows * columns * (k + 1 - at)
        if padded > BLOCK or padded > WASTE * own:
            return k
    return len(sizes)


def _front(value: FloatArray, where: NDArray[np.bool_], opens: IntArray, blank: float) -> FloatArray:
    """Greatest value of each pass among its marked samples, `blank` where it has none."""
    greatest: FloatArray = np.maximum.reduceat(np.where(where, value, blank), opens)
    return greatest


class _Samples(NamedTuple):
    """Samples that the passes of a block remove, pass after pass, and the line of the pass at each.

    Height before [m], coordinates along the feed and to its left [m], the tip's height over them [m].
    """

    before: FloatArray
    along: FloatArray
    offset: FloatArray
    tip: FloatArray
    line: _Lines


def _met(shape: Profile, at: _Samples, opens: IntArray, *, bottom: float) -> FloatArray:
    """Engagement of passes that remove something, the columns of `Met`; `opens` has the first sample of each.

    A sample that the tool, standing at the start, would already have reached is no part of the front: a move that
    carries on from another has none of these, save the floor under the tool on the way down. Where the end goes down
    steeper than 45 degrees all that it removes counts. Slivers along the tool's side never do.
    """
    before, along, offset, tip, line = at
    depth = before - np.maximum(tip, bottom)
    behind = along * along + offset * offset <= shape.reach(before - line.z - SLIVER) ** 2
    radius = shape.reach(before - tip)
    past = along - np.minimum(np.maximum(along, 0.0), line.length)
    inner = np.sqrt(offset * offset + past * past) <= radius - SIDE_SLIVER
    # Past the end the wall belongs to the next chord: there the side is as wide as the path turns.
    inner |= (line.length > 0.0) & (np.abs(offset) <= (radius - SIDE_SLIVER) * line.turn)
    standing = _front(depth, inner & behind & (before > line.z + SLIVER), opens, 0.0)

    first = _Lines(*(values[opens] for values in line))
    steep = (first.length == 0.0) | (first.slope < -1.0)
    ahead = inner & ~behind & (along > 0.0) & (line.length > 0.0) & (line.slope >= -1.0)
    under = _front(depth, inner & (behind | (line.length == 0.0) | (line.slope < -1.0)), opens, 0.0)
    deepest, cuts = _deepest(depth, ahead, opens)
    reach, aside = radius[deepest], offset[deepest]
    lead = np.sqrt(np.maximum(reach**2 - aside * aside, 0.0))
    slanted = first.slope != 0.0
    worst = np.where(slanted, (tip[deepest] - first.z) / np.where(slanted, first.slope, 1.0), along[deepest] - lead)
    worst = np.minimum(np.maximum(worst, 0.0), first.length)
    begins = -_front(-along, ahead, opens, -np.inf) - shape.radius
    ends = _front(along, ahead, opens, -np.inf)
    bare = np.where(steep | (first.slope < 0.0), first.length, 0.0)
    return np.stack(
        (
            np.where(cuts, depth[deepest], under),
            _front((offset + line.edge) / radius, ahead, opens, -np.inf),
            -_front((line.edge - offset) / radius, ahead, opens, -np.inf),
            np.where(cuts, np.minimum(np.maximum(begins, 0.0), first.length), 0.0),
            np.where(cuts, np.minimum(ends, first.length), first.length),
            np.where(cuts, worst, bare),
            standing,
        )
    )


def _deepest(depth: FloatArray, ahead: NDArray[np.bool_], opens: IntArray) -> tuple[IntArray, NDArray[np.bool_]]:
    """Index of the first deepest marked sample of each pass, of any where none is marked; whether any is."""
    masked = np.where(ahead, depth, -np.inf)
    greatest = np.maximum.reduceat(masked, opens)
    owner = np.repeat(np.arange(len(opens)), np.diff(opens, append=len(depth)))
    hits = np.flatnonzero(masked == greatest[owner])
    index = np.empty(len(opens), dtype=np.int64)
    # Written from the last to the first: of samples equally deep the first stays.
    index[owner[hits[::-1]]] = hits[::-1]
    return index, greatest > -np.inf


class _Remover:
    """Removes blocks of passes from a height map, in place."""

    def __init__(self, sweep: Passes, stock_map: HeightMap, first_cut: NDArray[np.int32], *, level: float) -> None:
        self._sweep, self._map, self._first_cut = sweep, stock_map, first_cut
        self._through = level + SLIVER
        self._line = _lines(sweep, stock_map)
        self._by_row, self._by_column = stock_map.samples.by_row, stock_map.samples.by_column
        self._boxes: list[list[int]] = sweep.box.tolist()

    def remove(self, at: int, until: int, met: FloatArray) -> None:
        """Remove the passes from one to before another, and write what they met into the columns of `met`."""
        line = _Lines(*(values[at:until] for values in self._line))
        along, offset = self._coordinates(at, until, line)
        shape = self._sweep.shapes[self._sweep.shape[at]]
        length, low, slope = (values[:, None, None] for values in (line.length, line.low, line.slope))
        surface, tip = swept_surface(shape, along=along, offset=offset, length=length, z=low, slope=slope)
        floor = np.maximum(surface, self._map.bottom)
        before, removed = self._lower(at, floor)
        index = np.flatnonzero(removed)
        if not len(index):
            return
        number = index // (floor.shape[1] * floor.shape[2])
        opens = np.flatnonzero(np.diff(number, prepend=-1))
        before, along, offset, tip = (values.ravel()[index] for values in (before, along, offset, tip))
        samples = _Samples(before, along, offset, tip, _Lines(*(values[number] for values in line)))
        met[:, at + number[opens]] = _met(shape, samples, opens, bottom=self._map.bottom)
        self._cut_through(at, index, samples.before, floor)

    def _coordinates(self, at: int, until: int, line: _Lines) -> tuple[FloatArray, FloatArray]:
        """Coordinates along the feed and to its left of all cells in the boxes, made as large as the largest. [m]"""
        box = self._sweep.box[at:until]
        rows, columns = (int((box[:, k + 1] - box[:, k]).max()) for k in (0, 2))
        # Cells past the last of a smaller box are looked up, and left alone.
        i = np.minimum(box[:, :1] + np.arange(rows), len(self._by_row) - 1)
        j = np.minimum(box[:, 2:3] + np.arange(columns), len(self._by_column) - 1)
        row = self._by_row[i] @ line.frame
        column = self._by_column[j] @ line.frame - line.offset[:, None, :]
        return row[:, :, None, 0] + column[:, None, :, 0], row[:, :, None, 1] + column[:, None, :, 1]

    def _lower(self, at: int, floor: FloatArray) -> tuple[FloatArray, NDArray[np.bool_]]:
        """Lower the map pass after pass to the floors; the heights before, and which samples were removed."""
        before, removed = np.empty_like(floor), np.zeros(floor.shape, dtype=np.bool_)
        least = floor + SLIVER
        for k in range(len(floor)):
            i0, i1, j0, j1 = self._boxes[at + k]
            heights = self._map.heights[i0:i1, j0:j1]
            own = (k, slice(i1 - i0), slice(j1 - j0))
            before[own] = heights
            np.greater(heights, least[own], out=removed[own])
            np.copyto(heights, floor[own], where=removed[own])
        return before, removed

    def _cut_through(self, at: int, index: IntArray, before: FloatArray, floor: FloatArray) -> None:
        """Note the move that first cut a cell through."""
        now = (before > self._through) & (floor.ravel()[index] <= self._through)
        if now.any():
            k, i, j = np.unravel_index(index[now], floor.shape)
            box = self._sweep.box[at + k]
            self._first_cut[box[:, 0] + i, box[:, 2] + j] = self._sweep.move[at + k]


def remove_passes(
    sweep: Passes, stock_map: HeightMap, first_cut: NDArray[np.int32], *, level: float, watch: Watch
) -> Met:
    """Remove the stock pass by pass, in place.

    Parameters
    ----------
    sweep : Passes
    stock_map : HeightMap
        Its heights are lowered.
    first_cut : (nx, ny) int array
        Takes the index of the move that first cut a cell through, down to `level`.
    level : float
        Height at or below which a cell counts as cut through. [m]
    watch : Watch
        Looks before certain moves.

    Returns
    -------
    Met

    Notes
    -----
    Only the lowering itself goes pass by pass; where the tool passes, and what it met, is reckoned for a block of
    passes at once. The answer does not depend on how they are grouped.
    """
    remover = _Remover(sweep, stock_map, first_cut, level=level)
    met = np.repeat(NOTHING, len(sweep.move), axis=1)
    sides = np.diff(sweep.box.reshape(-1, 2, 2), axis=2)[:, :, 0]
    sizes = list(zip(*sides.T.tolist(), sweep.shape.tolist(), sweep.move.tolist(), strict=True))
    at = 0
    while at < len(sizes):
        move = sizes[at][3]
        if move >= watch.waits_for:
            watch.look(move, stock_map)
        until = _block_end(sizes, at, until=watch.waits_for)
        remover.remove(at, until, met)
        at = until
    return Met(*met)
