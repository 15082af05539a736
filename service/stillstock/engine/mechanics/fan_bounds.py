"""Upper bounds on the gauge of all loads of a fan, at many places and headings, for a few products a place.

With a heading that lies by t after the k-th of a fixed set, a step D apart, a sideways force is

    F = a F_k + b F_k+1,    a = sin(D - t) / sin D,    b = sin t / sin D,

which lifts the vertical part by a + b - 1 too much; that is taken off again as a load of its own. The gauge of a system
is convex and homogeneous, so at a place r in a box with corners c (weights w)

    max over the fan of s  <=  sum_c w_c ( a T[k, c] + b T[k+1, c] + (a + b - 1) V[c] )

where T bounds every load of the fan at one heading and corner, itself by the gauge at a few directions of unit force
there. The greatest of several convex functions is convex, so the systems of a way may be joined at the corners; the
least over the ways is not, and is taken at the place. Own derivation.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.capacity import Capacity, Loads, box_weights
from stillstock.engine.mechanics.directions import VERTICES, in_triangles
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray

__all__ = ["Fan", "FanBounds", "Sweep"]

IntArray = NDArray[np.int64]

#: Headings at which a fan is bounded. [-]
HEADINGS = 32
_STEP = 2.0 * np.pi / HEADINGS

#: Loads that are turned to their headings at once; bounds memory. [-]
AT_ONCE = 100_000

#: What it costs to turn a load of a fan to one heading, to bound it there, and a place in one way at one corner;
#: measured. [units]
TURNING, PROFILING, PLACING = 6e-4, 6e-5, 6e-5

_UP, _DOWN = (int(np.argmax(VERTICES[:, 2] * sign)) for sign in (1.0, -1.0))


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

    @cached_property
    def sizes(self) -> IntArray:
        """Number of loads of each fan. [-]"""
        return np.array([len(fan.force) for fan in self.fans])

    @cached_property
    def _stacked(self) -> tuple[IntArray, FloatArray, FloatArray]:
        """First row of each fan, and the forces and couples of all, one below the other."""
        force, couple = ([getattr(fan, name) for fan in self.fans] for name in ("force", "couple"))
        return np.cumsum(self.sizes) - self.sizes, np.concatenate(force), np.concatenate(couple)

    @cached_property
    def turned(self) -> "Turned":
        """How its fans lie to the headings at which they are bounded; the same for whatever holds the body."""
        return _turned_to(self)

    def loads(self, rows: IntArray) -> tuple[Loads, IntArray]:
        """Return every load at some places, and the place of each."""
        sizes = self.sizes[self.fan[rows]]
        place = np.repeat(rows, sizes)
        number = np.arange(len(place)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
        return self.chosen(place, number), place

    def chosen(self, place: IntArray, number: IntArray) -> Loads:
        """Return the loads of given numbers in the fans of given places; both (n,)."""
        starts, force, couple = self._stacked
        at = starts[self.fan[place]] + number
        cosine, sine = np.cos(self.heading[place]), np.sin(self.heading[place])
        return Loads(
            force=_turned(force[at], cosine, sine), point=self.point[place], couple=_turned(couple[at], cosine, sine)
        )


def _turned(vectors: FloatArray, cosine: FloatArray, sine: FloatArray) -> FloatArray:
    x, y, z = np.moveaxis(vectors, -1, 0)
    return np.stack(np.broadcast_arrays(cosine * x - sine * y, sine * x + cosine * y, z), axis=-1)


@dataclass(frozen=True, kw_only=True)
class _Profiles:
    """Every fan at those headings that are used, its loads as shares of unit forces and couples.

    Attributes
    ----------
    fan, heading : (p,) int arrays
        Of each pair that is used; the loads of one pair stand one below the other.
    first : (p,) int array
        First load of each pair.
    corners : (n, 3) int array
        Numbers of the three directions that each force lies between; in a byte each, for there are many.
    shares : (n, 3) array
        Its parts of them. [N]
    couple : (n, 3) array
        [N m]
    upright, torque : (fans, 2) arrays
        Greatest parts down and up, along -z and +z, that the lifted vertical part leaves to be taken off. [N], [N m]
    """

    fan: IntArray
    heading: IntArray
    first: IntArray
    corners: NDArray[np.int8]
    shares: FloatArray
    couple: FloatArray
    upright: FloatArray
    torque: FloatArray

    def each(self, units: FloatArray, couples: FloatArray) -> FloatArray:
        """Return the bound of each load at its heading, (n,). [-]"""
        spend(PROFILING * len(self.shares))
        values: FloatArray = np.zeros(len(self.shares))
        for shares, corners in zip(self.shares.T, self.corners.T, strict=True):
            values += shares * units[corners]
        for along, one, other in zip(self.couple.T, couples[:3], couples[3:], strict=True):
            values += along * np.where(along > 0.0, one, -other)
        return values

    def lifted(self, units: FloatArray, couples: FloatArray) -> FloatArray:
        """Return what takes off the lifted vertical parts of each fan, for each unit of lifting, (fans,). [-]"""
        force: FloatArray = self.upright @ units[[_DOWN, _UP]]
        return force + self.torque @ couples[[5, 2]]

    def of(self, fan: int) -> "_Profiles":
        """Return the profile of one fan by itself."""
        pairs = np.nonzero(self.fan == fan)[0]
        ends = np.append(self.first, len(self.shares))
        rows = slice(int(ends[pairs[0]]), int(ends[pairs[-1] + 1]))
        return _Profiles(
            fan=self.fan[pairs],
            heading=self.heading[pairs],
            first=self.first[pairs] - rows.start,
            corners=self.corners[rows],
            shares=self.shares[rows],
            couple=self.couple[rows],
            upright=self.upright[[fan]],
            torque=self.torque[[fan]],
        )


def _profiles(sweep: Sweep, bins: IntArray) -> _Profiles:
    """Return the fans of a sweep at the headings beside those of its places, whose bins are given."""
    used = np.zeros((len(sweep.fans), HEADINGS), dtype=bool)
    used[sweep.fan, bins] = used[sweep.fan, (bins + 1) % HEADINGS] = True
    fan, heading = np.nonzero(used)
    angle: FloatArray = heading.astype(np.float64) * _STEP
    turned = Sweep(fans=sweep.fans, fan=fan, point=np.zeros((len(fan), 3)), heading=angle)
    sizes = sweep.sizes[fan]
    first = np.cumsum(sizes) - sizes
    many = int(sizes.sum())
    spend(TURNING * many)
    corners, shares, couple = np.empty((many, 3), dtype=np.int8), np.empty((many, 3)), np.empty((many, 3))
    for pairs in np.array_split(np.arange(len(fan)), min(many // AT_ONCE + 1, len(fan))):
        loads, _ = turned.loads(pairs)
        mine = slice(int(first[pairs[0]]), int(first[pairs[-1]] + sizes[pairs[-1]]))
        corners[mine], shares[mine] = in_triangles(loads.force)
        couple[mine] = loads.couple
    return _Profiles(
        fan=fan,
        heading=heading,
        first=first,
        corners=corners,
        shares=shares,
        couple=couple,
        upright=np.array([_both_ways(one.force[:, 2]) for one in sweep.fans]),
        torque=np.array([_both_ways(one.couple[:, 2]) for one in sweep.fans]),
    )


def _both_ways(upright: FloatArray) -> FloatArray:
    return np.array([max(float(upright.max()), 0.0), max(-float(upright.min()), 0.0)])


@dataclass(frozen=True, kw_only=True)
class Turned:
    """How a sweep's fans lie to the headings at which they are bounded.

    Attributes
    ----------
    bin : (n,) int array
        Heading before that of each place. [-]
    near, far : (n,) arrays
        Parts a and b of the forces at that heading and at the next. [-]
    profiles : _Profiles
    directions : tuple of int
        Numbers of the directions of which any load of any fan has a part.
    """

    bin: IntArray
    near: FloatArray
    far: FloatArray
    profiles: _Profiles
    directions: tuple[int, ...]


def _turned_to(sweep: Sweep) -> Turned:
    turns = sweep.heading / _STEP
    whole = np.floor(turns + 1e-9)
    past = np.maximum(turns - whole, 0.0) * _STEP
    bins = whole.astype(np.int64) % HEADINGS
    profiles = _profiles(sweep, bins)
    return Turned(
        bin=bins,
        near=np.sin(_STEP - past) / np.sin(_STEP),
        far=np.sin(past) / np.sin(_STEP),
        profiles=profiles,
        directions=_used_directions(profiles),
    )


def _used_directions(profiles: _Profiles) -> tuple[int, ...]:
    used = np.zeros(len(VERTICES), dtype=bool)
    for corners, shares in zip(profiles.corners.T, profiles.shares.T, strict=True):
        used[corners[shares > 0.0]] = True
    used[[_DOWN, _UP]] |= (profiles.upright > 0.0).any(axis=0)
    return tuple(int(number) for number in np.nonzero(used)[0])


class FanBounds:
    """Bounds for the places of one sweep; what is found at a corner of a box is kept."""

    def __init__(self, capacity: Capacity, sweep: Sweep) -> None:
        self._c, self._sweep = capacity, sweep
        turned = sweep.turned
        self._bin, self._near, self._far = turned.bin, turned.near, turned.far
        self._profiles, self._directions = turned.profiles, turned.directions
        self._known_units: dict[tuple[float, ...], FloatArray] = {}
        self._tables: dict[tuple[float, ...], tuple[FloatArray, FloatArray]] = {}

    def upper(self, rows: IntArray, *, low: FloatArray, high: FloatArray) -> FloatArray:
        """Return an upper bound on the gauge of every load at each place (n,) of a box. [-]"""
        corners, weights = box_weights(self._sweep.point[rows], low, high)
        spend(PLACING * len(rows) * len(corners) * len(self._c.ways))
        found = [self._table(corner) for corner in corners]
        fan, k = self._sweep.fan[rows], self._bin[rows]
        near, far = self._near[rows], self._far[rows]
        bounds = np.zeros((len(self._c.ways), len(rows)))
        for (table, lifted), weight in zip(found, weights.T, strict=True):
            value = near * table[:, fan, k] + far * table[:, fan, (k + 1) % HEADINGS]
            bounds += weight * (value + np.maximum(near + far - 1.0, 0.0) * lifted[:, fan])
        best: FloatArray = bounds.min(axis=0)
        return best

    def each(self, rows: IntArray, *, low: FloatArray, high: FloatArray) -> FloatArray:
        """Return an upper bound on the gauge of each load at places of one fan in a box, (rows, m). [-]"""
        corners, weights = box_weights(self._sweep.point[rows], low, high)
        profile = self._profiles.of(int(self._sweep.fan[rows[0]]))
        k, near, far = self._bin[rows], self._near[rows, None], self._far[rows, None]
        here = np.searchsorted(profile.heading, k)
        beyond = np.searchsorted(profile.heading, (k + 1) % HEADINGS)
        lift = np.maximum(near + far - 1.0, 0.0)
        loads = len(profile.shares) // len(profile.heading)
        spend(PLACING * len(rows) * loads * len(corners) * len(self._c.ways))
        found = []
        for way in self._c.ways:
            bounds = np.zeros((len(rows), loads))
            for corner, weight in zip(corners, weights.T, strict=True):
                table, lifted = self._each_at(profile, way, corner)
                bounds += weight[:, None] * (near * table[here] + far * table[beyond] + lift * lifted)
            found.append(bounds)
        best: FloatArray = np.min(found, axis=0)
        return best

    def _each_at(self, profile: _Profiles, way: range, corner: FloatArray) -> tuple[FloatArray, float]:
        """Return a way's bound of each load at each heading, (k, m), and what takes off the lift, at one corner. [-]"""
        tables, lifted = [], []
        for system in way:
            units, couples = self._units(system, corner), self._c.corners[system].couples()
            tables.append(profile.each(units, couples).reshape(len(profile.heading), -1))
            lifted.append(float(profile.lifted(units, couples)[0]))
        return np.max(tables, axis=0), max(lifted)

    def slopes(self, *, low: FloatArray, high: FloatArray) -> list[FloatArray]:
        """Return each system's distinct duals at the corners of a box, (k, 6). [1/N, 1/(N m)]"""
        corners, _ = box_weights(low[None, :], low, high)
        directions = VERTICES[list(self._directions)]
        return [at.slopes(directions, corners) for at in self._c.corners]

    def _table(self, corner: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return T, (ways, fans, HEADINGS), and V, (ways, fans), at a corner; T is 0 where no place needs it. [-]"""
        key = tuple(corner)
        if key not in self._tables:
            each = [self._system_table(system, corner) for system in range(len(self._c.systems))]
            ways = self._c.ways
            self._tables[key] = (
                np.array([np.max([each[s][0] for s in way], axis=0) for way in ways]),
                np.array([np.max([each[s][1] for s in way], axis=0) for way in ways]),
            )
        return self._tables[key]

    def _system_table(self, system: int, corner: FloatArray) -> tuple[FloatArray, FloatArray]:
        units, couples = self._units(system, corner), self._c.corners[system].couples()
        profiles = self._profiles
        table = np.zeros((len(self._sweep.fans), HEADINGS))
        table[profiles.fan, profiles.heading] = np.maximum.reduceat(profiles.each(units, couples), profiles.first)
        return table, profiles.lifted(units, couples)

    def _units(self, system: int, corner: FloatArray) -> FloatArray:
        """Return the gauge of unit forces at a corner, 0 for those that no load needs, (directions,). [1/N]"""
        key = (system, *corner.tolist())
        if key not in self._known_units:
            units = np.zeros(len(VERTICES))
            for number in self._directions:
                units[number] = self._c.corners[system].unit(VERTICES[number], corner)
            self._known_units[key] = units
        return self._known_units[key]
