"""Spindle speeds and feeds where the shop states none."""

import math

from stillstock.engine.grid.request import Rates
from stillstock.tables.scatter import Grade, Triple

__all__ = ["BORING", "ENGRAVING", "SURFACING", "rates_used"]

_PER_MINUTE = 2.0 * math.pi / 60.0  # [rad/s over rev/min]


def _speed(low: float, typical: float, high: float, what: str) -> Triple:
    return _usual(low, typical, high, what, "angular_speed").times(_PER_MINUTE)


def _feed(low: float, typical: float, high: float, what: str) -> Triple:
    """Return a feed stated in mm/min."""
    return _usual(low, typical, high, what, "speed").times(1e-3 / 60.0)


def _usual(low: float, typical: float, high: float, what: str, dimension: str) -> Triple:
    return Triple(
        low=low,
        typical=typical,
        high=high,
        what=what,
        source="common_practice",
        grade=Grade.PRACTICE,
        dimension=dimension,
    )


#: V-bits in wood and board: the band that owners of hobby gantry routers are taught; no measured ground.
ENGRAVING = {
    "speed": _speed(16_000, 18_000, 20_000, "spindle speed of a V-bit in board"),
    "feed": _feed(760, 1200, 1520, "feed of a V-bit in board"),
    "plunge": _feed(250, 400, 510, "plunge of a V-bit in board"),
}
#: Small end mills boring holes into board: common practice, no source.
BORING = {
    "speed": _speed(16_000, 18_000, 20_000, "spindle speed of an end mill boring board"),
    "feed": _feed(600, 1200, 2400, "feed of an end mill boring board"),
    "plunge": _feed(200, 400, 600, "plunge of an end mill into board"),
}
#: Surfacing cutters on board: common practice, no source.
SURFACING = {
    "speed": _speed(10_000, 15_000, 18_000, "spindle speed of a surfacing cutter"),
    "feed": _feed(1500, 2500, 5000, "feed of a surfacing cutter on board"),
    "plunge": _feed(250, 500, 1000, "lowering of a surfacing cutter beside the board"),
}


def rates_used(stated: Rates, *, usual: dict[str, Triple]) -> tuple[dict[str, float], list[Triple]]:
    """Return the rates to cut with, and those of them that were assumed.

    Parameters
    ----------
    stated : Rates
        By the caller; None where nothing was said.
    usual : dict of str to Triple
        One of the tables above.

    Returns
    -------
    dict of str to float, list of Triple
        ``speed`` [rad/s], ``feed`` and ``plunge`` [m/s]; the assumptions.
    """
    given = {"speed": stated.speed, "feed": stated.feed, "plunge": stated.plunge}
    assumed = [usual[name] for name, value in given.items() if value is None]
    return {name: usual[name].typical if value is None else value for name, value in given.items()}, assumed
