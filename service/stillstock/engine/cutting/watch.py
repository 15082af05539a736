"""Looking at the stock while it is being removed."""

from typing import Protocol

from stillstock.engine.cutting.height_map import HeightMap

__all__ = ["BLIND", "Watch"]


class Watch(Protocol):
    """Looks at the stock as it stands before certain moves.

    Attributes
    ----------
    waits_for : int
        Index of the next move before which it looks. [-]
    """

    @property
    def waits_for(self) -> int:
        """Return the index of the next move before which it looks. [-]"""

    def look(self, until: int, stock_map: HeightMap) -> None:
        """Look at the stock for all moves that it waits for, up to one and with it."""


class _Blind:
    """Looks at nothing."""

    waits_for = 1 << 62

    def look(self, until: int, stock_map: HeightMap) -> None:
        """Look at nothing."""


BLIND: Watch = _Blind()
"""Looks at nothing."""
