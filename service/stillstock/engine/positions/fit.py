"""Limits of holes and dowels, and the play between them, by the ISO code system."""

import re
from dataclasses import dataclass

from stillstock.tables.load import Tables

__all__ = ["GRADES", "HOLES", "LARGEST", "SHAFTS", "Fit", "FitName", "fit_name", "limits"]

#: Tolerance grades, and letters of holes and shafts, that the table has.
GRADES = (6, 7, 8, 9, 10, 11)
HOLES = ("D", "E", "F", "G", "H")
SHAFTS = ("d", "e", "f", "g", "h", "k", "m", "n", "p")
#: Ranges of nominal sizes, each up to and with its upper end. [m]
_RANGES = (
    (3e-3, "to_3_mm"),
    (6e-3, "over_3_to_6_mm"),
    (10e-3, "over_6_to_10_mm"),
    (18e-3, "over_10_to_18_mm"),
    (30e-3, "over_18_to_30_mm"),
)
LARGEST = _RANGES[-1][0]
_NAME = re.compile(r"([A-Z])([1-9][0-9]?)/([a-z])([1-9][0-9]?)")
_NOISE = 1e-9  # [m]


@dataclass(frozen=True, kw_only=True)
class FitName:
    """A fit as a drawing states it, such as H7/g6: letter and grade of the hole and of the shaft."""

    hole: str
    hole_grade: int
    shaft: str
    shaft_grade: int

    def __str__(self) -> str:
        return f"{self.hole}{self.hole_grade}/{self.shaft}{self.shaft_grade}"


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A hole and a dowel of one nominal size.

    Attributes
    ----------
    hole, shaft : (2,) tuples
        Lower and upper deviation from the nominal size. [m]
    """

    hole: tuple[float, float]
    shaft: tuple[float, float]

    @property
    def play(self) -> tuple[float, float]:
        """Least and greatest clearance over the diameter; negative where the dowel must be pressed in. [m]"""
        return self.hole[0] - self.shaft[1], self.hole[1] - self.shaft[0]


def fit_name(text: str) -> FitName | None:
    """Return the fit that a text names, or None if it names none that the table has.

    Examples
    --------
    >>> str(fit_name("H7/g6")), fit_name("H7/z6"), fit_name("H5/g6")
    ('H7/g6', None, None)
    """
    match = _NAME.fullmatch(text)
    if match is None:
        return None
    name = FitName(hole=match[1], hole_grade=int(match[2]), shaft=match[3], shaft_grade=int(match[4]))
    letters = name.hole in HOLES and name.shaft in SHAFTS
    return name if letters and name.hole_grade in GRADES and name.shaft_grade in GRADES else None


def limits(name: FitName, *, diameter: float, tables: Tables) -> Fit:
    """Return the limits of a fit.

    Parameters
    ----------
    name : FitName
    diameter : float
        Nominal size, at most `LARGEST`. [m]
    tables : Tables

    Raises
    ------
    ValueError
        If the size is beyond the table.

    Notes
    -----
    A shaft d to h has its upper deviation from the table and the width of its grade below it; k to p its lower one and
    the width above it. A hole D to H mirrors the shaft of its letter (ISO 286-1, general rule: EI = -es).

    References
    ----------
    .. [1] ISO 286-1, tables of standard tolerances and of fundamental deviations (from memory).
    """
    subject = _range(diameter)

    def width(grade: int) -> float:
        return tables.value("tolerances", subject, f"it{grade}").typical

    def deviation(letter: str) -> float:
        return 0.0 if letter == "h" else tables.value("tolerances", subject, f"shaft_{letter}").typical

    lower = 0.0 - deviation(name.hole.lower())
    hole = (lower, lower + width(name.hole_grade))
    end, extent = deviation(name.shaft), width(name.shaft_grade)
    if name.shaft <= "h":
        return Fit(hole=hole, shaft=(end - extent, end))
    if name.shaft == "k" and name.shaft_grade > 7:
        end = 0.0  # the standard gives k its own deviation up to grade 7 only
    return Fit(hole=hole, shaft=(end, end + extent))


def _range(diameter: float) -> str:
    found = next((subject for most, subject in _RANGES if diameter <= most + _NOISE), None)
    if found is None or diameter <= 0.0:
        raise ValueError(f"no limits for a diameter of {diameter} m")
    return found
