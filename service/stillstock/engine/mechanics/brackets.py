"""A lower and an upper bound on the gauge of every place of a sweep.

Upper bounds come from convexity, as in `FanBounds` and `Capacity`; lower ones from the duals of every programme that
was solved for them: each is a motion of the body, and bounds the gauge of all loads from below. Places whose upper
bound is low enough need no more. At the others, the loads that may still be their worst are shared out among triangles
of directions and boxes of points, and these are halved until both bounds meet, or until the budget is spent. Own
derivation.
"""

import heapq
from dataclasses import dataclass
from itertools import count

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.capacity import Capacity, Loads, box_weights, halves
from stillstock.engine.mechanics.directions import VERTICES, in_triangles
from stillstock.engine.mechanics.fan_bounds import FanBounds, Sweep
from stillstock.engine.mechanics.sweep import SweepWorst
from stillstock.engine.mechanics.wrench import cross
from stillstock.engine.set_up import FloatArray

__all__ = ["Brackets", "brackets_of"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

#: Upper over lower bound, less one, at which a place is done. [-]
WIDTH = 0.02

#: Nodes with fewer loads are solved load by load. [-]
SMALL = 6

#: Boxes larger than this share of the body are halved while they hold many places. [-]
COARSE_BOX = 0.2
MANY = 500

#: Places whose loads are gone through at once; bounds memory. [-]
PORTION = 4000


@dataclass(frozen=True, kw_only=True)
class Brackets:
    """Bounds on the greatest gauge of each place.

    Attributes
    ----------
    lower, upper : (n,) arrays
        The lower one is 0 where the upper one is low enough for nobody to ask. [-]
    settled : (n,) bool array
        Whether a place is narrow or low enough; False where the budget was spent before.
    programmes : int
        Linear programmes solved for them. [-]
    """

    lower: FloatArray
    upper: FloatArray
    settled: BoolArray
    programmes: int


@dataclass(kw_only=True, eq=False)
class _Node:
    """Loads whose force lies between three directions and whose point lies in a box."""

    triangle: FloatArray
    low: FloatArray
    high: FloatArray
    loads: IntArray


@dataclass(kw_only=True, eq=False)
class _Pool:
    """Loads that may be the worst of their place.

    Attributes
    ----------
    place : (n,) int array
    wrench : (n, 6) array
        About the origin. [N, N m]
    force, point, along : (n, 3) arrays
        The load as a screw: force, a point of its axis, and the couple along it. [N], [m], [N m]
    upper : (n,) array
        Bound on its gauge. [-]
    """

    place: IntArray
    wrench: FloatArray
    force: FloatArray
    point: FloatArray
    along: FloatArray
    upper: FloatArray


class _Bracketing:
    def __init__(self, capacity: Capacity, sweep: Sweep, *, enough: float, budget: int) -> None:
        self._c, self._sweep, self._enough = capacity, sweep, enough
        self._start = capacity.programmes
        self._budget = budget
        self._lower = np.zeros(len(sweep))
        self._rest = np.zeros(len(sweep))
        self._pools: list[_Pool] = []
        self._heap: list[tuple[int, int, _Node]] = []
        self._tick = count()

    def run(self, worst: SweepWorst) -> Brackets:
        """Bound every place in boxes, then refine what is left open, most loads first."""
        self._lower[worst.place] = worst.worst.gauge
        points = self._sweep.point
        rows = np.arange(len(self._sweep))
        self._boxes(FanBounds(self._c, self._sweep), rows, points.min(axis=0), points.max(axis=0))
        self._pool = _joined(self._pools)
        if len(self._pool.place):
            self._refine()
        upper = self._rest.copy()
        np.maximum.at(upper, self._pool.place, self._pool.upper)
        upper = np.minimum(upper, worst.bound)
        upper = np.maximum(upper, self._lower)
        return Brackets(
            lower=self._lower,
            upper=upper,
            settled=upper <= np.maximum(self._enough, (1.0 + 1.001 * WIDTH) * self._lower),
            programmes=self._c.programmes - self._start,
        )

    def _spent(self) -> bool:
        return self._c.programmes - self._start >= self._budget

    # Boxes of places.

    def _boxes(self, bounds: FanBounds, rows: IntArray, low: FloatArray, high: FloatArray) -> None:
        upper = bounds.upper(rows, low=low, high=high)
        open_ = upper > self._enough
        self._rest[rows[~open_]] = upper[~open_]
        rows, upper = rows[open_], upper[open_]
        if not len(rows):
            return
        size = high - low
        axis = int(np.argmax(size))
        if self._spent():
            self._rest[rows] = upper
        elif len(rows) <= MANY or size[axis] <= COARSE_BOX * self._c.reach:
            self._loads(bounds, rows, low, high)
        else:
            middle = (low[axis] + high[axis]) / 2.0
            below = self._sweep.point[rows, axis] <= middle
            far, near = high.copy(), low.copy()
            far[axis] = near[axis] = middle
            for mine, start, end in ((rows[below], low, far), (rows[~below], near, high)):
                if len(mine):
                    self._boxes(bounds, mine, start, end)

    def _loads(self, bounds: FanBounds, rows: IntArray, low: FloatArray, high: FloatArray) -> None:
        """Keep those loads of some places that may be the worst there."""
        slopes = bounds.slopes(low=low, high=high)
        for fan in np.unique(self._sweep.fan[rows]):
            mine = rows[self._sweep.fan[rows] == fan]
            for start in range(0, len(mine), PORTION):
                self._keep(bounds, mine[start : start + PORTION], low, high, slopes)

    def _keep(
        self, bounds: FanBounds, rows: IntArray, low: FloatArray, high: FloatArray, slopes: list[FloatArray]
    ) -> None:
        each = bounds.each(rows, low=low, high=high)
        top = self._sweep.chosen(rows, each.argmax(axis=1))
        self._lower[rows] = np.maximum(self._lower[rows], self._slanted(top.wrenches, slopes))
        line = np.maximum(self._enough, (1.0 + WIDTH) * self._lower[rows])[:, None]
        keep = each > line
        self._rest[rows] = np.where(keep, 0.0, each).max(axis=1)
        at, number = np.nonzero(keep)
        self._pools.append(_pool(self._sweep.chosen(rows[at], number), rows[at], each[at, number]))

    def _slanted(self, wrenches: FloatArray, slopes: list[FloatArray]) -> FloatArray:
        """Return the lower bound that slopes, (k, 6) a system, give of loads."""
        found = np.array([(wrenches @ each.T).max(axis=1) for each in slopes])
        return np.maximum(self._c.combine(found), 0.0)

    # Triangles of directions times boxes of points.

    def _refine(self) -> None:
        pool = self._pool
        square = np.einsum("ij,ij->i", pool.force, pool.force)
        shift = np.abs(pool.point - self._sweep.point[pool.place]).max(axis=1)
        rows = np.nonzero((square > 0.0) & (shift < self._c.reach))[0]
        if len(rows):
            self._lay_out(rows)
        while self._heap and not self._spent():
            self._open(heapq.heappop(self._heap)[2])

    def _lay_out(self, rows: IntArray) -> None:
        """Share loads out among boxes and the triangles of the net of directions."""
        low, high = self._pool.point[rows].min(axis=0), self._pool.point[rows].max(axis=0)
        number = np.maximum(np.ceil((high - low) / (COARSE_BOX * self._c.reach) - 1e-9), 1.0)
        size = (high - low) / number
        cell = np.minimum(np.floor((self._pool.point[rows] - low) / np.where(size > 0.0, size, 1.0)), number - 1.0)
        corners, _ = in_triangles(self._pool.force[rows])
        nodes = np.column_stack([cell, corners]).astype(np.int64)
        _, first, which = np.unique(_one_number(nodes), return_index=True, return_inverse=True)
        order = np.argsort(which, kind="stable")
        members = np.split(rows[order], np.cumsum(np.bincount(which))[:-1])
        for node, mine in zip(nodes[first], members, strict=True):
            box = low + node[:3] * size, low + (node[:3] + 1) * size
            self._pool.point[mine] = np.clip(self._pool.point[mine], *box)
            self._push(_Node(triangle=VERTICES[node[3:]], low=box[0], high=box[1], loads=mine))

    def _share(self, rows: IntArray, low: FloatArray, high: FloatArray, triangles: FloatArray) -> None:
        """Share loads out among triangles of directions."""
        left = rows
        for triangle in triangles:
            shares = self._pool.force[left] @ np.linalg.inv(triangle)
            inside = (shares >= -1e-12 * np.abs(shares).max(axis=1, keepdims=True)).all(axis=1)
            mine, left = left[inside], left[~inside]
            if len(mine):
                self._push(_Node(triangle=triangle, low=low, high=high, loads=mine))

    def _push(self, node: _Node) -> None:
        heapq.heappush(self._heap, (-len(node.loads), next(self._tick), node))

    def _still_open(self, rows: IntArray) -> IntArray:
        line = np.maximum(self._enough, (1.0 + WIDTH) * self._lower[self._pool.place[rows]])
        left: IntArray = rows[self._pool.upper[rows] > line]
        return left

    def _open(self, node: _Node) -> None:
        """Bound a node's loads from both sides, solve one outright, and halve the node if loads are left."""
        node.loads = self._still_open(node.loads)
        if len(node.loads) > SMALL:
            self._bound(node)
            node.loads = self._still_open(node.loads)
        if 0 < len(node.loads) <= SMALL:
            while len(node.loads) and not self._spent():
                self._solve(node)
        elif len(node.loads):
            self._solve(node)
            if len(node.loads):
                self._halve(node)

    def _bound(self, node: _Node) -> None:
        pool, rows = self._pool, node.loads
        shares = np.maximum(pool.force[rows] @ np.linalg.inv(node.triangle), 0.0)
        corners, weights = box_weights(pool.point[rows], node.low, node.high)
        along = pool.along[rows]
        turned = np.maximum(np.concatenate([along, -along], axis=1), 0.0)
        values, slopes = [], []
        for at in self._c.corners:
            forces = np.einsum("ij,ij->i", shares, weights @ at.table(node.triangle, corners).T)
            values.append(forces + turned @ at.couples() if turned.any() else forces)
            slopes.append(at.slopes(node.triangle, corners))
        pool.upper[rows] = np.minimum(pool.upper[rows], self._c.combine(np.array(values)))
        self._raise(rows, self._slanted(pool.wrench[rows], slopes))

    def _raise(self, rows: IntArray, lower: FloatArray) -> None:
        np.maximum.at(self._lower, self._pool.place[rows], lower)

    def _solve(self, node: _Node) -> None:
        """Solve a node's greatest load outright; its basis settles all loads for which it stays feasible."""
        pool, rows = self._pool, node.loads
        holds = self._c.holds(pool.wrench[rows[int(np.argmax(pool.upper[rows]))]])
        same, values = np.ones(len(rows), dtype=bool), []
        for system, hold in zip(self._c.systems, holds, strict=True):
            scaled = system.scale.wrenches(pool.wrench[rows])
            same &= (scaled @ hold.region.T >= -1e-11).all(axis=1)
            values.append(scaled @ hold.slope)
        lower = np.maximum(self._c.combine(np.array(values)), 0.0)
        self._raise(rows, lower)
        same[int(np.argmax(pool.upper[rows]))] = True
        pool.upper[rows] = np.where(same, np.minimum(pool.upper[rows], lower), pool.upper[rows])
        node.loads = self._still_open(rows[~same])

    def _halve(self, node: _Node) -> None:
        size = node.high - node.low
        axis = int(np.argmax(size))
        edges = np.linalg.norm(node.triangle - np.roll(node.triangle, 1, axis=0), axis=1)
        if edges.max() >= 1.5 * size[axis] / self._c.reach:
            self._share(node.loads, node.low, node.high, halves(node.triangle, edges))
            return
        middle = (node.low[axis] + node.high[axis]) / 2.0
        below = self._pool.point[node.loads, axis] <= middle
        for mine, low, high in ((below, node.low[axis], middle), (~below, middle, node.high[axis])):
            if mine.any():
                half = _Node(triangle=node.triangle, low=node.low.copy(), high=node.high.copy(), loads=node.loads[mine])
                half.low[axis], half.high[axis] = low, high
                self._push(half)


def _one_number(columns: IntArray) -> IntArray:
    """Return one number for each row of small whole numbers, the same for the same row only."""
    number: IntArray = np.ravel_multi_index(tuple(columns.T), tuple(columns.max(axis=0) + 1))
    return number


def _pool(loads: Loads, place: IntArray, upper: FloatArray) -> _Pool:
    square = np.einsum("ij,ij->i", loads.force, loads.force)
    safe = np.where(square > 0.0, square, 1.0)
    pitch = np.einsum("ij,ij->i", loads.force, loads.couple) / safe
    return _Pool(
        place=place,
        wrench=loads.wrenches,
        force=loads.force,
        point=loads.point + cross(loads.force, loads.couple) / safe[:, None],
        along=pitch[:, None] * loads.force,
        upper=upper,
    )


def _joined(pools: list[_Pool]) -> _Pool:
    def every(name: str, empty: FloatArray) -> FloatArray:
        return np.concatenate([empty, *(getattr(pool, name) for pool in pools)])

    blank = np.zeros((0, 3))
    return _Pool(
        place=every("place", np.zeros(0)).astype(np.int64),
        wrench=every("wrench", np.zeros((0, 6))),
        force=every("force", blank),
        point=every("point", blank),
        along=every("along", blank),
        upper=every("upper", np.zeros(0)),
    )


def brackets_of(capacity: Capacity, sweep: Sweep, worst: SweepWorst, *, enough: float, budget: int) -> Brackets:
    """Return a lower and an upper bound on the gauge of each place of a sweep.

    Parameters
    ----------
    capacity : Capacity
        The same that found the worst; what it has solved is not solved again.
    sweep : Sweep
    worst : SweepWorst
        Its worst place: no place has a greater gauge.
    enough : float
        Gauge below which a place needs no lower bound. [-]
    budget : int
        Linear programmes after which the brackets stay as wide as they are. [-]
    """
    return _Bracketing(capacity, sweep, enough=enough, budget=budget).run(worst)
