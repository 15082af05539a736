"""Strict fields: quantities with a dimension, plain numbers, words. What JSON leaves lax is refused.

A field judges in two stages. What JSON Schema can say (type, pattern, bounds of a bare number) breaks the schema; what
it cannot (the range of a quantity in text, or of a bare number in the document's own unit) is a late finding.
"""

import math
import re
from collections.abc import Sequence
from typing import Any

from marshmallow import ValidationError

from stillstock import units
from stillstock.schemas.flaws import Flaw, flawed
from stillstock.schemas.spelling import plainly_meant
from stillstock.schemas.strict import StrictField, now_reading
from stillstock.tables.scatter import Grade, Triple
from stillstock.units import SYSTEMS, UnitError

__all__ = ["Choice", "Flag", "Integer", "Lines", "Number", "Quantity", "Scatter", "Text", "bare_bounds"]

CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")
SURROGATE = re.compile(r"[\ud800-\udfff]")
#: Rounding of a converted bound.
SLACK = 1e-9
#: From where on lengths are said in metres or feet, and the foot. [m]
LONG, FOOT = 10.0, 0.3048


def bare_bounds(dimension: str, *, least: float, most: float) -> tuple[float, float]:
    """Return the bounds of a bare number whichever units the document is in, rounded outward to two digits.

    Parameters
    ----------
    dimension : str
    least, most : float
        Bounds of the quantity. [SI]

    Returns
    -------
    (2,) tuple
        [unit of the dimension in either system]

    Examples
    --------
    >>> bare_bounds("length", least=1e-4, most=1.0), bare_bounds("torque", least=0.0, most=100.0)
    ((0.0039, 1000.0), (0.0, 890.0))
    """
    lowest = min(units.present(least, dimension, system) for system in SYSTEMS)
    highest = max(units.present(most, dimension, system) for system in SYSTEMS)
    return 0.0 - _outward(-lowest), _outward(highest)


def _outward(number: float) -> float:
    """Return the least number of two significant digits that is not below `number`."""
    if number == 0.0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(number))) - 1)
    return float(f"{math.ceil(number / step - SLACK) * step:.2g}")


def is_number(value: object) -> bool:
    """Tell a JSON number from everything else that Python would count as one."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def _check_bounds(value: float, *, least: float, most: float) -> None:
    if not least <= value <= most:
        limit = least if value < least else most
        word = "at least" if value < least else "at most"
        raise flawed("range", f"must be {word} {limit:g}", limit=limit, seen=value)


def _long(length: float, system: units.System) -> str:
    """Return a length of ten metres and more in metres or feet, as such are spoken of; empty for a shorter one."""
    if not LONG <= abs(length) < math.inf:
        return ""
    return f"{length:g} m" if system == "metric" else f"{length / FOOT:.4g} ft"


class Quantity(StrictField[float]):
    """A number with a dimension: a bare number in the document's unit, or text with a unit; SI inside."""

    def __init__(self, dimension: str, *, least: float, most: float, **more: Any) -> None:
        super().__init__(**more)
        self.dimension, self.least, self.most = dimension, least, most
        self.bounds = bare_bounds(dimension, least=least, most=most)

    def read(self, value: Any) -> float:
        """Return one value of this field in SI, or raise ValidationError."""
        system = now_reading().system
        try:
            result = units.parse(value, self.dimension, system)
        except UnitError as error:
            raise flawed(error.code, error.message, seen=value, corrected=error.corrected) from None
        if is_number(value) and not self.bounds[0] <= value <= self.bounds[1]:
            limit = self.bounds[value > self.bounds[1]]
            raise flawed("range", self._bound_words(below=value < limit), limit=limit, seen=value)
        self._check_range(result, seen=value)
        return result

    def _check_range(self, result: float, *, seen: object) -> None:
        slack = SLACK * max(abs(self.least), abs(self.most) if self.most < math.inf else 0.0, 1e-12)
        tolerance = min(slack, SLACK * max(abs(result), 1e-12))
        if self.least - tolerance <= result <= self.most + tolerance:
            return
        below = result < self.least
        system = now_reading().system
        limit = units.present(self.least if below else self.most, self.dimension, system)
        raise flawed("range", self._bound_words(below=below), late=True, limit=limit, seen=seen)

    def _bound_words(self, *, below: bool) -> str:
        """Return the bound that was passed, in the document's unit: the contract's, for both units, is wider."""
        bound, system = (self.least if below else self.most), now_reading().system
        said = _long(bound, system) if self.dimension == "length" else ""
        limit = units.present(bound, self.dimension, system)
        said = said or f"{limit:.4g} {units.unit_name(self.dimension, system)}".rstrip()
        return f"must be {'at least' if below else 'at most'} {said}"


