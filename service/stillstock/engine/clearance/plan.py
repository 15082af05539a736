"""Distances in plan between straight moves and convex cores, for many moves at once."""

import math
from itertools import combinations, pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.set_up import FloatArray

__all__ = ["NEVER", "Interval", "between", "both", "inner_depth", "point_distance", "segment_distance", "within_reach"]

Interval = tuple[FloatArray, FloatArray]

NEVER = (np.inf, -np.inf)
"""Start and end of an interval that holds nothing. [-]"""


def between(start: FloatArray, step: FloatArray, *, low: float | FloatArray, high: float | FloatArray) -> Interval:
    """Return the part of a move on which ``start + s step`` lies between two bounds, s from 0 to 1.

    Parameters
    ----------
    start, step : (m,) arrays
        Value at the start of each move, and what it gains along it. [any]
    low, high : float or (m,) arrays
        Bounds. [as `start`]

    Returns
    -------
    first, last : (m,) arrays
        `NEVER` where it does not. [-]
    """
    still = step == 0.0
    safe = np.where(still, 1.0, step)
    a, b = (low - start) / safe, (high - start) / safe
    first = np.where(still, 0.0, np.maximum(np.minimum(a, b), 0.0))
    last = np.where(still, 1.0, np.minimum(np.maximum(a, b), 1.0))
    empty = (first > last) | (still & ((start <= low) | (start >= high)))
    return np.where(empty, NEVER[0], first), np.where(empty, NEVER[1], last)


def both(one: Interval, other: Interval) -> Interval:
    """Return what two intervals share."""
    first, last = np.maximum(one[0], other[0]), np.minimum(one[1], other[1])
    empty = first > last
    return np.where(empty, NEVER[0], first), np.where(empty, NEVER[1], last)


def _hull(one: Interval, other: Interval) -> Interval:
    return np.minimum(one[0], other[0]), np.maximum(one[1], other[1])


Spot = tuple[float, float]


class _Edge(NamedTuple):
    """Start of an edge of a core, unit vector along it, and its length. [m, -, m]"""

    origin: Spot
    along: Spot
    length: float


def _in_disc(start: FloatArray, step: FloatArray, *, center: Spot, radius: float | FloatArray) -> Interval:
    """Part of a move within a disc. [-]"""
    x, y = start[:, 0] - center[0], start[:, 1] - center[1]
    a = step[:, 0] ** 2 + step[:, 1] ** 2
    b = x * step[:, 0] + y * step[:, 1]
    c = x * x + y * y - radius * radius
    still = a == 0.0
    root = np.sqrt(np.maximum(b * b - a * c, 0.0))
    safe = np.where(still, 1.0, a)
    first = np.where(still, 0.0, np.maximum((-b - root) / safe, 0.0))
    last = np.where(still, 1.0, np.minimum((-b + root) / safe, 1.0))
    empty = (first > last) | np.where(still, c >= 0.0, b * b <= a * c)
    return np.where(empty, NEVER[0], first), np.where(empty, NEVER[1], last)


def _edges(core: FloatArray) -> list[_Edge]:
    """Return every edge; one for a core of two points, none for one of one."""
    points: list[Spot] = core.tolist()
    # Plain numbers: for a few points arrays cost more than the sums.
    closed = [*points, points[0]] if len(points) > 2 else points
    found = []
    for (x0, y0), (x1, y1) in pairwise(closed):
        length = math.hypot(x1 - x0, y1 - y0)
        found.append(_Edge((x0, y0), ((x1 - x0) / length, (y1 - y0) / length), length))
    return found


def _frame(points: FloatArray, edge: _Edge) -> tuple[FloatArray, FloatArray]:
    """Coordinates along an edge, and to its right: outward of a counter-clockwise outline. [m]"""
    origin, along = edge.origin, edge.along
    x, y = points[:, 0] - origin[0], points[:, 1] - origin[1]
    return x * along[0] + y * along[1], x * along[1] - y * along[0]


def _turned(step: FloatArray, edge: _Edge) -> tuple[FloatArray, FloatArray]:
    along = edge.along
    return step[:, 0] * along[0] + step[:, 1] * along[1], step[:, 0] * along[1] - step[:, 1] * along[0]


def _in_core(start: FloatArray, step: FloatArray, core: FloatArray) -> Interval:
    """Part of a move inside a convex outline. [-]"""
    found: Interval = (np.zeros(len(start)), np.ones(len(start)))
    for edge in _edges(core):
        found = both(
            found, between(_frame(start, edge)[1], _turned(step, edge)[1], low=np.full(len(start), -np.inf), high=0.0)
        )
    return found


