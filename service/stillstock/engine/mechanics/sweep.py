"""The worst load of a tool that goes along paths: many places and headings, few different force curves.

A *fan* is the set of loads that one kind of cut puts on the body in its feed frame; a *sweep* says at which places and
headings which fan acts. Places are pruned by their bounds (`FanBounds`), in boxes that are halved where the bound is
greatest, until few enough loads are left to be searched one by one.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.capacity import Capacity, Loads, Worst
from stillstock.engine.mechanics.fan_bounds import Fan, FanBounds, Sweep
from stillstock.engine.set_up import FloatArray

__all__ = ["Fan", "Sweep", "SweepWorst", "worst_of_sweep"]

IntArray = NDArray[np.int64]

#: Once the places that may hold the worst have fewer loads than this, they are searched load by load. [-]
HANDFUL = 100_000

#: Loads among which the one is sought that others are first measured against. [-]
GLANCE = 10_000

#: Smallest box as a share of the body; below it only the search load by load helps. [-]
SMALL_BOX = 1.0 / 64.0


@dataclass(frozen=True, kw_only=True)
class SweepWorst:
    """The worst place of a sweep.

    Attributes
    ----------
    place : int
        Its row in the sweep.
    force : (3,) array
        The load there, in the work frame. [N]
    worst : Worst
        What governs; exact for that load.
    bound : float
        No load of the sweep has a greater gauge; equal to that of `worst` unless slack was allowed. [-]
    """

    place: int
    force: FloatArray
    worst: Worst
    bound: float


@dataclass(kw_only=True, eq=False)
class _Node:
    low: FloatArray
    high: FloatArray
    rows: IntArray
    bounds: FloatArray


class _Some(NamedTuple):
    """Loads of a sweep: row of the place, and number in its fan, of each."""

    place: IntArray
    number: IntArray


class _SweepSearch:
    def __init__(self, capacity: Capacity, sweep: Sweep, *, slack: float) -> None:
        self._c, self._sweep, self._slack = capacity, sweep, slack
        self._sizes = sweep.sizes
        self._nodes: list[_Node] = []
        self._best: SweepWorst | None = None

    @cached_property
    def _bounds(self) -> FanBounds:
        return FanBounds(self._c, self._sweep)

    def run(self) -> SweepWorst:
        """Prune places by their bounds until few enough are left, then search those load by load."""
        rows = np.arange(len(self._sweep))
        if self._load_count(rows) <= HANDFUL:
            self._keep(*self._sweep.loads(rows))
            return self._found(self._gauge())
        points = self._sweep.point
        self._queue(
            _Node(low=points.min(axis=0), high=points.max(axis=0), rows=rows, bounds=np.full(len(rows), np.inf))
        )
        while self._nodes and self._load_count(np.concatenate([n.rows for n in self._nodes])) > HANDFUL:
            node = max(self._nodes, key=lambda n: n.bounds.max())
            if node.bounds.max() <= self._gauge() * (1.0 + self._slack) or _size(node) < SMALL_BOX * self._c.reach:
                break
            self._nodes.remove(node)
            self._open(node)
            self._prune()
        bound = max([self._gauge(), *(float(n.bounds.max()) for n in self._nodes)])
        if self._nodes and bound > self._gauge() * (1.0 + self._slack):
            self._finish()
            bound = self._gauge()
        return self._found(bound)

    def _found(self, bound: float) -> SweepWorst:
        if self._best is None:
            raise ArithmeticError("every place was passed over")
        return replace(self._best, bound=bound)

    def _load_count(self, rows: IntArray) -> int:
        return int(self._sizes[self._sweep.fan[rows]].sum())

    def _finish(self) -> None:
        """Search load by load what is left, the places with the greatest bounds first."""
        self._look_closer()
        found: list[_Some] = []
        for node in sorted(self._nodes, key=lambda node: -float(node.bounds.max())):
            for rows in self._portions(node):
                found.append(self._above(node, rows))
                if sum(len(some.place) for some in found) > HANDFUL:
                    self._search(found)
                    found = []
        if found:
            self._search(found)

    def _search(self, found: list[_Some]) -> None:
        """Search some loads one by one."""
        place, number = (np.concatenate(part) for part in zip(*found, strict=True))
        if len(place):
            self._keep(self._sweep.chosen(place, number), place)

    def _look_closer(self) -> None:
        """Glance at every node until that finds nothing worse."""
        before = -np.inf
        while self._gauge() > before:
            before = self._gauge()
            for node in self._nodes:
                self._glance(node)
            self._prune()

    def _portions(self, node: _Node) -> Iterator[IntArray]:
        """Yield places of one fan at a time, few enough for a handful of loads."""
        fans = self._sweep.fan[node.rows]
        for fan in np.unique(fans):
            rows = node.rows[fans == fan]
            many = max(1, HANDFUL // int(self._sweep.sizes[fan]))
            yield from (rows[start : start + many] for start in range(0, len(rows), many))

    def _above(self, node: _Node, rows: IntArray) -> _Some:
        """Return the loads of one fan whose own bound passes the worst so far."""
        at, number = np.nonzero(self._bounds.each(rows, low=node.low, high=node.high) > self._gauge())
        return _Some(rows[at], number)

    def _prune(self) -> None:
        for node in self._nodes:
            keep = node.bounds > self._gauge()
            node.rows, node.bounds = node.rows[keep], node.bounds[keep]
        self._nodes = [node for node in self._nodes if len(node.rows)]

    def _gauge(self) -> float:
        return -1.0 if self._best is None else self._best.worst.gauge

    def _glance(self, node: _Node) -> None:
        """Solve the load at a node's worst places that the known motions show to be the worst there."""
        order = np.argsort(-node.bounds, kind="stable")
        many = np.searchsorted(np.cumsum(self._sweep.sizes[self._sweep.fan[node.rows[order]]]), GLANCE) + 1
        loads, place = self._sweep.loads(node.rows[order[:many]])
        worst = int(np.argmax(self._c.lower(loads.wrenches)))
        only = slice(worst, worst + 1)
        self._keep(Loads(force=loads.force[only], point=loads.point[only], couple=loads.couple[only]), place[only])

    def _keep(self, loads: Loads, place: IntArray) -> None:
        """Keep the worst of some loads, if it is the worst so far."""
        found = self._c.worst(loads, above=self._gauge())
        if found is not None:
            self._best = SweepWorst(
                place=int(place[found.load]), force=loads.force[found.load], worst=found, bound=found.gauge
            )

    def _queue(self, node: _Node) -> None:
        node.bounds = np.minimum(node.bounds, self._bounds.upper(node.rows, low=node.low, high=node.high))
        self._nodes.append(node)
        self._prune()

    def _open(self, node: _Node) -> None:
        """Glance at a node's worst place, then halve its box; halves share corners with their neighbours."""
        self._glance(node)
        axis = int(np.argmax(node.high - node.low))
        middle = (node.low[axis] + node.high[axis]) / 2.0
        below = self._sweep.point[node.rows, axis] <= middle
        for mine, low, high in ((below, node.low[axis], middle), (~below, middle, node.high[axis])):
            if mine.any():
                half = _Node(low=node.low.copy(), high=node.high.copy(), rows=node.rows[mine], bounds=node.bounds[mine])
                half.low[axis], half.high[axis] = low, high
                self._queue(half)


def _size(node: _Node) -> float:
    return float((node.high - node.low).max())


def worst_of_sweep(capacity: Capacity, sweep: Sweep, *, slack: float = 0.0) -> SweepWorst:
    """Return the worst load of a sweep.

    Parameters
    ----------
    capacity : Capacity
    sweep : Sweep
    slack : float
        Relative gap up to which a bound may stand above the worst load found; 0 is exact. [-]

    Raises
    ------
    ValueError
        If the sweep has no place.
    """
    if not len(sweep):
        raise ValueError("no place to judge")
    return _SweepSearch(capacity, sweep, slack=slack).run()
