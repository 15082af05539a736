"""How the scattered numbers of contacts are read: each by the kind of thing that it says."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from stillstock.engine.mechanics.equilibrium import Number
from stillstock.tables.scatter import Corner, Triple

__all__ = ["Reader", "Reading", "strong"]


class Reader(Protocol):
    """Reads a band as one number, or as one for each of so many draws, (n,)."""

    def under(self, band: Triple) -> Number:
        """Return a coefficient of friction between stock and bed. [-]"""
        ...

    def sides(self, band: Triple) -> Number:
        """Return a coefficient of friction at a side or under a toe. [-]"""
        ...

    def weight(self, band: Triple) -> Number:
        """Return a weight. [N]"""
        ...

    def clamping(self, band: Triple) -> Number:
        """Return a preload. [N]"""
        ...

    def suction(self, band: Triple) -> Number:
        """Return the pressure of a vacuum. [Pa]"""
        ...

    def bonds(self, band: Triple) -> Number:
        """Return a strength of a bond. [Pa]"""
        ...

    def fasteners(self, band: Triple) -> Number:
        """Return a strength of a fastener or a stop. [N]"""
        ...


@dataclass(frozen=True, kw_only=True)
class Reading:
    """At which end of their scatter the numbers are read: all of a kind at the same.

    Attributes
    ----------
    strength : Corner
        Of friction, bonds and fasteners.
    preload : Corner
        Of weight, clamps and suction.
    shaken : float
        Factor on every coefficient of friction, for vibration. [-]
    """

    strength: Corner
    preload: Corner
    shaken: float = 1.0

    def under(self, band: Triple) -> float:
        """Return a coefficient of friction between stock and bed. [-]"""
        return band.at(self.strength) * self.shaken

    def sides(self, band: Triple) -> float:
        """Return a coefficient of friction at a side or under a toe. [-]"""
        return band.at(self.strength) * self.shaken

    def weight(self, band: Triple) -> float:
        """Return a weight. [N]"""
        return band.at(self.preload)

    def clamping(self, band: Triple) -> float:
        """Return a preload. [N]"""
        return band.at(self.preload)

    def suction(self, band: Triple) -> float:
        """Return the pressure of a vacuum. [Pa]"""
        return band.at(self.preload)

    def bonds(self, band: Triple) -> float:
        """Return a strength of a bond. [Pa]"""
        return band.at(self.strength)

    def fasteners(self, band: Triple) -> float:
        """Return a strength of a fastener or a stop. [N]"""
        return band.at(self.strength)


def strong(value: Number) -> bool:
    """Return whether a strength is more than nothing, at every draw."""
    return bool(np.all(np.asarray(value) > 0.0))
