"""How far the worst load moves the stock at the tool before anything lets go: tape, bed and fasteners give way."""

from collections.abc import Iterator

import numpy as np
import shapely

from stillstock.engine.checks.check import Check
from stillstock.engine.checks.limits import tolerance
from stillstock.engine.holding.contacts import Bond, Contacts, Rub
from stillstock.engine.holding.ground import ground_shape, pad_shape
from stillstock.engine.mechanics.area import plan_areas
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner, Triple

__all__ = ["displacement"]

#: Stiffness of a pressed face of bed per area: some 100 MPa through 20 mm of board; own estimate, no source. [Pa/m]
BED = Triple(low=1.5e9, typical=5e9, high=1.5e10, what="stiffness of the bed's face")

#: Sideways on straight stiffness of a pressed face that does not slip, G / E with a Poisson's ratio of 0.3. [-]
SIDEWAYS = 0.385

#: Stiffness of a stop or a clamp's tip in the stock's edge, with its own foot; own estimate, no source. [N/m]
TIP = Triple(low=3e6, typical=1e7, high=3e7, what="stiffness of a stop or tip")

#: A motion that nothing but this share of the stiffest resists is not held by anything elastic. [-]
LOOSE = 1e-9

RATES = {"displacement": "shear_modulus_slow", "displacement_at_tooth_rate": "shear_modulus_tooth_rate"}


def _jacobians(points: FloatArray) -> FloatArray:
    """Return how points move with a twist about the origin. (m, 3, 6)"""
    x, y, z = points.T
    found = np.zeros((len(points), 3, 6))
    found[:, range(3), range(3)] = 1.0
    found[:, 0, 4], found[:, 0, 5] = z, -y
    found[:, 1, 3], found[:, 1, 5] = -z, x
    found[:, 2, 3], found[:, 2, 4] = y, -x
    return found


def _of_points(points: FloatArray, stiffness: FloatArray) -> FloatArray:
    """Return the stiffness of springs along x, y, z at points, (m, 3) each. (6, 6) [N/m]"""
    motion = _jacobians(points)
    total: FloatArray = np.einsum("mai,ma,maj->ij", motion, stiffness, motion)
    return total


def _area(shape: shapely.geometry.base.BaseGeometry, level: float, per_area: tuple[float, float]) -> FloatArray:
    """Return the stiffness of an area with sideways and straight springs. (6, 6) [N/m]"""
    total = np.zeros((6, 6))
    for area in plan_areas(shape):
        points = np.column_stack([area.points, np.full(len(area.points), level)])
        total += _of_points(points, area.weights[:, None] * np.array([per_area[0], per_area[0], per_area[1]]))
    return total


def _softened(bond: Bond, set_up: SetUp, tables: Tables, rate: str, corner: Corner) -> float:
    """Return the modulus of a tape at a rate and a corner on the one that its contact was made with. [-]"""
    kind = set_up.holders[bond.holder].kind
    usual, asked = tables.get("tape", kind, "shear_modulus_slow"), tables.get("tape", kind, rate)
    return 1.0 if usual is None or asked is None else asked.at(corner) / usual.typical


def _springs(set_up: SetUp, contacts: Contacts, tables: Tables, rate: str, corner: Corner) -> Iterator[FloatArray]:
    level = set_up.stock.origin[2]
    ground = ground_shape(set_up.stock, set_up.bed)
    face = SIDEWAYS * BED.at(corner), BED.at(corner)
    for bond in contacts.bonds:
        factor = _softened(bond, set_up, tables, rate, corner)
        per_area = bond.shear_stiffness * factor, bond.tension_stiffness * factor
        yield _area(shapely.Polygon(bond.area), bond.height, per_area)
    for pin in contacts.pins:
        stiffness = np.array([[pin.lateral_stiffness, pin.lateral_stiffness, pin.axial_stiffness]])
        yield _of_points(np.array([pin.at]), stiffness)
    toes = [push.toe for push in contacts.pushes if push.toe is not None]
    toes += [pin.head for pin in contacts.pins if pin.head is not None and pin.preload is not None]
    for toe in toes:
        yield _area(pad_shape(toe, ground, thickness=set_up.stock.thickness[0]), level, face)
    for rest in contacts.rests:
        yield _area(shapely.Polygon(rest.area).intersection(ground), level, face)


