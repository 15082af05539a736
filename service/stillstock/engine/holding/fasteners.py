"""Fasteners and bonds that share a load by their stiffness, in one rigid motion of the stock."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from stillstock.engine.holding.contacts import Bond, Pin
from stillstock.engine.mechanics.area import plan_areas
from stillstock.engine.mechanics.equilibrium import Equilibrium, IntArray
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Corner

__all__ = ["Reading", "add_fasteners", "add_free_fasteners", "edge_twists"]


@dataclass(frozen=True, kw_only=True)
class Reading:
    """At which end of their scatter the numbers are read.

    Attributes
    ----------
    strength : Corner
        Of friction, bonds and fasteners.
    preload : Corner
        Of clamps and suction.
    shaken : float
        Factor on every coefficient of friction, for vibration. [-]
    """

    strength: Corner
    preload: Corner
    shaken: float = 1.0


def _jacobian(at: Sequence[float]) -> FloatArray:
    """Return how a point moves with a twist about the origin. (3, 6)"""
    x, y, z = at
    return np.hstack([np.eye(3), np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])])


def _bond_points(bond: Bond) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return quadrature points (g, 3), their areas (g,) and the edge's corners (v, 3)."""
    points, weights, corners = [], [], []
    for area in plan_areas(shapely.Polygon(bond.area)):
        points.append(np.column_stack([area.points, np.full(len(area.points), bond.height)]))
        weights.append(area.weights)
        corners.append(np.column_stack([area.corners, np.full(len(area.corners), bond.height)]))
    return np.concatenate(points), np.concatenate(weights), np.concatenate(corners)


def _pin_stiffness(pin: Pin, strength: Corner) -> FloatArray:
    """Return what resists a twist; a direction without strength at this end of the scatter resists nothing."""
    jacobian = _jacobian(pin.at)
    lateral = pin.lateral_stiffness if pin.lateral.at(strength) > 0.0 else 0.0
    axial = pin.axial_stiffness if pin.pull_out.at(strength) > 0.0 else 0.0
    stiffness: FloatArray = jacobian.T @ np.diag([lateral, lateral, axial]) @ jacobian
    return stiffness


def _bond_stiffness(bond: Bond) -> FloatArray:
    points, weights, _ = _bond_points(bond)
    local = np.diag([bond.shear_stiffness, bond.shear_stiffness, bond.tension_stiffness])
    return np.asarray(sum(w * _jacobian(p).T @ local @ _jacobian(p) for p, w in zip(points, weights, strict=True)))


def _spare(pin: Pin, reading: Reading) -> float:
    """Return the share of a pin's strength that its preload leaves. [-]"""
    pull_out = pin.pull_out.at(reading.strength)
    used = pin.preload.at(reading.preload) / pull_out if pin.preload is not None and pull_out > 0.0 else 0.0
    return max(1.0 - used, 0.0)


def _pin_limits(eq: Equilibrium, reading: Reading, pin: Pin, columns: IntArray, twists: FloatArray) -> None:
    """Keep sideways force / its limit + lift / pull-out, preload included, within one."""
    lateral, pull_out = pin.lateral.at(reading.strength), pin.pull_out.at(reading.strength)
    spare = _spare(pin, reading)
    moved = _jacobian(pin.at) @ twists
    lift = moved[2] * pin.axial_stiffness / pull_out if pull_out > 0.0 else np.zeros(len(columns))
    if pull_out > 0.0:
        eq.limit(columns, lift, bound=spare)
    if lateral > 0.0:
        for row in eq.polygon.face_normals() @ moved[:2] * pin.lateral_stiffness / lateral:
            eq.limit(columns, row, bound=spare)
            if pull_out > 0.0:
                eq.limit(columns, row + lift, bound=spare)


def _bond_limits(eq: Equilibrium, reading: Reading, bond: Bond, columns: IntArray, twists: FloatArray) -> None:
    _, _, corners = _bond_points(bond)
    moved = np.stack([_jacobian(corner) @ twists for corner in corners])
    eq.bonded_corners(
        columns,
        moved[:, :2] * bond.shear_stiffness,
        moved[:, 2] * bond.tension_stiffness,
        strengths=(bond.shear.at(reading.strength), bond.tension.at(reading.strength)),
    )


