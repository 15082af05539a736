"""What a set-up sheet says besides the set-up: paper, names, dates, consumables, notes."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

__all__ = ["Consumable", "Paper", "SheetWanted", "Ware"]


class Paper(StrEnum):
    """Size of the paper."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def size(self) -> tuple[float, float]:
        """Width and height (ISO 216; ANSI/ASME Y14.1, 8.5 x 11 in). [m]"""
        return (0.210, 0.297) if self is Paper.A4 else (0.2159, 0.2794)


class Ware(StrEnum):
    """What keeps for a time only."""

    CYANOACRYLATE = "cyanoacrylate"
    FILM_TAPE = "film_tape"
    FOAM_TAPE = "foam_tape"
    MASKING_TAPE = "masking_tape"


@dataclass(frozen=True, kw_only=True)
class Consumable:
    """A bottle or roll in use: what, the day it was opened and the day it was made or bought, as far as known."""

    ware: Ware
    name: str = ""
    opened: date | None = None
    made: date | None = None


@dataclass(frozen=True, kw_only=True)
class SheetWanted:
    """What the caller wants on the sheet.

    Attributes
    ----------
    paper : Paper
    part, revision, prepared_by, machine : str
        Empty to be filled in by hand.
    day : date or None
        Of the sheet; consumables are judged by it.
    pieces : int or None
        [-]
    consumables : tuple of Consumable
    notes : tuple of str
    """

    paper: Paper = Paper.A4
    part: str = ""
    revision: str = ""
    prepared_by: str = ""
    machine: str = ""
    day: date | None = None
    pieces: int | None = None
    consumables: tuple[Consumable, ...] = ()
    notes: tuple[str, ...] = ()
