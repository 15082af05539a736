"""Curves in a document: points as pairs of quantities."""

from typing import Any

from marshmallow import ValidationError

from stillstock.schemas.places import read_each, read_list
from stillstock.schemas.quantity import Quantity
from stillstock.schemas.strict import StrictField

__all__ = ["Curve"]

#: Greatest number of a curve. [SI]
MOST = 1e9


class Pair(StrictField[tuple[float, float]]):
    """One point of a curve: two quantities of their own dimensions."""

    def __init__(self, dimensions: tuple[str, str], **more: Any) -> None:
        super().__init__(**more)
        self.items = [Quantity(dimension, least=0.0, most=MOST) for dimension in dimensions]

    def read(self, value: Any) -> tuple[float, float]:
        """Return the point. [SI]"""
        found: list[float] = []
        flaws: dict[int, Any] = {}
        for index, number in enumerate(read_list(value, least=2, most=2)):
            try:
                found.append(self.items[index].deserialize(number))
            except ValidationError as error:
                flaws[index] = error.messages
        if flaws:
            raise ValidationError(flaws)
        return found[0], found[1]


class Curve(StrictField[tuple[tuple[float, float], ...]]):
    """The points of a curve in a row; none, or two and more."""

    def __init__(self, dimensions: tuple[str, str], *, most: int, **more: Any) -> None:
        super().__init__(**more)
        self.pair, self.most = Pair(dimensions), most

    def read(self, value: Any) -> tuple[tuple[float, float], ...]:
        """Return the points. [SI]"""
        return tuple(read_each(self.pair, read_list(value, least=0, most=self.most)))
