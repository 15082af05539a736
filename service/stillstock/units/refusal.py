"""What is wrong with text that is no quantity, and what was probably meant."""

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import NoReturn

from stillstock.units.dimensions import DIMENSIONS, DOCUMENT_UNITS, FACTORS
from stillstock.units.grammar import FRACTION, GRAMMAR, NUMBER

__all__ = ["UnitError", "refuse", "sample"]


class UnitError(ValueError):
    """A value that is no quantity of the wanted dimension.

    Attributes
    ----------
    code : str
        Constant word: ``"decimal_comma"``, ``"digit_groups"``, ``"no_unit"``, ``"unknown_unit"``,
        ``"wrong_dimension"``, ``"doubtful_unit"``, ``"not_a_quantity"``, ``"too_long"``, ``"not_finite"`` or
        ``"type"``.
    message : str
        One sentence that says what was probably meant.
    corrected : str, float or None
        The value as it was probably meant, where that is plain.
    """

    def __init__(self, code: str, message: str, corrected: str | float | None = None) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.corrected = corrected


# What shops write and what has two meanings, or another than they think; {0} is the number as it came.
_DOUBTFUL: Mapping[str, tuple[str, str]] = {
    "mil": ("mil means 0.001 in to some and a millimetre to others", "{0} thou"),
    "mils": ("mil means 0.001 in to some and a millimetre to others", "{0} thou"),
    "Hz": ("a drive shows the frequency of the motor's current, which need not be the spindle's", ""),
    "gal": ("a gallon is no unit here", ""),
    "g-force": ("an acceleration is no unit here", ""),
}
_FORCE_OF_MASS: Mapping[str, str] = {"lb": "lbf", "lbs": "lbf", "lbm": "lbf", "kg": "kgf", "oz": "ozf"}


_COMMA = re.compile(r"[0-9],[0-9]")
_LEADING = re.compile(rf"([+-]?(?:{FRACTION}|{NUMBER}))(.*)", re.DOTALL)


def sample(dimension: str) -> str:
    """Return a quantity of a dimension as it may be written."""
    return "15 %" if dimension == "fraction" else f"18 {DOCUMENT_UNITS[dimension][0]}"


def refuse(text: str, dimension: str) -> NoReturn:
    """Say what is wrong with text that breaks the grammar, and what was probably meant."""
    if _COMMA.search(text):
        _refuse_comma(text, dimension)
    _refuse_spacing(text, dimension)
    leading = _LEADING.fullmatch(text)
    if leading is None or leading[2][:1].isdigit():
        _refuse_form(text, dimension)
    number, unit = leading[1], leading[2].strip()
    if not unit:
        _refuse_bare(number, dimension)
    _refuse_known_unit(number, unit, dimension)
    _refuse_unknown_unit(text, number, unit, dimension)


def _refuse_bare(number: str, dimension: str) -> NoReturn:
    sample = f"{number} {DOCUMENT_UNITS[dimension][0] or '%'}"
    raise UnitError(
        "no_unit",
        f'text needs a unit, as in "{sample}"; a bare number in the document\'s unit stands without quotes',
        None if "/" in number else float(number),
    )


def _refuse_unknown_unit(text: str, number: str, unit: str, dimension: str) -> NoReturn:
    near = _near(unit, dimension)
    if near is None and re.search(r"[0-9*+()_]", unit):
        _refuse_form(text, dimension)
    meant = f'; did you mean "{number} {near}"?' if near else f', as in "{sample(dimension)}"'
    # All in capitals, or all small: the same unit. Mixed as in mPa it may be another one.
    plain = near is not None and near.casefold() == unit.casefold() and (unit.isupper() or unit.islower())
    raise UnitError(
        "unknown_unit",
        f"{_shown(unit)} is no unit known here; {DIMENSIONS[dimension].noun} is wanted{meant}",
        f"{number} {near}" if plain else None,
    )


def _refuse_comma(text: str, dimension: str) -> NoReturn:
    meant = text.replace(",", ".") if text.count(",") == 1 else None
    if meant is None or not GRAMMAR[dimension].match(meant):
        raise UnitError("decimal_comma", "write numbers with a decimal point and without commas")
    if re.search(r"(?<![0-9])[1-9][0-9]{0,2},[0-9]{3}(?![0-9])", text):
        grouped = text.replace(",", "")
        raise UnitError("decimal_comma", f'a comma can be read in two ways: write "{grouped}" or "{meant}"')
    raise UnitError("decimal_comma", f'decimal comma: did you mean "{meant}"?', meant)


def _refuse_known_unit(number: str, unit: str, dimension: str) -> None:
    """Refuse a unit that is known, but for another dimension or in more than one meaning."""
    if unit in _DOUBTFUL:
        why, template = _DOUBTFUL[unit]
        meant = template.format(number) if template and dimension == "length" else None
        hint = f'write "{meant}"' if meant else f'write it as in "{sample(dimension)}"'
        raise UnitError("doubtful_unit", f"{why}: {hint}", meant)
    if dimension == "force" and unit in _FORCE_OF_MASS:
        meant = f"{number} {_FORCE_OF_MASS[unit]}"
        raise UnitError("wrong_dimension", f'{unit} is a mass here: write "{meant}" for a force', meant)
    if unit in FACTORS[dimension]:
        return
    for other, table in FACTORS.items():
        if unit in table:
            nouns = DIMENSIONS[other].noun, DIMENSIONS[dimension].noun
            raise UnitError(
                "wrong_dimension", f'{unit} is {nouns[0]}; {nouns[1]} is wanted, as in "{sample(dimension)}"'
            )


def _refuse_spacing(text: str, dimension: str) -> None:
    """Refuse text that is a quantity but for blanks and marks between its digits."""
    for code, meant in (
        ("digit_groups", re.sub(r"(?<=[0-9])[ _'](?=[0-9]{3}(?![0-9]))", "", text)),
        ("not_a_quantity", " ".join(text.replace("\u2212", "-").replace("\u00a0", " ").split())),
    ):
        if meant != text and GRAMMAR[dimension].match(meant):
            raise UnitError(code, f'did you mean "{meant}"?', meant)


def _refuse_form(text: str, dimension: str) -> NoReturn:
    """Refuse text whose very form is wrong."""
    raise UnitError(
        "not_a_quantity",
        f'expected one number and one unit, as in "{sample(dimension)}", and no arithmetic; got {_shown(text)}',
    )


def _near(unit: str, dimension: str) -> str | None:
    """Return the spelling that comes closest, the same letters in another case first."""
    known = list(FACTORS[dimension])
    short = unit[:12]
    for spelling in known:
        if spelling.casefold() == short.casefold():
            return spelling
    found = get_close_matches(short, known, n=1, cutoff=0.6)
    return found[0] if found else None


def _shown(text: str) -> str:
    """Return a caller's text as it may stand in a message: printable ASCII, short."""
    return ascii(text if len(text) <= 24 else text[:24] + "...")
