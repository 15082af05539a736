"""The worst load of a tool that goes along paths: many places and headings, few different force curves.

A *fan* is the set of loads that one kind of cut puts on the body in its feed frame; a *sweep* says at which places and
headings which fan acts. The gauge is convex and homogeneous, so at a place r in a box with corners c (weights b) and a
heading between two of a fixed set,

    max over the fan of s  <=  sum_c b_c  max( T[k, c], T[k+1, c] )

where T[k, c] bounds every load of the fan at heading k and corner c, itself by the gauge at a few dozen directions of
unit force there. So a place costs a few products, however many loads its fan has. Own derivation.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.capacity import Capacity, Loads, Worst, box_weights
from stillstock.engine.mechanics.directions import VERTICES, in_triangles
from stillstock.engine.set_up import FloatArray

__all__ = ["Fan", "Sweep", "SweepWorst", "worst_of_sweep"]

IntArray = NDArray[np.int64]

#: Headings at which a fan is bounded; between two of them a force is a mix of both, grown by at most 1 / cos of half
#: their distance. [-]
HEADINGS = 32
_STEP = 2.0 * np.pi / HEADINGS
_GROWTH = 1.0 / np.cos(_STEP / 2.0)

#: Once the places that may hold the worst have fewer loads than this, they are searched load by load. [-]
HANDFUL = 300_000

#: Smallest box as a share of the body; below it only the search load by load helps. [-]
SMALL_BOX = 1.0 / 64.0


@dataclass(frozen=True, kw_only=True)
class Fan:
    """Loads in the feed frame (x along the feed, z up), about the place of the tool.

    Attributes
    ----------
    force, couple : (m, 3) arrays
        [N], [N m]
    """

    force: FloatArray
    couple: FloatArray


@dataclass(frozen=True, kw_only=True)
class Sweep:
    """Where and with which heading fans act.

    Attributes
    ----------
    fans : tuple of Fan
    fan : (n,) int array
        Number of the fan at each place.
    point : (n, 3) array
        Place of the tool. [m]
    heading : (n,) array
        Angle from +x to the feed. [rad]
    """

    fans: tuple[Fan, ...]
    fan: IntArray
    point: FloatArray
    heading: FloatArray

    def __len__(self) -> int:
        return len(self.fan)

    def loads(self, rows: IntArray) -> tuple[Loads, IntArray]:
        """Return every load at some places, and the place of each."""
        forces, points, couples, places = [], [], [], []
        for row in rows:
            fan = self.fans[self.fan[row]]
            forces.append(_turned(fan.force, self.heading[row]))
            couples.append(_turned(fan.couple, self.heading[row]))
            points.append(np.broadcast_to(self.point[row], fan.force.shape))
            places.append(np.full(len(fan.force), row))
        loads = Loads(force=np.concatenate(forces), point=np.concatenate(points), couple=np.concatenate(couples))
        return loads, np.concatenate(places)


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


def _turned(vectors: FloatArray, heading: float) -> FloatArray:
    cosine, sine = np.cos(heading), np.sin(heading)
    x, y, z = vectors.T
    return np.column_stack([cosine * x - sine * y, sine * x + cosine * y, z])


@dataclass(frozen=True, kw_only=True)
class _Profile:
    """A fan at all headings, as shares of unit forces and couples.

    Attributes
    ----------
    corners : (HEADINGS, m, 3) int array
        Numbers of the three directions that each force lies between.
    shares : (HEADINGS, m, 3) array
        Its parts of them. [N]
    couples : (HEADINGS, m, 6) array
        Parts along +x, +y, +z, -x, -y, -z. [N m]
    lift, torque : float
        What the growth between two headings adds wrongly to the vertical parts, at the most. [N], [N m]
    """

    corners: IntArray
    shares: FloatArray
    couples: FloatArray
    lift: float
    torque: float

    def at(self, k: IntArray, units: FloatArray, couples: FloatArray) -> FloatArray:
        """Return the bound at some headings and all corners, (k, corners), without what the growth adds. [-]"""
        values = np.einsum("kmi,kmic->kmc", self.shares[k], units[self.corners[k]])
        values += (self.couples[k] @ couples)[..., None]
        return _GROWTH * values.max(axis=1)


def _all_round(vectors: FloatArray) -> FloatArray:
    """Return vectors turned to every heading, (HEADINGS, m, 3)."""
    angles = (np.arange(HEADINGS) * _STEP)[:, None]
    x, y, z = vectors.T
    turned = np.cos(angles) * x - np.sin(angles) * y, np.sin(angles) * x + np.cos(angles) * y
    return np.stack([*turned, np.broadcast_to(z, turned[0].shape)], axis=2)


def _profile(fan: Fan) -> _Profile:
    force, couple = (_all_round(vectors) for vectors in (fan.force, fan.couple))
    corners, shares = in_triangles(force.reshape(-1, 3))
    return _Profile(
        corners=corners.reshape(HEADINGS, -1, 3),
        shares=shares.reshape(HEADINGS, -1, 3),
        couples=np.maximum(np.concatenate([couple, -couple], axis=2), 0.0),
        lift=float(np.abs(fan.force[:, 2]).max()) * (_GROWTH - 1.0),
        torque=float(np.abs(fan.couple[:, 2]).max()) * (_GROWTH - 1.0),
    )


@dataclass(kw_only=True)
class _Node:
    low: FloatArray
    high: FloatArray
    rows: IntArray
    bounds: FloatArray


class _SweepSearch:
    def __init__(self, capacity: Capacity, sweep: Sweep, *, slack: float) -> None:
        self._c, self._sweep, self._slack = capacity, sweep, slack
        self._profiles: dict[int, _Profile] = {}
        self._bin = np.floor(sweep.heading / _STEP).astype(np.int64) % HEADINGS
        self._sizes = np.array([len(fan.force) for fan in sweep.fans])
        self._nodes: list[_Node] = []
        self._best: SweepWorst | None = None

    def run(self) -> SweepWorst:
        """Prune places by their bounds until few enough are left, then search those load by load."""
        points = self._sweep.point
        rows = np.arange(len(self._sweep))
        first = _Node(low=points.min(axis=0), high=points.max(axis=0), rows=rows, bounds=np.full(len(rows), np.inf))
        if self._load_count(rows) > HANDFUL:
            self._queue(first)
        else:
            self._nodes.append(first)
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
        if self._best is None:
            raise ArithmeticError("every place was passed over")
        best = self._best
        return SweepWorst(place=best.place, force=best.force, worst=best.worst, bound=bound)

    def _load_count(self, rows: IntArray) -> int:
        return int(self._sizes[self._sweep.fan[rows]].sum())

    def _finish(self) -> None:
        """Search what is left load by load, the greatest bounds first, in portions."""
        rows = np.concatenate([node.rows for node in self._nodes])
        bounds = np.concatenate([node.bounds for node in self._nodes])
        rows = rows[np.argsort(-bounds, kind="stable")]
        bounds = -np.sort(-bounds)
        portion = max(1, HANDFUL // int(self._sizes.max()))
        for start in range(0, len(rows), portion):
            if bounds[start] > self._gauge():
                self._try(rows[start : start + portion])

    def _prune(self) -> None:
        for node in self._nodes:
            keep = node.bounds > self._gauge()
            node.rows, node.bounds = node.rows[keep], node.bounds[keep]
        self._nodes = [node for node in self._nodes if len(node.rows)]

    def _gauge(self) -> float:
        return -1.0 if self._best is None else self._best.worst.gauge

    def _try(self, rows: IntArray) -> None:
        """Find the worst load of some places outright."""
        loads, place = self._sweep.loads(rows)
        found = self._c.worst(loads, above=self._gauge())
        if found is not None:
            self._best = SweepWorst(
                place=int(place[found.load]), force=loads.force[found.load], worst=found, bound=found.gauge
            )

    def _queue(self, node: _Node) -> None:
        node.bounds = np.minimum(node.bounds, self._bounds(node))
        self._nodes.append(node)
        self._prune()

    def _open(self, node: _Node) -> None:
        """Try a node's worst place outright, then halve its box; halves share corners with their neighbours."""
        self._try(node.rows[[int(np.argmax(node.bounds))]])
        axis = int(np.argmax(node.high - node.low))
        middle = (node.low[axis] + node.high[axis]) / 2.0
        below = self._sweep.point[node.rows, axis] <= middle
        for mine, low, high in ((below, node.low[axis], middle), (~below, middle, node.high[axis])):
            if mine.any():
                half = _Node(low=node.low.copy(), high=node.high.copy(), rows=node.rows[mine], bounds=node.bounds[mine])
                half.low[axis], half.high[axis] = low, high
                self._queue(half)

    def _bounds(self, node: _Node) -> FloatArray:
        """Return an upper bound on the gauge of every load at each place of a node."""
        corners, weights = box_weights(self._sweep.point[node.rows], node.low, node.high)
        key = self._sweep.fan[node.rows] * HEADINGS + self._bin[node.rows]
        kinds, which = np.unique(key, return_inverse=True)
        tables = np.array([self._tables(system, kinds, corners) for system in range(len(self._c.systems))])
        at = self._c.combine(tables)
        bounds: FloatArray = np.einsum("ij,ij->i", weights, at[which.ravel()])
        return bounds

    def _tables(self, system: int, kinds: IntArray, corners: FloatArray) -> FloatArray:
        """Return for each kind (a fan at the headings of a bin) the bound at each corner, (kinds, corners)."""
        fans, bins = np.divmod(kinds, HEADINGS)
        profiles = {int(fan): self._profile(int(fan)) for fan in np.unique(fans)}
        units = np.stack([self._units(system, corner) for corner in corners], axis=1)
        couples = self._c.corners[system].couples()
        vertical = units[list(_UPRIGHT)].max(axis=0)
        bound = np.zeros((len(kinds), len(corners)))
        for fan, profile in profiles.items():
            mine = fans == fan
            both = np.unique(np.concatenate([bins[mine], (bins[mine] + 1) % HEADINGS]))
            values = np.zeros((HEADINGS, len(corners)))
            values[both] = profile.at(both, units, couples)
            extra = profile.lift * vertical + profile.torque * max(couples[2], couples[5])
            bound[mine] = np.maximum(values[bins[mine]], values[(bins[mine] + 1) % HEADINGS]) + extra
        return bound

    def _profile(self, fan: int) -> _Profile:
        if fan not in self._profiles:
            self._profiles[fan] = _profile(self._sweep.fans[fan])
        return self._profiles[fan]

    def _units(self, system: int, corner: FloatArray) -> FloatArray:
        """Return the gauge of unit forces at a corner, one for each direction of the net. (18,) [1/N]"""
        at = self._c.corners[system]
        return np.array([at.unit(direction, corner) for direction in VERTICES])


def _size(node: _Node) -> float:
    return float((node.high - node.low).max())


_UPRIGHT = tuple(int(np.argmax(VERTICES[:, 2] * sign)) for sign in (1.0, -1.0))


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
