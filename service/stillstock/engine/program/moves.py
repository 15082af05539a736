"""The moves of a program, as arrays: one row a straight move."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.set_up import FloatArray

__all__ = ["FEED", "PROBE", "RAPID", "Finding", "Moves", "Reading", "ToolChange"]

IntArray = NDArray[np.int64]

RAPID = 0
FEED = 1
PROBE = 2


@dataclass(frozen=True, kw_only=True)
class Finding:
    """Something in a program that the caller should know.

    Attributes
    ----------
    line : int
        1-based line of the caller's text; 0 for the program as a whole.
    code : str
        Constant word: ``"unread_word"``, ``"no_unit"``, ``"arc_radius"``, ``"missing_tool"``, ``"no_feed"``, ...
    detail : str
        One sentence.
    doubt : bool
        True if the answer cannot be trusted to be safe because of it: the verdict is then at best unknown.
    """

    line: int
    code: str
    detail: str
    doubt: bool = False


@dataclass(frozen=True, kw_only=True)
class Moves:
    """Straight moves in program order; arcs are chords.

    Attributes
    ----------
    line : (n,) int array
        1-based line of the program.
    kind : (n,) int array
        RAPID, FEED or PROBE.
    start, end : (n, 3) arrays
        Tool-tip position in the work frame. [m]
    feed : (n,) array
        Rate along the path; 0 for a rapid. [m/s]
    speed : (n,) array
        Spindle speed, negative for M4, 0 stopped. [rad/s]
    tool : (n,) int array
        Number of the tool in the spindle; 0 if none was called.
    known : (n,) bool array
        False where the position in the work frame is not known (machine-frame moves, before the first full position).
    """

    line: IntArray
    kind: IntArray
    start: FloatArray
    end: FloatArray
    feed: FloatArray
    speed: FloatArray
    tool: IntArray
    known: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.line)


@dataclass(frozen=True, kw_only=True)
class ToolChange:
    """A tool that is put in the spindle: on which line, before which move, and its number."""

    line: int
    before: int
    tool: int


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What was read from a program: moves, findings, tool changes in their order, and how many lines it has."""

    moves: Moves
    findings: tuple[Finding, ...]
    changes: tuple[ToolChange, ...]
    lines: int
