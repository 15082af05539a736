"""The moves while they are read: plain columns, made into arrays once."""

import math
from array import array
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.program.findings import FindingList
from stillstock.engine.program.moves import FEED, RAPID, Moves
from stillstock.errors import Fault, TooMuchWork

__all__ = ["GREATEST", "Track"]

BoolArray = NDArray[np.bool_]

GREATEST = 1e3
"""Greatest coordinate that is believed: 1e6 mm. [m]"""


class Track:
    """Rows of moves, each by its end; a move starts where the one before it ended.

    An end that is not known is NaN until `moves` fills it.
    """

    def __init__(self, *, start: tuple[float, float, float], limit: int) -> None:
        self.start = start
        self.limit = limit
        self.line = array("q")
        self.kind = array("b")
        self.end = array("d")
        self.feed = array("d")
        self.speed = array("d")
        self.tool = array("q")

    def __len__(self) -> int:
        return len(self.line)

    def amend(self, row: int, axis: int, value: float) -> None:
        """Let a move end elsewhere along an axis, as long as it is the last. [m]"""
        if row == len(self) - 1:
            self.end[3 * row + axis] = value

    def refuse(self, line: int, seen: float) -> NoReturn:
        """Refuse the program for having more moves than one request may cost."""
        shown = int(min(seen, 1e15))
        detail = (
            f"the program has more than {self.limit} straight moves (arcs as chords); split it or raise the chord error"
        )
        fault = Fault(pointer="/program/text", code="limit", detail=detail, limit=self.limit, seen=shown, line=line)
        raise TooMuchWork([fault])

    def moves(self, findings: FindingList) -> Moves:
        """Columns as arrays; what only the whole program shows goes to `findings`."""
        line = np.array(self.line, dtype=np.int64)
        kind = np.array(self.kind, dtype=np.int64)
        end = np.array(self.end, dtype=np.float64).reshape(-1, 3)
        with np.errstate(invalid="ignore"):
            huge = np.asarray((np.abs(end) > GREATEST).any(axis=1), dtype=np.bool_)
        end[~(np.abs(end) <= GREATEST)] = math.nan
        start = np.vstack([np.array([self.start]), end[:-1]]) if len(end) else end.copy()
        known = np.asarray(np.isfinite(np.hstack([start, end])).all(axis=1), dtype=np.bool_)
        moves = Moves(
            line=line,
            kind=kind,
            start=np.nan_to_num(np.where(np.isfinite(start), start, end), nan=0.0),
            end=np.nan_to_num(np.where(np.isfinite(end), end, start), nan=0.0),
            feed=np.where(kind == RAPID, 0.0, np.nan_to_num(np.array(self.feed, dtype=np.float64), posinf=0.0)),
            speed=np.array(self.speed, dtype=np.float64),
            tool=np.array(self.tool, dtype=np.int64),
            known=known,
        )
        _note(findings, moves, huge, "number", "a coordinate beyond 1e6 mm was not believed")
        cutting = kind == FEED
        _note(findings, moves, cutting & ~known, "unknown_position", "a cutting move whose place is not known")
        _note(findings, moves, cutting & ~(moves.feed > 0.0), "no_feed", "a cutting move before any feed was set")
        _note(
            findings, moves, cutting & (moves.speed == 0.0), "no_speed", "a cutting move with the spindle not turning"
        )
        return moves


def _note(findings: FindingList, moves: Moves, where: BoolArray, code: str, detail: str) -> None:
    """One finding for all the moves marked in `where`, at the first of their lines."""
    lines = np.unique(moves.line[where])
    if len(lines):
        findings.add(int(lines[0]), code, detail, doubt=True, lines=len(lines))
