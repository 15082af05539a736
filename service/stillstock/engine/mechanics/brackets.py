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
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.capacity import Capacity, box_weights, halves
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

#: Loads that decide where to halve; of more, those of every so many places decide for the others. [-]
PILOTS = 200_000

#: Loads that are looked at more closely; beyond them places keep their first bounds. [-]
MOST_LOADS = 8_000_000

#: Others that are bounded at once; bounds memory. [-]
FOLLOWERS = 100_000

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
    """Loads whose force lies between three directions and whose point lies in a box.

    Attributes
    ----------
    triangle : (3, 3) array
        [-]
    low, high : (3,) arrays
        [m]
    loads : (n,) int array
        Those that decide where to halve.
    others : (k,) int array
        Those that only follow, and are bounded once, in the smallest node that was bounded for the former.
    """

    triangle: FloatArray
    low: FloatArray
    high: FloatArray
    loads: IntArray
    others: IntArray


class _Pool(NamedTuple):
    """Loads that may be the worst of their place: their numbers, and a bound on the gauge of each. [-]"""

    place: IntArray
    number: IntArray
    upper: FloatArray


class _Screws(NamedTuple):
    """Loads as forces, points of their axes and couples along these; and as wrenches about the origin. [N, m, N m]"""

    force: FloatArray
    point: FloatArray
    along: FloatArray
    wrench: FloatArray


