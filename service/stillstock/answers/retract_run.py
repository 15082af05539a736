"""The moves that a retract question is about: a program's, or those that described cuts stand for."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from stillstock.answers.job import CELLS, finding_notices, refuse_too_many_lines, size_notices
from stillstock.answers.machine_places import hangs, machine_frame
from stillstock.answers.notices import Notice
from stillstock.answers.retract_tools import Spindle
from stillstock.engine.clearance.legs import Journey, Leg, journey
from stillstock.engine.clearance.upper_parts import Rub, StockWatch
from stillstock.engine.cutting.stock_removal import Removal, watched_removal
from stillstock.engine.program.moves import FEED, RAPID, Moves, ToolChange
from stillstock.engine.program.read import read_program
from stillstock.engine.set_up import Cut, FloatArray, SetUp, ToolKind
from stillstock.settings import Limits

__all__ = ["Run", "run_of"]


@dataclass(frozen=True, kw_only=True)
class Run:
    """Moves in order, and what is known of them.

    Attributes
    ----------
    stated : Moves
        That the program or the cuts stand for; of described cuts the line is the number of the cut, from 1.
    journey : Journey
        The same with the moves that the machine makes by itself.
    removal : Removal or None
        Stock removed along the journey; None where described cuts keep all above the cutter out of it.
    rubs : tuple of Rub
        What the parts above the cutter meet of it.
    cuts : tuple of str
        Names of described cuts; empty for a program.
    notices : tuple of Notice
    """

    stated: Moves
    journey: Journey
    removal: Removal | None
    rubs: tuple[Rub, ...]
    cuts: tuple[str, ...]
    notices: tuple[Notice, ...]

    @property
    def moves(self) -> Moves:
        """Every move, stated or made by the machine itself."""
        return self.journey.moves

    def leg(self, move: int) -> Leg:
        """Return the part of the way that a move belongs to."""
        return self.journey.leg(move)

    def line(self, line: int) -> int:
        """Return the line of the program that a move's line is; 0 for none."""
        return 0 if self.cuts else line

    def cut(self, line: int) -> str:
        """Return the name of the cut that a move's line is; empty for a program's."""
        return self.cuts[line - 1] if self.cuts and 0 < line <= len(self.cuts) else ""


def run_of(set_up: SetUp, *, spindle: Spindle, limits: Limits, height: float) -> Run | None:
    """Return the moves of a set-up; None if it states neither a program nor cuts.

    Parameters
    ----------
    set_up : SetUp
    spindle : Spindle
        Its tools.
    limits : Limits
    height : float
        At which the tool is taken to go from one described cut to the next. [m]

    Raises
    ------
    TooMuchWork
        If the program has more lines or moves than the limit.
    """
    if set_up.program is not None:
        return _of_program(set_up, set_up.program, spindle, limits)
    if set_up.cuts:
        moves = _of_cuts(set_up.cuts, height, park=set_up.machine.park)
        return _of_moves(moves, set_up, spindle)
    return None


def _of_program(set_up: SetUp, text: str, spindle: Spindle, limits: Limits) -> Run:
    moves, changes, notices = _program(set_up, text, limits)
    way = _journey(moves, set_up, changes)
    watch = StockWatch(way.moves, set_up.stock, set_up.tools, spindle.parts)
    removal = watched_removal(way.moves, set_up.stock, set_up.bed, set_up.tools, max_cells=CELLS, watch=watch)
    if not removal.cutting.any():
        detail = "no move of the program touches the stock: check the zero and the stock's origin"
        notices.append(Notice(code="no_cut", detail=detail, pointer="/program/text", doubt=True))
    return Run(stated=moves, journey=way, removal=removal, rubs=tuple(watch.rubs), cuts=(), notices=tuple(notices))


def _of_moves(moves: Moves, set_up: SetUp, spindle: Spindle) -> Run:
    """Return the run of described cuts; their rapids pass above the stock."""
    way = _journey(moves, set_up, ())
    watch = StockWatch(way.moves, set_up.stock, set_up.tools, spindle.parts)
    removal = None
    if watch.waits_for < len(way.moves):
        removal = watched_removal(way.moves, set_up.stock, set_up.bed, set_up.tools, max_cells=CELLS, watch=watch)
    names = tuple(cut.name for cut in set_up.cuts)
    return Run(stated=moves, journey=way, removal=removal, rubs=tuple(watch.rubs), cuts=names, notices=())


