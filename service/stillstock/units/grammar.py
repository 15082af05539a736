r"""The grammar of a quantity in text: closed, bounded and linear.

::

    quantity = [sign] (number | [whole (" " | "-")] numerator "/" denominator) [" "] unit
             | [sign] number [" "] feet [" " | "-"] (number | fraction as above) [" "] inches        (lengths only)
    number   = digits ["." [digits]] | "." digits, each with an optional exponent of one or two digits
"""

import re

from stillstock.units.dimensions import DIMENSIONS, FACTORS

__all__ = ["FEET_INCHES", "FRACTION", "GRAMMAR", "LONGEST", "NUMBER", "SIMPLE", "pattern"]

#: Characters of a quantity in text.
LONGEST = 40
NUMBER = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?"
FRACTION = r"(?:[0-9]+[ -])?[0-9]+/[1-9][0-9]*"
_FEET = ("ft", "'", "′", "’")
_INCHES = ("in", '"', "″", "”")


def _either(spellings: tuple[str, ...]) -> str:
    return "|".join(re.sub(r"([.*^])", r"\\\1", s) for s in sorted(spellings, key=lambda s: (-len(s), s)))


def pattern(dimension: str) -> str:
    """Return the regular expression, of the kind that JSON Schema takes, of a dimension's quantities in text."""
    plain = f"(?:{NUMBER}|{FRACTION}) ?(?:{_either(tuple(FACTORS[dimension]))})"
    if dimension == "length":
        inches = f"(?:{NUMBER}|{FRACTION}) ?(?:{_either(_INCHES)})"
        plain = f"(?:{plain}|{NUMBER} ?(?:{_either(_FEET)})[ -]?{inches})"
    return f"^[+-]?{plain}$"


GRAMMAR = {name: re.compile(pattern(name)[:-1] + r"\Z") for name in DIMENSIONS}
SIMPLE = re.compile(rf"({FRACTION}|{NUMBER}) ?([^0-9./ -].*|/min|1/min)")
FEET_INCHES = re.compile(rf"({NUMBER}) ?(?:{_either(_FEET)})[ -]?({FRACTION}|{NUMBER}) ?(?:{_either(_INCHES)})")