class Scatter(StrictField[Triple]):
    """A number that nature scatters, from the caller's own test: one value, or {low, typical, high}.

    One value says nothing of its scatter: it gets the tables' default spread, which its note names.
    """

    def __init__(self, dimension: str, *, least: float, most: float, what: str, **more: Any) -> None:
        super().__init__(**more)
        self.one, self.what = Quantity(dimension, least=least, most=most), what

    def read(self, value: Any) -> Any:
        """Return the value as the set-up has it."""
        spread = now_reading().tables.value("practice", "caller_value", "default_spread").typical
        low, typical, high = self._band(value, spread)
        if not low <= typical <= high:
            raise flawed("order", "must be in order: low, typical, high", late=True, seen=value)
        single = f"one value stated: {spread:.0%} of spread either way is assumed, by common practice"
        return Triple(
            low=low,
            typical=typical,
            high=high,
            what=self.what,
            source="caller",
            grade=Grade.CALLER,
            dimension="number" if self.one.dimension == "fraction" else self.one.dimension,
            note="" if isinstance(value, dict) else single,
        )

    def _band(self, value: object, spread: float) -> tuple[float, float, float]:
        if not isinstance(value, dict):
            single = self.one.read(value)
            either_way = spread * abs(single)
            return single - either_way, single, single + either_way
        names = ("low", "typical", "high")
        flaws: dict[str, Any] = {}
        band: list[float] = []
        for name in names:
            if name not in value:
                flaws[name] = [Flaw(code="missing", detail="this member is required")]
                continue
            try:
                band.append(self.one.read(value[name]))
            except ValidationError as error:
                flaws[name] = error.messages
        for name in value:
            if name not in names:
                flaws[name] = [Flaw(code="unknown_field", detail="no such member; known here: high, low, typical")]
        if flaws:
            raise ValidationError(flaws)
        return band[0], band[1], band[2]


class Number(StrictField[float]):
    """A plain number; no text, no yes or no."""

    def __init__(self, *, least: float, most: float, **more: Any) -> None:
        super().__init__(**more)
        self.least, self.most = least, most

    def read(self, value: Any) -> float:
        """Return the value as the set-up has it."""
        if not is_number(value):
            raise flawed("type", "expected a number", seen=value)
        _check_bounds(value, least=self.least, most=self.most)
        return float(value)


class Integer(StrictField[int]):
    """A whole number; 2.0 is one, as JSON Schema has it."""

    def __init__(self, *, least: int, most: int, **more: Any) -> None:
        super().__init__(**more)
        self.least, self.most = least, most

    def read(self, value: Any) -> int:
        """Return the value as the set-up has it."""
        if not is_number(value) or (isinstance(value, float) and not value.is_integer()):
            raise flawed("type", "expected a whole number", seen=value)
        _check_bounds(value, least=self.least, most=self.most)
        return int(value)


class Flag(StrictField[bool]):
    """Yes or no as true or false, nothing else."""

    def read(self, value: Any) -> bool:
        """Return the value as the set-up has it."""
        if not isinstance(value, bool):
            raise flawed("type", "expected true or false", seen=value)
        return value


class Text(StrictField[str]):
    """A line of text: bounded, no control characters, no half of a surrogate pair."""

    def __init__(self, *, longest: int | None = None, shortest: int = 0, **more: Any) -> None:
        super().__init__(**more)
        self.longest, self.shortest = longest, shortest

    def read(self, value: Any) -> str:
        """Return the value as the set-up has it."""
        if not isinstance(value, str):
            raise flawed("type", "expected text", seen=value)
        longest = self.longest or now_reading().limits.text_characters
        if not self.shortest <= len(value) <= longest:
            detail = f"must have {self.shortest} to {longest} characters; this has {len(value)}"
            raise flawed("length", detail, limit=longest if value else self.shortest, seen=len(value))
        if SURROGATE.search(value):
            raise flawed("character", "holds half of a surrogate pair, which is no character")
        self._check_characters(value)
        return value

    def _check_characters(self, value: str) -> None:
        if CONTROL.search(value):
            raise flawed("character", "must be one line without control characters", seen=value)


class Lines(Text):
    """Text of many lines, as a program is; its reader judges the characters."""

    def _check_characters(self, value: str) -> None:
        """Take them all."""


class Choice(StrictField[str]):
    """One of a few words."""

    def __init__(self, options: Sequence[str], **more: Any) -> None:
        super().__init__(**more)
        self.options = tuple(options)

    def read(self, value: Any) -> str:
        """Return the value as the set-up has it."""
        for option in self.options:
            if isinstance(value, str) and value == option:
                return option
        raise self._refusal(value)

    def _refusal(self, value: object) -> ValidationError:
        words = [str(option) for option in self.options]
        near = plainly_meant(value, words) if isinstance(value, str) else None
        hint = f"; did you mean {near!r}?" if near else ""
        return flawed("choice", f"must be one of {', '.join(words)}{hint}", limit=words, seen=value, corrected=near)
