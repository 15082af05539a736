"""Moves that meet a holder, the stock, the bed or the machine's limits."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from stillstock.engine.clearance.obstacles import PUCK, STOCK
from stillstock.engine.clearance.swept import TOUCH, sweep
from stillstock.engine.clearance.turned_body import ToolPart
from stillstock.engine.clearance.upper_parts import Rub
from stillstock.engine.cutting.stock_removal import Removal
from stillstock.engine.holding.body import Body
from stillstock.engine.mechanics.work import spend
from stillstock.engine.program.moves import RAPID, Moves
from stillstock.engine.set_up import FloatArray

__all__ = [
    "Against",
    "Meeting",
    "bed_meetings",
    "beyond_limits",
    "holder_meetings",
    "limit_meetings",
    "stock_meetings",
    "upper_meetings",
]

Place = tuple[float, float, float]

#: What it costs to note a meeting and to say it, by measurement. [units]
A_MEETING = 0.06


class Against(StrEnum):
    """What a move meets."""

    HOLDER = "holder"
    PUCK = "puck"
    STOCK = "stock"
    BED = "bed"
    LIMIT = "limit"


@dataclass(frozen=True, kw_only=True)
class Meeting:
    """A move that meets something, the worst of its line.

    Attributes
    ----------
    against : Against
    move, line : int
        Index of the move, and its line.
    rapid : bool
    tool : int
        Number of the tool.
    tool_part : str
        Part of the tool that meets it.
    holder : int
        Number of the holder; negative for all else.
    part : str
        Part of the holder, or the axis whose limit is passed.
    at : (3,) tuple
        Where the tool tip is when they first touch. [m]
    depth : float
        How deep they reach into each other, by the shorter way out. [m]
    rise : float
        By how much the tip would have to be higher; 0 where height does not help. [m]
    """

    against: Against
    move: int
    line: int
    rapid: bool
    tool: int
    tool_part: str
    holder: int
    part: str
    at: Place
    depth: float
    rise: float


def _place(point: FloatArray) -> Place:
    return float(point[0]), float(point[1]), float(point[2])


def holder_meetings(moves: Moves, *, parts: Mapping[int, Sequence[ToolPart]], bodies: Sequence[Body]) -> list[Meeting]:
    """Find every move at a known place, with a known tool, that meets a holder.

    Returns
    -------
    list of Meeting
        By line; of the moves of one line the deepest for each part of tool and holder.
    """
    worst: dict[tuple[int, str, int, str], Meeting] = {}
    for number, mine in parts.items():
        index = np.flatnonzero(moves.known & (moves.tool == number))
        met = sweep(moves.start[index], moves.end[index], parts=mine, bodies=bodies)
        spend(A_MEETING * len(met))
        deep = met.depth
        for k in np.argsort(met.move, kind="stable").tolist():
            move, part, body = int(index[met.move[k]]), mine[int(met.part[k])], bodies[int(met.body[k])]
            key = (int(moves.line[move]), part.name, body.holder, body.part)
            depth = float(deep[k])
            if key in worst and worst[key].depth >= depth:
                continue
            start, end = moves.start[move], moves.end[move]
            worst[key] = Meeting(
                against=Against.PUCK if body.holder == PUCK else Against.HOLDER,
                move=move,
                line=key[0],
                rapid=bool(moves.kind[move] == RAPID),
                tool=number,
                tool_part=part.name,
                holder=body.holder,
                part=body.part,
                at=_place(start + float(met.span[k, 0]) * (end - start)),
                depth=depth,
                rise=float(met.rise[k]),
            )
    return sorted(worst.values(), key=lambda meeting: meeting.move)


def _by_line(meetings: Sequence[Meeting]) -> list[Meeting]:
    worst: dict[tuple[int, str], Meeting] = {}
    for meeting in meetings:
        key = (meeting.line, meeting.part)
        if key not in worst or meeting.depth > worst[key].depth:
            worst[key] = meeting
    return list(worst.values())


@dataclass(frozen=True, kw_only=True)
class _Names:
    """What meets what, where no holder is met."""

    against: Against
    part: str
    tool_part: str = "cutter"


def _simple(moves: Moves, move: int, *, names: _Names, at: FloatArray, depth: float, rise: float) -> Meeting:
    return Meeting(
        against=names.against,
        move=move,
        line=int(moves.line[move]),
        rapid=bool(moves.kind[move] == RAPID),
        tool=int(moves.tool[move]),
        tool_part=names.tool_part,
        holder=STOCK,
        part=names.part,
        at=_place(at),
        depth=depth,
        rise=rise,
    )


def stock_meetings(moves: Moves, removal: Removal) -> list[Meeting]:
    """Find the rapids that pass through stock as it stands at that moment, deepest of each line.

    Depth and place are those of the height map, whose cells they are rounded to.
    """
    found = []
    for move in np.flatnonzero(removal.rapid_hit).tolist():
        depth = float(removal.depth[move])
        start, end = moves.start[move], moves.end[move]
        at = start + float(removal.span[move, 0]) * (end - start)
        found.append(
            _simple(moves, move, names=_Names(against=Against.STOCK, part="stock"), at=at, depth=depth, rise=depth)
        )
    return _by_line(found)


def upper_meetings(moves: Moves, rubs: Sequence[Rub]) -> list[Meeting]:
    """Return what the parts above the cutter meet of the stock, deepest of each line and part.

    Depth and place are those of the height map, whose cells they are rounded to.
    """
    worst: dict[tuple[int, str], Meeting] = {}
    for rub in rubs:
        names = _Names(against=Against.STOCK, part="stock", tool_part=rub.part.name)
        depth = min(rub.rise, rub.sideways)
        meeting = _simple(moves, rub.move, names=names, at=rub.at, depth=depth, rise=rub.rise)
        key = (meeting.line, rub.part.name)
        if key not in worst or worst[key].rise < meeting.rise:
            worst[key] = meeting
    return list(worst.values())


def bed_meetings(moves: Moves, *, bed: float, allowed: float) -> list[Meeting]:
    """Find the moves that end deeper in the bed than allowed, deepest of each line.

    Parameters
    ----------
    moves : Moves
    bed : float
        Height of the bed's face. [m]
    allowed : float
        Depth that a cut may go into it. [m]
    """
    deep = bed - moves.end[:, 2]  # where a move starts the one before it has ended
    met = [
        _simple(
            moves,
            move,
            names=_Names(against=Against.BED, part="bed"),
            at=moves.end[move],
            depth=float(deep[move]),
            rise=float(deep[move]) - allowed,
        )
        for move in np.flatnonzero(moves.known & (deep > allowed + TOUCH)).tolist()
    ]
    return _by_line(met)


def beyond_limits(moves: Moves, *, envelope: tuple[Place, Place]) -> FloatArray:
    """Return how far each move ends beyond where the tool tip can go, by axis, (n, 3); negative within. [m]"""
    beyond: FloatArray = np.maximum(np.array(envelope[0]) - moves.end, moves.end - np.array(envelope[1]))
    beyond[~moves.known] = -np.inf
    return beyond


def limit_meetings(moves: Moves, *, envelope: tuple[Place, Place]) -> list[Meeting]:
    """Find the moves that end beyond where the tool tip can go, farthest of each line and axis."""
    high = np.array(envelope[1])
    beyond = beyond_limits(moves, envelope=envelope)
    found = []
    for move, axis in np.argwhere(beyond > TOUCH).tolist():
        found.append(
            _simple(
                moves,
                move,
                names=_Names(
                    against=Against.LIMIT,
                    part=f"{'xyz'[axis]}_{'end' if moves.end[move, axis] > high[axis] else 'start'}",
                    tool_part="tip",
                ),
                at=moves.end[move],
                depth=float(beyond[move, axis]),
                rise=0.0,
            )
        )
    return _by_line(found)
