"""Which straight moves of a turned tool meet which standing bodies, and how deep."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.clearance.plan import (
    Interval,
    between,
    both,
    inner_depth,
    point_distance,
    segment_distance,
    within_reach,
)
from stillstock.engine.clearance.turned_body import ToolPart, lowest_bottom
from stillstock.engine.holding.body import Body
from stillstock.engine.set_up import FloatArray

__all__ = ["TOUCH", "Met", "sweep"]

IntArray = NDArray[np.int64]

TOUCH = 1e-5
"""Bodies that overlap by no more than this touch, and do not meet: the tolerance of every answer here. [m]"""
STEPS = 48
"""Halvings with which the lowest place of a shaped end is found: far below `TOUCH` on any move. [-]"""
RUN = 32
"""Moves in a run that the broad phase first judges as one. [-]"""
GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0


@dataclass(frozen=True, kw_only=True)
class Met:
    """Meetings of moves and bodies, one a row.

    Attributes
    ----------
    move, part, body : (k,) int arrays
        Index of the move, of the tool's part and of the body.
    span : (k, 2) array
        Where on the move they overlap, from 0 at its start to 1 at its end. [-]
    rise : (k,) array
        By how much the tip would have to be higher for the part to pass over the body. [m]
    sideways : (k,) array
        Greatest overlap in plan: how far aside the part would have to go. [m]
    """

    move: IntArray
    part: IntArray
    body: IntArray
    span: FloatArray
    rise: FloatArray
    sideways: FloatArray

    @property
    def depth(self) -> FloatArray:
        """How deep part and body reach into each other, by the shorter way out. [m]"""
        return np.minimum(self.rise, self.sideways)

    def __len__(self) -> int:
        return len(self.move)


class _Boxes:
    """Boxes round runs of moves: a program stays in one place for a while."""

    def __init__(self, start: FloatArray, end: FloatArray) -> None:
        self.start, self.end = start, end
        opens = np.arange(0, len(start), RUN)
        low = np.minimum(np.minimum.reduceat(start, opens), np.minimum.reduceat(end, opens))
        high = np.maximum(np.maximum.reduceat(start, opens), np.maximum.reduceat(end, opens))
        self.runs = np.concatenate((low.T, high.T))

    def near(self, body: Body, *, radius: float, bottom: float, top: float) -> tuple[IntArray, FloatArray]:
        """Find the moves whose box, grown by the widest part, touches the body's: the broad phase; and their boxes."""
        runs = np.flatnonzero(_hit(self.runs, body, radius=radius, bottom=bottom, top=top))
        rows = (runs[:, None] * RUN + np.arange(RUN)).ravel()
        rows = rows[: np.searchsorted(rows, len(self.start))]
        start, end = self.start[rows], self.end[rows]
        boxes = np.concatenate((np.minimum(start, end).T, np.maximum(start, end).T))
        kept = _hit(boxes, body, radius=radius, bottom=bottom, top=top)
        return rows[kept], boxes[:, kept]


def _hit(boxes: FloatArray, body: Body, *, radius: float, bottom: float, top: float) -> NDArray[np.bool_]:
    """Tell which boxes of tool tips, grown by a part of the tool, touch a body's box."""
    x0, y0, x1, y1 = body.box
    hit = boxes[0] < x1 + radius
    for k, bound in ((1, y1 + radius), (2, body.high - bottom)):
        hit &= boxes[k] < bound
    for k, bound in ((3, x0 - radius), (4, y0 - radius), (5, body.low - top)):
        hit &= boxes[k] > bound
    return np.asarray(hit)


def sweep(start: FloatArray, end: FloatArray, *, parts: Sequence[ToolPart], bodies: Sequence[Body]) -> Met:
    """Find every meeting of straight moves with standing bodies.

    Parameters
    ----------
    start, end : (n, 3) arrays
        Tool tip at both ends of each move. [m]
    parts : sequence of ToolPart
    bodies : sequence of Body

    Returns
    -------
    Met
        By body, then part, then move.

    Notes
    -----
    Own derivation. Bodies are upright and convex in plan, parts are round about the tool's upright axis, so the two
    overlap where the axis is nearer to the body than the part's radius and their heights overlap. Along a straight
    move the first holds on one interval, the second on another; both have closed forms for parts with a flat lower
    end. Balls and cones overlap where ``z + rise(d) < high``; rise is convex and grows with the distance d, which is
    convex along the move, so the left side is convex too: its least value is found by golden sections, its two roots
    by halving. Overlaps of no more than 0.01 mm, in plan or in height, are not meetings; all others are found, and
    nothing else is.
    """
    if not len(start) or not parts:
        return _joined([])
    boxes = _Boxes(start, end)
    radius = max(part.radius for part in parts)
    bottom, top = lowest_bottom(parts), max(part.top for part in parts)
    found = []
    for number, body in enumerate(bodies):
        near, around = boxes.near(body, radius=radius, bottom=bottom, top=top)
        if not len(near):
            continue
        a, b = start[near], end[near]
        for index, part in enumerate(parts):
            met = _part_on_body(a, b, boxes=around, part=part, body=body)
            if met is not None:
                rows, span, rise, sideways = met
                labels = np.full((2, len(rows)), [[index], [number]])
                found.append((near[rows], *labels, span, rise, sideways))
    return _joined(found)


