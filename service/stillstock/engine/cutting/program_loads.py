"""The loads of a program: moves that cut alike share one fan of loads."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.coefficients import Box
from stillstock.engine.cutting.engagement import Arc, Engagement
from stillstock.engine.cutting.job_sweep import Places, capped, chosen, fan_of
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.cutting.milling import ENTRY
from stillstock.engine.cutting.stock_removal import Removal
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import FloatArray, Tool
from stillstock.tables.scatter import Corner

__all__ = ["Alike", "alike", "program_places"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

#: Steps to which engagement is rounded, to the greater side, so that moves share force curves. [rad], [-], [rad], [-]
ARC_STEP = np.pi / 48.0
DEPTH_RATIO = 1.04
SLOPE_STEP = np.pi / 60.0
RATE_RATIO = 1.02


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
    return np.ceil(np.log(np.maximum(values, 1e-12)) / np.log(ratio) - 1e-9).astype(np.int64)


def _slope(moves: Moves, rows: IntArray) -> FloatArray:
    step = moves.end[rows] - moves.start[rows]
    slope: FloatArray = np.arctan2(-step[:, 2], np.hypot(step[:, 0], step[:, 1]))
    return np.maximum(slope, 0.0)


def alike(moves: Moves, removal: Removal, *, tools: Mapping[int, Tool]) -> tuple[Alike, ...]:
    """Return the cutting moves of a program in groups that cut alike, engagement rounded to the greater side.

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
    key = np.column_stack(
        [
            moves.tool[rows],
            np.floor(removal.arc_start[rows] / ARC_STEP + 1e-9),
            np.ceil(removal.arc_end[rows] / ARC_STEP - 1e-9),
            _steps_up(removal.depth[rows], DEPTH_RATIO),
            np.ceil(_slope(moves, rows) / SLOPE_STEP - 1e-9),
            removal.full[rows],
            removal.through[rows] > 0.0,
            _steps_up(moves.feed[rows], RATE_RATIO),
            np.sign(moves.speed[rows]) * _steps_up(1e3 / np.abs(moves.speed[rows]), RATE_RATIO),
            removal.enters[rows],
        ]
    ).astype(np.int64)
    _, first, which = np.unique(key, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(which.ravel(), kind="stable")
    members = np.split(rows[order], np.cumsum(np.bincount(which.ravel()))[:-1])
    return tuple(_group(key[i], group, moves, removal) for i, group in zip(first, members, strict=True))


def _group(key: IntArray, rows: IntArray, moves: Moves, removal: Removal) -> Alike:
    _, start, end, depth, slope, full, through, _, _, enters = (int(k) for k in key)
    high = min(DEPTH_RATIO**depth, float(removal.depth[rows].max()) * DEPTH_RATIO)
    steep = min(slope * SLOPE_STEP, np.pi / 2.0)
    if full:
        arcs = (Arc(entry=0.0, leave=2.0 * np.pi, low=0.0, high=high),) if steep < np.pi / 2.0 - SLOPE_STEP else ()
        engagement = Engagement(arcs=arcs, slope=np.pi / 2.0 if not arcs else steep, through=bool(through))
    else:
        entry, leave = max(start * ARC_STEP, 0.0), min(end * ARC_STEP, np.pi)
        arc = Arc(entry=entry, leave=max(leave, entry + ARC_STEP), low=0.0, high=high)
        engagement = Engagement(arcs=(arc,), slope=steep, through=bool(through) and slope > 0)
    speed = moves.speed[rows]
    return Alike(
        rows=rows,
        tool=int(moves.tool[rows[0]]),
        engagement=engagement,
        feed=float(moves.feed[rows].max()),
        speed=float(np.sign(speed[0]) * np.abs(speed).min()),
        enters=bool(enters),
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
        curves = [
            cut_curve(tool, coefficients, group.engagement, feed=group.feed, speed=group.speed)
            for coefficients in chosen(box, corner)
        ]
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
            )
        )
    return parts, limited
