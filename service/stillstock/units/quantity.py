"""Quantities in and out: text and bare numbers of a document to SI, SI to the caller's unit."""

import math

from stillstock.units.dimensions import DOCUMENT, DOCUMENT_UNITS, FACTORS, System
from stillstock.units.grammar import FEET_INCHES, GRAMMAR, LONGEST, SIMPLE
from stillstock.units.refusal import UnitError, refuse, sample

__all__ = ["parse", "present", "unit_name"]

#: A number smaller than this in the caller's unit is what rounding left of nought.
NOISE = 1e-9


def parse(value: object, dimension: str, system: System) -> float:
    r"""Return a quantity of a document in SI.

    Parameters
    ----------
    value : float, int or str
        Bare number in the document's unit of the dimension, or text with a unit.
    dimension : str
        A key of `DOCUMENT_UNITS`.
    system : {"metric", "inch"}
        Which units bare numbers of the document are in.

    Returns
    -------
    float
        Always finite. [SI unit of `dimension`]

    Raises
    ------
    UnitError
        If it is no such quantity.

    Examples
    --------
    >>> round(parse('1 1/2 in', "length", "metric"), 9), round(parse("5' 3 1/2\"", "length", "metric"), 9)
    (0.0381, 1.6129)
    >>> parse("1,5 mm", "length", "metric")
    Traceback (most recent call last):
    stillstock.units.refusal.UnitError: decimal comma: did you mean "1.5 mm"?
    """
    if isinstance(value, str):
        return _from_text(value, dimension)
    if isinstance(value, bool) or not isinstance(value, int | float):
        unit = unit_name(dimension, system)
        raise UnitError("type", f'expected a number in {unit or "plain units"}, or text such as "{sample(dimension)}"')
    try:
        result = DOCUMENT[dimension, system][1].to_si(float(value))
    except OverflowError:
        result = math.inf
    if not math.isfinite(result):
        raise UnitError("not_finite", "the number is beyond anything that can be meant")
    return result


def present(value: float, dimension: str, system: System) -> float:
    """Return an SI number in the caller's unit, to six significant digits, so that the same answer has the same bytes.

    Parameters
    ----------
    value : float
        Finite. [SI unit of `dimension`]
    dimension : str
        A key of `DOCUMENT_UNITS`, or a dimension of the tables.
    system : {"metric", "inch"}

    Raises
    ------
    ValueError
        If the number is not finite: whoever answers has to say what that means instead.

    Examples
    --------
    >>> present(0.0254, "length", "inch"), present(-1e-16, "length", "metric"), present(100.0, "angular_speed", "inch")
    (1.0, 0.0, 954.93)
    """
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be answered as a number")
    number = DOCUMENT[dimension, system][1].from_si(value)
    if abs(number) < NOISE and (dimension in DOCUMENT_UNITS or dimension == "number"):
        return 0.0
    return float(f"{number:.6g}")


def unit_name(dimension: str, system: System) -> str:
    """Return the name of the unit of bare numbers and of answers; empty for pure numbers.

    Examples
    --------
    >>> unit_name("torque", "metric"), unit_name("torque", "inch"), unit_name("number", "inch")
    ('N m', 'lbf in', '')
    """
    return DOCUMENT[dimension, system][0]


def _from_text(text: str, dimension: str) -> float:
    if len(text) > LONGEST:
        raise UnitError("too_long", f"a quantity has at most {LONGEST} characters; this has {len(text)}")
    if not GRAMMAR[dimension].match(text):
        refuse(text, dimension)
    sign = -1.0 if text[0] == "-" else 1.0
    unsigned = text.lstrip("+-")
    if dimension == "length" and (parts := FEET_INCHES.fullmatch(unsigned)):
        feet, inches = _number(parts[1]), _number(parts[2])
        table = FACTORS["length"]
        return sign * (table["ft"].to_si(feet) + table["in"].to_si(inches))
    part = SIMPLE.fullmatch(unsigned)
    if part is None:
        raise AssertionError(f"{text!r} keeps the grammar, yet cannot be taken apart")
    return FACTORS[dimension][part[2]].to_si(sign * _number(part[1]))


def _number(text: str) -> float:
    """Return the value of a number, a fraction or a mixed number that keeps the grammar."""
    if "/" not in text:
        return float(text)
    whole, _, fraction = text.replace("-", " ").rpartition(" ")
    numerator, _, denominator = fraction.partition("/")
    return float(whole or "0") + float(numerator) / float(denominator)
