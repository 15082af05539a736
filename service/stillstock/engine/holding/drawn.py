"""Contacts at one draw of their scatter, between the ends of every band."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from stillstock.engine.holding.contacts import Contacts
from stillstock.tables.scatter import Triple

__all__ = ["GROUPS", "drawn", "scattered", "triangular"]

#: What scatters together: within a group one draw counts for all bands, as one hand, one thread or one batch does.
GROUPS = (
    "friction under the stock",
    "friction at sides and toes",
    "clamping force",
    "vacuum",
    "strength of bonds",
    "strength of fasteners",
)
_UNDER, _SIDES, _CLAMPING, _VACUUM, _BONDS, _FASTENERS = GROUPS

_Read = Callable[[str, Triple], Triple]


def triangular(band: Triple, share: float) -> float:
    r"""Return the number below which a share of a triangular distribution lies.

    Parameters
    ----------
    band : Triple
        Its low and high ends are the distribution's, its typical number the mode.
    share : float
        From 0 to 1. [-]

    Returns
    -------
    float
        [as the band]

    Notes
    -----
    .. math:: x = a + \sqrt{u (b - a)(c - a)} \text{ for } u \le \frac{c - a}{b - a}, \quad
              x = b - \sqrt{(1 - u)(b - a)(b - c)} \text{ else}

    with the ends a, b and the mode c: inverse of the triangular distribution (JCGM 101:2008, 6.4, from memory). It is
    taken because a band says no more than two ends and what is met most often: bounded, so that nothing beyond what a
    table states is made up, and lopsided where the band is.
    """
    low, mode, high = band.low, band.typical, band.high
    span = high - low
    if span <= 0.0:
        return mode
    if share * span <= mode - low:
        return float(low + np.sqrt(share * span * (mode - low)))
    return float(high - np.sqrt((1.0 - share) * span * (high - mode)))


@dataclass(frozen=True, kw_only=True)
class _Draw:
    """One share for each group; a group that is left out stays typical."""

    shares: Mapping[str, float]

    def __call__(self, group: str, band: Triple) -> Triple:
        value = triangular(band, self.shares[group]) if group in self.shares else band.typical
        return replace(band, low=value, typical=value, high=value)


def _read(contacts: Contacts, friction: Triple, at: _Read) -> tuple[Contacts, Triple]:
    """Return contacts and friction with every band but the weight's as `at` reads it in its group."""

    def maybe(group: str, band: Triple | None) -> Triple | None:
        return None if band is None else at(group, band)

    read = Contacts(
        pushes=tuple(
            replace(p, force=at(_CLAMPING, p.force), friction=maybe(_SIDES, p.friction)) if p.holder >= 0 else p
            for p in contacts.pushes
        ),
        rests=tuple(
            replace(r, pressure=at(_VACUUM, r.pressure), friction=maybe(_UNDER, r.friction)) for r in contacts.rests
        ),
        rubs=tuple(
            replace(
                r,
                friction=at(_SIDES, r.friction),
                preload=maybe(_CLAMPING, r.preload),
                limit=maybe(_FASTENERS, r.limit),
            )
            for r in contacts.rubs
        ),
        bonds=tuple(replace(b, shear=at(_BONDS, b.shear), tension=at(_BONDS, b.tension)) for b in contacts.bonds),
        pins=tuple(
            replace(
                p,
                lateral=at(_FASTENERS, p.lateral),
                pull_out=at(_FASTENERS, p.pull_out),
                preload=maybe(_CLAMPING, p.preload),
            )
            for p in contacts.pins
        ),
    )
    return read, at(_UNDER, friction)


def drawn(contacts: Contacts, friction: Triple, shares: Mapping[str, float]) -> tuple[Contacts, Triple]:
    """Return contacts, and friction under the stock, at one share of the scatter for each group. [-]

    Every band becomes one number; what is in no group that is named stays typical, the stock's weight always does.
    """
    return _read(contacts, friction, _Draw(shares=shares))


def scattered(contacts: Contacts, friction: Triple) -> tuple[str, ...]:
    """Return the groups of which any band has a width, in their order."""
    return tuple(group for group in GROUPS if group in set(_wide(contacts, friction)))


def _wide(contacts: Contacts, friction: Triple) -> Iterator[str]:
    found: list[str] = []

    def note(group: str, band: Triple) -> Triple:
        if band.high > band.low:
            found.append(group)
        return band

    _read(contacts, friction, note)
    yield from found