def add_fasteners(
    eq: Equilibrium,
    reading: Reading,
    *,
    pins: Sequence[Pin] = (),
    bonds: Sequence[Bond] = (),
    over: FloatArray | None = None,
) -> None:
    """Add pins and bonds to an equilibrium; `over` are the possible motions, (6, k), or None for all. [m, rad]"""
    bonds = [bond for bond in bonds if min(bond.shear.at(reading.strength), bond.tension.at(reading.strength)) > 0.0]
    members = [(pin.holder, _pin_stiffness(pin, reading.strength)) for pin in pins]
    members += [(bond.holder, _bond_stiffness(bond)) for bond in bonds]
    if not members:
        return
    columns, twists = eq.rigid_motion(members, over=over)
    for pin in pins:
        _pin_limits(eq, reading, pin, columns, twists)
    for bond in bonds:
        _bond_limits(eq, reading, bond, columns, twists)


def _free_point(eq: Equilibrium, at: FloatArray, strengths: tuple[float, float], *, spare: float, owner: int) -> int:
    """Let a point resist sideways and lift up to its strengths, together a share of them; return the limit's row.

    Pressed down it pushes back without a limit, as a fastener does in every way.
    """
    if strengths[1] > 0.0:
        eq.columns(wrench(at, (0.0, 0.0, 1.0)), owner=owner)
    flat = np.column_stack([eq.polygon.spokes(), np.zeros(eq.polygon.sides)])
    parts = [(flat, strengths[0]), (np.array([[0.0, 0.0, -1.0]]), strengths[1])]
    columns, factors = [], []
    for directions, strength in parts:
        if strength > 0.0:
            columns.append(eq.columns(wrench(at, directions), owner=owner))
            factors.append(np.full(len(directions), max(strengths) / strength))
    return eq.limit(np.concatenate(columns), np.concatenate(factors), bound=eq.force(spare * max(strengths)))


def add_free_fasteners(
    eq: Equilibrium, reading: Reading, *, pins: Sequence[Pin], bonds: Sequence[Bond]
) -> dict[int, tuple[int, ...]]:
    """Add pins and bonds that share a load at will; return the limits' rows that belong to each holder.

    A bond is so many points as its stiffness is summed over: its stress at each is within its strength in every way.
    """
    rows: dict[int, tuple[int, ...]] = {}
    for pin in pins:
        strengths = pin.lateral.at(reading.strength), pin.pull_out.at(reading.strength)
        if max(strengths) > 0.0:
            row = _free_point(eq, np.asarray(pin.at), strengths, spare=_spare(pin, reading), owner=pin.holder)
            rows[pin.holder] = (*rows.get(pin.holder, ()), row)
    for bond in bonds:
        shear, tension = bond.shear.at(reading.strength), bond.tension.at(reading.strength)
        if min(shear, tension) > 0.0:
            for at, size in zip(*_bond_points(bond)[:2], strict=True):
                row = _free_point(eq, at, (shear * size, tension * size), spare=1.0, owner=bond.holder)
                rows[bond.holder] = (*rows.get(bond.holder, ()), row)
    return rows


def edge_twists(edge: FloatArray, *, level: float, scale: Scale) -> FloatArray:
    """Return the motions in plane and about an edge of the support, as (6, 4) twists about the origin. [m, rad]"""
    start, end = edge
    axis = np.append(end - start, 0.0) / np.hypot(*(end - start))
    about = np.concatenate([-np.cross(axis, np.append(start, level)), axis]) / scale.length
    upright = np.array([0.0, 0.0, 1.0])
    spin = np.concatenate([-np.cross(upright, np.asarray(scale.reference)), upright]) / scale.length
    return np.column_stack([np.eye(6)[0], np.eye(6)[1], spin, about])
