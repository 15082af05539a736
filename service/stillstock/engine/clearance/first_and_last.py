"""The way in, the way back and the order of up and across: the most frequent crash of all."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from stillstock.engine.clearance.holder_collision import Meeting
from stillstock.engine.clearance.legs import Journey
from stillstock.engine.clearance.swept import TOUCH
from stillstock.engine.program.moves import FEED, RAPID, Moves

__all__ = ["Order", "PathNote", "order_of", "path_notes"]


class Order(StrEnum):
    """In what order a rapid goes up or down and across, where the other order would have cleared."""

    NONE = ""
    ACROSS_BEFORE_UP = "across_before_up"
    DOWN_BEFORE_ACROSS = "down_before_across"
    ACROSS_WHILE_UP = "across_while_up"
    ACROSS_WHILE_DOWN = "across_while_down"


@dataclass(frozen=True, kw_only=True)
class PathNote:
    """Something about the way as a whole.

    Attributes
    ----------
    code : str
        ``"park_unknown"``, ``"place_unknown"``, ``"never_retracts"``, ``"ends_low"`` or ``"tool_change_low"``.
    line : int
        Line of the program; 0 for none.
    height : float
        Of the tool tip there. [m]
    count : int
        Moves that it is about. [-]
    """

    code: str
    line: int
    height: float = 0.0
    count: int = 1


def order_of(way: Journey, meeting: Meeting) -> Order:
    """Return which order of up and across makes a rapid meet something that it would have cleared the other way.

    Notes
    -----
    Looks at the rapid itself, and at the moves before and after it for as long as they are rapids of the program.
    """
    k, moves = meeting.move, way.moves
    start, end = moves.start[k], moves.end[k]
    if moves.kind[k] != RAPID or np.hypot(*(end - start)[:2]) <= TOUCH:
        return Order.NONE
    needed = min(start[2], end[2]) + meeting.rise - TOUCH
    if abs(end[2] - start[2]) > TOUCH and max(start[2], end[2]) >= needed:
        return Order.ACROSS_WHILE_DOWN if start[2] > end[2] else Order.ACROSS_WHILE_UP
    if _reaches(way, k, +1, needed):
        return Order.ACROSS_BEFORE_UP
    return Order.DOWN_BEFORE_ACROSS if _reaches(way, k, -1, needed) else Order.NONE


def _reaches(way: Journey, k: int, sense: int, needed: float) -> bool:
    """Tell whether rapids right after (+1) or before (-1) stand as high as needed over the same place."""
    moves = way.moves
    place = moves.end[k, :2] if sense > 0 else moves.start[k, :2]
    k += sense
    while 0 <= k < len(moves) and moves.kind[k] == RAPID and moves.known[k] and way.stated[k]:
        there = moves.end[k] if sense > 0 else moves.start[k]
        if np.hypot(*(there[:2] - place)) > TOUCH:
            return False
        if there[2] >= needed:
            return True
        k += sense
    return False


def path_notes(moves: Moves, *, clearance: float, stock_top: float) -> tuple[PathNote, ...]:
    """Return what is to be said of the way in, of tool changes and of the way back.

    Parameters
    ----------
    moves : Moves
    clearance : float
        Lowest safe height over everything. [m]
    stock_top : float
        Height of the stock's top. [m]
    """
    if not len(moves):
        return ()
    notes = []
    unknown = np.flatnonzero(~moves.known)
    first = int(unknown[0]) if len(unknown) else -1
    leading = int(np.argmax(moves.known)) if moves.known.any() else len(moves)
    if first == 0:
        notes.append(PathNote(code="park_unknown", line=int(moves.line[0]), count=leading))
    if len(unknown) > leading * (first == 0):
        later = unknown[unknown >= leading] if first == 0 else unknown
        notes.append(PathNote(code="place_unknown", line=int(moves.line[later[0]]), count=len(later)))
    return (*notes, *_retracting(moves, clearance=clearance, stock_top=stock_top))


def _retracting(moves: Moves, *, clearance: float, stock_top: float) -> list[PathNote]:
    notes = []
    cuts = np.flatnonzero((moves.kind == FEED) & moves.known & (moves.end[:, 2] < stock_top - TOUCH))
    if len(cuts):
        after = slice(int(cuts[0]), None)
        top = float(moves.end[after, 2][moves.known[after]].max())
        if top <= stock_top + TOUCH and moves.known[after].all():
            notes.append(PathNote(code="never_retracts", line=int(moves.line[cuts[0]]), height=top))
        elif moves.known[-1] and moves.end[-1, 2] < clearance - TOUCH:
            notes.append(PathNote(code="ends_low", line=int(moves.line[-1]), height=float(moves.end[-1, 2])))
    changes = np.flatnonzero((moves.tool[1:] != moves.tool[:-1]) & (moves.tool[:-1] != 0) & moves.known[:-1])
    low = changes[moves.end[changes, 2] < clearance - TOUCH]
    if len(low):
        k = int(low[0])
        notes.append(
            PathNote(code="tool_change_low", line=int(moves.line[k + 1]), height=float(moves.end[k, 2]), count=len(low))
        )
    return notes
