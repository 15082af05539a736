"""Sag and lift of thin stock between holders and over pods, and suction against a bow."""

from collections.abc import Iterator

import numpy as np
import shapely

from stillstock.engine.checks.check import Check
from stillstock.engine.checks.limits import GAP_AS_TAUGHT, tolerance
from stillstock.engine.checks.sheet import SheetState
from stillstock.engine.checks.stiffness import modulus_of
from stillstock.engine.holding.contacts import Contacts, Rest
from stillstock.engine.mechanics.beam import flattening_pressure
from stillstock.engine.mechanics.plate import supported_sag
from stillstock.engine.set_up import SetUp
from stillstock.tables.scatter import Corner

__all__ = ["bow_left", "pod_sag", "pull_down", "tool_movement"]

#: Movement on the longest side beyond which a sheet is not bent but comes off as a whole, which the margin tells. [-]
AS_A_WHOLE = 0.1

States = tuple[SheetState | None, SheetState | None]


def tool_movement(set_up: SetUp, states: States, at: tuple[float, float, float] | None) -> tuple[Check, ...]:
    """Return how far the tool lifts or presses a sheet between its holders.

    Parameters
    ----------
    set_up : SetUp
    states : (2,) tuple of SheetState or None
        At the worst corner and the typical one.
    at : (3,) tuple or None
        The tool's tip. [m]
    """
    worst, usual = states
    if worst is None or usual is None or at is None or worst.movement == 0.0:
        return ()
    if abs(worst.movement) > AS_A_WHOLE * float(np.ptp(set_up.stock.plan, axis=0).max()):
        return ()
    most, source = tolerance(set_up)
    up = worst.movement > 0.0
    return (
        Check(
            name="lift" if up else "sag",
            holder=None,
            value=abs(worst.movement),
            limit=most,
            typical_ratio=abs(usual.movement) / most,
            breaks=False,
            detail="how far the tool lifts the stock between its holders"
            if up
            else "how far the tool presses the stock down where nothing supports it",
            source=source,
            dimension="length",
            at=at,
        ),
    )


def bow_left(set_up: SetUp, states: States) -> tuple[Check, ...]:
    """Return what the holders leave of a bowed stock's rise, against the gap that courses accept."""
    worst, usual = states
    if worst is None or usual is None or set_up.stock.bow <= 0.0:
        return ()
    return (
        Check(
            name="bow_left",
            holder=None,
            value=worst.gap,
            limit=GAP_AS_TAUGHT,
            typical_ratio=usual.gap / GAP_AS_TAUGHT,
            breaks=False,
            detail="how high the bowed stock still stands over the bed once it is held: tabs and skins vanish there",
            source="router_course",
            dimension="length",
            at=(*worst.gap_at, set_up.stock.origin[2]),
        ),
    )


def _sides(rest: Rest) -> tuple[float, float]:
    box = shapely.Polygon(rest.area).minimum_rotated_rectangle
    corners = np.asarray(box.exterior.coords)
    return float(np.hypot(*(corners[1] - corners[0]))), float(np.hypot(*(corners[2] - corners[1])))


def pod_sag(set_up: SetUp, contacts: Contacts) -> Iterator[Check]:
    """Give the sag of the stock that a pod sucks in between its gasket's sides.

    Notes
    -----
    The stock lies on the gasket as a plate on supported edges (Roark, table 11.4, case 1a), with its modulus in the
    softer direction. On a porous board it lies on the board itself and does not sag.
    """
    most, source = tolerance(set_up)
    for rest in contacts.rests:
        if getattr(set_up.holders[rest.holder], "seal", "board") != "gasket":
            continue
        sags = []
        for corner, pressure in ((Corner.LOW, rest.pressure.high), (Corner.TYPICAL, rest.pressure.typical)):
            moduli = [modulus_of(set_up.stock, angle, corner) for angle in (0.0, np.pi / 2.0)]
            soft = min((modulus for modulus in moduli if modulus is not None), default=None)
            if soft is None:
                return
            sags.append(supported_sag(pressure, sides=_sides(rest), modulus=soft, thickness=set_up.stock.thickness[0]))
        middle = rest.area.mean(axis=0)
        yield Check(
            name="pod_sag",
            holder=rest.holder,
            value=sags[0],
            limit=most,
            typical_ratio=sags[1] / most,
            breaks=False,
            detail="how far the pod's suction draws the stock in between its gasket",
            source=source,
            dimension="length",
            at=(float(middle[0]), float(middle[1]), set_up.stock.origin[2]),
        )


def pull_down(set_up: SetUp, contacts: Contacts) -> Iterator[Check]:
    """Give the suction that a bowed stock takes to lie flat, against what there is.

    Notes
    -----
    A strip along the stiffer of the two sides, on its two ends; suction builds up only once the edge is sealed.
    """
    stock = set_up.stock
    if stock.bow <= 0.0:
        return
    for rest in contacts.rests:
        needed = []
        for corner in (Corner.HIGH, Corner.TYPICAL):
            sides = zip((0.0, np.pi / 2.0), np.ptp(stock.plan, axis=0), strict=True)
            strips = [(modulus_of(stock, angle, corner), float(side)) for angle, side in sides]
            needed.append(
                max(
                    flattening_pressure(stock.bow, span=side, modulus=modulus, thickness=stock.thickness[1])
                    for modulus, side in strips
                    if modulus is not None
                )
                if any(modulus is not None for modulus, _ in strips)
                else np.nan
            )
        if np.isnan(needed).any():
            return
        yield Check(
            name="pull_down",
            holder=rest.holder,
            value=needed[0],
            limit=rest.pressure.low,
            typical_ratio=needed[1] / rest.pressure.typical if rest.pressure.typical > 0.0 else float("inf"),
            breaks=False,
            detail="suction that presses the bowed stock flat, against what there is; seal its edge first",
            source=rest.pressure.source,
            dimension="pressure",
        )
