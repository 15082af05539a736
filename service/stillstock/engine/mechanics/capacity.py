"""The exact worst of very many loads, by branch and bound over the gauge's convexity.

A load is a screw: a force F through a point r with a couple h F along it. The gauge is convex and positively
homogeneous, so with F = sum of a_i d_i over three directions and r between the eight corners c_k of a box, weights b_k,

    s(F, r, h) <= sum_i a_i sum_k b_k s(d_i, c_k) + sum over the axes of |h F_axis| s(couple along +-axis)

bounds every load of a node (a triangle of directions times a box) by a few programmes at its corners. Nodes are taken
from the greatest bound down; a load that is solved outright gives the best so far, and its basis settles every other
load for which it stays feasible. Own derivation.
"""

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import count

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.equilibrium import System
from stillstock.engine.mechanics.linear_program import GIVES_WAY, Gauge, Hold
from stillstock.engine.mechanics.work import spend
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray

__all__ = ["Capacity", "Corners", "Loads", "Worst", "box_weights", "halves", "octants"]

IntArray = NDArray[np.int64]

#: Fewer loads are solved one by one from the start. [-]
SMALL = 12

#: Loads in a node, for each system and at the most, up to which they are solved one by one rather than shared out anew:
#: to halve a node takes some eight programmes in every system, a load mostly one in all, which settles its neighbours.
#: By measurement. [-]
ALONE, MOST_ALONE = 60, 400

#: Loads that are solved in search of one that passes a gauge, before all are searched. [-]
STEPS = 8

#: What it costs to bound a node in one system, in all and for each load, and to compare a load with one limit of a
#: basis; by measurement. [units]
BOUNDING, COMPARING = (1.0, 2e-4), 1.2e-5

#: Relative slack within which two gauges are one. [-]
SAME = 1e-12


@dataclass(frozen=True, kw_only=True)
class Loads:
    """Forces on the body, each with a couple.

    Attributes
    ----------
    force, point, couple : (n, 3) arrays
        Force, its point of attack and the couple that comes with it. [N], [m], [N m]
    """

    force: FloatArray
    point: FloatArray
    couple: FloatArray

    @property
    def wrenches(self) -> FloatArray:
        """Wrenches about the origin, (n, 6). [N, N m]"""
        return wrench(self.point, self.force, self.couple)


@dataclass(frozen=True, kw_only=True)
class Worst:
    """The worst of many loads.

    Attributes
    ----------
    load : int
        Its row.
    gauge : float
        1 / load factor. [-]
    way, system : int
        Way and system that govern there.
    hold : Hold
        Gauge and proof of the governing system.
    """

    load: int
    gauge: float
    way: int
    system: int
    hold: Hold

    @property
    def factor(self) -> float:
        """Load factor; infinite if every load only presses home, 0 if nothing resists. [-]"""
        if self.gauge <= 0.0:
            return float("inf")
        return 1.0 / self.gauge if self.gauge < GIVES_WAY * 1e-3 else 0.0


@dataclass(kw_only=True)
class _Node:
    """Loads whose force lies between three directions and whose point lies in a box."""

    triangle: FloatArray
    low: FloatArray
    high: FloatArray
    loads: IntArray
    bounds: FloatArray = field(default_factory=lambda: np.zeros(0))


def _distinct(slopes: Iterable[FloatArray]) -> FloatArray:
    return np.array(list({tuple(np.round(slope, 12).tolist()): slope for slope in slopes}.values()))


