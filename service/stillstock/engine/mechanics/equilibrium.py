"""Assembles the equilibrium of a rigid body held by contacts, as the programme whose value is a load's gauge.

With x the contact forces per unit of load factor and s = 1 / lambda, a load w is held to the factor lambda if

    G x + s w0 = -w,   A x - s b <= 0,   x >= 0 save where free,   s >= 0

and the least s is a gauge of w: convex, positively homogeneous, piecewise linear. Everything here is scaled (`Scale`),
so that columns and rows are of the order of one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.area import PlanArea
from stillstock.engine.mechanics.friction_cone import COARSE, Polygon
from stillstock.engine.mechanics.work import spend
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import FloatArray

__all__ = ["Equilibrium", "Family", "Number", "PressedArea", "System"]

IntArray = NDArray[np.int64]
UP = (0.0, 0.0, 1.0)

#: One number, or one for each member of a family, (n,).
Number = float | FloatArray

#: What it costs to put a system together, in all and for each row and column, by measurement. [units]
ASSEMBLING = (1.5, 0.02)

#: Owner of columns whose force comes from several bodies at once.
SHARED = -2


@dataclass(frozen=True, kw_only=True)
class System:
    """A finished programme.

    Attributes
    ----------
    scale : Scale
    balance : (6, n) array
        G: wrench of a unit of each column. [-]
    dead : (6,) array
        w0: wrench of what acts without any load. [-]
    free : (n,) bool array
        Columns that may be negative.
    entries : tuple of (k,) int array, (k,) int array, (k,) array
        Row, column and value of what is not nought in A: dense, the limits of many fasteners fill gigabytes. [-]
    bounds : (m,) array
        b. [-]
    owner : (n,) int array
        Number of the body that each column's force comes from; -1 for the ground.
    dead_of : mapping of int to (6,) array
        Dead wrench by body.
    shared : tuple of (int, (k,) int array, (6, k) array)
        Owner, columns and wrenches of what several bodies resist together.
    """

    scale: Scale
    balance: FloatArray
    dead: FloatArray
    free: NDArray[np.bool_]
    entries: tuple[IntArray, IntArray, FloatArray]
    bounds: FloatArray
    owner: IntArray
    dead_of: dict[int, FloatArray]
    shared: tuple[tuple[int, IntArray, FloatArray], ...]

    @property
    def limits(self) -> FloatArray:
        """A, written out anew each time. (m, n) [-]"""
        rows, columns, values = self.entries
        limits = np.zeros((len(self.bounds), self.balance.shape[1]))
        np.add.at(limits, (rows, columns), values)
        return limits

    def limit(self, row: int) -> tuple[IntArray, FloatArray]:
        """Return the columns and the values of one row of A that are not nought. (k,), (k,) [-]"""
        rows, columns, values = self.entries
        mine = rows == row
        found, places = np.unique(columns[mine], return_inverse=True)
        return found.astype(np.int64), np.bincount(places, weights=values[mine], minlength=len(found)).astype(float)

    def forces_of(self, forces: FloatArray, *, gauge: float) -> dict[int, FloatArray]:
        """Return the scaled wrench (6,) that each body puts on the held one, per unit of load factor. [-]

        Parameters
        ----------
        forces : (n,) array
            Contact forces, one a column. [-]
        gauge : float
            s at the same load. [-]
        """
        found = {owner: gauge * dead for owner, dead in self.dead_of.items()}
        for owner in np.unique(self.owner[self.owner != SHARED]):
            mine = self.owner == owner
            found[int(owner)] = found.get(int(owner), np.zeros(6)) + self.balance[:, mine] @ forces[mine]
        for owner, columns, wrenches in self.shared:
            found[owner] = found.get(owner, np.zeros(6)) + wrenches @ forces[columns]
        return found


@dataclass(frozen=True, kw_only=True)
class Family:
    """Programmes of one make: the same contacts, whose strengths and preloads are read at so many draws.

    Attributes
    ----------
    scale, balance, free
        As of a `System`, and the same for all.
    dead : (n, 6) array
        w0 of each member. [-]
    places : tuple of (k,) int array, (k,) int array
        Row and column of what is not nought in A.
    steady : (k,) array
        What stands there in every member; 0 where it varies. [-]
    varying : (v,) int array
        Which of the places differ from member to member.
    values : (n, v) array
        What stands there. [-]
    bounds : (n, m) array
        b of each member. [-]
    """

    scale: Scale
    balance: FloatArray
    free: NDArray[np.bool_]
    dead: FloatArray
    places: tuple[IntArray, IntArray]
    steady: FloatArray
    varying: IntArray
    values: FloatArray
    bounds: FloatArray


@dataclass(frozen=True, kw_only=True)
class PressedArea:
    """An area of ground that carries an even pressure before any load, and rubs.

    Attributes
    ----------
    area : PlanArea
    pressure : float or (n,) array
        Even pressure from what presses just there. [Pa]
    mu : float or (n,) array
        Coefficient of friction. [-]
    owner : int
    """

    area: PlanArea
    pressure: Number
    mu: Number
    owner: int


@dataclass(frozen=True, kw_only=True)
class _Limits:
    """Limits of one kind: columns (r, k), factors (r, k) or (n, r, k), bounds (r,) or (n, r)."""

    numbers: IntArray
    factors: FloatArray
    bounds: FloatArray


def _widened(value: Number, axes: int = 1) -> FloatArray:
    """Return a number with so many axes behind it, to be multiplied with rows of as many. [as `value`]"""
    found = np.asarray(value, dtype=float)
    return found.reshape(found.shape + (1,) * axes)


def _beside(steady: FloatArray, other: FloatArray) -> FloatArray:
    """Return (..., j) and (..., k) arrays side by side, one as often as the other asks for."""
    lead = np.broadcast_shapes(steady.shape[:-1], other.shape[:-1])
    return np.concatenate([np.broadcast_to(part, (*lead, part.shape[-1])) for part in (steady, other)], axis=-1)


class Equilibrium:
    """Collects columns, limits and dead loads, then hands them over as a `System`."""

    def __init__(self, scale: Scale, *, ground: float, polygon: Polygon = COARSE) -> None:
        """Start with nothing; `ground` is the level of the supporting face, and `polygon` stands for circles. [m]"""
        self._scale = scale
        self._ground = ground
        self.polygon = polygon
        self._wrenches: list[FloatArray] = []
        self._free: list[NDArray[np.bool_]] = []
        self._owner: list[IntArray] = []
        self._count = 0
        self._limits: list[_Limits] = []
        self._rows = 0
        self._dead: dict[int, FloatArray] = {}
        self._shared: list[tuple[int, IntArray, FloatArray]] = []

    def columns(self, wrenches: FloatArray, *, owner: int) -> IntArray:
        """Add columns of pushing force; return their numbers. `wrenches`: (k, 6). [N, N m per unit]"""
        return self._add(self._scale.wrenches(np.atleast_2d(wrenches)) * self._scale.force, owner, free=False)

    def _add(self, scaled: FloatArray, owner: int, *, free: bool) -> IntArray:
        numbers = np.arange(self._count, self._count + len(scaled))
        self._wrenches.append(scaled)
        self._free.append(np.full(len(scaled), free))
        self._owner.append(np.full(len(scaled), owner))
        self._count += len(scaled)
        return numbers

    def limit(self, numbers: IntArray, factors: FloatArray, *, bound: Number) -> int:
        """Demand ``factors . x <= s bound``; the bound is scaled by the caller. Return the limit's row. [-]

        Parameters
        ----------
        numbers : (k,) int array
            Columns, each once.
        factors : (k,) or (n, k) array
            [-]
        bound : float or (n,) array
            [-]
        """
        return self.limits(numbers[None, :], factors[..., None, :], bounds=_widened(bound))

    def limits(self, numbers: IntArray, factors: FloatArray, *, bounds: FloatArray) -> int:
        """Demand as many limits at once as `numbers` has rows; return the first one's row.

        Parameters
        ----------
        numbers : (r, k) int array
            Columns of each limit, each once.
        factors : (r, k) or (n, r, k) array
            [-]
        bounds : (r,) or (n, r) array
            [-]
        """
        self._limits.append(_Limits(numbers=numbers, factors=factors, bounds=bounds))
        self._rows += len(numbers)
        return self._rows - len(numbers)

    def force(self, value: Number) -> Number:
        """Return a force in the programme's unit. [-]"""
        return value / self._scale.force

    def dead_load(self, load: FloatArray, *, owner: int) -> None:
        """Add a wrench about the origin that acts without any load, (6,) or (n, 6). [N, N m]"""
        self._dead[owner] = self._dead.get(owner, np.zeros(6)) + self._scale.wrenches(np.asarray(load, dtype=float))

    def smooth_supports(self, corners: FloatArray) -> IntArray:
        """Let the ground push up at plan points, without friction; return the columns. `corners`: (k, 2). [m]"""
        at = np.column_stack([corners, np.full(len(corners), self._ground)])
        return self.columns(wrench(at, np.broadcast_to(UP, at.shape)), owner=-1)

    def rubbing_point(
        self, at: Sequence[float], directions: FloatArray, *, normal: int | None, mu: Number, most: Number, owner: int
    ) -> None:
        """Let a point rub along directions, no more than mu times its normal column and no more than `most`.

        Parameters
        ----------
        at : (3,) sequence
            The point. [m]
        directions : (k, 3) array
            Unit vectors whose hull is the friction polygon. [-]
        normal : int or None
            Column of the normal force; None where the normal force is fixed and `most` says all.
        mu : float or (n,) array
            Coefficient. [-]
        most : float or (n,) array
            Greatest friction that the normal force known beforehand gives. [N]
        owner : int
        """
        if not np.any(np.asarray(most) > 0.0):
            return
        numbers = self.columns(wrench(np.asarray(at), directions), owner=owner)
        self.limit(numbers, np.ones(len(numbers)), bound=self.force(most))
        if normal is not None:
            self.limit(np.append(numbers, normal), _beside(np.ones(len(numbers)), _widened(-mu)), bound=0.0)

    def pressed_areas(self, areas: Sequence[PressedArea], *, unload_only: bool) -> IntArray:
        """Let areas of ground press back by ``p = p0 + a + b x + c y`` and rub with mu p everywhere.

        Parameters
        ----------
        areas : sequence of PressedArea
            They share the one affine increment: the change of pressure under a stiff body on an even bed.
        unload_only : bool
            Whether the pressure may only fall (pads, which never bear more than their preload) or also rise.

        Returns
        -------
        (3,) int array
            Columns of the increment; empty if there is no area.

        Notes
        -----
        Own derivation from Winkler's bed: a rigid motion of the body changes the pressure by an affine field. Pressure
        is nowhere negative; friction at each quadrature point stays in the inscribed polygon.
        """
        if not areas:
            return np.zeros(0, dtype=np.int64)
        increments = self._increments(areas)
        for pressed in areas:
            self._pressure_bounds(pressed, increments, unload_only=unload_only)
            self._area_friction(pressed, increments)
            up = wrench(np.append(pressed.area.centroid, self._ground), UP)
            self.dead_load(_widened(pressed.pressure * pressed.area.size) * up, owner=pressed.owner)
        return increments

    def cap_support(self, smooth: IntArray, increments: IntArray, *, total: Number) -> None:
        """Keep all that the ground pushes up, beyond the pressures known beforehand, within a total. [N]

        Fasteners pull down and the ground pushes up: without the cap the two could press against each other at will.
        """
        numbers = np.concatenate([smooth, increments])
        if len(numbers):
            lifts = np.concatenate(self._wrenches)[numbers, 2]
            self.limit(numbers, lifts, bound=self.force(total))

    def _affine(self, points: FloatArray) -> FloatArray:
        local = self._scale.points(np.column_stack([points, np.zeros(len(points))]))
        return np.column_stack([np.ones(len(points)), local[:, :2]])

    def _increments(self, areas: Sequence[PressedArea]) -> IntArray:
        unit = self._scale.length**2
        total = np.zeros((3, 6))
        for pressed in areas:
            points = pressed.area.points
            at = np.column_stack([points, np.full(len(points), self._ground)])
            lifts = self._scale.wrenches(wrench(at, np.broadcast_to(UP, at.shape))) * self._scale.force
            total += (self._affine(points) * (pressed.area.weights / unit)[:, None]).T @ lifts
        return self._add(total, -1, free=True)

    def _pressure_bounds(self, pressed: PressedArea, increments: IntArray, *, unload_only: bool) -> None:
        start = pressed.pressure * self._scale.length**2 / self._scale.force
        for row in self._affine(pressed.area.corners):
            self.limit(increments, -row, bound=start)
            if unload_only:
                self.limit(increments, row, bound=0.0)

    def _area_friction(self, pressed: PressedArea, increments: IntArray) -> None:
        if not np.any(np.asarray(pressed.mu) > 0.0):
            return
        points, weights = pressed.area.points, pressed.area.weights
        at = np.column_stack([points, np.full(len(points), self._ground)])
        flat = np.column_stack([self.polygon.spokes(), np.zeros(self.polygon.sides)])
        rubs = self.columns(wrench(at[:, None, :], flat).reshape(-1, 6), owner=pressed.owner)
        numbers = np.column_stack([rubs.reshape(len(at), -1), np.broadcast_to(increments, (len(at), 3))])
        shares = _widened(pressed.mu) * weights
        pressing = _widened(shares) * -self._affine(points) / self._scale.length**2
        self.limits(
            numbers,
            _beside(np.ones((len(at), len(flat))), pressing),
            bounds=np.asarray(self.force(shares * _widened(pressed.pressure))),
        )

    def rigid_motion(
        self, members: Sequence[tuple[int, FloatArray]], *, over: FloatArray | None = None
    ) -> tuple[IntArray, FloatArray]:
        """Add the motions of the body as columns that elastic fasteners resist, each by its stiffness.

        Parameters
        ----------
        members : sequence of (int, (6, 6) array)
            Owner and stiffness: the wrench about the origin that resists a unit twist about the origin. [N/m, N, N m]
        over : (6, k) array or None
            Twists that are possible, as columns; None is all six.

        Returns
        -------
        columns : (k,) int array
        twists : (6, k) array
            Twist about the origin (translation, rotation) of a unit of each column, for the limits of each fastener.
            [m, rad]
        """
        twists = self._unit_twists() if over is None else over
        parts = [(owner, self._scale.wrenches(-(stiffness @ twists).T)) for owner, stiffness in members]
        total = np.asarray(sum(part for _, part in parts))
        sizes = np.abs(total).max(axis=1)
        idle = sizes <= 1e-9 * sizes.max()  # a motion that nothing resists is no column, only rounding
        sizes[idle], twists, total = 1.0, np.where(idle, 0.0, twists), np.where(idle[:, None], 0.0, total)
        parts = [(owner, np.where(idle[:, None], 0.0, part)) for owner, part in parts]
        columns = self._add(total / sizes[:, None], SHARED, free=True)
        self._shared += [(owner, columns, (part / sizes[:, None]).T) for owner, part in parts]
        return columns, twists / sizes

    def _unit_twists(self) -> FloatArray:
        reference, length = np.asarray(self._scale.reference), self._scale.length
        twists = np.eye(6)
        for axis in range(3):
            turn = np.eye(3)[axis] / length
            twists[:3, 3 + axis], twists[3:, 3 + axis] = -np.cross(turn, reference), turn
        return twists

    def bonded_corners(
        self, columns: IntArray, shear: FloatArray, tension: FloatArray, *, strengths: tuple[Number, Number]
    ) -> None:
        """Keep the stress at points of a bond within shear / shear strength + tension / tension strength <= 1.

        Parameters
        ----------
        columns : (k,) int array
            Columns of the rigid motion.
        shear : (v, 2, k) array
            Shear stress at each point for a unit of each column. [Pa]
        tension : (v, k) array
            Tension there. [Pa]
        strengths : (2,) tuple of float or (n,) array
            Shear and tensile strength. [Pa]
        """
        slipping = self.polygon.face_normals() @ shear / _widened(strengths[0], 3)
        opening = (tension / _widened(strengths[1], 2))[..., None, :]
        both = np.stack([slipping, slipping + opening], axis=-2)
        rows = np.concatenate([both.reshape(*both.shape[:-3], -1, both.shape[-1]), opening], axis=-2)
        rows = rows.reshape(*rows.shape[:-3], -1, rows.shape[-1])
        count = rows.shape[-2]
        self.limits(np.broadcast_to(columns, (count, len(columns))), rows, bounds=np.ones(count))

    def system(self) -> System:
        """Return the finished programme."""
        spend(ASSEMBLING[0] + ASSEMBLING[1] * (self._rows + self._count))
        rows, columns = self._places()
        return System(
            scale=self._scale,
            balance=self._balance(),
            dead=sum(self._dead.values(), np.zeros(6)),
            free=self._all_free(),
            entries=(rows, columns, np.concatenate([each.factors.ravel() for each in self._limits] or [np.zeros(0)])),
            bounds=np.concatenate(
                [np.broadcast_to(each.bounds, len(each.numbers)) for each in self._limits] or [np.zeros(0)]
            ),
            owner=np.concatenate(self._owner) if self._owner else np.zeros(0, dtype=np.int64),
            dead_of=dict(self._dead),
            shared=tuple(self._shared),
        )

    def family(self, members: int) -> Family:
        """Return the finished programmes of so many members; what was given as one number is the same for all."""
        spend(ASSEMBLING[0] + ASSEMBLING[1] * (self._rows + self._count))
        rows, columns = self._places()
        steady: list[FloatArray] = [np.zeros(0)]
        values: list[FloatArray] = [np.zeros((members, 0))]
        varies: list[NDArray[np.bool_]] = [np.zeros(0, dtype=bool)]
        for each in self._limits:
            size, many = each.numbers.size, each.factors.ndim > each.numbers.ndim
            differs = np.ptp(each.factors, axis=0).ravel() > 0.0 if many else np.zeros(size, dtype=bool)
            first = (each.factors[0] if many else each.factors).ravel()
            steady.append(np.where(differs, 0.0, first))
            varies.append(differs)
            if many:
                values.append(each.factors.reshape(members, size)[:, differs])
        return Family(
            scale=self._scale,
            balance=self._balance(),
            free=self._all_free(),
            dead=np.broadcast_to(sum(self._dead.values(), np.zeros(6)), (members, 6)),
            places=(rows, columns),
            steady=np.concatenate(steady),
            varying=np.nonzero(np.concatenate(varies))[0],
            values=np.concatenate(values, axis=1),
            bounds=np.concatenate(
                [
                    np.zeros((members, 0)),
                    *(np.broadcast_to(each.bounds, (members, len(each.numbers))) for each in self._limits),
                ],
                axis=1,
            ),
        )

    def _places(self) -> tuple[IntArray, IntArray]:
        """Return row and column of every factor of every limit."""
        none = [np.zeros(0, dtype=np.int64)]
        sizes = [each.numbers.shape[1] for each in self._limits for _ in each.numbers]
        rows = np.repeat(np.arange(self._rows), sizes)
        return rows, np.concatenate([each.numbers.ravel() for each in self._limits] or none)

    def _balance(self) -> FloatArray:
        return np.concatenate(self._wrenches).T if self._wrenches else np.zeros((6, 0))

    def _all_free(self) -> NDArray[np.bool_]:
        return np.concatenate(self._free) if self._free else np.zeros(0, dtype=bool)