def _program(set_up: SetUp, text: str, limits: Limits) -> tuple[Moves, tuple[ToolChange, ...], list[Notice]]:
    refuse_too_many_lines(text, limits)
    reading = read_program(
        text,
        max_moves=limits.program_moves,
        park=set_up.machine.park,
        tool_numbers=tuple(set_up.tools),
        machine=machine_frame(set_up),
    )
    notices = finding_notices(reading) + size_notices(reading.moves, set_up)
    moves, assumed = _with_tools(reading.moves, set_up)
    notices += assumed + _probe_notices(moves, set_up)
    if set_up.cuts:
        detail = "the program is judged; the described cuts beside it are not"
        notices.append(Notice(code="cuts_left_out", detail=detail, pointer="/cuts"))
    return moves, reading.changes, notices


def _probe_notices(moves: Moves, set_up: SetUp) -> list[Notice]:
    """Return that the spindle turns with a probe in it, if it does."""
    probes = [number for number, tool in set_up.tools.items() if tool.kind is ToolKind.PROBE]
    turning = np.isin(moves.tool, probes) & (moves.speed != 0.0)
    if not turning.any():
        return []
    line = int(moves.line[np.argmax(turning)])
    detail = "the spindle turns with a probe in it"
    return [Notice(code="probe_turns", detail=detail, pointer="/program/text", line=line, doubt=True)]


def _journey(moves: Moves, set_up: SetUp, changes: Sequence[ToolChange]) -> Journey:
    """Return the moves with the ways to tool changes and back, those of unknown tools as of unknown place."""
    machine = set_up.machine
    found = journey(moves, changes=changes, park=machine.park, tool_change=machine.tool_change, hangs=hangs(set_up))
    known = found.moves.known & np.isin(found.moves.tool, list(set_up.tools))
    return replace(found, moves=replace(found.moves, known=known))


def _with_tools(moves: Moves, set_up: SetUp) -> tuple[Moves, list[Notice]]:
    """Return the moves with the tool that is in the spindle before the first call, and without those of unknown tools.

    Before the first call it is the one that is called first, or the only one that is described.
    """
    tool, notices = moves.tool.copy(), []
    bare = tool == 0
    called = tool[~bare]
    only = next(iter(set_up.tools)) if len(set_up.tools) == 1 else 0
    taken = int(called[0]) if len(called) else only
    leading = bare & (np.cumsum(~bare) == 0)
    if leading.any() and taken:
        tool[leading] = taken
        detail = f"tool {taken} was taken to be in the spindle before any is called"
        notices.append(Notice(code="tool_assumed", detail=detail, pointer="/program/text", line=int(moves.line[0])))
    known = moves.known & np.isin(tool, list(set_up.tools))
    lost = moves.known & ~known
    if lost.any():
        detail = f"{int(lost.sum())} move(s) not judged: their tool is not described among tools"
        line = int(moves.line[np.argmax(lost)])
        notices.append(Notice(code="tool_unknown", detail=detail, pointer="/tools", line=line, doubt=True))
    return replace(moves, tool=tool, known=known), notices


def _of_cuts(cuts: Sequence[Cut], height: float, *, park: tuple[float, float, float] | None) -> Moves:
    """Return the moves of described cuts: in from the park position, down and along each at the feed, up and across."""
    rows: list[tuple[int, int, FloatArray, FloatArray, float, int]] = []
    last = None if park is None else np.array(park)
    for number, cut in enumerate(cuts, 1):
        first = cut.path[0]
        above = np.array([first[0], first[1], max(height, first[2])])
        if last is not None:
            over = np.array([last[0], last[1], max(above[2], last[2])])
            above[2] = over[2]
            rows += [(number, RAPID, last, over, 0.0, cut.tool), (number, RAPID, over, above, 0.0, cut.tool)]
        points = [above, *cut.path]
        rows += [(number, FEED, a, b, cut.feed, cut.tool) for a, b in pairwise(points)]
        last = np.asarray(cut.path[-1])
    if last is not None:
        up = np.array([last[0], last[1], max(height, last[2])])
        rows.append((len(cuts), RAPID, last, up, 0.0, cuts[-1].tool))
    line, kind, start, end, feed, tool = zip(*rows, strict=True)
    return Moves(
        line=np.array(line, dtype=np.int64),
        kind=np.array(kind, dtype=np.int64),
        start=np.array(start),
        end=np.array(end),
        feed=np.array(feed),
        speed=np.zeros(len(rows)),
        tool=np.array(tool, dtype=np.int64),
        known=np.ones(len(rows), dtype=np.bool_),
    )
