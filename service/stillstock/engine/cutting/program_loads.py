"""The loads of a program: moves that cut alike share one fan of loads."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.coefficients import Box
from stillstock.engine.cutting.engagement import Arc, Engagement
from stillstock.engine.cutting.job_sweep import Places, capped, chosen, fan_of
from stillstock.engine.cutting.loads import cut_curves
from stillstock.engine.cutting.milling import ENTRY
from stillstock.engine.cutting.stock_removal import Removal
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import FloatArray, Tool
from stillstock.tables.scatter import Corner

__all__ = ["Alike", "alike", "program_places"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

#: Most groups of moves that cut alike; a program with more is grouped by coarser steps. [-]
MOST_GROUPS = 400


#: A descent within this of the vertical is a plunge, whose sides cut nothing. [rad]
PLUNGE = np.pi / 60.0

#: Narrowest arc of a group. [rad]
LEAST_ARC = np.pi / 96.0


#: Whole numbers up to here are kept exactly. [-]
LARGEST = 2**62


@dataclass(frozen=True, kw_only=True)
class _Steps:
    """Steps of engagement within which moves are alike.

    Attributes
    ----------
    arc, slope : float
        [rad]
    depth, rate : float
        Ratios of one step to the next; the rate is that of feed and speed. [-]
    """

    arc: float
    slope: float
    depth: float
    rate: float


#: From fine to coarse. [rad], [-]
STEPS = tuple(
    _Steps(arc=np.pi / 48.0 * arc, slope=np.pi / 60.0 * min(arc, 4), depth=1.04**depth, rate=1.02**depth)
    for arc, depth in ((1, 1), (2, 2), (4, 2), (4, 3), (6, 4), (8, 4), (8, 8), (16, 16))
)


@dataclass(frozen=True, kw_only=True)
class Alike:
    """Moves that share one engagement, tool, feed and speed.

    Attributes
    ----------
    rows : (k,) int array
        Rows of the program's moves.
    tool : int
    engagement : Engagement
    feed, speed : float
        [m/s], [rad/s]
    enters : bool
        Whether these moves knock as they enter the work.
    """

    rows: IntArray
    tool: int
    engagement: Engagement
    feed: float
    speed: float
    enters: bool


def _steps_up(values: FloatArray, ratio: float) -> IntArray:
    """Return the least k with ratio^k >= value, for positive values."""
    steps: IntArray = np.ceil(np.log(np.maximum(values, 1e-12)) / np.log(ratio) - 1e-9).astype(np.int64)
    return steps


def _slope(moves: Moves, rows: IntArray) -> FloatArray:
    step = moves.end[rows] - moves.start[rows]
    slope: FloatArray = np.arctan2(-step[:, 2], np.hypot(step[:, 0], step[:, 1]))
    return np.maximum(slope, 0.0)


def alike(moves: Moves, removal: Removal, *, tools: Mapping[int, Tool]) -> tuple[Alike, ...]:
    """Return the cutting moves of a program in groups that cut alike, each as its greatest member does.

    Parameters
    ----------
    moves : Moves
    removal : Removal
    tools : mapping of int to Tool
        Moves of a tool that is not there, or without feed or speed, are left out: the reader has found them.
    """
    usable = removal.cutting & moves.known & (moves.kind == FEED) & (moves.feed > 0.0) & (moves.speed != 0.0)
    usable &= np.isin(moves.tool, list(tools))
    rows = np.nonzero(usable)[0]
    if not len(rows):
        return ()
    which = _grouped(moves, removal, rows)
    order = np.argsort(which, kind="stable")
    members = np.split(rows[order], np.cumsum(np.bincount(which))[:-1])
    return tuple(_group(group, moves, removal) for group in members)


def _grouped(moves: Moves, removal: Removal, rows: IntArray) -> IntArray:
    """Return the number of each row's group, by the finest steps that keep the groups few."""
    numbers = np.zeros(len(rows), dtype=np.int64)
    for steps in STEPS:
        numbers = _row_numbers(_keys(moves, removal, rows, steps))
        if numbers.max() < MOST_GROUPS:
            break
    return numbers


def _row_numbers(keys: IntArray) -> IntArray:
    """Return the number of each row (n, k) among the distinct rows in their order, (n,), as one number a row sorts."""
    numbers, span = np.zeros(len(keys), dtype=np.int64), 1
    for column in keys.T:
        low = int(column.min())
        width = int(column.max()) - low + 1
        if span * width > LARGEST:
            numbers = np.unique(numbers, return_inverse=True)[1].astype(np.int64)
            span = int(numbers.max()) + 1
        numbers, span = numbers * width + (column - low), span * width
    found: IntArray = np.unique(numbers, return_inverse=True)[1].astype(np.int64)
    return found


