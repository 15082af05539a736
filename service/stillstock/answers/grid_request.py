"""What is asked for a spoilboard: pattern, holes, cut, skim, and which program is wanted."""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from stillstock.engine.grid.request import (
    Bit,
    Dowels,
    HoleWanted,
    KeepOut,
    Labels,
    Mark,
    Order,
    Pattern,
    Rates,
    SkimWanted,
    Table,
)

__all__ = ["EndMill", "GridRequest", "Program"]


class Program(StrEnum):
    """Which of the board's programs RS-274 text is wanted for: one tool each."""

    LINES = "lines"
    HOLES = "holes"
    SKIM = "skim"


@dataclass(frozen=True, kw_only=True)
class EndMill:
    """What bores the holes: diameter [m] and flutes [-]."""

    diameter: float
    flutes: int = 2


@dataclass(frozen=True, kw_only=True)
class GridRequest:
    """A document of the grid endpoint, in SI.

    Attributes
    ----------
    title : str
    system : {"metric", "inch"}
        Units of the answer and of the files.
    table : Table
    pattern : Pattern
    keep_outs : tuple of KeepOut
        As stated; those of the existing pattern come on top.
    labels : Labels or None
    zero_mark : float
        Size of the mark at the zero; 0 for none. [m]
    dowels : tuple of Dowels
    bit : Bit
    depth, major_depth : float
        Of fine and of major lines. [m]
    hole : HoleWanted or None
        What the pattern's holes are for.
    end_mill : EndMill
    engraving, boring, facing : Rates
    rapid, rapid_z : float
        Rates of rapid moves. [m/s]
    acceleration : float or None
        Of the axes; None takes the usual. [m/s2]
    clearance : float
        Height between cuts. [m]
    skim : SkimWanted or None
    skim_depth : float or None
        What a usual skim takes off, to reckon what is left; None takes the usual. [m]
    order : Order
    program : Program or None
        None takes the first that there is.
    most_marks : int
        Limit on lines, crosses, dots and holes. [-]
    fingerprint : str
        Digest of the document.
    """

    title: str
    system: Literal["metric", "inch"]
    table: Table
    pattern: Pattern
    bit: Bit
    depth: float
    major_depth: float
    end_mill: EndMill
    most_marks: int
    keep_outs: tuple[KeepOut, ...] = ()
    labels: Labels | None = None
    zero_mark: float = 0.0
    dowels: tuple[Dowels, ...] = ()
    hole: HoleWanted | None = None
    engraving: Rates = field(default_factory=Rates)
    boring: Rates = field(default_factory=Rates)
    facing: Rates = field(default_factory=Rates)
    rapid: float = 5.0 / 60.0
    rapid_z: float = 2.0 / 60.0
    acceleration: float | None = None
    clearance: float = 0.005
    skim: SkimWanted | None = None
    skim_depth: float | None = None
    order: Order = Order.ONE_DIRECTION
    program: Program | None = None
    fingerprint: str = ""

    @property
    def engraves(self) -> bool:
        """Whether anything is asked for that the V-bit cuts."""
        drawn = self.pattern.mark not in (Mark.NONE, Mark.HOLES)
        return drawn or self.labels is not None or self.zero_mark > 0.0

    @property
    def bores(self) -> bool:
        """Whether anything is asked for that the end mill cuts."""
        return self.pattern.mark is Mark.HOLES or bool(self.dowels)

    @property
    def inch(self) -> bool:
        """Whether lengths are told in inches."""
        return self.system == "inch"

    def length(self, value: float) -> str:
        """Return a length as a person reads it, in the request's unit."""
        size, decimals, name = (0.0254, 4, "in") if self.inch else (1e-3, 3, "mm")
        return f"{value / size:.{decimals}f}".rstrip("0").rstrip(".") + f" {name}"
