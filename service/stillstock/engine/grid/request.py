"""What a shop asks for when it wants a pattern on its spoilboard. SI throughout."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = [
    "Bit",
    "Board",
    "Circle2D",
    "DowelKind",
    "Dowels",
    "ExistingPattern",
    "HoleKind",
    "HoleWanted",
    "KeepOut",
    "LabelStyle",
    "Labels",
    "Mark",
    "Order",
    "Pattern",
    "PatternPlace",
    "Rates",
    "SkimWanted",
    "Strip",
    "Table",
]

Point = tuple[float, float]


class Mark(StrEnum):
    """What stands at the nodes or along the lines of the grid."""

    LINES = "lines"
    LINES_X = "lines_x"
    LINES_Y = "lines_y"
    CROSSES = "crosses"
    DOTS = "dots"
    HOLES = "holes"
    NONE = "none"


class PatternPlace(StrEnum):
    """How the grid lies to the holes that are there already."""

    BETWEEN = "between"
    ON = "on"


class LabelStyle(StrEnum):
    """What is written beside a line."""

    NONE = "none"
    DISTANCE = "distance"
    NUMBER = "number"
    LETTER = "letter"


class Order(StrEnum):
    """In which order the strokes are cut."""

    ONE_DIRECTION = "one_direction"
    LEAST_TRAVEL = "least_travel"


class Board(StrEnum):
    """What the spoilboard is made of."""

    MDF = "mdf"
    CHIPBOARD = "chipboard"
    PLYWOOD = "plywood"
    SOFTWOOD = "softwood"
    HARDWOOD = "hardwood"
    PLASTIC = "plastic"


class HoleKind(StrEnum):
    """What a hole is for."""

    PLAIN = "plain"
    INSERT = "insert"
    DOWEL = "dowel"
    TEE_NUT = "tee_nut"


class DowelKind(StrEnum):
    """How a set of dowel holes is laid out."""

    ROW = "row"
    CORNER = "corner"
    FLIP = "flip"


@dataclass(frozen=True, kw_only=True)
class Table:
    """The spoilboard as the machine reaches it.

    Attributes
    ----------
    size, origin : (2,) tuples
        Extent, and where its lowest corner lies in the work frame. [m]
    thickness : float
        Of the spoilboard. [m]
    board : Board
    least_thickness : float
        At which the board is changed. [m]
    """

    size: Point
    origin: Point
    thickness: float
    board: Board = Board.MDF
    least_thickness: float = 0.0095

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y. [m]"""
        (x, y), (dx, dy) = self.origin, self.size
        return x, y, x + dx, y + dy