def _keys(moves: Moves, removal: Removal, rows: IntArray, steps: _Steps) -> IntArray:
    """Return what moves must share to be one group, in whole steps, (rows, 10)."""
    found: IntArray = np.column_stack(
        [
            moves.tool[rows],
            np.floor(removal.arc_start[rows] / steps.arc + 1e-9),
            np.ceil(removal.arc_end[rows] / steps.arc - 1e-9),
            _steps_up(removal.depth[rows], steps.depth),
            np.ceil(_slope(moves, rows) / steps.slope - 1e-9),
            removal.full[rows],
            removal.through[rows] > 0.0,
            _steps_up(moves.feed[rows], steps.rate),
            np.sign(moves.speed[rows]) * _steps_up(1e3 / np.abs(moves.speed[rows]), steps.rate),
            removal.enters[rows],
        ]
    ).astype(np.int64)
    return found


def _group(rows: IntArray, moves: Moves, removal: Removal) -> Alike:
    """Return moves as one group, that cuts at least as wide, deep, steep and fast as each of them."""
    high = float(removal.depth[rows].max())
    steep = float(_slope(moves, rows).max())
    through = bool((removal.through[rows] > 0.0).any())
    if removal.full[rows[0]]:
        arcs = (Arc(entry=0.0, leave=2.0 * np.pi, low=0.0, high=high),) if steep < np.pi / 2.0 - PLUNGE else ()
        engagement = Engagement(arcs=arcs, slope=steep if arcs else np.pi / 2.0, through=through)
    else:
        entry, leave = float(removal.arc_start[rows].min()), min(float(removal.arc_end[rows].max()), np.pi)
        arc = Arc(entry=entry, leave=max(leave, entry + LEAST_ARC), low=0.0, high=high)
        engagement = Engagement(arcs=(arc,), slope=steep, through=through and steep > 0.0)
    speed = moves.speed[rows]
    return Alike(
        rows=rows,
        tool=int(moves.tool[rows[0]]),
        engagement=engagement,
        feed=float(moves.feed[rows].max()),
        speed=float(np.sign(speed[0]) * np.abs(speed).min()),
        enters=bool(removal.enters[rows[0]]),
    )


def _ends(moves: Moves, removal: Removal, rows: IntArray) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return where each move starts and stops cutting (2 k, 3), its heading and its row."""
    start, step = moves.start[rows], moves.end[rows] - moves.start[rows]
    span = removal.span[rows]
    ends = np.stack([start + span[:, :1] * step, start + span[:, 1:] * step], axis=1).reshape(-1, 3)
    heading = np.arctan2(step[:, 1], step[:, 0])
    return ends, np.repeat(heading, 2), np.repeat(rows, 2)


def program_places(
    moves: Moves,
    removal: Removal,
    groups: Sequence[Alike],
    *,
    cutters: Mapping[int, tuple[Tool, Box]],
    corner: Corner,
    push_limit: float | None,
) -> tuple[list[Places], bool]:
    """Return where a program's cutting moves act, and whether the machine's push limit held some down.

    Parameters
    ----------
    moves : Moves
    removal : Removal
    groups : sequence of Alike
    cutters : mapping of int to (Tool, Box)
        Each tool with its band of cutting coefficients.
    corner : Corner
        TYPICAL for typical coefficients; any other takes every corner of their band.
    push_limit : float or None
        Of the machine's axes. [N]
    """
    parts, limited = [], False
    for group in groups:
        tool, box = cutters[group.tool]
        curves = cut_curves(tool, chosen(box, corner), group.engagement, feed=group.feed, speed=group.speed)
        held, less = capped(curves, push_limit=push_limit)
        limited |= less
        knock = (ENTRY.typical if corner is Corner.TYPICAL else ENTRY.high) if group.enters else 1.0
        fan, height = fan_of(held, factor=knock)
        tip, heading, move = _ends(moves, removal, group.rows)
        parts.append(
            Places(
                fan=fan,
                height=height,
                tip=tip,
                heading=heading,
                cut=np.full(len(move), -1),
                line=moves.line[move],
                move=move,
                stretch=np.zeros(len(move), dtype=np.int64),
            )
        )
    return parts, limited
