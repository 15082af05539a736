"""Thin or bowed stock as a sheet on the bed: what bow the holders leave, and how the tool lifts or presses it."""

from dataclasses import dataclass

import numpy as np
import shapely

from stillstock.engine.checks.stiffness import POISSON, modulus_of, thin
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.holding.ground import ground_shape
from stillstock.engine.mechanics.area import plan_areas
from stillstock.engine.mechanics.plate import Sheet, bending_stiffness, settled, sheet
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.scatter import Corner

__all__ = ["SheetState", "sheet_state"]

#: Stiffness of the bed per area, 100 MPa through 20 mm of board; only that it is stiff matters here. [Pa/m]
BED = 5.0e9

#: Places of the sheet's model from which on they stand for an area. [-]
MANY = 16

Held = tuple[FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True, kw_only=True)
class SheetState:
    """How a sheet lies.

    Attributes
    ----------
    gap : float
        Greatest height of its underside over the bed, before the tool comes. [m]
    gap_at : (2,) tuple
        Where. [m]
    movement : float
        What the tool's force then adds at the tool, up positive. [m]
    """

    gap: float
    gap_at: tuple[float, float]
    movement: float


def _bow(set_up: SetUp, at: FloatArray) -> FloatArray:
    """Return the height of a bowed sheet over a flat bed at places (m, 2): its edges lie on it. [m]

    The shape (1 - X^2)(1 - Y^2) is the one of which holders at the edges alone take nothing away: the safe side.
    """
    plan = set_up.stock.plan
    middle, half = (plan.max(axis=0) + plan.min(axis=0)) / 2.0, np.ptp(plan, axis=0) / 2.0
    unit = (at - middle) / half
    rise: FloatArray = set_up.stock.bow * np.prod(np.maximum(1.0 - unit**2, 0.0), axis=1)
    return rise


def _model(set_up: SetUp, corner: Corner) -> Sheet | None:
    stock = set_up.stock
    moduli = modulus_of(stock, 0.0, corner), modulus_of(stock, np.pi / 2.0, corner)
    if moduli[0] is None or moduli[1] is None:
        return None
    thickness = stock.thickness[0] if corner is Corner.LOW else (stock.thickness[0] + stock.thickness[1]) / 2.0
    along, across = (bending_stiffness(modulus, thickness=thickness, poisson=POISSON) for modulus in moduli if modulus)
    (x, y), (dx, dy) = stock.plan.min(axis=0), np.ptp(stock.plan, axis=0)
    return sheet((float(x), float(y)), size=(float(dx), float(dy)), stiffnesses=(along, across), poisson=POISSON)


def _spread(model: Sheet, outline: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return places all over an area and their shares of it; few places would press a wide sheet like fingers.

    Those of the sheet's own model that lie in it, or the area's own where it is smaller than the model's pieces.
    """
    shape = shapely.Polygon(outline)
    inside = shapely.contains_xy(shape, *model.points.T)
    if inside.sum() > MANY:
        return model.points[inside], model.weights[inside] * (shape.area / model.weights[inside].sum())
    areas = plan_areas(shape)
    return np.concatenate([a.points for a in areas]), np.concatenate([a.weights for a in areas])


def _springs(set_up: SetUp, contacts: Contacts, model: Sheet) -> list[Held]:
    """Return what holds the sheet to the bed both ways: fasteners and bonds."""
    found = []
    pins = [pin for pin in contacts.pins if pin.pull_out.high > 0.0]
    if pins:
        at = np.array([pin.at[:2] for pin in pins])
        stiff = np.array([pin.axial_stiffness for pin in pins])
        found.append((model.rows(at), stiff, _bow(set_up, at)))
    for bond in contacts.bonds:
        points, weights = _spread(model, bond.area)
        found.append((model.rows(points), weights * bond.tension_stiffness, _bow(set_up, points)))
    return found


def _dead_load(contacts: Contacts, model: Sheet, corner: Corner) -> FloatArray:
    """Return the work of weight, clamps and suction on each coefficient. (n,) [N]"""
    load = np.zeros(len(model.stiffness))
    for push in contacts.pushes:
        down = push.direction[2] * push.force.at(corner)
        at = model.points if push.holder < 0 else np.array([push.at[:2]])
        parts = model.weights / model.weights.sum() if push.holder < 0 else np.ones(1)
        load += down * parts @ model.rows(at)
    for rest in contacts.rests:
        points, weights = _spread(model, rest.area)
        load -= rest.pressure.at(corner) * weights @ model.rows(points)
    return load


def sheet_state(
    set_up: SetUp, contacts: Contacts, *, corner: Corner, force: float, at: tuple[float, float]
) -> SheetState | None:
    """Return how a thin, bowed or bridged stock lies, and what an upright force at the tool does to it.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
    corner : Corner
        LOW for soft stock, thin where it is measured thinnest, and little preload.
    force : float
        Up positive. [N]
    at : (2,) tuple
        Where the tool is. [m]

    Returns
    -------
    SheetState or None
        None for a flat block on a full bed, and where the stock's modulus is not known.

    Notes
    -----
    The sheet's bounding rectangle stands for it. Clamps press with their force, suction with its pressure; screws and
    tape pull both ways; the bed only pushes, and only where it is.
    """
    stock = set_up.stock
    if not (thin(stock) or stock.bow > 0.0 or set_up.bed.voids):
        return None
    model = _model(set_up, corner)
    if model is None:
        return None
    rows, springs = model.rows(model.points), _springs(set_up, contacts, model)
    supported = shapely.contains_xy(ground_shape(stock, set_up.bed), *model.points.T)
    gap = _bow(set_up, model.points)
    bed = rows[supported], BED * model.weights[supported], gap[supported]
    dead = _dead_load(contacts, model, corner)
    lying = settled(model, load=dead, bed=bed, springs=springs)
    tool = model.rows(np.array([at]))[0]
    worked = settled(model, load=dead + force * tool, bed=bed, springs=springs, start=lying)
    heights = gap + rows @ lying
    highest = int(np.argmax(heights))
    return SheetState(
        gap=max(float(heights[highest]), 0.0),
        gap_at=(float(model.points[highest, 0]), float(model.points[highest, 1])),
        movement=float(tool @ (worked - lying)),
    )
