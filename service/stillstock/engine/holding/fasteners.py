"""Fasteners and bonds that share a load by their stiffness, in one rigid motion of the stock."""

from collections.abc import Sequence

import numpy as np
import shapely

from stillstock.engine.holding.contacts import Bond, Pin
from stillstock.engine.holding.reading import Reader, Reading, strong
from stillstock.engine.mechanics.area import plan_areas
from stillstock.engine.mechanics.equilibrium import Equilibrium, IntArray, Number
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import FloatArray

__all__ = ["add_fasteners", "add_free_fasteners", "edge_twists"]


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


def _pin_stiffness(pin: Pin, reading: Reader) -> FloatArray:
    """Return what resists a twist; a direction without strength as it is read resists nothing."""
    jacobian = _jacobian(pin.at)
    lateral = pin.lateral_stiffness if strong(reading.fasteners(pin.lateral)) else 0.0
    axial = pin.axial_stiffness if strong(reading.fasteners(pin.pull_out)) else 0.0
    stiffness: FloatArray = jacobian.T @ np.diag([lateral, lateral, axial]) @ jacobian
    return stiffness


def _bond_stiffness(bond: Bond) -> FloatArray:
    points, weights, _ = _bond_points(bond)
    local = np.diag([bond.shear_stiffness, bond.shear_stiffness, bond.tension_stiffness])
    return np.asarray(sum(w * _jacobian(p).T @ local @ _jacobian(p) for p, w in zip(points, weights, strict=True)))


def _spare(pin: Pin, reading: Reader) -> FloatArray:
    """Return the share of a pin's strength that its preload leaves, () or (n,). [-]"""
    pull_out = reading.fasteners(pin.pull_out)
    used = reading.clamping(pin.preload) / pull_out if pin.preload is not None and strong(pull_out) else 0.0
    return np.maximum(1.0 - np.asarray(used, dtype=float), 0.0)


def _over(rows: FloatArray, strength: Number) -> FloatArray:
    """Return rows (r, k) over a strength: (r, k) or (n, r, k). [rows / strength]"""
    found: FloatArray = rows / np.asarray(strength, dtype=float)[..., None, None]
    return found


def _pin_limits(eq: Equilibrium, reading: Reader, pin: Pin, columns: IntArray, twists: FloatArray) -> None:
    """Keep sideways force / its limit + lift / pull-out, preload included, within one."""
    lateral, pull_out = reading.fasteners(pin.lateral), reading.fasteners(pin.pull_out)
    moved, spare = _jacobian(pin.at) @ twists, _spare(pin, reading)[..., None]

    def keep(rows: FloatArray) -> None:
        count = rows.shape[-2]
        numbers = np.broadcast_to(columns, (count, len(columns)))
        eq.limits(numbers, rows, bounds=np.repeat(spare, count, axis=-1))

    lifted = strong(pull_out)
    lift = _over(moved[2:] * pin.axial_stiffness, pull_out) if lifted else np.zeros((1, len(columns)))
    if lifted:
        keep(lift)
    if strong(lateral):
        aside = _over(eq.polygon.face_normals() @ moved[:2] * pin.lateral_stiffness, lateral)
        both = np.stack([aside, aside + lift], axis=-2)
        keep(both.reshape(*both.shape[:-3], -1, both.shape[-1]) if lifted else aside)


def _bond_limits(eq: Equilibrium, reading: Reader, bond: Bond, columns: IntArray, twists: FloatArray) -> None:
    _, _, corners = _bond_points(bond)
    moved = np.stack([_jacobian(corner) @ twists for corner in corners])
    eq.bonded_corners(
        columns,
        moved[:, :2] * bond.shear_stiffness,
        moved[:, 2] * bond.tension_stiffness,
        strengths=(reading.bonds(bond.shear), reading.bonds(bond.tension)),
    )


def _stuck(bonds: Sequence[Bond], reading: Reader) -> list[Bond]:
    """Return the bonds that have a strength in either direction."""
    return [bond for bond in bonds if strong(reading.bonds(bond.shear)) and strong(reading.bonds(bond.tension))]


def add_fasteners(
    eq: Equilibrium,
    reading: Reader,
    *,
    pins: Sequence[Pin] = (),
    bonds: Sequence[Bond] = (),
    over: FloatArray | None = None,
) -> None:
    """Add pins and bonds to an equilibrium; `over` are the possible motions, (6, k), or None for all. [m, rad]"""
    bonds = _stuck(bonds, reading)
    members = [(pin.holder, _pin_stiffness(pin, reading)) for pin in pins]
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
        strengths = reading.fasteners(pin.lateral), reading.fasteners(pin.pull_out)
        if max(strengths) > 0.0:
            row = _free_point(eq, np.asarray(pin.at), strengths, spare=float(_spare(pin, reading)), owner=pin.holder)
            rows[pin.holder] = (*rows.get(pin.holder, ()), row)
    for bond in _stuck(bonds, reading):
        shear, tension = reading.bonds(bond.shear), reading.bonds(bond.tension)
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
