"""In which order strokes and holes are cut."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial import Delaunay, QhullError, cKDTree

from stillstock.engine.set_up import FloatArray

__all__ = ["Tour", "least_travel", "to_and_fro", "travel", "travel_floor"]

# Work is counted, not timed, so the same request always ends the same way.
_GREEDY_MOST = 20_000  # items; above it the tour to and fro is kept [-]
_EXCHANGE_WORK = 40_000_000  # pairs looked at by the exchange of sections [-]
_LEAST_GAIN = 1e-9  # below this an exchange is rounding [m]


@dataclass(frozen=True, kw_only=True)
class Tour:
    """An order of strokes.

    Attributes
    ----------
    order : (n,) int array
        Which stroke is cut as the first, second ... [-]
    back : (n,) bool array
        Whether it is cut from its end to its start, in the order of cutting.
    """

    order: NDArray[np.int64]
    back: NDArray[np.bool_]

    def strokes(self, strokes: FloatArray) -> FloatArray:
        """Return the strokes in this order and sense, (n, 2, 2). [m]"""
        turned = strokes[self.order].copy()
        turned[self.back] = turned[self.back, ::-1]
        return turned


def to_and_fro(strokes: FloatArray, *, axis: int) -> Tour:
    """Return strokes row by row, each row the other way round from the one before.

    Parameters
    ----------
    strokes : (n, 2, 2) array
        Start and end of each; a point is a stroke that ends where it starts. [m]
    axis : int
        Along which the rows run, 0 for x. [-]

    Returns
    -------
    Tour
        Rows in rising order, to the nearest 0.001 mm.
    """
    row = np.round(strokes[:, 0, 1 - axis] * 1e6).astype(np.int64)
    _, row = np.unique(row, return_inverse=True)
    sense = np.where(row % 2 == 0, 1.0, -1.0)
    low = np.minimum(strokes[:, 0, axis], strokes[:, 1, axis])
    order = np.lexsort((sense * low, row)).astype(np.int64)
    rising = strokes[:, 1, axis] >= strokes[:, 0, axis]
    back = np.where(sense > 0.0, ~rising, rising)[order]
    return Tour(order=order, back=back)


def least_travel(strokes: FloatArray, *, start: tuple[float, float]) -> Tour:
    """Return a short order of strokes, the tool coming from `start` and free to end anywhere.

    Parameters
    ----------
    strokes : (n, 2, 2) array
        Start and end of each; a hole is a stroke that ends where it starts. [m]
    start : (2,) tuple
        Where the tool comes from. [m]

    Returns
    -------
    Tour
        The best of rows along x, rows along y and the nearest next, then shortened by exchanging sections (2-opt) as
        far as a counted amount of work goes. Close to the shortest, not proved to be: `travel_floor` bounds it below.
    """
    candidates = [to_and_fro(strokes, axis=0), to_and_fro(strokes, axis=1)]
    if len(strokes) <= _GREEDY_MOST:
        candidates.append(_nearest_next(strokes, start))
    best = min(candidates, key=lambda tour: travel(tour.strokes(strokes), start=start))
    return _exchanged(strokes, best, start)


def travel(strokes: FloatArray, *, start: tuple[float, float]) -> float:
    """Return the way between strokes cut in this order, from `start` on. [m]"""
    if not len(strokes):
        return 0.0
    leaving = np.vstack([[start], strokes[:-1, 1]])
    return float(np.hypot(*(strokes[:, 0] - leaving).T).sum())


def travel_floor(points: FloatArray, *, start: tuple[float, float]) -> float:
    """Return a length below which no tour of points from `start` can be: their least spanning tree. [m]

    Notes
    -----
    A tour that need not close is itself a spanning tree, so it is not shorter than the least one. The least tree lies
    within the Delaunay triangulation (Preparata and Shamos, "Computational Geometry", 1985, ch. 6, from memory).
    """
    nodes = np.unique(np.vstack([[start], points]), axis=0)
    if len(nodes) < 2:
        return 0.0
    try:
        corners = Delaunay(nodes).simplices
    except QhullError:  # all in one line: the tree is the line itself
        spread = nodes[-1] - nodes[0]
        return float(np.hypot(*spread))
    edges = np.unique(np.sort(np.vstack([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]]), axis=1), axis=0)
    lengths = np.hypot(*(nodes[edges[:, 0]] - nodes[edges[:, 1]]).T)
    graph = coo_array((lengths, (edges[:, 0], edges[:, 1])), shape=(len(nodes), len(nodes)))
    return float(minimum_spanning_tree(graph.tocsr()).sum())


def _nearest_next(strokes: FloatArray, start: tuple[float, float]) -> Tour:
    ends = strokes.reshape(-1, 2)
    free = np.ones(len(strokes), dtype=bool)
    order, back = [], []
    place = np.array(start)
    tree, held = cKDTree(ends), np.arange(len(ends))
    for left in range(len(strokes), 0, -1):
        if 4 * left < len(held):  # most of the tree is cut already: plant a smaller one
            held = np.nonzero(np.repeat(free, 2))[0]
            tree = cKDTree(ends[held])
        found = _first_free(tree, place, held, free)
        order.append(found // 2)
        back.append(found % 2 == 1)
        free[found // 2] = False
        place = ends[found ^ 1]
    return Tour(order=np.array(order, dtype=np.int64), back=np.array(back, dtype=bool))


def _first_free(tree: cKDTree, place: FloatArray, held: NDArray[np.int64], free: NDArray[np.bool_]) -> int:
    count = 8
    while True:
        _, rows = tree.query(place, k=min(count, len(held)))
        candidates = held[np.atleast_1d(rows)]
        hits = np.nonzero(free[candidates // 2])[0]
        if len(hits):
            return int(candidates[hits[0]])
        count *= 4


def _exchanged(strokes: FloatArray, tour: Tour, start: tuple[float, float]) -> Tour:
    """Turn sections round as long as that shortens the way: a section's inner way is the same both ways."""
    count = len(strokes)
    sweeps = min(40, _EXCHANGE_WORK // max(1, count * count))
    cut, order, back = tour.strokes(strokes), tour.order.copy(), tour.back.copy()
    for _ in range(sweeps):
        if not _swept(cut, order, back, np.array(start)):
            break
    return Tour(order=order, back=back)


def _swept(cut: FloatArray, order: NDArray[np.int64], back: NDArray[np.bool_], start: FloatArray) -> bool:
    shorter = False
    for first in range(len(order) - 1):
        before = cut[first - 1, 1] if first else start
        leaving, entering = cut[first:, 1], cut[first, 0]
        # Section first..last turned round: `before` meets the end of last, the start of first meets what follows last.
        old = np.hypot(*(before - entering)) + np.append(np.hypot(*(cut[first + 1 :, 0] - leaving[:-1]).T), 0.0)
        new = np.hypot(*(leaving - before).T) + np.append(np.hypot(*(cut[first + 1 :, 0] - entering).T), 0.0)
        gain = old - new
        last = first + int(np.argmax(gain))
        if gain[last - first] > _LEAST_GAIN:
            cut[first : last + 1] = cut[first : last + 1][::-1, ::-1].copy()
            order[first : last + 1] = order[first : last + 1][::-1].copy()
            back[first : last + 1] = ~back[first : last + 1][::-1]
            shorter = True
    return shorter
