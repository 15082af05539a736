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
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray

__all__ = ["TOUCH", "Met", "sweep"]

IntArray = NDArray[np.int64]

TOUCH = 1e-5
"""Bodies that overlap by no more than this touch, and do not meet: the tolerance of every answer here. [m]"""
STEPS = 48
"""Halvings with which the lowest place of a shaped end is found: far below `TOUCH` on any move. [-]"""
RUN = 32
"""Moves in a run that the broad phase first judges as one. [-]"""
SCATTERED = 0.02
"""Share of the table over which a run of moves spreads on the average, from which they are put in order first. [-]"""
GRID = 48
"""Cells of that order along each side of the table. [-]"""
A_BODY, A_PAIR = (0.2, 2e-6), 0.01
"""What it costs to look what is near a body, in all and for each move, and to judge a pair; by measurement. [units]"""
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
    """Boxes round moves and round runs of them: what lies together is judged together."""

    def __init__(self, start: FloatArray, end: FloatArray) -> None:
        order = _by_place(start, end) if _scattered(start) else np.arange(len(start))
        self.order, self.boxes = _in_runs(start, end, order)
        self.runs = np.concatenate((_least(self.boxes[:3], np.minimum), _least(self.boxes[3:], np.maximum)))

    def near(self, box: FloatArray, *, radius: float, bottom: float, top: float) -> tuple[IntArray, FloatArray]:
        """Find the moves whose box, grown by the widest part, touches a body's: the broad phase; and their boxes."""
        runs = np.flatnonzero(_hit(self.runs, box, radius=radius, bottom=bottom, top=top))
        boxes = self.boxes[:, runs].reshape(6, -1)
        kept = np.flatnonzero(_hit(boxes, box, radius=radius, bottom=bottom, top=top))
        rows = self.order[runs].ravel()[kept]
        back = np.argsort(rows)
        return rows[back], boxes[:, kept[back]]


