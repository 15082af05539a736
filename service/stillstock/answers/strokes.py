"""A tool path as few strokes: neighbouring moves of one class joined, and no more points than a print can show."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from stillstock.engine.set_up import FloatArray

__all__ = ["Strokes", "strokes_of"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

#: Strokes and points of all of them that a picture has at the most. [-]
MOST_STROKES, MOST_POINTS = 3000, 30_000

#: Places nearer to each other than this are one. [m]
SAME_PLACE = 1e-9


@dataclass(frozen=True, kw_only=True)
class Strokes:
    """Strokes and dots in plan, each with its class.

    Attributes
    ----------
    lines : tuple of (int, (k, 2) array)
        [m]
    dots : tuple of (int, (2,) array)
        Where the tool only goes up or down. [m]
    every : int
        One of so many strokes is kept of those beyond the limit; 1 where none is left out.
    """

    lines: tuple[tuple[int, FloatArray], ...]
    dots: tuple[tuple[int, FloatArray], ...]
    every: int


def _chains(start: FloatArray, end: FloatArray) -> IntArray:
    """Return for each move the number of the unbroken chain that it belongs to."""
    apart = np.any(np.abs(start[1:] - end[:-1]) > SAME_PLACE, axis=1)
    return np.concatenate([[0], np.cumsum(apart)])


def _carriers(flat: IntArray, chain: IntArray) -> IntArray:
    """Return for each move the next one of its chain that goes sideways, or else the last; -1 where none does."""
    rows = np.arange(len(chain))
    after = np.searchsorted(flat, rows)
    following = flat[np.minimum(after, len(flat) - 1)]
    before = flat[np.maximum(after - 1, 0)]
    found = np.where((after < len(flat)) & (chain[following] == chain), following, -1)
    return np.where((found < 0) & (after > 0) & (chain[before] == chain), before, found)


def _fewer(kind: IntArray, chain: IntArray) -> IntArray:
    """Return classes such that strokes are few: where they change too often, the worst of so many moves in a row."""
    changes = np.count_nonzero((np.diff(kind) != 0) | (np.diff(chain) != 0)) + 1
    if changes <= MOST_STROKES:
        return kind
    block = np.arange(len(kind)) // -(-len(kind) // MOST_STROKES)
    starts = np.nonzero(np.concatenate([[True], (np.diff(block) != 0) | (np.diff(chain) != 0)]))[0]
    worst = np.minimum.reduceat(kind, starts)
    return np.repeat(worst, np.diff(np.append(starts, len(kind))))


def _thinned(runs: list[IntArray], kind: IntArray) -> tuple[list[IntArray], int]:
    """Return the strokes to keep: the worst of them, and of the others one of so many."""
    if len(runs) <= MOST_STROKES:
        return runs, 1
    order = sorted(range(len(runs)), key=lambda k: int(kind[runs[k][0]]))
    sure, rest = order[: MOST_STROKES // 2], order[MOST_STROKES // 2 :]
    every = -(-len(rest) // (MOST_STROKES // 2))
    return [runs[k] for k in sorted([*sure, *sorted(rest)[::every]])], every


def _simplified(lines: list[FloatArray], tolerance: float) -> list[FloatArray]:
    """Return lines with no more points than serve a print, the fewer the more there are."""
    shapes = np.array([shapely.LineString(points) for points in lines], dtype=object)
    while True:
        simple = shapely.simplify(shapes, tolerance, preserve_topology=False)
        if shapely.get_num_coordinates(simple).sum() <= MOST_POINTS:
            return [
                np.asarray(line.coords) if len(line.coords) > 1 else points[[0, -1]]
                for line, points in zip(simple, lines, strict=True)
            ]
        tolerance *= 2.0


def _dots(at: FloatArray, kind: IntArray, *, cell: float) -> tuple[tuple[int, FloatArray], ...]:
    """Return one dot a place, with the worst class there; places within one cell are one."""
    found: dict[tuple[int, int], tuple[int, FloatArray]] = {}
    for place, number in zip(at, kind.tolist(), strict=True):
        key = (round(place[0] / cell), round(place[1] / cell))
        if key not in found or number < found[key][0]:
            found[key] = number, place
    worst = sorted(found.values(), key=lambda dot: dot[0])
    return tuple(worst[:MOST_STROKES])


def strokes_of(start: FloatArray, end: FloatArray, kind: IntArray, *, fine: float) -> Strokes:
    """Return moves as strokes in plan.

    Parameters
    ----------
    start, end : (n, 3) arrays
        Of the moves, in order. [m]
    kind : (n,) int array
        Class of each, the worst being the least; a move up or down gives its own to the one beside it if it is worse.
    fine : float
        Length that a print still shows. [m]
    """
    if not len(kind):
        return Strokes(lines=(), dots=(), every=1)
    chain = _chains(start, end)
    sideways = np.any(np.abs(end[:, :2] - start[:, :2]) > SAME_PLACE, axis=1)
    flat = np.nonzero(sideways)[0]
    carrier = _carriers(flat, chain) if len(flat) else np.full(len(kind), -1)
    alone = carrier < 0
    dots = _dots(end[alone, :2], kind[alone], cell=10.0 * fine)
    if not len(flat):
        return Strokes(lines=(), dots=dots, every=1)
    worst = np.full(len(kind), np.iinfo(np.int64).max)
    np.minimum.at(worst, carrier[~alone], kind[~alone])
    shown = _fewer(worst[flat], chain[flat])
    breaks = np.nonzero((np.diff(shown) != 0) | (np.diff(chain[flat]) != 0))[0] + 1
    runs, every = _thinned(np.split(np.arange(len(flat)), breaks), shown)
    lines = [np.concatenate([start[flat[run[:1]], :2], end[flat[run], :2]]) for run in runs]
    simple = _simplified(lines, fine)
    return Strokes(
        lines=tuple((int(shown[run[0]]), line) for run, line in zip(runs, simple, strict=True)), dots=dots, every=every
    )
