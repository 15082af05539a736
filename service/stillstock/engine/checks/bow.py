"""Stock squeezed between side clamps and stops, or in a vise: it bows, and in the end springs out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from stillstock.engine.checks.check import Check
from stillstock.engine.checks.limits import tolerance
from stillstock.engine.checks.stiffness import POISSON, modulus_of
from stillstock.engine.holding.contacts import Contacts, Rub
from stillstock.engine.holding.ground import CONE
from stillstock.engine.mechanics.beam import bowed_rise, eccentric_rise, euler_load
from stillstock.engine.set_up import FloatArray, SetUp, Stock
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner, Triple

__all__ = ["bow"]

#: Axes along which stock is squeezed, by number.
AXES = (0, 1)


@dataclass(frozen=True, kw_only=True)
class _Squeeze:
    """Stock between what pushes along one axis and what stands against it.

    Attributes
    ----------
    holder : int
        One that pushes.
    at : (3,) tuple
        Where. [m]
    force : Triple
        All pushes along the axis. [N]
    span, width : float
        Longest free length between holds, and width of the strip that carries the push. [m]
    eccentricity : float
        Middle of the thickness over the line of push; positive if it pushes below the middle. [m]
    direction : float
        Of the axis, from +x. [rad]
    """

    holder: int
    at: tuple[float, float, float]
    force: Triple
    span: float
    width: float
    eccentricity: float
    direction: float


def _summed(forces: Sequence[Triple]) -> Triple:
    return Triple(
        low=sum(force.low for force in forces),
        typical=sum(force.typical for force in forces),
        high=sum(force.high for force in forces),
        source=forces[0].source,
        grade=forces[0].grade,
        dimension="force",
    )


def _pushes(contacts: Contacts, axis: int) -> list[Rub]:
    """Return the pushing sides along an axis, of the sense that pushes more."""
    found = [rub for rub in contacts.rubs if rub.preload is not None and abs(rub.normal[axis]) > 0.9]
    senses = [[rub for rub in found if rub.normal[axis] * sense > 0.0] for sense in (1.0, -1.0)]
    return max(senses, key=lambda rubs: sum(rub.preload.typical for rub in rubs if rub.preload is not None))


def _held_down(contacts: Contacts) -> list[FloatArray]:
    """Return the plan outlines at which the stock is held down."""
    found: list[FloatArray] = [push.toe for push in contacts.pushes if push.toe is not None]
    found += [np.array([pin.at[:2]]) for pin in contacts.pins if pin.pull_out.high > 0.0]
    found += [bond.area for bond in contacts.bonds]
    found += [rest.area for rest in contacts.rests]
    return found


def _free_span(ends: tuple[float, float], holds: Sequence[FloatArray], axis: int) -> float:
    """Return the longest stretch between two ends that nothing holds down. [m]"""
    free = ends[0]
    longest = 0.0
    for low, high in sorted((float(h[:, axis].min()), float(h[:, axis].max())) for h in holds):
        longest = max(longest, min(low, ends[1]) - free)
        free = max(free, high)
    return max(longest, ends[1] - free)


def _strip(stock: Stock, rubs: Sequence[Rub], axis: int, span: float) -> tuple[float, float, float]:
    """Return the strip that carries the push: its two sides across the axis, and its width. [m]

    The push of each tip spreads 30 degrees to either side until the middle of the span (own estimate, as under a
    clamp's toe); strips that meet are one.
    """
    half = span / 2.0 * np.tan(CONE)
    across = 1 - axis
    plan = stock.plan[:, across]
    tips = np.sort([rub.at[across] for rub in rubs])
    low, high = (np.clip(tips + by, plan.min(), plan.max()) for by in (-half, half))
    apart = float(np.maximum(low[1:] - high[:-1], 0.0).sum())
    return float(low[0]), float(high[-1]), max(float(high[-1] - low[0]) - apart, stock.thickness[0])


def _squeezes(contacts: Contacts, stock: Stock) -> Iterator[_Squeeze]:
    for axis in AXES:
        rubs = _pushes(contacts, axis)
        forces = [rub.preload for rub in rubs if rub.preload is not None]
        if not forces:
            continue
        ends = float(stock.plan[:, axis].min()), float(stock.plan[:, axis].max())
        low, high, width = _strip(stock, rubs, axis, ends[1] - ends[0])
        across = 1 - axis
        holds = [h for h in _held_down(contacts) if h[:, across].max() >= low and h[:, across].min() <= high]
        against = [
            rub for rub in contacts.rubs if rub.preload is None and rub.normal[axis] * rubs[0].normal[axis] < -0.9
        ]
        middle = stock.origin[2] + stock.thickness[0] / 2.0
        offsets = [middle - rub.at[2] for rub in (*rubs, *against)]
        yield _Squeeze(
            holder=rubs[0].holder,
            at=rubs[0].at,
            force=_summed(forces),
            span=_free_span(ends, holds, axis),
            width=width,
            eccentricity=max(offsets, key=abs),
            direction=axis * np.pi / 2.0,
        )


def bow(set_up: SetUp, contacts: Contacts, tables: Tables) -> tuple[Check, ...]:
    r"""Return how far squeezed stock bows, and how near it is to springing out.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
    tables : Tables
        Hold the share of the Euler load that shops keep to.

    Returns
    -------
    tuple of Check
        For each axis that is squeezed ``"squeeze"``, ``"buckling"`` and, while it has not buckled, ``"bow"``.

    Notes
    -----
    A pinned strip between tips and stops, shortened by what holds the stock down on the way, with
    :math:`E / (1 - \nu^2)` for a wide one. Pushed below the middle of its thickness it bows up in the middle, pushed
    above it its ends rise by as much; either way an initial bow grows on top.
    """
    share = tables.value("side_clamps", "squeezed_stock", "safe_share_of_buckling")
    found: list[Check] = []
    for squeeze in _squeezes(contacts, set_up.stock):
        found += _checks(squeeze, set_up, share)
    return tuple(found)


def _euler(squeeze: _Squeeze, stock: Stock, corner: Corner) -> float | None:
    modulus = modulus_of(stock, squeeze.direction, corner)
    if modulus is None:
        return None
    second = squeeze.width * stock.thickness[0] ** 3 / 12.0
    return euler_load(modulus / (1.0 - POISSON**2), second_moment=second, length=max(squeeze.span, 1e-6))


def _rise(squeeze: _Squeeze, stock: Stock, share: float) -> float:
    return abs(eccentric_rise(squeeze.eccentricity, share=share)) + bowed_rise(stock.bow, share=share)


def _checks(squeeze: _Squeeze, set_up: SetUp, safe: Triple) -> Iterator[Check]:
    stock = set_up.stock
    hard, usual = _euler(squeeze, stock, Corner.LOW), _euler(squeeze, stock, Corner.TYPICAL)
    if hard is None or usual is None:
        return
    share, usual_share = squeeze.force.high / hard, squeeze.force.typical / usual
    yield Check(
        name="squeeze",
        holder=squeeze.holder,
        value=share,
        limit=safe.low,
        typical_ratio=usual_share / safe.typical,
        breaks=False,
        detail=f"the squeeze is {share:.2g} of the push that would make the stock spring out: keep to a quarter",
        source=safe.source,
        dimension="number",
        at=squeeze.at,
    )
    yield Check(
        name="buckling",
        holder=squeeze.holder,
        value=squeeze.force.high,
        limit=hard,
        typical_ratio=usual_share,
        breaks=True,
        detail="squeeze against the push that makes the stock spring out of its clamps",
        source="own_derivation",
        dimension="force",
        at=squeeze.at,
    )
    if share < 1.0:
        most, source = tolerance(set_up)
        where = "the middle rises" if squeeze.eccentricity >= 0.0 else "the ends rise"
        yield Check(
            name="bow",
            holder=squeeze.holder,
            value=_rise(squeeze, stock, share),
            limit=most,
            typical_ratio=_rise(squeeze, stock, usual_share) / most,
            breaks=False,
            detail=f"{where} as the stock is squeezed beside the middle of its thickness",
            source=source,
            dimension="length",
            at=squeeze.at,
        )
