"""The margin of every cutting move of a program, between two bounds, beside how the move cuts."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillstock.answers.hold import Assessed
from stillstock.answers.notices import Notice
from stillstock.engine.cutting.stock_removal import Removal
from stillstock.engine.mechanics.brackets import brackets_of
from stillstock.engine.mechanics.linear_program import GIVES_WAY
from stillstock.engine.program.moves import Moves
from stillstock.engine.set_up import FloatArray

__all__ = ["MoveClass", "MoveMargins", "load_factors", "move_margins", "move_notices"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

#: A factor this many times the required one needs no closer look. [-]
BEYOND = 10.0

#: Engaged arc from which a cut is a slot, and up to which it only finishes (a seventh of the diameter). [rad]
SLOT = 0.95 * np.pi
FINISH = np.pi / 4.0


class MoveClass(StrEnum):
    """How a move cuts."""

    FULL = "full"
    SLOT = "slot"
    SIDE = "side"
    FINISH = "finish"


@dataclass(frozen=True, kw_only=True)
class MoveMargins:
    """Every cutting move whose load could be reckoned, in the program's order, at typical numbers.

    Attributes
    ----------
    move, line : (n,) int arrays
        Row of the program's moves, and line.
    start, end : (n, 3) arrays
        [m]
    lower, upper : (n,) arrays
        The move's load factor lies between; `upper` is infinite where `lower` is beyond ten times the required factor,
        both where the loads only press home, both are 0 where nothing resists. [-]
    arc : (n, 2) array
        Where the engaged arc is entered and left, clockwise from the left of the feed; 0 to 2 pi all round. [rad]
    depth : (n,) array
        Of the cut, above the tip. [m]
    enters, exits : (n,) bool arrays
    kind : tuple of MoveClass
        Full: the tool's end cuts all round; slot, side, finish: by the width of the arc.
    settled : bool
        Whether every bracket is at most 2 % wide, or beyond.
    """

    move: IntArray
    line: IntArray
    start: FloatArray
    end: FloatArray
    lower: FloatArray
    upper: FloatArray
    arc: FloatArray
    depth: FloatArray
    enters: BoolArray
    exits: BoolArray
    kind: tuple[MoveClass, ...]
    settled: bool

    def __len__(self) -> int:
        return len(self.move)

    def lowest_first(self) -> IntArray:
        """Return the rows by the lower bound of their factor, the least first; equal ones in the program's order."""
        return np.argsort(self.lower, kind="stable")

    def listed(self, most: int) -> tuple[int, ...]:
        """Return the rows to list: all in the program's order, or the lowest ones first where there are too many."""
        rows = np.arange(len(self)) if len(self) <= most else self.lowest_first()[:most]
        return tuple(rows.tolist())


def load_factors(gauge: FloatArray) -> FloatArray:
    """Return load factors: infinite where the gauge is 0, 0 where nothing resists. [-]"""
    with np.errstate(divide="ignore"):
        factor: FloatArray = np.where(gauge < GIVES_WAY * 1e-3, 1.0 / np.maximum(gauge, 0.0), 0.0)
    return factor


def _kinds(removal: Removal, rows: IntArray) -> tuple[MoveClass, ...]:
    arc = removal.arc_end[rows] - removal.arc_start[rows]
    names = (MoveClass.FULL, MoveClass.SLOT, MoveClass.FINISH)
    place = np.select([removal.full[rows], arc >= SLOT, arc <= FINISH], [0, 1, 2], default=3)
    return tuple((*names, MoveClass.SIDE)[number] for number in place)


def move_margins(
    bodies: Sequence[Assessed], *, moves: Moves, removal: Removal, required: float, budget: int
) -> MoveMargins:
    """Return the margin of every cutting move: the least over the bodies that it acts on.

    Parameters
    ----------
    bodies : sequence of Assessed
        The whole stock, and each part that comes free, at typical numbers.
    moves : Moves
    removal : Removal
    required : float
        Factor that is asked for. [-]
    budget : int
        Linear programmes for all of them. [-]
    """
    least, most = np.zeros(len(moves)), np.zeros(len(moves))
    judged = np.zeros(len(moves), dtype=bool)
    settled = True
    for body in bodies:
        enough = 1.0 / (BEYOND * required)
        found = brackets_of(body.capacity, body.loads.sweep, body.worst, enough=enough, budget=budget)
        budget -= found.programmes
        mine = body.loads.move >= 0
        np.maximum.at(least, body.loads.move[mine], found.lower[mine])
        np.maximum.at(most, body.loads.move[mine], found.upper[mine])
        judged[body.loads.move[mine]] = True
        settled &= bool(found.settled.all())
    rows = np.nonzero(judged)[0]
    lower = load_factors(most[rows])
    return MoveMargins(
        move=rows,
        line=moves.line[rows],
        start=moves.start[rows],
        end=moves.end[rows],
        lower=lower,
        upper=np.where(lower > BEYOND * required, np.inf, load_factors(least[rows])),
        arc=np.column_stack([removal.arc_start[rows], removal.arc_end[rows]]),
        depth=removal.depth[rows],
        enters=removal.enters[rows],
        exits=removal.exits[rows],
        kind=_kinds(removal, rows),
        settled=settled,
    )


def move_notices(margins: MoveMargins, *, most: int) -> tuple[Notice, ...]:
    """Return what to know about a list of at most so many moves."""
    found = []
    if not margins.settled:
        detail = "the work that one request may cost was spent: some moves' margins are known within more than 2 %"
        found.append(Notice(code="wide_brackets", detail=detail, pointer="/program/text"))
    if len(margins) > most:
        detail = f"{len(margins)} moves cut: the {most} with the lowest margins are listed, the lowest first"
        found.append(Notice(code="moves_left_out", detail=detail, pointer="/program/text"))
    return tuple(found)
