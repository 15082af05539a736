"""What is asked for repeat parts, in SI."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from stillstock.engine.positions.fit import FitName

__all__ = ["Dowels", "Flip", "Height", "Lines", "Locating", "Offsets", "Part", "Pattern", "Refer", "Stops", "Table"]


class Height(StrEnum):
    """Where the height zero lies."""

    BED = "bed"
    STOCK_TOP = "stock_top"


class Refer(StrEnum):
    """What the cut must fit on the part: what touches the locators, or the middle between the edges."""

    LOCATORS = "locators"
    CENTRE = "centre"


@dataclass(frozen=True, kw_only=True)
class Part:
    """A blank.

    Attributes
    ----------
    size : (3,) tuple
        Along x, y and z. [m]
    tolerance : (2,) tuple
        By which blanks differ along x and y, either way. [m]
    thickness_tolerance : float
        Likewise along z. [m]
    edge : float
        How far an edge is off straight where a stop touches, either way. [m]
    """

    size: tuple[float, float, float]
    tolerance: tuple[float, float] = (0.0, 0.0)
    thickness_tolerance: float = 0.0
    edge: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Table:
    """The table, its top at height 0.

    Attributes
    ----------
    size, origin : (2,) tuples
        [m]
    reach : (4,) tuple or None
        Where the middle of the cutter gets to: least x, y and greatest x, y; None is the whole table. [m]
    flatness : float
        How far its top is off flat, either way. [m]
    """

    size: tuple[float, float]
    origin: tuple[float, float] = (0.0, 0.0)
    reach: tuple[float, float, float, float] | None = None
    flatness: float = 0.0

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Least x, y and greatest x, y. [m]"""
        (x, y), (dx, dy) = self.origin, self.size
        return x, y, x + dx, y + dy


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """Inserts, holes of a plate or lines of a grid, all over the table. [m]"""

    first: tuple[float, float]
    pitch: tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Stops:
    """Three round stops: two on the longer edge, one on the shorter.

    Attributes
    ----------
    diameter : float
        [m]
    error : float or None
        How far a part seats off one, either way; None takes common practice. [m]
    """

    diameter: float
    error: float | None = None


@dataclass(frozen=True, kw_only=True)
class Lines:
    """Laid to two lines of a grid by eye; `error` as of `Stops`. [m]"""

    error: float | None = None


@dataclass(frozen=True, kw_only=True)
class Flip:
    """The line about which a part is turned over.

    Attributes
    ----------
    axis : {"x", "y"}
        Along which it lies.
    at : float
        Its distance from the part's lower corner, across it. [m]
    """

    axis: Literal["x", "y"]
    at: float


@dataclass(frozen=True, kw_only=True)
class Dowels:
    """Two dowels in the table, in holes of the part.

    Attributes
    ----------
    at : (2,) tuple of (2,) tuples
        In the part, from its lower corner. [m]
    diameters : (2,) tuple
        [m]
    fit : FitName or None
    play : (2,) tuple or None
        Least and greatest clearance, instead of a fit. [m]
    hole_error : float or None
        How far a hole is off its place, either way; None takes common practice. [m]
    flip : Flip or None
        The axis on which both lie, where the part is turned over about it.
    """

    at: tuple[tuple[float, float], tuple[float, float]]
    diameters: tuple[float, float]
    fit: FitName | None = None
    play: tuple[float, float] | None = None
    hole_error: float | None = None
    flip: Flip | None = None


Locating = Stops | Lines | Dowels


@dataclass(frozen=True, kw_only=True)
class Offsets:
    """Work offsets of the machine.

    Attributes
    ----------
    count : int
        How many it has, from G54 on. [-]
    machine : (3,) tuple or None
        Machine position of the table's zero; None where nobody stated it. [m]
    height : Height
        Where the height zero of the program lies.
    """

    count: int = 6
    machine: tuple[float, float, float] | None = None
    height: Height = Height.BED
