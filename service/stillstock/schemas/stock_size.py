"""The size of a stock, and whether its bare numbers read as if they were of the other system of units."""

from typing import Any

from stillstock.schemas.flaws import flawed
from stillstock.schemas.places import Vector
from stillstock.schemas.quantity import is_number
from stillstock.schemas.strict import now_reading
from stillstock.units import present

__all__ = ["StockSize"]

#: Stock beyond any of these is no usual stock: its longest side, its thickness, its volume; a full sheet and a beam as
#: long as a lorry lie within. Own judgement. [m], [m], [m3]
LONGEST, THICKEST, BULKIEST = 6.0, 0.31, 0.6

#: Longest side and thickness within which stock is so small that numbers in inches were probably meant: a metal card
#: of 0.8 mm and a tag of 30 x 20 x 3 mm are not. Own judgement. [m], [m]
SMALL = ((0.03, 0.002), (0.1, 0.00078))


class StockSize(Vector):
    """Three lengths, refused if any has no unit and they make usual stock in the other unit alone."""

    def read(self, value: Any) -> tuple[float, ...]:
        """Return the size in SI."""
        size = super().read(value)
        if any(is_number(each) for each in value):
            self._refuse_other_unit(size, value)
        return size

    def _refuse_other_unit(self, size: tuple[float, ...], seen: Any) -> None:
        system = now_reading().system
        if not (_tiny(size) if system == "metric" else _huge(size)):
            return
        own, other = ("mm", "inches") if system == "metric" else ("in", "millimetres")
        numbers = " x ".join(f"{present(each, 'length', system):g}" for each in size)
        detail = (
            f"{numbers} {own} is no usual stock: were {other} meant? State units as the numbers are, "
            "or write the unit with each"
        )
        raise flawed("unit_mismatch", detail, late=True, seen=seen)


def _huge(size: tuple[float, ...]) -> bool:
    x, y, z = size
    return max(size) > LONGEST or z > THICKEST or x * y * z > BULKIEST


def _tiny(size: tuple[float, ...]) -> bool:
    return any(max(size) <= longest and size[2] <= thickness for longest, thickness in SMALL)
