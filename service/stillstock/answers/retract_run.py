"""The moves that a retract question is about: a program's, or those that described cuts stand for."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from stillstock.answers.job import CELLS, finding_notices, size_notices
from stillstock.answers.notices import Notice
from stillstock.engine.cutting.stock_removal import Removal, remove_stock
from stillstock.engine.program.moves import FEED, RAPID, Moves
from stillstock.engine.program.read import read_program
from stillstock.engine.set_up import Cut, FloatArray, SetUp
from stillstock.settings import Limits

__all__ = ["Run", "run_of"]


@dataclass(frozen=True, kw_only=True)
class Run:
    """Moves in order, and what is known of them.

    Attributes
    ----------
    moves : Moves
        Of described cuts the line is the number of the cut, from 1.
    removal : Removal or None
        Stock removed along a program.
    cuts : tuple of str
        Names of described cuts; empty for a program.
    notices : tuple of Notice
    """

    moves: Moves
    removal: Removal | None
    cuts: tuple[str, ...]
    notices: tuple[Notice, ...]

    def line(self, line: int) -> int:
        """Return the line of the program that a move's line is; 0 for none."""
        return 0 if self.cuts else line

    def cut(self, line: int) -> str:
        """Return the name of the cut that a move's line is; empty for a program's."""
        return self.cuts[line - 1] if self.cuts and 0 < line <= len(self.cuts) else ""


def run_of(set_up: SetUp, *, limits: Limits, height: float) -> Run | None:
    """Return the moves of a set-up; None if it states neither a program nor cuts.

    Parameters
    ----------
    set_up : SetUp
    limits : Limits
    height : float
        At which the tool is taken to go from one described cut to the next. [m]

    Raises
    ------
    TooMuchWork
        If the program has more moves than the limit.
    """
    if set_up.program is not None:
        return _program(set_up, set_up.program, limits)
    if set_up.cuts:
        names = tuple(cut.name for cut in set_up.cuts)
        return Run(moves=_of_cuts(set_up.cuts, height), removal=None, cuts=names, notices=())
    return None


def _program(set_up: SetUp, text: str, limits: Limits) -> Run:
    park = set_up.machine.park
    reading = read_program(text, max_moves=limits.program_moves, park=park, tool_numbers=tuple(set_up.tools))
    notices = finding_notices(reading) + size_notices(reading.moves, set_up)
    moves, assumed = _with_tools(reading.moves, set_up)
    notices += assumed
    if set_up.cuts:
        detail = "the program is judged; the described cuts beside it are not"
        notices.append(Notice(code="cuts_left_out", detail=detail, pointer="/cuts"))
    removal = remove_stock(moves, set_up.stock, set_up.bed, set_up.tools, max_cells=CELLS)
    if not removal.cutting.any():
        detail = "no move of the program touches the stock: check the zero and the stock's origin"
        notices.append(Notice(code="no_cut", detail=detail, pointer="/program/text", doubt=True))
    return Run(moves=moves, removal=removal, cuts=(), notices=tuple(notices))


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


def _of_cuts(cuts: Sequence[Cut], height: float) -> Moves:
    """Return the moves of described cuts: down at the feed to each, along it, and up and across between them."""
    rows: list[tuple[int, int, FloatArray, FloatArray, float, int]] = []
    last: FloatArray | None = None
    for number, cut in enumerate(cuts, 1):
        first = cut.path[0]
        above = np.array([first[0], first[1], max(height, first[2])])
        if last is not None:
            over = np.array([last[0], last[1], above[2]])
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
