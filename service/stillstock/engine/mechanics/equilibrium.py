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
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import FloatArray

__all__ = ["Equilibrium", "PressedArea", "System"]

IntArray = NDArray[np.int64]
UP = (0.0, 0.0, 1.0)

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
class PressedArea:
    """An area of ground that carries an even pressure before any load, and rubs.

    Attributes
    ----------
    area : PlanArea
    pressure : float
        Even pressure from what presses just there. [Pa]
    mu : float
        Coefficient of friction. [-]
    owner : int
    """

    area: PlanArea
    pressure: float
    mu: float
    owner: int


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
        self._limits: list[tuple[IntArray, FloatArray, float]] = []
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

    def limit(self, numbers: IntArray, factors: FloatArray, *, bound: float) -> int:
        """Demand ``factors . x <= s bound``; the bound is scaled by the caller. Return the limit's row. [-]"""
        self._limits.append((numbers, factors, bound))
        return len(self._limits) - 1

    def force(self, value: float) -> float:
        """Return a force in the programme's unit. [-]"""
        return value / self._scale.force

    def dead_load(self, load: FloatArray, *, owner: int) -> None:
        """Add a wrench about the origin that acts without any load. [N, N m]"""
        self._dead[owner] = self._dead.get(owner, np.zeros(6)) + self._scale.wrenches(np.asarray(load, dtype=float))

    def smooth_supports(self, corners: FloatArray) -> IntArray:
        """Let the ground push up at plan points, without friction; return the columns. `corners`: (k, 2). [m]"""
        at = np.column_stack([corners, np.full(len(corners), self._ground)])
        return self.columns(wrench(at, np.broadcast_to(UP, at.shape)), owner=-1)

    def rubbing_point(
        self, at: Sequence[float], directions: FloatArray, *, normal: int | None, mu: float, most: float, owner: int
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
        mu : float
            Coefficient. [-]
        most : float
            Greatest friction that the normal force known beforehand gives. [N]
        owner : int
        """
        if most <= 0.0:
            return
        numbers = self.columns(wrench(np.asarray(at), directions), owner=owner)
        self.limit(numbers, np.ones(len(numbers)), bound=self.force(most))
        if normal is not None:
            self.limit(np.append(numbers, normal), np.append(np.ones(len(numbers)), -mu), bound=0.0)

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
            up = wrench(
                np.append(pressed.area.centroid, self._ground), (0.0, 0.0, pressed.pressure * pressed.area.size)
            )
            self.dead_load(up, owner=pressed.owner)
        return increments

    def cap_support(self, smooth: IntArray, increments: IntArray, *, total: float) -> None:
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
        if pressed.mu <= 0.0:
            return
        points, weights = pressed.area.points, pressed.area.weights
        flat = np.column_stack([self.polygon.spokes(), np.zeros(self.polygon.sides)])
        for point, weight, row in zip(points, weights, self._affine(points), strict=True):
            rub = self.columns(wrench(np.append(point, self._ground), flat), owner=pressed.owner)
            share = pressed.mu * weight
            factors = np.append(np.ones(len(flat)), -row * share / self._scale.length**2)
            self.limit(np.append(rub, increments), factors, bound=self.force(share * pressed.pressure))

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
        self, columns: IntArray, shear: FloatArray, tension: FloatArray, *, strengths: tuple[float, float]
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
        strengths : (2,) tuple
            Shear and tensile strength. [Pa]
        """
        for at_shear, at_tension in zip(shear, tension, strict=True):
            slipping = self.polygon.face_normals() @ at_shear / strengths[0]
            for row in slipping:
                self.limit(columns, row, bound=1.0)
                self.limit(columns, row + at_tension / strengths[1], bound=1.0)
            self.limit(columns, at_tension / strengths[1], bound=1.0)

    def system(self) -> System:
        """Return the finished programme."""
        lengths = [len(numbers) for numbers, _, _ in self._limits]
        none: list[IntArray] = [np.zeros(0, dtype=np.int64)]
        return System(
            scale=self._scale,
            balance=np.concatenate(self._wrenches).T if self._wrenches else np.zeros((6, 0)),
            dead=sum(self._dead.values(), np.zeros(6)),
            free=np.concatenate(self._free) if self._free else np.zeros(0, dtype=bool),
            entries=(
                np.repeat(np.arange(len(self._limits)), lengths),
                np.concatenate([numbers for numbers, _, _ in self._limits] or none),
                np.concatenate([factors for _, factors, _ in self._limits] or [np.zeros(0)]),
            ),
            bounds=np.array([bound for _, _, bound in self._limits]),
            owner=np.concatenate(self._owner) if self._owner else np.zeros(0, dtype=np.int64),
            dead_of=dict(self._dead),
            shared=tuple(self._shared),
        )
