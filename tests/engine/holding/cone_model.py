"""The same contacts with true cones, written a second time for a conic solver: a check on the whole programme.

Nothing here uses the code that assembles or solves the engine's programme. It works in N and m about the slab's own
corner, maximises the load factor itself and knows friction and bonds as second-order cones. Only the quadrature points
of plan areas are the engine's: this is about cones, not about integrals.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

import cvxpy
import numpy as np
import shapely
from tests.engine.holding.slabs import LONG, THICK, WIDE, X0, Y0, Z0, at

from stillstock.engine.holding.contacts import Contacts, Rub
from stillstock.engine.mechanics.area import PlanArea, plan_areas
from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Triple

#: The solver's modelling language, whose own type hints leave out half of it.
cp: Any = cvxpy

#: Moments are counted in this unit so that rows are of one size. [m]
ARM = 0.1
CORNERS = np.array([(X0, Y0), (X0 + LONG, Y0), (X0 + LONG, Y0 + WIDE), (X0, Y0 + WIDE)])
CORNER = np.array(at(0.0, 0.0, 0.0))


def acting(where: FloatArray | Sequence[float]) -> FloatArray:
    """Return the matrix from a force at a point to force and moment. (6, 3)"""
    x, y, z = np.asarray(where) - CORNER
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]]) / ARM
    return np.vstack([np.eye(3), cross])


def on_bed(points: FloatArray) -> list[FloatArray]:
    return [acting((x, y, Z0)) for x, y in points]


@dataclass(frozen=True)
class Pressed:
    area: PlanArea
    pressure: float
    mu: float


@dataclass(frozen=True)
class Case:
    """One way of turning, and one doubt: which sides touch, where the push goes into the bed."""

    presses: tuple[Pressed, ...]
    rises: bool
    seat: tuple[int, ...]
    edge: tuple[int, int] | None
    bonded: bool


def mid(value: Triple) -> float:
    return value.typical


def pads(contacts: Contacts, mu: float) -> list[Pressed]:
    found = []
    presses: list[tuple[FloatArray | None, Triple | None]] = [(push.toe, push.force) for push in contacts.pushes]
    presses += [(pin.head, pin.preload) for pin in contacts.pins]
    for toe, force in presses:
        if toe is None or force is None:
            continue
        grown = THICK * np.tan(np.radians(30.0))
        (x0, y0), (x1, y1) = toe.min(axis=0) - grown, toe.max(axis=0) + grown
        cut = shapely.box(max(x0, X0), max(y0, Y0), min(x1, X0 + LONG), min(y1, Y0 + WIDE))
        (area,) = plan_areas(cut, order=2)
        found.append(Pressed(area, mid(force) / cut.area, mu))
    return found


def suction(contacts: Contacts, mu: float) -> list[Pressed]:
    return [
        Pressed(area, mid(rest.pressure), mu)
        for rest in contacts.rests
        for area in plan_areas(shapely.Polygon(rest.area))
    ]


def seats(rubs: Sequence[Rub]) -> list[tuple[int, ...]]:
    lines: dict[str, list[int]] = {}
    for number, rub in enumerate(rubs):
        lines.setdefault(rub.group or f"{number}", []).append(number)
    choices = []
    for members in lines.values():
        order = sorted(members, key=lambda i: rubs[i].at[:2])
        touching = [tuple(order)] if len(order) < 3 else [*combinations(order, 2), *((i,) for i in order[1:-1])]
        choices.append(touching)
    return [tuple(i for part in choice for i in part) for choice in product(*choices)]


def cases(contacts: Contacts, mu: float) -> Iterator[list[Case]]:
    """Give the ways, each as the cases that it must survive."""
    beneath, sucked = pads(contacts, mu), suction(contacts, mu)
    whole = [Pressed(area, 0.0, mu) for area in plan_areas(shapely.Polygon(CORNERS))]
    doubts = [(tuple(sucked or whole), True)]
    if beneath:
        doubts.append(((*beneath, *sucked), False))
    touching = seats(contacts.rubs)
    edges: list[tuple[int, int] | None] = [None]
    if any(mid(pin.pull_out) > 0.0 for pin in contacts.pins):
        edges += [(i, (i + 1) % 4) for i in range(4)]
    for edge in edges:
        yield [Case(p, rises, seat, edge, bonded=False) for p, rises in doubts for seat in touching]
    if contacts.bonds:
        yield [Case((), True, seat, None, bonded=True) for seat in touching]


class Model:
    """Constraints that one case puts on the load factor."""

    def __init__(self, contacts: Contacts, case: Case, shrink: Any) -> None:
        self.contacts, self.case, self.shrink = contacts, case, shrink
        self.sum: Any = np.zeros(6)
        self.needs: list[Any] = []

    def push(self, where: FloatArray | Sequence[float], force: Any) -> None:
        self.sum = self.sum + acting(where) @ force

    def constraints(self, load: FloatArray, factor: Any, seated: Sequence[float]) -> list[Any]:
        self._fixed()
        if self.case.bonded:
            self._sides([0.0] * len(seated), rub=False)
            self._fasteners([pin for pin in self.contacts.pins if pin.clearance <= 0.0], bonds=True)
        else:
            self._bed()
            self._toes()
            self._sides(seated, rub=True)
            self._fasteners(self.contacts.pins, bonds=False)
        return [*self.needs, self.sum + factor * load == 0]

    def _fixed(self) -> None:
        for push in self.contacts.pushes:
            self.push(push.at, mid(push.force) * np.array(push.direction))
        for rub in self.contacts.rubs:
            if rub.preload is not None:
                self.push(rub.at, mid(rub.preload) * np.array(rub.normal))
        for pin in self.contacts.pins:
            if pin.preload is not None:
                self.push(pin.at, np.array([0.0, 0.0, -mid(pin.preload)]))
        for zone in suction(self.contacts, 0.0):
            down = np.array([0.0, 0.0, -zone.pressure * zone.area.size])
            self.push((*zone.area.centroid, Z0), down)

    def down(self) -> float:
        found = -sum(mid(push.force) * push.direction[2] for push in self.contacts.pushes)
        found += sum(mid(pin.preload) for pin in self.contacts.pins if pin.preload is not None)
        return found + sum(zone.pressure * zone.area.size for zone in suction(self.contacts, 0.0))

    def _edges(self, points: FloatArray) -> Any:
        pushes = cp.Variable(len(points), nonneg=True)
        for force, matrix in zip(pushes, on_bed(points), strict=True):
            self.sum = self.sum + matrix[:, 2] * force
        return cp.sum(pushes)

    def _bed(self) -> None:
        turning = any(mid(pin.pull_out) > 0.0 for pin in self.contacts.pins)
        if not turning:
            self._edges(CORNERS)
        elif self.case.edge is not None:
            self._edges(CORNERS[list(self.case.edge)])
        field = cp.Variable(3)
        rise: Any = 0.0
        for pressed in self.case.presses:
            rise = rise + self._area(pressed, field)
        if turning:
            other = self._edges(CORNERS)
            known = sum(p.pressure * p.area.size for p in self.case.presses)
            pressing = sum(p.pressure * p.area.size for p in [*pads(self.contacts, 0.0), *suction(self.contacts, 0.0)])
            self.needs += [other + rise <= self.down() - known, other <= self.down() - pressing]

    def _area(self, pressed: Pressed, field: Any) -> Any:
        def affine(points: FloatArray) -> Any:
            local = (points - (X0 + LONG / 2, Y0 + WIDE / 2)) / ARM
            return np.column_stack([np.ones(len(points)), local]) @ field

        area, unit = pressed.area, 1e4
        change, edge = unit * affine(area.points), unit * affine(area.corners)
        self.needs.append(pressed.pressure + edge >= 0)
        if not self.case.rises:
            self.needs.append(edge <= 0)
        at_points = np.stack(on_bed(area.points), axis=2)
        self.push((*area.centroid, Z0), np.array([0.0, 0.0, pressed.pressure * area.size]))
        self.sum = self.sum + at_points[:, 2, :] @ cp.multiply(area.weights, change)
        if pressed.mu > 0.0:
            rub = cp.Variable((2, len(area.points)))
            self.sum = self.sum + at_points[:, 0, :] @ rub[0] + at_points[:, 1, :] @ rub[1]
            most = cp.multiply(pressed.mu * area.weights, pressed.pressure + change)
            self.needs.append(cp.norm(rub, axis=0) <= self.shrink * most)
        return cp.sum(cp.multiply(area.weights, change))

    def _toes(self) -> None:
        for push in self.contacts.pushes:
            if push.friction is not None:
                rub = cp.Variable(2)
                self.push(push.at, np.eye(3)[:, :2] @ rub)
                self.needs.append(cp.norm(rub) <= self.shrink * (mid(push.friction) * mid(push.force)))

    def _sides(self, seated: Sequence[float], *, rub: bool) -> None:
        for number, known in zip(self.case.seat, seated, strict=True):
            side = self.contacts.rubs[number]
            normal: Any = None
            if side.preload is None:
                normal = cp.Variable(nonneg=True)
                self.push(side.at, np.array(side.normal) * normal)
                if side.limit is not None:
                    self.needs.append(normal <= mid(side.limit))
            if not rub or not side.tangents:
                continue
            along = cp.Variable(len(side.tangents))
            self.push(side.at, np.array(side.tangents).T @ along)
            mu = mid(side.friction)
            most = mid(side.preload) if side.preload is not None else known
            self.needs.append(cp.norm(along) <= self.shrink * (mu * most))
            if normal is not None:
                self.needs.append(cp.norm(along) <= self.shrink * (mu * normal))

    def _fasteners(self, pins: Sequence[Any], *, bonds: bool) -> None:
        motion = cp.Variable(6)
        members = len(pins) + (len(self.contacts.bonds) if bonds else 0)
        if not members:
            return
        if self.case.edge is not None and not bonds:
            start, end = CORNERS[list(self.case.edge)]
            along = (end - start) / np.hypot(*(end - start))
            for x, y in (start, end):  # the edge itself stays down
                self.needs.append((acting((x, y, Z0)).T @ motion)[2] == 0)
            assert abs(np.hypot(*along) - 1.0) < 1e-12
        unit = 1e-4
        for pin in pins:
            lateral, axial = mid(pin.lateral), mid(pin.pull_out)
            kl = pin.lateral_stiffness if lateral > 0.0 else 0.0
            ka = pin.axial_stiffness if axial > 0.0 else 0.0
            moved = unit * (acting(pin.at).T @ motion)
            force = np.diag([kl, kl, ka]) @ moved
            self.push(pin.at, -force)
            spare = max(1.0 - mid(pin.preload) / axial, 0.0) if pin.preload is not None and axial > 0.0 else 1.0
            self._within(force[:2], force[2], lateral, axial, spare)
        for bond in self.contacts.bonds if bonds else ():
            stiff = np.diag([bond.shear_stiffness, bond.shear_stiffness, bond.tension_stiffness])
            for area in plan_areas(shapely.Polygon(bond.area)):
                for (x, y), weight in zip(area.points, area.weights, strict=True):
                    matrix = acting((x, y, bond.height))
                    self.sum = self.sum - (unit * weight * matrix @ stiff @ matrix.T) @ motion
                for x, y in area.corners:
                    stress = unit * stiff @ acting((x, y, bond.height)).T @ motion
                    self._within(stress[:2], stress[2], mid(bond.shear), mid(bond.tension), 1.0)

    def _within(self, across: Any, pull: Any, lateral: float, axial: float, spare: float) -> None:
        if axial > 0.0:
            self.needs.append(pull / axial <= spare)
        if lateral > 0.0:
            self.needs.append(cp.norm(across) / lateral <= self.shrink * spare)
            if axial > 0.0:
                self.needs.append(cp.norm(across) / lateral <= self.shrink * (spare - pull / axial))


def seated(contacts: Contacts, case: Case) -> list[float]:
    """Return the least that fixed pushes put on each contact of a seat, bed and sides smooth. [N]"""
    found = []
    for chosen in case.seat:
        if contacts.rubs[chosen].preload is not None:
            found.append(0.0)
            continue
        smooth = Model(contacts, case, cp.Parameter(value=1.0))
        smooth._fixed()
        smooth._toes()
        smooth._edges(CORNERS)
        for zone in suction(contacts, 0.0):
            assert zone.pressure == 0.0, "no case here has both suction and stops"
        normals = {n: cp.Variable(nonneg=True) for n in case.seat if contacts.rubs[n].preload is None}
        for number, normal in normals.items():
            smooth.push(contacts.rubs[number].at, np.array(contacts.rubs[number].normal) * normal)
        problem = cp.Problem(cp.Minimize(normals[chosen]), [*smooth.needs, smooth.sum == 0])
        problem.solve(solver=cp.CLARABEL)
        found.append(max(float(problem.value), 0.0) if problem.status == "optimal" else 0.0)
    return found


def load_factors(contacts: Contacts, load: FloatArray, *, mu: float, shrinks: Sequence[float]) -> list[float]:
    """Return the load factor by the best way with every cone shrunk by each of some factors.

    Parameters
    ----------
    contacts : Contacts
    load : (6,) array
        Force, and moment about the slab's own corner in N m.
    mu : float
        Between slab and bed. [-]
    shrinks : sequence of float
        On every coefficient of friction and every strength in shear. [-]
    """
    scaled = np.concatenate([load[:3], load[3:] / ARM])
    best = [0.0] * len(shrinks)
    for way in cases(contacts, mu):
        factor, shrink = cp.Variable(), cp.Parameter(nonneg=True, value=1.0)
        needs: list[Any] = [factor >= 0]
        for case in way:
            known = seated(contacts, case) if contacts.rubs else []
            needs += Model(contacts, case, shrink).constraints(scaled, factor, known)
        problem = cp.Problem(cp.Maximize(factor), needs)
        for place, value in enumerate(shrinks):
            shrink.value = value
            problem.solve(solver=cp.CLARABEL, tol_gap_rel=1e-9, tol_gap_abs=1e-9, tol_feas=1e-9)
            if problem.status in ("optimal", "optimal_inaccurate"):
                best[place] = max(best[place], float(problem.value))
            elif problem.status == "unbounded":
                best[place] = np.inf
            else:
                assert problem.status.startswith("infeasible"), problem.status
    return best