class Corners:
    """One system's gauge at directions and corners, each solved once."""

    def __init__(self, gauge: Gauge, system: System) -> None:
        self._gauge, self._system = gauge, system
        self._known: dict[tuple[float, ...], tuple[float, FloatArray]] = {}
        self._couples: FloatArray | None = None
        self._distinct: tuple[int, FloatArray] = (0, np.zeros((1, 6)))

    def at(self, load: FloatArray) -> tuple[float, FloatArray]:
        """Return the gauge at a wrench about the origin (6,), and its dual there. [-], [1/N, 1/(N m)]"""
        if not self.knows(load):
            scale = self._system.scale
            value, slope = self._gauge.value(scale.wrenches(load))
            self._known[tuple(load.tolist())] = value, scale.gradient(slope)
        return self._known[tuple(load.tolist())]

    def knows(self, load: FloatArray) -> bool:
        """Return whether a wrench about the origin (6,) was solved. [N, N m]"""
        return tuple(load.tolist()) in self._known

    def table(self, directions: FloatArray, corners: FloatArray) -> FloatArray:
        """Return the gauge of unit forces, (directions, corners). [1/N]"""
        return np.array([[self.unit(d, c) for c in corners] for d in directions])

    def slopes(self, directions: FloatArray, corners: FloatArray) -> FloatArray:
        """Return the distinct duals at unit forces, (k, 6): no load's gauge is below its product with any of them.

        [1/N, 1/(N m)]
        """
        return _distinct(self.at(wrench(c, d))[1] for c in corners for d in directions)

    def known_slopes(self) -> FloatArray:
        """Return the distinct duals of all that is solved so far, (k, 6); that of the zero load first.

        [1/N, 1/(N m)]
        """
        if self._distinct[0] != len(self._known):
            slopes = _distinct([np.zeros(6), *(slope for _, slope in self._known.values())])
            self._distinct = len(self._known), slopes
        return self._distinct[1]

    def unit(self, direction: FloatArray, corner: FloatArray) -> float:
        """Return the gauge of a unit force at a corner. [1/N]"""
        return self.at(wrench(corner, direction))[0]

    def couples(self) -> FloatArray:
        """Return the gauge of unit couples along +x, +y, +z, -x, -y, -z, (6,). [1/(N m)]"""
        if self._couples is None:
            axes = np.concatenate([np.eye(3), -np.eye(3)])
            self._couples = np.array([self.at(np.concatenate([np.zeros(3), axis]))[0] for axis in axes])
        return self._couples


def octants() -> FloatArray:
    """Return the three directions of each octant, (8, 3, 3)."""
    x, y, z = np.eye(3)
    return np.array([(a * x, b * y, c * z) for a in (1, -1) for b in (1, -1) for c in (1, -1)])