def _joined(found: Sequence[tuple[Any, ...]]) -> Met:
    if not found:
        none = np.zeros(0, dtype=np.int64)
        return Met(move=none, part=none, body=none, span=np.zeros((0, 2)), rise=np.zeros(0), sideways=np.zeros(0))
    move, part_of, body_of, spans, rises, sides = (np.concatenate(column) for column in zip(*found, strict=True))
    return Met(move=move, part=part_of, body=body_of, span=spans, rise=rises, sideways=sides)


def _part_on_body(
    start: FloatArray, end: FloatArray, *, boxes: FloatArray, part: ToolPart, body: Body
) -> tuple[IntArray, FloatArray, FloatArray, FloatArray] | None:
    """Rows of the moves on which one part meets one body, with span, rise and overlap in plan."""
    rows = np.flatnonzero(_hit(boxes, body, radius=part.radius, bottom=part.bottom, top=part.top))
    if not len(rows):
        return None
    start, step = start[rows], end[rows] - start[rows]
    low, high = body.low - part.top + TOUCH, body.high - part.bottom - TOUCH
    if low >= high:
        return None
    heights = between(start[:, 2], step[:, 2], low=low, high=high)
    plan = within_reach(start[:, :2], step[:, :2], core=body.core, reach=part.radius + body.radius - TOUCH)
    span = both(heights, plan)
    kept = np.flatnonzero(span[0] <= span[1])
    rows, start, step = rows[kept], start[kept], step[kept]
    span = (span[0][kept], span[1][kept])
    if part.is_flat:
        lowest = start[:, 2] + np.where(step[:, 2] > 0.0, span[0], span[1]) * step[:, 2] + part.bottom
    else:
        lowest, span = _shaped(start, step, span, part=part, body=body)
        kept = np.flatnonzero(lowest < body.high - TOUCH)
        rows, start, step, lowest = rows[kept], start[kept], step[kept], lowest[kept]
        span = (span[0][kept], span[1][kept])
    if not len(rows):
        return None
    ends = [start[:, :2] + at[:, None] * step[:, :2] for at in span]
    away = segment_distance(ends[0], ends[1], core=body.core)
    sideways = part.radius + body.radius - away
    inside = np.flatnonzero(away == 0.0)
    if len(inside):
        sideways[inside] += inner_depth(ends[0][inside], ends[1][inside], core=body.core)
    return rows, np.column_stack(span), body.high - lowest, sideways


def _shaped(
    start: FloatArray, step: FloatArray, span: Interval, *, part: ToolPart, body: Body
) -> tuple[FloatArray, Interval]:
    """Lowest height of a ball's or cone's surface over a body within a span, and where it is below the body's top."""

    def height(at: FloatArray) -> FloatArray:
        point = start + at[:, None] * step
        away = np.maximum(point_distance(point[:, :2], core=body.core) - body.radius, 0.0)
        return point[:, 2] + part.bottom + part.end.rise(away * away)

    first, last = span
    for _ in range(STEPS):
        a, b = last - GOLDEN * (last - first), first + GOLDEN * (last - first)
        left = height(a) < height(b)
        first, last = np.where(left, first, a), np.where(left, b, last)
    # A convex function may be least at the very end of the span, which golden sections only approach.
    places = np.stack((span[0], (first + last) / 2.0, span[1]))
    values = np.stack([height(place) for place in places])
    best = values.argmin(axis=0)
    at, lowest = np.take_along_axis(places, best[None], axis=0)[0], values.min(axis=0)
    edges = [_root(height, outer, at, level=body.high - TOUCH) for outer in span]
    return lowest, (edges[0], edges[1])


def _root(
    height: Callable[[FloatArray], FloatArray], outer: FloatArray, inner: FloatArray, *, level: float
) -> FloatArray:
    """Where a convex function falls below a level between a place outside and its lowest place. [-]"""
    clear = height(outer) >= level
    a, b = outer.copy(), inner.copy()
    for _ in range(STEPS):
        middle = (a + b) / 2.0
        above = height(middle) >= level
        a, b = np.where(above, middle, a), np.where(above, b, middle)
    return np.where(clear, b, outer)