class _Bracketing:
    def __init__(self, capacity: Capacity, sweep: Sweep, *, enough: float, budget: int) -> None:
        self._c, self._sweep, self._enough = capacity, sweep, enough
        self._start = capacity.programmes
        self._budget = budget
        self._lower = np.zeros(len(sweep))
        self._rest = np.zeros(len(sweep))
        self._pools: list[_Pool] = []
        self._count = 0
        self._heap: list[tuple[int, int, _Node, _Node | None]] = []
        self._tick = count()

    def run(self, worst: SweepWorst) -> Brackets:
        """Bound every place in boxes, then refine what is left open, most loads first."""
        self._lower[worst.place] = worst.worst.gauge
        points = self._sweep.point
        rows = np.arange(len(self._sweep))
        self._boxes(FanBounds(self._c, self._sweep), rows, points.min(axis=0), points.max(axis=0))
        empty = _Pool(np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64), np.zeros(0))
        self._pool = _Pool(*(np.concatenate(columns) for columns in zip(empty, *self._pools, strict=True)))
        self._pools.clear()
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
        if self._spent() or self._count > MOST_LOADS:
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
        self._pools.append(_Pool(rows[at], number, each[at, number]))
        self._count += len(number)

    def _slanted(self, wrenches: FloatArray, slopes: list[FloatArray]) -> FloatArray:
        """Return the lower bound that slopes, (k, 6) a system, give of loads."""
        found = np.array([(wrenches @ each.T).max(axis=1) for each in slopes])
        return np.maximum(self._c.combine(found), 0.0)

    # Triangles of directions times boxes of points.

    def _refine(self) -> None:
        self._lay_out()
        while self._heap and not self._spent():
            self._open(heapq.heappop(self._heap)[2])
        for _, _, node, parent in self._heap:
            if parent is not None:
                self._follow(np.concatenate([node.loads, node.others]), parent)

    def _screws(self, rows: IntArray) -> _Screws:
        loads = self._sweep.chosen(self._pool.place[rows], self._pool.number[rows])
        square = np.einsum("ij,ij->i", loads.force, loads.force)
        safe = np.where(square > 0.0, square, 1.0)
        pitch = np.einsum("ij,ij->i", loads.force, loads.couple) / safe
        return _Screws(
            force=loads.force,
            point=loads.point + cross(loads.force, loads.couple) / safe[:, None],
            along=pitch[:, None] * loads.force,
            wrench=loads.wrenches,
        )

    def _lay_out(self) -> None:
        """Share loads out among boxes and the triangles of the net of directions; leave those that are mere couples."""
        side = COARSE_BOX * self._c.reach
        every = np.arange(len(self._pool.place))
        portions = [self._keys(every[k : k + FOLLOWERS], side) for k in range(0, len(every), FOLLOWERS)]
        low, high = (np.array([portion[k] for portion in portions]) for k in (1, 2))
        low, high = low.min(axis=0, initial=np.inf), high.max(axis=0, initial=-np.inf)
        keys = np.concatenate([np.zeros((0, 5), dtype=np.int64), *(portion[0] for portion in portions)])
        rows = np.nonzero(keys[:, 2] >= 0)[0]
        if not len(rows):
            return
        keys = keys[rows]
        least = keys[:, :2].min(axis=0)
        _, first, which = np.unique(_one_number(keys - [*least, 0, 0, 0]), return_index=True, return_inverse=True)
        members = np.split(rows[np.argsort(which, kind="stable")], np.cumsum(np.bincount(which))[:-1])
        stride = max(1, len(rows) // PILOTS)
        for key, mine in zip(keys[first], members, strict=True):
            start, end = np.append(key[:2] * side, -np.inf), np.append((key[:2] + 1) * side, np.inf)
            leads = self._pool.place[mine] % stride == 0
            node = _Node(
                triangle=VERTICES[key[2:]],
                low=np.maximum(start, low),
                high=np.minimum(end, high),
                loads=mine[leads],
                others=mine[~leads],
            )
            self._push(node, None)

    def _keys(self, rows: IntArray, side: float) -> tuple[IntArray, FloatArray, FloatArray]:
        """Return the square in plan and the three directions of each load, and the range of their points.

        Returns
        -------
        (rows, 5) int array
            The last three -1 for those that are no screw nearby.
        low, high : (3,) arrays
            [m]
        """
        screws = self._screws(rows)
        shift = np.abs(screws.point - self._sweep.point[self._pool.place[rows]]).max(axis=1)
        near = np.any(screws.force != 0.0, axis=1) & (shift < self._c.reach)
        corners, _ = in_triangles(screws.force)
        cell = np.floor(np.where(near[:, None], screws.point[:, :2], 0.0) / side)
        keys = np.column_stack([cell, corners]).astype(np.int64)
        keys[~near, 2:] = -1
        points = screws.point[near]
        return keys, points.min(axis=0, initial=np.inf), points.max(axis=0, initial=-np.inf)

    def _share(self, node: _Node, triangles: FloatArray) -> None:
        """Share a node's loads out among triangles of directions."""
        loads, others = node.loads, node.others
        for number, triangle in enumerate(triangles):
            inverse, last = np.linalg.inv(triangle), number == len(triangles) - 1
            mine, loads = self._inside(loads, inverse, every=last)
            with_them, others = self._inside(others, inverse, every=last)
            self._push(_Node(triangle=triangle, low=node.low, high=node.high, loads=mine, others=with_them), node)

    def _inside(self, rows: IntArray, inverse: FloatArray, *, every: bool) -> tuple[IntArray, IntArray]:
        """Return the loads between three directions, and the rest; the last triangle takes all that are left."""
        if every:
            return rows, rows[:0]
        shares = self._screws(rows).force @ inverse
        inside = (shares >= -1e-12 * np.abs(shares).max(axis=1, keepdims=True)).all(axis=1)
        return rows[inside], rows[~inside]

    def _push(self, node: _Node, parent: _Node | None) -> None:
        """Queue a node; where no load decides in it, the others are bounded by the node that it comes from."""
        if len(node.loads):
            heapq.heappush(self._heap, (-len(node.loads), next(self._tick), node, parent))
        elif parent is not None:
            self._follow(node.others, parent)

    def _follow(self, rows: IntArray, node: _Node) -> None:
        """Bound loads by what a node has solved already."""
        rows = self._still_open(rows)
        for start in range(0, len(rows), FOLLOWERS):
            self._bound(rows[start : start + FOLLOWERS], node)

    def _still_open(self, rows: IntArray) -> IntArray:
        line = np.maximum(self._enough, (1.0 + WIDTH) * self._lower[self._pool.place[rows]])
        left: IntArray = rows[self._pool.upper[rows] > line]
        return left

    def _open(self, node: _Node) -> None:
        """Bound a node's loads from both sides, solve one outright, and halve the node if loads are left."""
        node.loads = self._still_open(node.loads)
        if len(node.loads) > SMALL or len(node.others):
            self._bound(node.loads, node)
            node.loads = self._still_open(node.loads)
        if len(node.loads) > SMALL:
            self._solve(node)
            if len(node.loads):
                self._halve(node)
                return
        while len(node.loads) and not self._spent():
            self._solve(node)
        self._follow(node.others, node)

    def _bound(self, rows: IntArray, node: _Node) -> None:
        screws = self._screws(rows)
        shares = np.maximum(screws.force @ np.linalg.inv(node.triangle), 0.0)
        corners, weights = box_weights(np.clip(screws.point, node.low, node.high), node.low, node.high)
        turned = np.maximum(np.concatenate([screws.along, -screws.along], axis=1), 0.0)
        values, slopes = [], []
        for at in self._c.corners:
            forces = np.einsum("ij,ij->i", shares, weights @ at.table(node.triangle, corners).T)
            values.append(forces + turned @ at.couples() if turned.any() else forces)
            slopes.append(at.slopes(node.triangle, corners))
        self._pool.upper[rows] = np.minimum(self._pool.upper[rows], self._c.combine(np.array(values)))
        self._raise(rows, self._slanted(screws.wrench, slopes))

    def _raise(self, rows: IntArray, lower: FloatArray) -> None:
        np.maximum.at(self._lower, self._pool.place[rows], lower)

    def _solve(self, node: _Node) -> None:
        """Solve a node's greatest load outright; its basis settles all loads for which it stays feasible."""
        rows, upper = node.loads, self._pool.upper
        wrenches = self._screws(rows).wrench
        top = int(np.argmax(upper[rows]))
        same, values = np.ones(len(rows), dtype=bool), []
        for system, hold in zip(self._c.systems, self._c.holds(wrenches[top]), strict=True):
            scaled = system.scale.wrenches(wrenches)
            same &= (scaled @ hold.region.T >= -1e-11).all(axis=1)
            values.append(scaled @ hold.slope)
        lower = np.maximum(self._c.combine(np.array(values)), 0.0)
        self._raise(rows, lower)
        same[top] = True
        upper[rows] = np.where(same, np.minimum(upper[rows], lower), upper[rows])
        node.loads = self._still_open(rows[~same])

    def _halve(self, node: _Node) -> None:
        size = node.high - node.low
        axis = int(np.argmax(size))
        edges = np.linalg.norm(node.triangle - np.roll(node.triangle, 1, axis=0), axis=1)
        if edges.max() >= 1.5 * size[axis] / self._c.reach:
            self._share(node, halves(node.triangle, edges))
            return
        middle = (node.low[axis] + node.high[axis]) / 2.0
        lead, follow = (self._screws(rows).point[:, axis] <= middle for rows in (node.loads, node.others))
        for side in (True, False):
            low, high = node.low.copy(), node.high.copy()
            (high if side else low)[axis] = middle
            loads, others = node.loads[lead == side], node.others[follow == side]
            self._push(_Node(triangle=node.triangle, low=low, high=high, loads=loads, others=others), node)


def _one_number(columns: IntArray) -> IntArray:
    """Return one number for each row of small whole numbers, the same for the same row only."""
    number: IntArray = np.ravel_multi_index(tuple(columns.T), tuple(columns.max(axis=0) + 1))
    return number


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
