"""The ground on which holders are placed: the stock, the table round it, and the way of the tool."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import shapely

from stillstock.answers.job import Job
from stillstock.answers.one_more_holder import path_moves
from stillstock.answers.parts import freed_parts
from stillstock.answers.retract_tools import Spindle, margins_of, spindle_of
from stillstock.answers.said import said, written
from stillstock.answers.shop import Entry, Question
from stillstock.engine.clearance.margins import Margins
from stillstock.engine.clearance.obstacles import overlaps
from stillstock.engine.clearance.swept import sweep
from stillstock.engine.holding.body import Body
from stillstock.engine.program.moves import Moves
from stillstock.engine.set_up import SetUp
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.units import parse, present

__all__ = ["Ground", "Layout", "NoPlace", "Piece", "with_pieces"]

#: Decimals of places in the caller's unit of length: a tenth of a millimetre, a thousandth of an inch.
DECIMALS = {"metric": 1, "inch": 3}


class NoPlace(Exception):
    """Nothing of a kind can stand anywhere; says why, and the numbers of it."""

    def __init__(self, code: str, detail: str, *, value: float | None = None, limit: float | None = None) -> None:
        super().__init__(detail)
        self.code, self.detail, self.value, self.limit = code, detail, value, limit


@dataclass(frozen=True, kw_only=True, eq=False)
class Piece:
    """One holder at its place.

    Attributes
    ----------
    entry : Entry
        Of the shop's list, that it is taken from.
    members : mapping
        Those that say where it stands, as the document has them. [SI]
    holder : holding method
    part : int or None
        Number of the part that it holds, for a tab or skin; None holds the stock.
    """

    entry: Entry
    members: Mapping[str, Any]
    holder: Any
    part: int | None = None

    @property
    def at(self) -> tuple[float, float]:
        """Where it stands in plan. [m]"""
        x, y = self.members["at"]
        return float(x), float(y)


Layout = tuple[Piece, ...]

#: Words for what is in the way, besides the parts of the tool; all else says why a holder cannot be so.
TABLE_END, OTHER, TOOL = "the end of the table", "another holder", "the tool's "


def with_pieces(set_up: SetUp, pieces: Iterable[Piece]) -> SetUp:
    """Return a set-up with holders put in; those of a part go to the part."""
    layout = tuple(pieces)
    parts = tuple(
        replace(part, held_by=(*part.held_by, *(piece.holder for piece in layout if piece.part == number)))
        for number, part in enumerate(set_up.parts)
    )
    held = tuple(piece.holder for piece in layout if piece.part is None)
    return replace(set_up, holders=(*set_up.holders, *held), parts=parts)


@dataclass(frozen=True, kw_only=True, eq=False)
class Ground:
    """All that placing looks at.

    Attributes
    ----------
    question : Question
    job : Job
        Of the set-up without holders.
    tables : Tables
    """

    question: Question
    job: Job
    tables: Tables

    @property
    def set_up(self) -> SetUp:
        """The set-up without holders."""
        return self.question.set_up

    @cached_property
    def plan(self) -> shapely.Polygon:
        """The stock in plan. [m]"""
        return shapely.Polygon(self.set_up.stock.plan)

    @cached_property
    def moves(self) -> Moves | None:
        """The way of the tool; None if only loads are stated."""
        return self.job.reading.moves if self.job.reading is not None else path_moves(self.set_up.cuts)

    @cached_property
    def freed(self) -> Mapping[int, int]:
        """Numbers of the parts that come free, and of the tool that frees each."""
        return freed_parts(self.job)

    @cached_property
    def spindle(self) -> Spindle:
        """The tools with what stands above them."""
        return spindle_of(self.set_up, self.tables)

    @cached_property
    def margins(self) -> Margins:
        """The margins to keep."""
        return margins_of(self.set_up, self.tables)[0]

    def snap(self, value: float, dimension: str = "length") -> float:
        """Return a quantity that comes out round in the document, so that it reads back as the same. [SI]"""
        system = self.question.system
        decimals = DECIMALS[system] if dimension == "length" else 1
        return parse(round(present(value, dimension, system), decimals), dimension, system)

    def down(self, value: float, dimension: str) -> float:
        """Return the next lower quantity of two decimals in the document. [SI]"""
        system = self.question.system
        return parse(math.floor(100.0 * present(value, dimension, system)) / 100.0, dimension, system)

    def point(self, at: Sequence[float]) -> tuple[float, float]:
        """Return a place in plan that comes out round. [m]"""
        return self.snap(float(at[0])), self.snap(float(at[1]))

    def say(self, value: float, dimension: str = "length") -> str:
        """Return a quantity in the caller's unit, as a sentence has it."""
        return written(value, dimension, self.question.system)

    def piece(self, entry: Entry, members: Mapping[str, Any], *, part: int | None = None) -> Piece:
        """Return a holder of the shop at a place."""
        return Piece(entry=entry, members=members, holder=entry.holder(members), part=part)

    def obstacles(self, pieces: Sequence[Piece], *, taken: Layout = ()) -> list[str]:
        """Return for each piece by itself what is in its way; empty if nothing is.

        Parameters
        ----------
        pieces : sequence of Piece
        taken : tuple of Piece
            What stands already.
        """
        found = [self._misfit(piece, taken) for piece in pieces]
        open_ = [number for number, word in enumerate(found) if not word]
        for number, word in self._met([pieces[number] for number in open_]).items():
            found[open_[number]] = word
        return found

    def bodies(self, piece: Piece, number: int = 0) -> list[Body]:
        """Return what of a piece stands on the table, under a number."""
        return list(piece.holder.bodies(number, self.set_up))

    def crowd(self, pieces: Sequence[Piece], *, taken: Layout = ()) -> bool:
        """Return whether any two holders would stand in one place."""
        every = (*taken, *pieces)
        return bool(overlaps([body for number, piece in enumerate(every) for body in self.bodies(piece, number)]))

    def free(self, pieces: Sequence[Piece], *, taken: Layout = (), what: str) -> list[Piece]:
        """Return the pieces that can stand where they are.

        Raises
        ------
        NoPlace
            If none can; says by what, and how many.
        """
        words = self.obstacles(pieces, taken=taken)
        left = [piece for piece, word in zip(pieces, words, strict=True) if not word]
        if not left:
            if len(set(words)) == 1 and words[0] not in (TABLE_END, OTHER) and not words[0].startswith(TOOL):
                raise NoPlace("impossible", words[0])
            raise NoPlace("no_place", _nowhere(what, words), value=0.0, limit=float(len(pieces)))
        return left

    def _misfit(self, piece: Piece, taken: Layout) -> str:
        try:
            piece.holder.contacts(0, self.set_up, self.tables)
        except ImpossibleSetUp as error:
            return said(error.faults[0].detail, error.faults[0].numbers, self.question.system)
        table = self.question.shop.table
        if table is not None and any(_beyond(body, table) for body in self.bodies(piece)):
            return TABLE_END
        return OTHER if taken and self.crowd([piece], taken=taken) else ""

    def _met(self, pieces: Sequence[Piece]) -> dict[int, str]:
        """Return for each piece that the tool would meet the part of the tool that does."""
        if self.moves is None:
            return {}
        bodies: list[Body] = []
        for number, piece in enumerate(pieces):
            bodies += [
                replace(body, radius=body.radius + self.margins.around(body), high=body.high + self.margins.above(body))
                for body in self.bodies(piece, number)
            ]
        found: dict[int, str] = {}
        for tool, parts in self.spindle.parts.items():
            rows = np.flatnonzero(self.moves.known & (self.moves.tool == tool))
            met = sweep(self.moves.start[rows], self.moves.end[rows], parts=parts, bodies=bodies)
            for part, body in sorted(set(zip(met.part.tolist(), met.body.tolist(), strict=True))):
                found.setdefault(bodies[body].holder, TOOL + parts[part].name.replace("_", " "))
        return found


def _beyond(body: Body, table: Any) -> bool:
    x0, y0, x1, y1 = body.box
    return bool(x0 < table[0][0] or y0 < table[0][1] or x1 > table[1][0] or y1 > table[1][1])


def _nowhere(what: str, words: Sequence[str]) -> str:
    if not words:
        return f"there is no place for a {what}"
    counts = Counter(words).most_common()
    said = ", ".join(f"{count} by {word}" for word, count in counts)
    return f"every one of {len(words)} places for a {what} is taken: {said}"