def _in_runs(start: FloatArray, end: FloatArray, order: IntArray) -> tuple[IntArray, FloatArray]:
    """Return moves and their boxes in runs, (r, RUN) and (6, r, RUN); the last run is filled up by boxes of nothing."""
    count = len(order)
    runs = -(-count // RUN)
    index = np.zeros(runs * RUN, dtype=np.int64)
    index[:count] = order
    boxes = np.empty((6, runs * RUN))
    boxes[:3, count:], boxes[3:, count:] = np.inf, -np.inf
    for axis in range(3):
        a, b = start[order, axis], end[order, axis]
        np.minimum(a, b, out=boxes[axis, :count])
        np.maximum(a, b, out=boxes[axis + 3, :count])
    return index.reshape(runs, RUN), boxes.reshape(6, runs, RUN)


def _least(boxes: FloatArray, pick: np.ufunc) -> FloatArray:
    """Return the least or greatest along the last axis, a power of two long, by halves: short rows are slow."""
    while boxes.shape[-1] > 1:
        half = boxes.shape[-1] // 2
        boxes = pick(boxes[..., :half], boxes[..., half:])
    return boxes[..., 0]


def _scattered(places: FloatArray) -> bool:
    """Tell whether moves, in runs as they come, spread over so much of the table that a run rules out little."""
    few = places[:: RUN // 4, :2]
    runs = few[: len(few) // 4 * 4].reshape(-1, 4, 2)
    if not len(runs):
        return False
    # Four of a run's moves say about how far it spreads.
    spread = np.prod(runs.max(axis=1) - runs.min(axis=1), axis=1)
    return bool(spread.mean() > SCATTERED * np.prod(np.ptp(few, axis=0)))


def _by_place(start: FloatArray, end: FloatArray) -> IntArray:
    """Return an order of moves, cell by cell of a grid over the table."""
    cells = []
    for axis in range(2):
        middle = start[:, axis] + end[:, axis]
        cell = (middle - middle.min()) * (GRID / max(float(np.ptp(middle)), 1e-9))
        cells.append(np.minimum(cell, GRID - 1).astype(np.int16))
    return np.argsort(cells[0] * np.int16(GRID) + cells[1], kind="stable")


def _hit(boxes: FloatArray, box: FloatArray, *, radius: float, bottom: float, top: float) -> NDArray[np.bool_]:
    """Tell which boxes of tool tips, grown by a part of the tool, touch a body's box."""
    low, high = box[:3] - np.array((radius, radius, top)), box[3:] + np.array((radius, radius, -bottom))
    hit = boxes[0] < high[0]
    for k in (1, 2):
        hit &= boxes[k] < high[k]
    for k in range(3):
        hit &= boxes[k + 3] > low[k]
    return np.asarray(hit)


def _box_of(body: Body) -> FloatArray:
    """Return least x, y, z and greatest x, y, z of a body, (6,). [m]"""
    x0, y0, x1, y1 = body.box
    return np.array([x0, y0, body.low, x1, y1, body.high])


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
        spend(A_BODY[0] + A_BODY[1] * len(start))
        box = _box_of(body)
        near, around = boxes.near(box, radius=radius, bottom=bottom, top=top)
        hits = [
            np.flatnonzero(_hit(around, box, radius=part.radius, bottom=part.bottom, top=part.top))
            if len(near)
            else near
            for part in parts
        ]
        rows = np.concatenate(hits)
        if not len(rows):
            continue
        spend(A_PAIR * len(rows))
        which = np.repeat(np.arange(len(parts)), [len(hit) for hit in hits])
        at = near[rows]
        kept, span, rise, sideways = _on_body(start[at], end[at], which, parts=parts, body=body)
        found.append((at[kept], which[kept], np.full(len(kept), number), span, rise, sideways))
    return _joined(found)


def _joined(found: Sequence[tuple[Any, ...]]) -> Met:
    if not found:
        none = np.zeros(0, dtype=np.int64)
        return Met(move=none, part=none, body=none, span=np.zeros((0, 2)), rise=np.zeros(0), sideways=np.zeros(0))
    move, part_of, body_of, spans, rises, sides = (np.concatenate(column) for column in zip(*found, strict=True))
    return Met(move=move, part=part_of, body=body_of, span=spans, rise=rises, sideways=sides)


def _on_body(
    start: FloatArray, end: FloatArray, which: IntArray, *, parts: Sequence[ToolPart], body: Body
) -> tuple[IntArray, FloatArray, FloatArray, FloatArray]:
    """Return which pairs of a move and a part meet a body, with span, rise and overlap in plan."""
    step = end - start
    radius, bottom, top = np.array([(part.radius, part.bottom, part.top) for part in parts])[which].T
    low, high = body.low - top + TOUCH, body.high - bottom - TOUCH
    heights = between(start[:, 2], step[:, 2], low=low, high=high)
    plan = within_reach(start[:, :2], step[:, :2], core=body.core, reach=radius + body.radius - TOUCH)
    first, last = both(heights, plan)
    kept = np.flatnonzero((first <= last) & (low < high))
    start, step, which, first, last = start[kept], step[kept], which[kept], first[kept], last[kept]
    lowest = start[:, 2] + np.where(step[:, 2] > 0.0, first, last) * step[:, 2] + bottom[kept]
    for index, part in enumerate(parts):
        rows = np.flatnonzero(which == index) if not part.is_flat else ()
        if len(rows):
            span = first[rows], last[rows]
            lowest[rows], (first[rows], last[rows]) = _shaped(start[rows], step[rows], span, part=part, body=body)
    below = np.flatnonzero(lowest < body.high - TOUCH)
    start, step, kept, lowest = start[below], step[below], kept[below], lowest[below]
    first, last = first[below], last[below]
    ends = [start[:, :2] + at[:, None] * step[:, :2] for at in (first, last)]
    away = segment_distance(ends[0], ends[1], core=body.core)
    sideways = radius[kept] + body.radius - away
    inside = np.flatnonzero(away == 0.0)
    if len(inside):
        sideways[inside] += inner_depth(ends[0][inside], ends[1][inside], core=body.core)
    return kept, np.column_stack((first, last)), body.high - lowest, sideways


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
