"""Bounds on the gauge of many loads, in cones between six loads that are solved.

A load in the cone of six others is a sum of them, w = sum of a_i v_i with no negative part. The gauge s is convex and
positively homogeneous, and each dual p that is known bounds it from below, so

    greatest p . w  <=  s(w)  <=  sum_i a_i s(v_i).

The first cones are the orthants of unit forces and couples about the body's reference. A cone in which the bounds of
some load lie too far apart is cut: another vertex takes the place of one of its six, which one depends on the load (the
ratio test of the simplex method, for all loads of the cone at once). A vertex that is solved already costs nothing; a
new one is put on an edge, there where the planes of the edge's ends meet, since the chord stands highest above them
there. It costs one programme a system, or none where the duals known already say as much. Own derivation.
"""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations, count
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.linear_program import GIVES_WAY
from stillstock.engine.mechanics.work import left, spend
from stillstock.engine.mechanics.wrench import cross, wrench
from stillstock.engine.set_up import FloatArray

__all__ = ["WIDTH", "Cones", "Ledger"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

#: Upper over lower bound, less one, at which a load is done. [-]
WIDTH = 0.02

#: Bounds of a vertex that are as near as this need no programme. [-]
KNOWN = 0.002

#: A chord that stands less than this above its planes is not worth a cut. [-]
FLAT = 0.005

#: A system whose upper bound is below this share of what governs need not be solved. [-]
IDLE = 0.8

#: Cones with more loads are cut first, the greatest before the others; the rest one beside the last, for a programme
#: that starts near the last one is soon done. [-]
MANY = 1000

#: Loads of a cone that decide where it is cut. [-]
VOTERS = 64

#: Cones with more loads reckon their bounds at every so many cuts only. [-]
FEW = 400
REST = 3

#: A vertex that is solved already is taken if it does this share of what a new one may do, and lowers the bounds of the
#: loads by this share on the mean; so many are looked at. [-]
CHEAPER = 0.03
LEAST = 2e-4
CANDIDATES = 8

#: Parts of a vertex along those of a cone, beyond which rounding would count. [-]
FAR = 1e3

#: Cuts for each programme that is allowed; bounds the time where few programmes are needed. [-]
CUTS = 8

#: What it costs to open a cone, in all and for each of its loads in each system, by measurement; and what must be left
#: of the work for another to be opened, so that what is bounded so far is never lost. [units]
OPENING, A_LOAD, RESERVE = 1.0, 1.5e-4, 500.0

#: Share of an edge that a cut leaves at either end at the least. [-]
STUB = 0.15

_FIRST, _SECOND = (np.array(ends) for ends in zip(*combinations(range(6), 2), strict=True))


@dataclass(kw_only=True, eq=False)
class Ledger:
    """What is known of the gauges of loads, each of which acts at a place.

    Attributes
    ----------
    place : (n,) int array
        Place of each load.
    upper : (n,) array
        Bound on its gauge. [-]
    lower : (places,) array
        Bound on the greatest gauge of each place. [-]
    enough : float
        Gauge below which no place needs a closer look. [-]
    """

    place: IntArray
    upper: FloatArray
    lower: FloatArray
    enough: float

    def wanting(self, rows: IntArray) -> BoolArray:
        """Return whether loads may still pass what their place is known to reach, where anything resists at all."""
        lower = self.lower[self.place[rows]]
        wanting: BoolArray = self.upper[rows] > np.maximum(self.enough, (1.0 + WIDTH) * lower)
        return wanting & (lower < GIVES_WAY * 1e-3)

    def narrow(self, rows: IntArray, *, lower: FloatArray, upper: FloatArray) -> None:
        """Take down new bounds of loads."""
        self.upper[rows] = np.minimum(self.upper[rows], upper)
        np.maximum.at(self.lower, self.place[rows], lower)


class _Rows:
    """Rows of numbers that are added one by one."""

    def __init__(self, rows: FloatArray) -> None:
        self._rows, self._count = rows, len(rows)

    @property
    def all(self) -> FloatArray:
        """Every row, (n, columns)."""
        return self._rows[: self._count]

    def add(self, row: FloatArray) -> None:
        if self._count == len(self._rows):
            self._rows = np.concatenate([self._rows, np.zeros_like(self._rows)])
        self._rows[self._count] = row
        self._count += 1


def _highest(planes: _Rows, load: FloatArray) -> tuple[float, FloatArray]:
    """Return the greatest lower bound that planes give of a load, and the plane. [-], [1/N, 1/(N m)]"""
    values = planes.all @ load
    top = int(values.argmax())
    return max(float(values[top]), 0.0), planes.all[top]


@dataclass(frozen=True, kw_only=True)
class _Vertex:
    """A load with an upper bound on its gauge, and the highest dual that is known there, in each system.

    Attributes
    ----------
    load : (6,) array
        [N, N m]
    upper : (systems,) array
        [-]
    plane : (systems, 6) array
        [1/N, 1/(N m)]
    """

    load: FloatArray
    upper: FloatArray
    plane: FloatArray


@dataclass(frozen=True, kw_only=True)
class _Cut:
    """A vertex that takes the place of one of a cone's own, and its parts along these, (6,)."""

    vertex: int
    parts: FloatArray


@dataclass(kw_only=True, eq=False)
class _Cone:
    """Loads in the cone of six vertices.

    Attributes
    ----------
    corners : (6,) tuple of int
        Numbers of the vertices.
    rows : (n,) int array
        Rows of the loads.
    parts : (6, n) array
        ``load = sum of parts times vertices``, none negative.
    rest : int
        Cuts since the bounds were reckoned.
    """

    corners: tuple[int, ...]
    rows: IntArray
    parts: FloatArray
    rest: int

    def keep(self, which: BoolArray) -> None:
        """Drop all other loads."""
        if not which.all():
            self.rows, self.parts = self.rows[which], self.parts[:, which]


@dataclass(kw_only=True)
class _Frame:
    """The vertices of one cone side by side: loads (6, 6), upper (6, systems), and each plane at each load."""

    load: FloatArray
    upper: FloatArray
    at: FloatArray = field(init=False)
    planes: FloatArray

    def __post_init__(self) -> None:
        """Reckon the value at vertex i of the plane of vertex j, (6, 6, systems). [-]"""
        self.at = np.einsum("jkc,ic->ijk", self.planes, self.load)


class Cones:
    """Cones over all loads of one body; what is solved for some loads serves the next."""

    def __init__(self, capacity: Capacity, *, budget: int) -> None:
        """Allow so many programmes in all, on top of those solved so far."""
        self._c = capacity
        self._most, self._cuts_left = capacity.programmes + budget, CUTS * budget
        self._vertices: list[_Vertex] = []
        self._cuts: dict[tuple[int, ...], _Cut] = {}
        self._edges: dict[tuple[int, int], tuple[float, int]] = {}

    @property
    def spent(self) -> bool:
        """Whether the work that was allowed is done."""
        return self._c.programmes >= self._most or self._cuts_left <= 0 or left() < RESERVE

    def refine(self, loads: FloatArray, ledger: Ledger) -> None:
        """Bound loads, (n, 6) wrenches about the origin, until none is wanting or the budget is spent. [N, N m]"""
        if not len(loads):
            return
        if not self._vertices:
            self._solve_axes()
        heap: list[tuple[int, int, _Cone]] = []
        tick = count()
        for cone in self._orthants(loads):
            _push(heap, cone, next(tick))
        while heap:
            cone = heapq.heappop(heap)[2]
            for half in self._open(cone, ledger):
                _push(heap, half, next(tick))

    def _solve_axes(self) -> None:
        """Solve the unit forces at the reference, and couples of unit force across the body."""
        forces = wrench(self._c.systems[0].scale.reference, np.eye(3))
        axes = np.concatenate([forces, np.eye(6)[3:] * self._c.reach])
        for axis in (*axes, *-axes):
            solved = [corners.at(axis) for corners in self._c.corners]
            upper, plane = np.array([value for value, _ in solved]), np.array([dual for _, dual in solved])
            self._vertices.append(_Vertex(load=axis, upper=upper, plane=plane))
        self._loads = _Rows(np.concatenate([axes, -axes]))
        self._values = _Rows(self._by_way(np.array([vertex.upper for vertex in self._vertices])).T)
        self._planes = [_Rows(corners.known_slopes()) for corners in self._c.corners]

    def _add(self, vertex: _Vertex) -> int:
        """Keep a vertex; return its number."""
        self._vertices.append(vertex)
        self._loads.add(vertex.load)
        self._values.add(self._by_way(vertex.upper[None])[:, 0])
        return len(self._vertices) - 1

    def _by_way(self, upper: FloatArray) -> FloatArray:
        """Return the worst system of each way, (n, systems) -> (ways, n). [-]"""
        return np.array([upper[:, way.start : way.stop].max(axis=1) for way in self._c.ways])

    def _solved(self, load: FloatArray, upper: FloatArray) -> _Vertex:
        """Return a load with its gauge, solved in those systems in which its bounds are apart and that may govern."""
        upper = upper.copy()
        highest = [_highest(planes, load) for planes in self._planes]
        lower, plane = np.array([value for value, _ in highest]), np.array([dual for _, dual in highest])
        for way in sorted(self._c.ways, key=lambda way: lower[way.start : way.stop].max()):
            others = [upper[other.start : other.stop].max() for other in self._c.ways if other != way]
            if lower[way.start : way.stop].max() <= min(others, default=np.inf):
                self._solve_way(way, load, lower=lower, upper=upper, plane=plane)
        return _Vertex(load=load, upper=upper, plane=plane)

    def _solve_way(
        self, way: range, load: FloatArray, *, lower: FloatArray, upper: FloatArray, plane: FloatArray
    ) -> None:
        for k in sorted(way, key=lambda k: -upper[k]):
            idle = upper[k] <= IDLE * lower[way.start : way.stop].max()
            if idle or upper[k] <= (1.0 + KNOWN) * lower[k]:
                continue
            lower[k], plane[k] = self._c.corners[k].at(load)
            upper[k] = lower[k]
            self._planes[k].add(plane[k])

    def _orthants(self, loads: FloatArray) -> list[_Cone]:
        """Share loads out among the orthants of the axes."""
        reference = np.asarray(self._c.systems[0].scale.reference)
        turned = (loads[:, 3:] - cross(reference, loads[:, :3])) / self._c.reach
        parts = np.concatenate([loads[:, :3], turned], axis=1)
        key = (parts < 0.0) @ (1 << np.arange(6))
        found = []
        for number in np.unique(key):
            rows = np.nonzero(key == number)[0]
            corners = tuple(axis + 6 * (int(number) >> axis & 1) for axis in range(6))
            found.append(_Cone(corners=corners, rows=rows, parts=np.abs(parts[rows]).T.copy(), rest=REST))
        return found

    def _frame(self, corners: Sequence[int]) -> _Frame:
        mine = [self._vertices[number] for number in corners]
        return _Frame(
            load=np.array([vertex.load for vertex in mine]),
            upper=np.array([vertex.upper for vertex in mine]),
            planes=np.array([vertex.plane for vertex in mine]),
        )

    def _open(self, cone: _Cone, ledger: Ledger) -> list[_Cone]:
        """Bound a cone's loads; return its halves if any are left wanting."""
        cost = OPENING + A_LOAD * len(cone.rows) * len(self._c.corners)
        if left() < cost + RESERVE:
            return []
        spend(cost)
        frame = self._frame(cone.corners)
        if len(cone.rows) <= FEW or cone.rest >= REST:
            self._bound(cone, frame, ledger)
        if not len(cone.rows) or self.spent:
            return []
        cut = self._cuts.get(cone.corners)
        if cut is None:
            cut = self._chosen(cone, frame, ledger)
            self._cuts_left -= 1
        if cut is None:
            self._solve_all(cone, frame, ledger)
            return []
        self._cuts[cone.corners] = cut
        return _pieces(cone, cut)

    def _bound(self, cone: _Cone, frame: _Frame, ledger: Ledger) -> None:
        """Bound a cone's loads from both sides, and drop those that are not wanting."""
        upper = self._c.combine(frame.upper.T @ cone.parts)
        lower = (frame.at.transpose(2, 1, 0) @ cone.parts).max(axis=1)
        ledger.narrow(cone.rows, lower=np.maximum(self._c.combine(lower), 0.0), upper=upper)
        cone.keep(ledger.wanting(cone.rows))
        cone.rest = 0

    def _chosen(self, cone: _Cone, frame: _Frame, ledger: Ledger) -> _Cut | None:
        """Return the cut that does most for the loads, or None if none is worth it."""
        stride = max(1, len(cone.rows) // VOTERS)
        some, parts = cone.rows[::stride], cone.parts[:, ::stride]
        weights = 1.0 / np.maximum(ledger.lower[ledger.place[some]], ledger.enough) / len(some)
        share, gap, value = self._gaps(frame)
        used = np.minimum(parts[_FIRST] / (1.0 - share)[:, None], parts[_SECOND] / share[:, None])
        gain = (used @ weights) * gap
        best = int(gain.argmax())
        known = self._known(frame, parts, weights, least=max(CHEAPER * float(gain[best]), LEAST))
        if known is not None or gain[best] <= 0.0 or gap[best] <= FLAT * value[best]:
            return known
        return self._on_edge(cone.corners, int(_FIRST[best]), int(_SECOND[best]), float(share[best]), frame)

    def _known(self, frame: _Frame, parts: FloatArray, weights: FloatArray, *, least: float) -> _Cut | None:
        """Return the cut by the solved vertex that lowers the bounds of some loads most, if by as much as asked."""
        try:
            along: NDArray[Any] = np.linalg.solve(frame.load.T, self._loads.all.T)
        except np.linalg.LinAlgError:
            return None
        middle = (parts @ weights)[:, None]
        values = self._by_way(frame.upper)
        way = int((values @ middle).argmin())
        below = np.where(np.abs(along).max(axis=0) < FAR, values[way] @ along - self._values.all[:, way], 0.0)
        rough = below * _reach(along, middle)[0]
        top = np.argsort(-rough, kind="stable")[:CANDIDATES]
        gain = (weights @ _reach(along[:, top], parts)) * below[top]
        best = int(gain.argmax())
        return _Cut(vertex=int(top[best]), parts=along[:, top[best]]) if gain[best] >= least else None

    def _gaps(self, frame: _Frame) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return for each edge where a cut does most, by how much, and the chord there, (15,) each. [-]"""
        above = np.maximum(frame.upper[:, None, :] - frame.at, 0.0)
        near, far = above[_FIRST, _SECOND], above[_SECOND, _FIRST]
        share = np.clip((near + 1e-300) / (near + far + 2e-300), STUB, 1.0 - STUB)
        t = share[:, :, None]
        chord = (1.0 - t) * frame.upper[_FIRST, None] + t * frame.upper[_SECOND, None]
        planes = [
            (1.0 - t) * frame.at[_FIRST, j][:, None] + t * frame.at[_SECOND, j][:, None] for j in (_FIRST, _SECOND)
        ]
        value = self._c.combine(np.moveaxis(chord, 2, 0))
        gap = value - np.maximum(self._c.combine(np.moveaxis(np.maximum(*planes), 2, 0)), 0.0)
        best = gap.argmax(axis=1)
        edge = np.arange(len(best))
        return share[edge, best], gap[edge, best], value[edge, best]

    def _on_edge(self, corners: tuple[int, ...], first: int, second: int, share: float, frame: _Frame) -> _Cut:
        """Return the cut of an edge: cones that share an edge are cut there at the same vertex."""
        one, other = corners[first], corners[second]
        if (one, other) not in self._edges:
            load = (1.0 - share) * frame.load[first] + share * frame.load[second]
            upper = (1.0 - share) * frame.upper[first] + share * frame.upper[second]
            vertex = self._add(self._solved(load, upper))
            self._edges[one, other], self._edges[other, one] = (share, vertex), (1.0 - share, vertex)
        share, vertex = self._edges[one, other]
        parts = np.zeros(6)
        parts[first], parts[second] = 1.0 - share, share
        return _Cut(vertex=vertex, parts=parts)

    def _solve_all(self, cone: _Cone, frame: _Frame, ledger: Ledger) -> None:
        """Solve the loads of a cone one by one, where no cut would help."""
        while len(cone.rows) and not self.spent:
            top = int(ledger.upper[cone.rows].argmax())
            solved = self._solved(frame.load.T @ cone.parts[:, top], frame.upper.T @ cone.parts[:, top])
            lower = self._c.combine(solved.plane @ frame.load.T @ cone.parts)
            upper = ledger.upper[cone.rows].copy()
            upper[top] = self._c.combine(solved.upper)
            ledger.narrow(cone.rows, lower=np.maximum(lower, 0.0), upper=upper)
            left = ledger.wanting(cone.rows)
            left[top] = False
            cone.keep(left)


def _push(heap: list[tuple[int, int, _Cone]], cone: _Cone, tick: int) -> None:
    """Queue a cone: those of many loads first and by their number, the others last in, first out."""
    if len(cone.rows):
        heapq.heappush(heap, (-len(cone.rows) if len(cone.rows) > MANY else 0, -tick, cone))


def _reach(along: NDArray[Any], parts: NDArray[Any]) -> FloatArray:
    """Return how much of each vertex (6, k) its loads (6, n) can take until one of their parts runs out, (n, k). [-]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratios = np.where(along[:, None, :] > 0.0, parts[:, :, None] / along[:, None, :], np.inf)
    least: FloatArray = ratios.min(axis=0)
    return np.where(np.isfinite(least), least, 0.0)


def _pieces(cone: _Cone, cut: _Cut) -> list[_Cone]:
    """Return the cones of a cut: the new vertex takes the place of the one that runs out first."""
    along = np.nonzero(cut.parts > 0.0)[0]
    ratios = cone.parts[along] / cut.parts[along, None]
    first = ratios.argmin(axis=0)
    found = []
    for number, dropped in enumerate(along):
        mine = first == number
        if not mine.any():
            continue
        part = ratios[number, mine]
        parts = np.maximum(cone.parts[:, mine] - part * cut.parts[:, None], 0.0)
        parts[dropped] = part
        corners = tuple(cut.vertex if place == dropped else corner for place, corner in enumerate(cone.corners))
        found.append(_Cone(corners=corners, rows=cone.rows[mine], parts=parts, rest=cone.rest + 1))
    return found
