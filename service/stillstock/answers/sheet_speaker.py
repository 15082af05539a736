"""Quantities on a sheet, in the shop's units and as a shop says them."""

from stillstock.units import System, present, unit_name

__all__ = ["SheetSpeaker"]

#: Decimals of lengths: 0.1 mm, 0.001 in. [-]
_DECIMALS = {"metric": 1, "inch": 3}


class SheetSpeaker:
    """Says quantities in one system of units."""

    def __init__(self, system: System) -> None:
        self.system = system

    def length(self, value: float) -> str:
        """Return a length with its unit."""
        return f"{self.bare(value)} {unit_name('length', self.system)}"

    def bare(self, value: float) -> str:
        """Return a length without its unit."""
        text = f"{present(value, 'length', self.system):.{_DECIMALS[self.system]}f}"
        text = text.rstrip("0").rstrip(".")
        return "0" if text == "-0" else text

    def quantity(self, value: float, dimension: str) -> str:
        """Return any quantity with its unit, to three significant digits; lengths as `length` does."""
        if dimension == "length":
            return self.length(value)
        number = float(f"{present(value, dimension, self.system):.3g}")
        return f"{number:.9g} {unit_name(dimension, self.system)}".strip()

    def place(self, *at: float) -> str:
        """Return a place as the letters of its axes with bare lengths."""
        return " ".join(f"{axis}{self.bare(value)}" for axis, value in zip("XYZ", at, strict=False))

    def factor(self, value: float) -> str:
        """Return a load factor; more than 99 is said so."""
        if value > 99.0:
            return "over 99"
        return f"{value:.1f}"
