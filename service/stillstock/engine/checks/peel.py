"""Thin stock on tape, lifted: the tape is pulled off from where the tool is, not over its whole face at once."""

from collections.abc import Iterator

import numpy as np
import shapely

from stillstock.engine.checks.check import Check
from stillstock.engine.checks.stiffness import POISSON, modulus_of
from stillstock.engine.holding.contacts import Bond, Contacts
from stillstock.engine.mechanics.beam import flattening_pressure
from stillstock.engine.mechanics.plate import bending_stiffness
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner

__all__ = ["creep", "peel"]

#: Stress under a load F on a plate on springs, times l^2 / F, l being the length over which it bends: inside, at an
#: edge, at a corner. H. M. Westergaard, Public Roads 7 (1926) 25-35 for the first two, with a Poisson's ratio of 0.3;
#: A. M. Ioannides and others, Transportation Research Record 1049 (1985), for the corner; from memory. [-]
INSIDE, EDGE, CORNER = 0.125, 0.465, 1.205

#: Lengths l within which a place belongs to the edge or corner, and that a tape must have for its stock to bend rather
#: than to tip as a whole, which is the margin's affair; own judgement. [-]
NEAR = 2.0


def _length(bond: Bond, set_up: SetUp, softness: float, corner: Corner) -> float | None:
    """Return the length over which stock on tape bends, (D / k)^(1/4), `softness` being k's factor [-]. [m]"""
    moduli = [modulus_of(set_up.stock, angle, corner) for angle in (0.0, np.pi / 2.0)]
    known = [modulus for modulus in moduli if modulus is not None]
    if not known:
        return None
    plate = bending_stiffness(min(known), thickness=set_up.stock.thickness[0], poisson=POISSON)
    return float((plate / (bond.tension_stiffness * softness)) ** 0.25)


def _coefficient(area: FloatArray, at: tuple[float, float], length: float) -> tuple[float, str]:
    """Return Westergaard's coefficient for a place, raised where the load overhangs the tape, and a word for it."""
    shape, tool = shapely.Polygon(area), shapely.Point(at)
    corner = float(np.hypot(*(area - np.asarray(at)).T).min())
    overhang = shape.distance(tool)
    if corner < NEAR * length or (overhang > 0.0 and corner < overhang + NEAR * length):
        where, factor = "corner", CORNER
    elif shape.exterior.distance(tool) < NEAR * length or overhang > 0.0:
        where, factor = "edge", EDGE
    else:
        where, factor = "middle", INSIDE
    # a force at a distance beyond the edge of a beam on springs adds its moment: 1 + beta d, beta = 1 / (l sqrt 2)
    return float(factor * (1.0 + overhang / (length * np.sqrt(2.0)))), where


def peel(
    set_up: SetUp, contacts: Contacts, tables: Tables, load: FloatArray | None, at: tuple[float, float, float] | None
) -> Iterator[Check]:
    r"""Give the greatest stress in each tape under stock that bends, as the worst load lifts it.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
    tables : Tables
        Hold the moduli of tapes.
    load : (6,) array or None
        Wrench on the stock about the origin. [N, N m]
    at : (3,) tuple or None
        The tool's tip. [m]

    Notes
    -----
    .. math:: \sigma = c F / l^2, \quad l = (D / k)^{1/4}

    a plate on springs under a point load. Tape yields before it lets go, which eases the peak: a stress beyond its
    strength is a doubt, not yet a loss. Only the nearest tape is asked. Once a front runs it goes on at the tape's
    peel force times its width, which is less.
    """
    if load is None or at is None or load[2] <= 0.0 or not contacts.bonds:
        return
    tool = shapely.Point(at[:2])
    bond = min(contacts.bonds, key=lambda each: float(shapely.Polygon(each.area).distance(tool)))
    modulus = tables.get("tape", set_up.holders[bond.holder].kind, "shear_modulus_slow")
    if modulus is None:
        return
    stiff = modulus.high / modulus.typical
    hard, usual = _length(bond, set_up, stiff, Corner.LOW), _length(bond, set_up, 1.0, Corner.TYPICAL)
    if hard is None or usual is None or NEAR * usual > _shorter_side(bond.area):
        return
    (factor, where), (usual_factor, _) = (_coefficient(bond.area, at[:2], length) for length in (hard, usual))
    yield Check(
        name="peel",
        holder=bond.holder,
        value=float(factor * load[2] / hard**2),
        limit=bond.tension.low,
        typical_ratio=float(usual_factor * load[2] / usual**2 / bond.tension.typical),
        breaks=False,
        detail=f"the thin stock bends as the tool lifts it, and pulls at the {where} of the tape",
        source=bond.tension.source,
        dimension="pressure",
        at=at,
    )


def _shorter_side(area: FloatArray) -> float:
    box = np.asarray(shapely.Polygon(area).minimum_rotated_rectangle.exterior.coords)
    return float(min(np.hypot(*(box[1] - box[0])), np.hypot(*(box[2] - box[1]))))


def creep(set_up: SetUp, contacts: Contacts, tables: Tables) -> Iterator[Check]:
    """Give the pull with which a bowed stock springs back on its tape, against what the tape bears for hours.

    The even pressure that presses it flat, over the share of its face that is taped, stands for that pull.
    """
    stock = set_up.stock
    taped = [bond for bond in contacts.bonds if tables.get("tape", set_up.holders[bond.holder].kind, "shear_hours")]
    if stock.bow <= 0.0 or not taped:
        return
    share = sum(shapely.Polygon(bond.area).area for bond in taped) / shapely.Polygon(stock.plan).area
    sides = [float(side) for side in np.ptp(stock.plan, axis=0)]
    pulls = []
    for corner in (Corner.HIGH, Corner.TYPICAL):
        moduli = (modulus_of(stock, 0.0, corner), modulus_of(stock, np.pi / 2.0, corner))
        strips = [
            flattening_pressure(stock.bow, span=side, modulus=modulus, thickness=stock.thickness[1])
            for modulus, side in zip(moduli, sides, strict=True)
            if modulus is not None
        ]
        if not strips:
            return
        pulls.append(max(strips) / min(share, 1.0))
    limit = tables.value("tape", set_up.holders[taped[0].holder].kind, "shear_hours")
    yield Check(
        name="tape_creep",
        holder=taped[0].holder,
        value=pulls[0],
        limit=limit.low,
        typical_ratio=pulls[1] / limit.typical,
        breaks=False,
        detail="the bowed stock springs back and slowly pulls itself off its tape: what the tape bears for hours",
        source=limit.source,
        dimension="pressure",
    )
