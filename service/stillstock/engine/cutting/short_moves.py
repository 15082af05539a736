"""Moves too short for the cells to tell what they cut: judged together with their neighbours."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.set_up import FloatArray

__all__ = ["greatest_nearby", "nearby"]

IntArray = NDArray[np.int64]


def nearby(length: FloatArray, *, breaks: NDArray[np.bool_], reach: float) -> tuple[IntArray, IntArray]:
    """First and last + 1 index of the moves within a distance along the path, for each move.

    Parameters
    ----------
    length : (n,) array
        Length of each move. [m]
    breaks : (n,) bool array
        True where a move does not carry on from the one before.
    reach : float
        Distance along the path before a move's start and after its end. [m]

    Returns
    -------
    first, last : (n,) int arrays
        The moves ``first[k] <= i < last[k]`` lie within reach of move k without a break between them.

    Examples
    --------
    >>> first, last = nearby(np.ones(4), breaks=np.array([True, False, False, True]), reach=0.5)
    >>> first.tolist(), last.tolist()
    ([0, 0, 1, 3], [2, 3, 3, 4])
    """
    n = len(length)
    end = np.cumsum(length)
    start = np.concatenate(([0.0], end[:-1]))
    opens = np.flatnonzero(breaks)
    run = np.searchsorted(opens, np.arange(n), side="right") - 1
    begin = np.where(run >= 0, opens[np.maximum(run, 0)] if len(opens) else 0, 0)
    close = np.append(opens, n)[run + 1]
    first = np.maximum(np.searchsorted(end, start - reach, side="right"), begin)
    last = np.minimum(np.searchsorted(start, end + reach, side="left"), close)
    own = np.arange(n)
    return np.minimum(first, own), np.maximum(last, own + 1)


def _over(values: FloatArray, first: IntArray, last: IntArray, *, pick: Callable[..., FloatArray]) -> FloatArray:
    """Pick over each range of indices, by tables of ranges of 1, 2, 4, ... entries."""
    level = np.frexp(last - first)[1] - 1
    best = np.empty(len(first))
    table, width = values, 1
    for depth in range(int(level.max(initial=-1)) + 1):
        here = level == depth
        best[here] = pick(table[first[here]], table[last[here] - width])
        table = pick(table[:-width], table[width:])
        width *= 2
    return best


def greatest_nearby(values: FloatArray, first: IntArray, last: IntArray) -> FloatArray:
    """Greatest value over each range of indices, in the values' unit.

    Examples
    --------
    >>> greatest_nearby(np.array([3.0, 1.0, 2.0, 5.0]), np.array([0, 1, 0]), np.array([1, 3, 4]))
    array([3., 2., 5.])
    """
    return _over(values, first, last, pick=np.maximum)