@dataclass(frozen=True, kw_only=True)
class Circle2D:
    """A round place that the tool keeps out of. [m]"""

    at: Point
    radius: float

    @property
    def box(self) -> FloatArray:
        """Least and greatest corner, (2, 2). [m]"""
        middle = np.array(self.at)
        return np.array([middle - self.radius, middle + self.radius])


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A straight strip, such as a track: its middle line and its width. A rectangle is one too. [m]"""

    start: Point
    end: Point
    width: float

    @property
    def outline(self) -> FloatArray:
        """Four corners, counter-clockwise, (4, 2). [m]"""
        start, end = np.array(self.start), np.array(self.end)
        along = (end - start) / np.hypot(*(end - start))
        aside = np.array([-along[1], along[0]]) * self.width / 2.0
        return np.array([start - aside, end - aside, end + aside, start + aside])

    @property
    def box(self) -> FloatArray:
        """Least and greatest corner, (2, 2). [m]"""
        outline = self.outline
        return np.array([outline.min(axis=0), outline.max(axis=0)])


@dataclass(frozen=True, kw_only=True)
class KeepOut:
    """A place that nothing may be cut in, with room round it. [m]"""

    name: str
    shape: Circle2D | Strip
    clearance: float = 0.0


@dataclass(frozen=True, kw_only=True)
class ExistingPattern:
    """Holes that are in the board already.

    Attributes
    ----------
    first, pitch : (2,) tuples
        The hole nearest the lowest corner, and the distance from hole to hole. [m]
    count : (2,) tuple of int
        Holes along x and y. [-]
    diameter : float
        Of a hole. [m]
    place : PatternPlace
    clearance : float or None
        Room kept round each hole; None cuts across them. [m]
    """

    first: Point
    pitch: Point
    count: tuple[int, int]
    diameter: float
    place: PatternPlace = PatternPlace.BETWEEN
    clearance: float | None = None


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """The grid itself.

    Attributes
    ----------
    mark : Mark
    pitch, offset : (2,) tuples
        Distance from mark to mark; where one mark lies, from the zero or from the existing pattern. [m]
    area : (4,) tuple
        Least x, least y, greatest x, greatest y of what is marked. [m]
    major_every : int
        Each such line is a major one; 0 for none. [-]
    cross_size : float
        Length of the arms of a cross from tip to tip. [m]
    existing : ExistingPattern or None
    """

    mark: Mark
    pitch: Point
    area: tuple[float, float, float, float]
    offset: Point = (0.0, 0.0)
    major_every: int = 0
    cross_size: float = 0.01
    existing: ExistingPattern | None = None


@dataclass(frozen=True, kw_only=True)
class Labels:
    """Text along the edges.

    Attributes
    ----------
    x, y : LabelStyle
        Under the lines that stand at a place along x, and beside those along y.
    height : float
        Of a capital. [m]
    """

    x: LabelStyle
    y: LabelStyle
    height: float


@dataclass(frozen=True, kw_only=True)
class Bit:
    """A V-bit: included angle [rad], flat at the tip and greatest diameter [m], flutes [-]."""

    angle: float
    diameter: float
    tip: float = 0.0
    flutes: int = 2


@dataclass(frozen=True, kw_only=True)
class HoleWanted:
    """What goes into a hole.

    Attributes
    ----------
    kind : HoleKind
    diameter : float
        Of the hole; for an insert over its outer thread, for a tee nut of its barrel, for a dowel its nominal. [m]
    core : float
        Of an insert: diameter under its thread. [m]
    length : float
        Of the insert, barrel or the dowel's part in the board. [m]
    flange : (2,) tuple
        Diameter and thickness of a flange; zeros for none. [m]
    sunk : float
        How far the top of it lies below the face, for later skims. [m]
    fit : float
        What a dowel's hole is larger than the dowel. [m]
    """

    kind: HoleKind
    diameter: float
    core: float = 0.0
    length: float = 0.0
    flange: tuple[float, float] = (0.0, 0.0)
    sunk: float = 0.0
    fit: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Dowels:
    """Holes for locating dowels.

    Attributes
    ----------
    kind : DowelKind
    at : (2,) tuple
        Start of a row; the corner of the stock; the middle of the flip axis. [m]
    to : (2,) tuple
        End of a row; the direction of the flip axis is from `at` to here; for a corner, the opposite corner. [m]
    count : int
        Holes in a row. [-]
    diameter, second : float
        Of the dowel, and of the other one of a flip pair, so that they fit one way round only. [m]
    inset : float
        From the corner to the nearest dowel of a corner stop. [m]
    depth, fit : float
        Of the hole, and what it is larger than the dowel. [m]
    """

    kind: DowelKind
    at: Point
    to: Point
    diameter: float
    depth: float
    count: int = 2
    second: float = 0.0
    inset: float = 0.02
    fit: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Rates:
    """Spindle speed [rad/s], feed and plunge [m/s]; None where the tables' are wanted."""

    speed: float | None = None
    feed: float | None = None
    plunge: float | None = None


@dataclass(frozen=True, kw_only=True)
class SkimWanted:
    """Facing the board flat.

    Attributes
    ----------
    cutter : float
        Diameter of the surfacing cutter. [m]
    depth : float
        Taken off in all. [m]
    passes : int
        In which that is done. [-]
    stepover : float
        Share of the cutter's diameter from path to path. [-]
    """

    cutter: float
    depth: float
    passes: int = 1
    stepover: float = 0.6
