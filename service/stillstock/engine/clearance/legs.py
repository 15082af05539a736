"""Parts of the way: in from the park position, cuts, between them, probing, tool changes and back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.program.moves import FEED, PROBE, RAPID, Moves, ToolChange

__all__ = ["LEGS", "Journey", "Leg", "journey"]

Place = tuple[float, float, float]
IntArray = NDArray[np.int64]
N = TypeVar("N", bound=np.generic)


class Leg(StrEnum):
    """Part of the way that a move belongs to."""

    NONE = ""
    WAY_IN = "way_in"
    CUT = "cut"
    BETWEEN_CUTS = "between_cuts"
    PROBING = "probing"
    TOOL_CHANGE = "tool_change"
    WAY_BACK = "way_back"


LEGS = tuple(Leg)
_CODE = {leg: code for code, leg in enumerate(LEGS)}


@dataclass(frozen=True, kw_only=True)
class Journey:
    """The moves of a job with those that the machine makes by itself, and the leg that each belongs to.

    Attributes
    ----------
    moves : Moves
    code : (n,) int array
        Index into `LEGS`. [-]
    stated : (n,) bool array
        Whether the program states the move; else the machine makes it by itself.
    """

    moves: Moves
    code: IntArray
    stated: NDArray[np.bool_]

    def leg(self, move: int) -> Leg:
        """Return the leg of a move."""
        return LEGS[self.code[move]] if move >= 0 else Leg.NONE


@dataclass(frozen=True, kw_only=True)
class _Row:
    """A move that the program does not state: the index before which it comes, its line, tool, ends and leg."""

    before: int
    line: int
    tool: int
    start: Place
    end: Place
    leg: Leg


def _ways(start: Place, end: Place) -> list[tuple[Place, Place]]:
    """Return the straight moves from a place to another as machines take them: up first, then across, then down."""
    top = max(start[2], end[2])
    points = [start, (*start[:2], top), (*end[:2], top), end]
    return [(a, b) for a, b in pairwise(points) if a != b]


def _lowered(place: Place, hangs: Mapping[int, float], tool: int) -> Place:
    return place[0], place[1], place[2] - hangs.get(tool, 0.0)


def _place(moves: Moves, before: int, park: Place | None) -> Place | None:
    """Return where the tool stands before a move, as far as it is known."""
    if before == 0:
        return park
    if not moves.known[before - 1]:
        return None
    x, y, z = moves.end[before - 1].tolist()
    return x, y, z


def journey(
    moves: Moves,
    *,
    changes: Sequence[ToolChange],
    park: Place | None,
    tool_change: Place | None,
    hangs: Mapping[int, float],
) -> Journey:
    """Return the moves with the ways to tool changes and back to where the machine is parked.

    Parameters
    ----------
    moves : Moves
    changes : sequence of ToolChange
        In their order.
    park, tool_change : (3,) tuple or None
        Where the first tool's tip is parked and changed; None leaves that way out. [m]
    hangs : mapping of int to float
        By how much the tip of each tool hangs lower than the first one's. [m]

    Notes
    -----
    After a tool change the machine stands where it stood before (NISTIR 6556, 2000, section 3.6.3, from memory). Every
    way goes straight up first, then across.
    """
    rows: list[_Row] = []
    for change in changes if tool_change is not None else ():
        at = _place(moves, change.before, park)
        if at is None or tool_change is None:
            continue
        old = int(moves.tool[change.before - 1]) if change.before else change.tool
        for tool, there in ((old, True), (change.tool, False)):
            place = _lowered(tool_change, hangs, tool)
            ways = _ways(at, place) if there else _ways(place, at)
            rows += [
                _Row(before=change.before, line=change.line, tool=tool, start=a, end=b, leg=Leg.TOOL_CHANGE)
                for a, b in ways
            ]
    last = _place(moves, len(moves), None) if len(moves) else None
    if park is not None and last is not None:
        tool, line = int(moves.tool[-1]), int(moves.line[-1])
        home = _lowered(park, hangs, tool)
        rows += [
            _Row(before=len(moves), line=line, tool=tool, start=a, end=b, leg=Leg.WAY_BACK)
            for a, b in _ways(last, home)
        ]
    return _with_rows(moves, _codes(moves), rows)


def _codes(moves: Moves) -> IntArray:
    """Return the leg of each move that the program states. [-]"""
    code = np.full(len(moves), _CODE[Leg.BETWEEN_CUTS])
    feeds = np.flatnonzero(moves.kind == FEED)
    index = np.arange(len(moves))
    before = np.searchsorted(feeds, index) - 1
    after = np.searchsorted(feeds, index, side="right")
    if len(feeds):
        inside = (before >= 0) & (after < len(feeds))
        tools = moves.tool[feeds]
        changed = tools[np.clip(before, 0, None)] != tools[np.clip(after, None, len(feeds) - 1)]
        code[inside & changed] = _CODE[Leg.TOOL_CHANGE]
        code[after >= len(feeds)] = _CODE[Leg.WAY_BACK]
    code[before < 0] = _CODE[Leg.WAY_IN]
    code[feeds] = _CODE[Leg.CUT]
    code[moves.kind == PROBE] = _CODE[Leg.PROBING]
    return code


def _with_rows(moves: Moves, code: IntArray, rows: Sequence[_Row]) -> Journey:
    """Insert moves before those that they come before, in their order."""
    stated = np.ones(len(moves), dtype=np.bool_)
    if not rows:
        return Journey(moves=moves, code=code, stated=stated)
    at = [row.before for row in rows]

    def inserted(column: NDArray[N], values: Sequence[object]) -> NDArray[N]:
        return np.insert(column, at, np.array(values, dtype=column.dtype), axis=0)

    zeros = [0.0] * len(rows)
    whole = replace(
        moves,
        line=inserted(moves.line, [row.line for row in rows]),
        kind=inserted(moves.kind, [RAPID] * len(rows)),
        start=inserted(moves.start, [row.start for row in rows]),
        end=inserted(moves.end, [row.end for row in rows]),
        feed=inserted(moves.feed, zeros),
        speed=inserted(moves.speed, zeros),
        tool=inserted(moves.tool, [row.tool for row in rows]),
        known=inserted(moves.known, [True] * len(rows)),
    )
    codes = inserted(code, [_CODE[row.leg] for row in rows])
    return Journey(moves=whole, code=codes, stated=inserted(stated, [False] * len(rows)))
