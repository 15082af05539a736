"""Numbers that nature scatters: low, typical, high, with the ground they stand on."""

from dataclasses import dataclass, replace
from enum import StrEnum

__all__ = ["Corner", "Grade", "Triple"]


class Grade(StrEnum):
    """How well a number is grounded."""

    SEEN = "seen"
    MEMORY = "from memory"
    PRACTICE = "common practice"
    CALLER = "caller"


class Corner(StrEnum):
    """Which end of its scatter a number is read at."""

    LOW = "low"
    TYPICAL = "typical"
    HIGH = "high"


@dataclass(frozen=True, kw_only=True)
class Triple:
    """A scattered number in SI units.

    Attributes
    ----------
    low, typical, high : float
        Ends of the usual band and the number most often met; low <= typical <= high. [SI unit of `what`]
    what : str
        The number in plain words, as an assumption in an answer reads.
    source : str
        Key of a row in `sources.csv`, or ``"caller"``.
    grade : Grade
        How well it is grounded.
    dimension : str
        Name of its dimension (``"force"``, ``"pressure"``, ``"number"``...): an answer puts it in the caller's unit.
    note : str
        What to mind when using it.
    """

    low: float
    typical: float
    high: float
    what: str = ""
    source: str = ""
    grade: Grade = Grade.PRACTICE
    dimension: str = "number"
    note: str = ""

    def __post_init__(self) -> None:
        if not self.low <= self.typical <= self.high:
            raise ValueError(f"{self.what}: {self.low}, {self.typical}, {self.high} are not in order")

    def at(self, corner: Corner) -> float:
        """Return the number at one end of its band. [as `what`]"""
        return {Corner.LOW: self.low, Corner.TYPICAL: self.typical, Corner.HIGH: self.high}[corner]

    def times(self, factor: float) -> "Triple":
        """Return the band scaled by a positive factor [-]."""
        if factor <= 0.0:
            raise ValueError("a band is scaled by a positive factor only")
        return replace(self, low=self.low * factor, typical=self.typical * factor, high=self.high * factor)
