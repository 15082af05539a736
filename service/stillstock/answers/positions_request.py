"""What is asked for repeat parts: blank, table, what locates it, how many, and how closely it must come back."""

from dataclasses import dataclass, field

from stillstock.engine.positions.request import Locating, Offsets, Part, Pattern, Refer, Table
from stillstock.units import System, present, unit_name

__all__ = ["PositionsRequest"]


@dataclass(frozen=True, kw_only=True)
class PositionsRequest:
    """A document of the positions endpoint, in SI.

    Attributes
    ----------
    title : str
    system : {"metric", "inch"}
        Units of the answer and of the program.
    part, table, locating, pattern
    gap, overrun : float
        From part to part, and of the cutter beyond a part's edges. [m]
    count : int or None
        Parts of the batch; None takes as many as lie on the table at once. [-]
    refer : Refer
    offsets : Offsets
    loading : int
        For which loading of the table RS-274 is wanted. [-]
    tolerance : float or None
        Within which a part must come back, either way. [m]
    most_places : int
        Limit. [-]
    fingerprint : str
    """

    title: str
    system: System
    part: Part
    table: Table
    locating: Locating
    most_places: int
    pattern: Pattern | None = None
    gap: float = 0.03
    overrun: float = 0.0
    count: int | None = None
    refer: Refer = Refer.LOCATORS
    offsets: Offsets = field(default_factory=Offsets)
    loading: int = 1
    tolerance: float | None = None
    fingerprint: str = ""

    def shown(self, value: float) -> float:
        """Return a length in the request's unit."""
        return present(value, "length", self.system)

    def length(self, value: float) -> str:
        """Return a length as a person reads it, in the request's unit."""
        return f"{self.shown(value):.4g} {unit_name('length', self.system)}"