def within_reach(start: FloatArray, step: FloatArray, *, core: FloatArray, reach: float | FloatArray) -> Interval:
    """Return the part of each move on which a point is nearer to a convex core than a reach.

    Parameters
    ----------
    start, step : (m, 2) arrays
        Start of each move in plan, and the way along it. [m]
    core : (k, 2) array
        Convex outline, counter-clockwise; one or two points are a point and a line. [m]
    reach : float or (m,) array
        Positive. [m]

    Returns
    -------
    first, last : (m,) arrays
        From 0 to 1; `NEVER` where it is never nearer. [-]

    Notes
    -----
    What lies nearer than `reach` is the outline, a strip along each edge and a disc at each corner. Together they are
    convex, so a straight line meets them in one interval: from the first entry into any to the last exit from any.
    Exact but for rounding. Own derivation.
    """
    blank = np.full(len(start), NEVER[0]), np.full(len(start), NEVER[1])
    found: Interval = blank
    for corner in core.tolist():
        found = _hull(found, _in_disc(start, step, center=corner, radius=reach))
    inner = -reach if len(core) == 2 else 0.0
    for edge in _edges(core):
        (u, v), (du, dv) = _frame(start, edge), _turned(step, edge)
        strip = both(between(u, du, low=0.0, high=edge.length), between(v, dv, low=inner, high=reach))
        found = _hull(found, strip)
    return _hull(found, _in_core(start, step, core)) if len(core) > 2 else found


def point_distance(points: FloatArray, *, core: FloatArray) -> FloatArray:
    """Return the distance of points in plan from a convex core, 0 inside it, (m,). [m]"""
    if len(core) == 1:
        return np.asarray(np.hypot(points[:, 0] - core[0, 0], points[:, 1] - core[0, 1]))
    nearest = np.full(len(points), np.inf)
    inside = np.full(len(points), len(core) > 2)
    for edge in _edges(core):
        u, v = _frame(points, edge)
        nearest = np.minimum(nearest, np.hypot(u - np.clip(u, 0.0, edge.length), v))
        inside &= v <= 0.0
    return np.where(inside, 0.0, nearest)


def segment_distance(start: FloatArray, end: FloatArray, *, core: FloatArray) -> FloatArray:
    """Return the least distance of straight moves in plan from a convex core, 0 where they touch it, (m,). [m]

    Notes
    -----
    Two segments that do not cross are nearest at an end of one of them; own derivation.
    """
    step = end - start
    square = np.sum(step * step, axis=1)
    nearest = np.minimum(point_distance(start, core=core), point_distance(end, core=core))
    for corner in core.tolist():
        x, y = corner[0] - start[:, 0], corner[1] - start[:, 1]
        s = np.clip((x * step[:, 0] + y * step[:, 1]) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
        nearest = np.minimum(nearest, np.hypot(x - s * step[:, 0], y - s * step[:, 1]))
    return np.where(_crosses(start, step, core), 0.0, nearest)


def inner_depth(start: FloatArray, end: FloatArray, *, core: FloatArray) -> FloatArray:
    """Return how deep straight moves go inside a convex outline, from its nearest edge, (m,); 0 outside. [m]

    Notes
    -----
    The depth is the least of its depths behind all edges, each linear along the move, so it is greatest at an end or
    where two of them are equal: all such places are tried. Cores of one or two points have no inside.
    """
    if len(core) < 3:
        return np.zeros(len(start))
    edges = _edges(core)
    first = np.stack([-_frame(start, edge)[1] for edge in edges])
    gain = np.stack([-_turned(end - start, edge)[1] for edge in edges])
    deepest = np.maximum(first.min(axis=0), (first + gain).min(axis=0))
    for i, j in combinations(range(len(edges)), 2):
        slope = gain[i] - gain[j]
        s = np.clip(np.divide(first[j] - first[i], slope, out=np.zeros_like(slope), where=slope != 0.0), 0.0, 1.0)
        deepest = np.maximum(deepest, (first + s * gain).min(axis=0))
    return np.asarray(np.maximum(deepest, 0.0))


def _crosses(start: FloatArray, step: FloatArray, core: FloatArray) -> NDArray[np.bool_]:
    if len(core) == 1:
        return np.zeros(len(start), dtype=np.bool_)
    if len(core) > 2:
        first, last = _in_core(start, step, core)
        return np.asarray(first <= last)
    (edge,) = _edges(core)
    (u, v), (du, dv) = _frame(start, edge), _turned(step, edge)
    s = np.divide(-v, dv, out=np.full(len(start), np.inf), where=dv != 0.0)
    at = u + np.where(np.isfinite(s), s, 0.0) * du
    return np.asarray((s >= 0.0) & (s <= 1.0) & (at >= 0.0) & (at <= edge.length))
