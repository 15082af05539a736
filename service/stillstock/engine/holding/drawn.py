"""The scatter of contacts: what scatters together, and every band at so many draws between its ends."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.mechanics.equilibrium import Number
from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Triple

__all__ = ["GROUPS", "Draws", "scattered", "triangular"]

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


def triangular(band: Triple, shares: Number) -> FloatArray:
    r"""Return the numbers below which shares of a triangular distribution lie.

    Parameters
    ----------
    band : Triple
        Its low and high ends are the distribution's, its typical number the mode.
    shares : float or (n,) array
        From 0 to 1. [-]

    Returns
    -------
    () or (n,) array
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
        return np.full(np.shape(shares), mode)
    rising = low + np.sqrt(shares * span * (mode - low))
    falling = high - np.sqrt((1.0 - shares) * span * (high - mode))
    return np.where(shares * span <= mode - low, rising, falling)


@dataclass(frozen=True, kw_only=True, eq=False)
class Draws:
    """Reads every band at so many shares of its group; a group that is left out stays typical, weight always does.

    Attributes
    ----------
    count : int
        Draws. [-]
    shares : mapping of str to (n,) array
        Of each group, from 0 to 1. [-]
    """

    count: int
    shares: Mapping[str, FloatArray]

    def __len__(self) -> int:
        return self.count

    def _read(self, group: str, band: Triple) -> Number:
        return triangular(band, self.shares[group]) if group in self.shares else band.typical

    def under(self, band: Triple) -> Number:
        """Return coefficients of friction between stock and bed. [-]"""
        return self._read(_UNDER, band)

    def sides(self, band: Triple) -> Number:
        """Return coefficients of friction at a side or under a toe. [-]"""
        return self._read(_SIDES, band)

    def weight(self, band: Triple) -> Number:
        """Return a weight. [N]"""
        return band.typical

    def clamping(self, band: Triple) -> Number:
        """Return preloads. [N]"""
        return self._read(_CLAMPING, band)

    def suction(self, band: Triple) -> Number:
        """Return pressures of a vacuum. [Pa]"""
        return self._read(_VACUUM, band)

    def bonds(self, band: Triple) -> Number:
        """Return strengths of a bond. [Pa]"""
        return self._read(_BONDS, band)

    def fasteners(self, band: Triple) -> Number:
        """Return strengths of a fastener or a stop. [N]"""
        return self._read(_FASTENERS, band)


def _bands(contacts: Contacts, friction: Triple) -> Iterator[tuple[str, Triple | None]]:
    """Give every band but the weight's with its group."""
    yield _UNDER, friction
    for push in contacts.pushes:
        if push.holder >= 0:
            yield from ((_CLAMPING, push.force), (_SIDES, push.friction))
    for rest in contacts.rests:
        yield from ((_VACUUM, rest.pressure), (_UNDER, rest.friction))
    for rub in contacts.rubs:
        yield from ((_SIDES, rub.friction), (_CLAMPING, rub.preload), (_FASTENERS, rub.limit))
    for bond in contacts.bonds:
        yield from ((_BONDS, bond.shear), (_BONDS, bond.tension))
    for pin in contacts.pins:
        yield from ((_FASTENERS, pin.lateral), (_FASTENERS, pin.pull_out), (_CLAMPING, pin.preload))


def scattered(contacts: Contacts, friction: Triple) -> tuple[str, ...]:
    """Return the groups of which any band has a width, in their order."""
    wide = {group for group, band in _bands(contacts, friction) if band is not None and band.high > band.low}
    return tuple(group for group in GROUPS if group in wide)