def _against(rub: Rub, corner: Corner) -> FloatArray:
    normal = np.abs(np.asarray(rub.normal))
    return _of_points(np.array([rub.at]), (normal * TIP.at(corner))[None])


def _moved(
    set_up: SetUp, contacts: Contacts, tables: Tables, load: FloatArray, rate: str, corner: Corner
) -> FloatArray | None:
    """Return the twist about the origin under a load; None where nothing elastic resists it. (6,) [m, rad]

    Stops push back only where the stock comes towards them; which ones do is tried from all to none.
    """
    held = sum(_springs(set_up, contacts, tables, rate, corner), np.zeros((6, 6)))
    stops = list(contacts.rubs)
    twist: FloatArray | None = None
    for _ in range(4):
        stiffness = held + sum((_against(rub, corner) for rub in stops), np.zeros((6, 6)))
        scale = np.sqrt(np.maximum(np.diag(stiffness), 1e-30))
        if np.linalg.eigvalsh(stiffness / np.outer(scale, scale))[0] < LOOSE:
            return None
        twist = np.asarray(np.linalg.solve(stiffness, load))
        pressed = [
            r for r in stops if r.preload is not None or (_jacobians(np.array([r.at]))[0] @ twist) @ r.normal < 0.0
        ]
        if len(pressed) == len(stops):
            break
        stops = pressed
    return twist


def displacement(
    set_up: SetUp, contacts: Contacts, tables: Tables, load: FloatArray | None, at: tuple[float, float, float] | None
) -> tuple[Check, ...]:
    """Return how far the worst load moves the stock at the tool.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
    tables : Tables
        Hold the moduli of tapes, slow and at the rate at which teeth pass.
    load : (6,) array or None
        Wrench on the stock about the origin. [N, N m]
    at : (3,) tuple or None
        The tool's tip. [m]

    Returns
    -------
    tuple of Check
        ``"displacement"``, as if the whole load stood still, which is the most; with tape also
        ``"displacement_at_tooth_rate"``, at which tape is many times stiffer. Nothing where no elastic hold resists.

    Notes
    -----
    One rigid motion of the stock on springs: tape by its modulus over its thickness, fasteners, the bed's face where
    clamps and vacuum press on it (it sticks until it slips, which is the margin's affair), and stops pushed against.
    """
    if load is None or at is None:
        return ()
    found = []
    most, source = tolerance(set_up)
    for name, rate in RATES.items():
        if name != "displacement" and not _has_tape(set_up, contacts, tables):
            continue
        twists = [_moved(set_up, contacts, tables, load, rate, corner) for corner in (Corner.LOW, Corner.TYPICAL)]
        moves = [None if t is None else float(np.linalg.norm(_jacobians(np.array([at]))[0] @ t)) for t in twists]
        worst, usual = moves
        if worst is None or usual is None:
            continue
        how = "if the load stood still" if name == "displacement" else "at the rate of the teeth"
        found.append(
            Check(
                name=name,
                holder=None,
                value=worst,
                limit=most,
                typical_ratio=usual / most,
                breaks=False,
                detail=f"how far the worst load moves the stock at the tool, {how}",
                source=source,
                dimension="length",
                at=at,
            )
        )
    return tuple(found)


def _has_tape(set_up: SetUp, contacts: Contacts, tables: Tables) -> bool:
    return any(
        tables.get("tape", set_up.holders[bond.holder].kind, "shear_modulus_tooth_rate") for bond in contacts.bonds
    )
