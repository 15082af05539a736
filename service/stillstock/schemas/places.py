"""Strict fields for places in the work frame: points, paths, outlines; lists of anything."""

import math
from typing import Any

import numpy as np
from marshmallow import ValidationError
from marshmallow.fields import Field
from shapely.geometry import Polygon
from shapely.validation import explain_validity

from stillstock import units
from stillstock.engine.set_up import FloatArray
from stillstock.schemas.flaws import Flaw, flawed
from stillstock.schemas.quantity import Quantity
from stillstock.schemas.strict import StrictField, now_reading

__all__ = ["FARTHEST", "ListOf", "Outline", "Path", "Point", "Vector"]

#: Farthest that anything lies from the zero of the work frame, along each axis. [m]
FARTHEST = 100.0


def read_list(value: object, *, least: int, most: int) -> list[Any]:
    """Return a list whose length keeps its bounds."""
    if not isinstance(value, list):
        raise flawed("type", "expected a list, [...]", seen=value)
    if not least <= len(value) <= most:
        wanted = f"{least}" if least == most else f"{least} to {most}"
        limit = least if len(value) < least else most
        raise flawed("length", f"must have {wanted} elements; this has {len(value)}", limit=limit, seen=len(value))
    return value


def read_each(item: Field[Any], values: list[Any]) -> list[Any]:
    """Return every element as the field reads it; the findings of all of them at once."""
    results: list[Any] = []
    flaws: dict[int, Any] = {}
    for index, value in enumerate(values):
        try:
            results.append(item.deserialize(value))
        except ValidationError as error:
            flaws[index] = error.messages
            if now_reading().patience.ends():
                break
    if flaws:
        raise ValidationError(flaws)
    return results


class ListOf(StrictField[list[Any]]):
    """A list of one kind of element; `limit` names the setting that bounds its length."""

    def __init__(self, item: Field[Any], *, limit: str, **more: Any) -> None:
        super().__init__(**more)
        self.item, self.limit = item, limit

    def read(self, value: Any) -> list[Any]:
        """Return the value as the set-up has it."""
        most = getattr(now_reading().limits, self.limit)
        return read_each(self.item, read_list(value, least=0, most=most))


class Vector(StrictField[tuple[float, ...]]):
    """A fixed number of quantities of one kind."""

    def __init__(self, item: StrictField[Any], size: int, **more: Any) -> None:
        super().__init__(**more)
        self.item, self.size = item, size

    def read(self, value: Any) -> tuple[float, ...]:
        """Return the value as the set-up has it."""
        return tuple(read_each(self.item, read_list(value, least=self.size, most=self.size)))


class Point(Vector):
    """A place in the work frame, of two or three lengths."""

    def __init__(self, size: int, **more: Any) -> None:
        super().__init__(Quantity("length", least=-FARTHEST, most=FARTHEST), size, **more)


class Points(StrictField[FloatArray]):
    """Places in a row, as many as the setting `limit` says; those in bare numbers alone are read in one go."""

    def __init__(self, *, sizes: tuple[int, ...], least: int, limit: str, **more: Any) -> None:
        super().__init__(**more)
        self.sizes, self.least, self.limit = sizes, least, limit
        self.length = Quantity("length", least=-FARTHEST, most=FARTHEST)

    def read(self, value: Any) -> FloatArray:
        """Return the places, one a row. [m]"""
        rows = read_list(value, least=self.least, most=getattr(now_reading().limits, self.limit))
        bare = self._bare(rows)
        return self._each(rows) if bare is None else bare

    def _bare(self, rows: list[Any]) -> FloatArray | None:
        """Return the places if all are lists of bare numbers that keep every bound, else None."""
        size = len(rows[0]) if rows and isinstance(rows[0], list) else 0
        if size not in self.sizes:
            return None
        for row in rows:
            if type(row) is not list or len(row) != size or not all(type(x) is float or type(x) is int for x in row):
                return None
        try:
            numbers = np.array(rows, dtype=float)
        except OverflowError:
            return None
        places = numbers * units.parse(1.0, "length", now_reading().system)
        low, high = self.length.bounds
        keeps = np.all((numbers >= low) & (numbers <= high) & (np.abs(places) <= FARTHEST))
        return places if keeps else None

    def _each(self, rows: list[Any]) -> FloatArray:
        flaws: dict[int, Any] = {}
        places: list[list[float]] = []
        for index, row in enumerate(rows):
            try:
                places.append(read_each(self.length, read_list(row, least=self.sizes[0], most=self.sizes[-1])))
            except ValidationError as error:
                flaws[index] = error.messages
                if now_reading().patience.ends():
                    break
        if not flaws and len({len(place) for place in places}) > 1:
            raise flawed("mixed", "all points must have two lengths, or all three", late=True)
        if flaws:
            raise ValidationError(flaws)
        return np.array(places)


class Path(Points):
    """Where the tool tip goes: points of three lengths, or of two for a cut at one level."""

    def __init__(self, **more: Any) -> None:
        super().__init__(sizes=(2, 3), least=1, limit="path_points", **more)


class Outline(Points):
    """A plan area: two opposite corners, or three points and more; counter-clockwise and open inside."""

    def __init__(self, **more: Any) -> None:
        super().__init__(sizes=(2,), least=2, limit="outline_points", **more)

    def read(self, value: Any) -> FloatArray:
        """Return the corners, counter-clockwise, (n, 2). [m]"""
        places = super().read(value)
        if len(places) == 2:
            (x0, y0), (x1, y1) = np.sort(places, axis=0)
            places = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        if len(places) > 3 and np.array_equal(places[0], places[-1]):
            places = places[:-1]
        return _counter_clockwise(places)


def _counter_clockwise(places: FloatArray) -> FloatArray:
    shape = Polygon(places)
    if not shape.is_valid:
        raise ValidationError([Flaw(code="outline", detail=_why_invalid(shape), late=True)])
    if shape.area < 1e-10:
        raise flawed("outline", "encloses no area", late=True)
    return places if shape.exterior.is_ccw else places[::-1]


def _why_invalid(shape: Polygon) -> str:
    reason = str(explain_validity(shape)).partition("[")
    numbers = reason[2].rstrip("]").split()
    if len(numbers) != 2 or not all(math.isfinite(float(number)) for number in numbers):
        return "must be an outline that does not cross or touch itself"
    system = now_reading().system
    x, y = (units.present(float(number), "length", system) for number in numbers)
    return f"must not cross or touch itself; it does at {x:g}, {y:g} {units.unit_name('length', system)}"