def box_weights(points: FloatArray, low: FloatArray, high: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the corners of a box (k, 3) and each point's weights on them (n, k); flat sides are left out."""
    corners, weights = low[None, :], np.ones((len(points), 1))
    for axis in range(3):
        size = high[axis] - low[axis]
        if size <= 0.0:
            continue
        share = ((points[:, axis] - low[axis]) / size)[:, None]
        far = corners.copy()
        far[:, axis] = high[axis]
        corners = np.concatenate([corners, far])
        weights = np.concatenate([weights * (1.0 - share), weights * share], axis=1)
    return corners, weights


class Capacity:
    """What a set of ways can resist: the best way, and in it the worst system, count for each load."""

    def __init__(self, ways: Sequence[Sequence[System]]) -> None:
        self.systems = [system for way in ways for system in way]
        self._gauges = [Gauge(system) for system in self.systems]
        self.corners = [Corners(g, s) for g, s in zip(self._gauges, self.systems, strict=True)]
        ends = np.cumsum([len(way) for way in ways])
        self._ways = [range(end - len(way), end) for end, way in zip(ends, ways, strict=True)]

    @property
    def ways(self) -> tuple[range, ...]:
        """Numbers of the systems of each way."""
        return tuple(self._ways)

    @property
    def reach(self) -> float:
        """Size of the held body. [m]"""
        return self.systems[0].scale.length

    @property
    def programmes(self) -> int:
        """Number of linear programmes solved so far. [-]"""
        return sum(gauge.solved for gauge in self._gauges)

    def combine(self, values: FloatArray) -> FloatArray:
        """Return the gauge over all ways from that of each system, (systems, ...) -> (...)."""
        best: FloatArray = np.min([values[way.start : way.stop].max(axis=0) for way in self._ways], axis=0)
        return best

    def lower(self, loads: FloatArray) -> FloatArray:
        """Return a lower bound on the gauge of many loads (n, 6), by the motions of all that is solved so far. [-]"""
        return self.combine(np.array([(loads @ at.known_slopes().T).max(axis=1) for at in self.corners]))

    def at(self, load: FloatArray) -> Worst:
        """Return the gauge at one load, a wrench about the origin (6,). [N, N m]"""
        return self.governing(0, self.holds(load))

    def stays_below(self, load: FloatArray, gauge: float) -> bool:
        """Return whether some way keeps the gauge of a load (6,) below a given one; only what tells is solved. [-]"""
        scaled = [(at, system.scale.wrenches(load)) for at, system in zip(self._gauges, self.systems, strict=True)]
        return any(
            all(at.value(wrench)[0] < gauge for at, wrench in scaled[way.start : way.stop]) for way in self._ways
        )

    def holds(self, load: FloatArray, numbers: Iterable[int] | None = None) -> list[Hold]:
        """Return the gauge of some systems, or of all, at one load, a wrench about the origin (6,). [N, N m]"""
        chosen = range(len(self.systems)) if numbers is None else numbers
        return [self._gauges[k].at(self.systems[k].scale.wrenches(load)) for k in chosen]

    def governing(self, row: int, holds: Sequence[Hold]) -> Worst:
        """Return the best way's worst system among all systems' gauges at one load."""
        within = [max(way, key=lambda k: holds[k].gauge) for way in self._ways]
        best = min(range(len(within)), key=lambda i: holds[within[i]].gauge)
        number = within[best]
        return Worst(
            load=row,
            gauge=holds[number].gauge,
            way=best,
            system=number - self._ways[best].start,
            hold=holds[number],
        )

    def system(self, worst: Worst) -> System:
        """Return the system that governs a worst load."""
        return self.systems[self._ways[worst.way].start + worst.system]

    def worst(self, loads: Loads, *, above: float = -1.0) -> Worst | None:
        """Return the worst of many loads, exactly, or None if none has a gauge above a given one.

        Parameters
        ----------
        loads : Loads
        above : float
            Gauge that is reached already; loads below it are passed over. [-]

        Raises
        ------
        ValueError
            If there is no load.
        """
        if not len(loads.force):
            raise ValueError("no load to judge")
        return _Search(self, loads, above=above).run()

    def is_beyond(self, loads: Loads, gauge: float) -> bool:
        """Return whether any of many loads has a gauge above a given one; one that tells is looked for first. [-]

        Parameters
        ----------
        loads : Loads
        gauge : float
            [-]

        Notes
        -----
        The motions that are known bound every load's gauge from below. The load of the greatest bound is solved, which
        gives another motion, and so on for a few steps; only then are all loads searched.
        """
        wrenches, row = loads.wrenches, int(np.argmax(np.einsum("ij,ij->i", loads.force, loads.force)))
        for _ in range(STEPS):
            below = self.lower(wrenches)
            row = int(np.argmax(below)) if below.max() > 0.0 else row
            if below[row] > gauge:
                return True
            if all(at.knows(wrenches[row]) for at in self.corners):
                break
            for at in self.corners:
                at.at(wrenches[row])
        return self.worst(loads, above=gauge) is not None


class _Search:
    """One branch and bound over a set of loads."""

    def __init__(self, capacity: Capacity, loads: Loads, *, above: float) -> None:
        self._c, self._above = capacity, above
        self._wrenches = loads.wrenches
        self._force = loads.force
        square = np.einsum("ij,ij->i", loads.force, loads.force)
        self._safe = np.where(square > 0.0, square, 1.0)
        self._point = loads.point + np.cross(loads.force, loads.couple) / self._safe[:, None]
        self._pitch = np.einsum("ij,ij->i", loads.force, loads.couple) / self._safe
        shift = np.abs(self._point - loads.point).max(axis=1)
        self._screws = (square > 0.0) & (shift < capacity.reach)
        self._best: Worst | None = None
        self._heap: list[tuple[float, int, _Node]] = []
        self._tick = count()
        self._alone = min(ALONE * len(capacity.systems), MOST_ALONE)

    def run(self) -> Worst | None:
        """Search, from the greatest bound down, until no bound passes the best."""
        for row in np.nonzero(~self._screws)[0]:
            self._solve(int(row))
        self._start(np.nonzero(self._screws)[0])
        while self._heap:
            bound, _, node = heapq.heappop(self._heap)
            if -bound > self._threshold():
                self._open(node)
        return self._best

    def _threshold(self) -> float:
        return self._above if self._best is None else self._best.gauge * (1.0 + SAME)

    def _solve(self, row: int) -> dict[int, list[Hold]]:
        """Solve one load outright and keep it if it is the worst so far; return what was solved, by way.

        As soon as one way holds the load no worse than the worst so far, the others need not be asked.
        """
        solved: dict[int, list[Hold]] = {}
        for number, way in enumerate(self._c.ways):
            solved[number] = self._c.holds(self._wrenches[row], way)
            if max(hold.gauge for hold in solved[number]) <= self._threshold():
                return solved
        found = self._c.governing(row, [hold for way in solved.values() for hold in way])
        if found.gauge > (self._above if self._best is None else self._best.gauge):
            self._best = found
        return solved

    def _start(self, rows: IntArray) -> None:
        if len(rows) <= SMALL:
            for row in rows:
                self._solve(int(row))
            return
        points = self._point[rows]
        low, high = points.min(axis=0), points.max(axis=0)
        high = np.where(high - low > 1e-9 * self._c.reach, high, low)
        # A bad load to begin with: what it passes needs no second way, and no programme of its own.
        size = np.einsum("ij,ij->i", self._force[rows], self._force[rows])
        self._solve(int(rows[np.argmax(size)]))
        self._point[rows] = np.clip(points, low, high)
        self._push(_Node(triangle=np.eye(3), low=low, high=high, loads=rows), octants())

    def _push(self, parent: _Node, triangles: FloatArray) -> None:
        """Share a node's loads out among triangles of directions and queue those whose bound passes the best."""
        left = parent.loads
        for triangle in triangles:
            shares = self._force[left] @ np.linalg.inv(triangle)
            inside = (shares >= -1e-12 * np.abs(shares).max(axis=1, keepdims=True)).all(axis=1)
            rows, left = left[inside], left[~inside]
            if len(rows):
                self._queue(_Node(triangle=triangle, low=parent.low, high=parent.high, loads=rows))

    def _queue(self, node: _Node) -> None:
        bounds = self._bounds(node)
        keep = bounds > self._threshold()
        if keep.any():
            node.loads, node.bounds = node.loads[keep], bounds[keep]
            heapq.heappush(self._heap, (-float(node.bounds.max()), next(self._tick), node))

    def _bounds(self, node: _Node) -> FloatArray:
        """Return an upper bound on the gauge of each load of a node."""
        shares = np.maximum(self._force[node.loads] @ np.linalg.inv(node.triangle), 0.0)
        corners, weights = box_weights(self._point[node.loads], node.low, node.high)
        along = self._pitch[node.loads, None] * self._force[node.loads]
        turned = np.maximum(np.concatenate([along, -along], axis=1), 0.0)
        bounds = np.full(len(node.loads), np.inf)
        open_ = np.ones(len(node.loads), dtype=bool)
        for way in self._c.ways:
            worst = np.zeros(int(open_.sum()))
            spend(len(way) * (BOUNDING[0] + BOUNDING[1] * len(worst)))
            for at in self._c.corners[way.start : way.stop]:
                table = weights[open_] @ at.table(node.triangle, corners).T
                forces = np.einsum("ij,ij->i", shares[open_], table)
                worst = np.maximum(worst, forces + turned[open_] @ at.couples() if turned.any() else forces)
            bounds[open_] = np.minimum(bounds[open_], worst)
            open_ = bounds > self._threshold()
            if not open_.any():
                break
        return bounds

    def _open(self, node: _Node) -> None:
        """Solve a node's worst load, drop what that settles, and go on while few are left; else split."""
        while len(node.loads):
            first = int(np.argmax(node.bounds))
            self._settle(node, self._solve(int(node.loads[first])))
            node.bounds[first] = -np.inf
            keep = node.bounds > self._threshold()
            node.loads, node.bounds = node.loads[keep], node.bounds[keep]
            if len(node.loads) > self._alone:
                self._split(node)
                return

    def _settle(self, node: _Node, solved: dict[int, list[Hold]]) -> None:
        """Lower the bounds of loads that have the same optimal basis, in every system of a way, to their own gauge."""
        for number, holds in solved.items():
            same = np.ones(len(node.loads), dtype=bool)
            worst = np.zeros(len(node.loads))
            for k, hold in zip(self._c.ways[number], holds, strict=True):
                spend(COMPARING * len(node.loads) * len(hold.region))
                loads = self._c.systems[k].scale.wrenches(self._wrenches[node.loads])
                same &= (loads @ hold.region.T >= -1e-11).all(axis=1)
                worst = np.maximum(worst, loads @ hold.slope)
            # The next greatest is solved outright before it counts, so a shade above its gauge is as good as the gauge.
            node.bounds[same] = np.minimum(node.bounds[same], worst[same] * (1.0 + SAME))

    def _split(self, node: _Node) -> None:
        size = node.high - node.low
        axis = int(np.argmax(size))
        edges = np.linalg.norm(node.triangle - np.roll(node.triangle, 1, axis=0), axis=1)
        if edges.max() >= 1.5 * size[axis] / self._c.reach:
            self._push(node, halves(node.triangle, edges))
            return
        middle = (node.low[axis] + node.high[axis]) / 2.0
        below = self._point[node.loads, axis] <= middle
        for mine, low, high in ((below, node.low[axis], middle), (~below, middle, node.high[axis])):
            if mine.any():
                child = _Node(
                    triangle=node.triangle, low=node.low.copy(), high=node.high.copy(), loads=node.loads[mine]
                )
                child.low[axis], child.high[axis] = low, high
                self._queue(child)


def halves(triangle: FloatArray, edges: FloatArray) -> FloatArray:
    """Return the two triangles that halve the longest edge; `edges[i]` joins corner i to the one before it."""
    i = int(np.argmax(edges))
    a, b, c = triangle[i - 1], triangle[i], triangle[(i + 1) % 3]
    middle = (a + b) / np.linalg.norm(a + b)
    return np.array([(a, middle, c), (middle, b, c)])
