"""Where the tool may not cut: strokes are broken there, points are left out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.grid.request import Circle2D, KeepOut, Strip
from stillstock.engine.set_up import FloatArray
from stillstock.errors import Fault, TooMuchWork

__all__ = [
    "MOST_HITS",
    "Pieces",
    "blocked_points",
    "blocked_strokes",
    "check_hits",
    "free_pieces",
    "met_strokes",
    "stroke_boxes",
]

#: How often marks and keep-outs may meet in one request. [-]
MOST_HITS = 100_000

# A stroke along the very edge of a keep-out is free; the hundredth part of 0.001 mm is far below what is written. [m]
_EDGE = 1e-8


@dataclass(frozen=True, kw_only=True)
class Pieces:
    """What is left of strokes.

    Attributes
    ----------
    stroke : (m,) int array
        Number of the stroke that each piece belongs to, in rising order. [-]
    points : (m, 2, 2) array
        Ends of each piece, in the sense of its stroke. [m]
    hits : tuple of (stroke, keep-out) pairs of int
        Which stroke met which keep-out. [-]
    dropped : int
        Pieces left out because they are too short to be worth a plunge. [-]
    """

    stroke: NDArray[np.int64]
    points: FloatArray
    hits: tuple[tuple[int, int], ...]
    dropped: int


def blocked_points(points: FloatArray, *, keep_out: KeepOut, radius: float) -> NDArray[np.bool_]:
    """Return which discs reach into a keep-out.

    Parameters
    ----------
    points : (n, 2) array
        Centres. [m]
    keep_out : KeepOut
        With its clearance.
    radius : float
        Of each disc. [m]

    Returns
    -------
    (n,) bool array
        Corners of a strip count square, which is a little more than a disc needs.
    """
    room = keep_out.clearance + radius
    if isinstance(keep_out.shape, Circle2D):
        apart = np.hypot(*(points - np.array(keep_out.shape.at)).T)
        near: NDArray[np.bool_] = apart < keep_out.shape.radius + room - _EDGE
        return near
    normals, limits = _half_planes(keep_out.shape, room)
    inside: NDArray[np.bool_] = np.all(points @ normals.T < limits - _EDGE, axis=1)
    return inside


def blocked_strokes(strokes: FloatArray, *, keep_out: KeepOut, width: float) -> tuple[FloatArray, FloatArray]:
    """Return between which shares of its length each stroke lies in a keep-out.

    Parameters
    ----------
    strokes : (n, 2, 2) array
        Start and end of each. [m]
    keep_out : KeepOut
        With its clearance.
    width : float
        Of the cut line. [m]

    Returns
    -------
    two (n,) arrays
        Shares 0 to 1 of the length where it enters and leaves; entering is not below leaving where it stays free. [-]
    """
    start, along = strokes[:, 0], strokes[:, 1] - strokes[:, 0]
    room = keep_out.clearance + width / 2.0
    if isinstance(keep_out.shape, Circle2D):
        return _through_circle(start - np.array(keep_out.shape.at), along, keep_out.shape.radius + room)
    normals, limits = _half_planes(keep_out.shape, room)
    return _through_planes(start @ normals.T - limits, along @ normals.T)


def free_pieces(strokes: FloatArray, *, keep_outs: Sequence[KeepOut], width: float, shortest: float) -> Pieces:
    """Return strokes broken wherever they meet a keep-out.

    Parameters
    ----------
    strokes : (n, 2, 2) array
        Start and end of each. [m]
    keep_outs : sequence of KeepOut
        Places to break at.
    width : float
        Of the cut line. [m]
    shortest : float
        A piece shorter than this is left out. [m]

    Returns
    -------
    Pieces
        The whole stroke where nothing is in its way.
    """
    spans: dict[int, list[tuple[float, float]]] = {}
    hits: list[tuple[int, int]] = []
    boxes = stroke_boxes(strokes)
    for number, keep_out in enumerate(keep_outs):
        met, enter, leave = met_strokes(strokes, keep_out=keep_out, width=width, boxes=boxes)
        for stroke, low, high in zip(met.tolist(), enter.tolist(), leave.tolist(), strict=True):
            spans.setdefault(stroke, []).append((low, high))
            hits.append((stroke, number))
        check_hits(len(hits))
    whole = np.setdiff1d(np.arange(len(strokes)), np.array(list(spans), dtype=np.int64))
    owners, shares, dropped = [whole], [np.tile([0.0, 1.0], (len(whole), 1))], 0
    for stroke in sorted(spans):
        length = float(np.hypot(*(strokes[stroke, 1] - strokes[stroke, 0])))
        gaps = _gaps(sorted(spans[stroke]))
        kept = [gap for gap in gaps if (gap[1] - gap[0]) * length >= shortest]
        dropped += len(gaps) - len(kept)
        owners.append(np.full(len(kept), stroke))
        shares.append(np.array(kept).reshape(-1, 2))
    owner, share = np.concatenate(owners).astype(np.int64), np.concatenate(shares)
    order = np.argsort(owner, kind="stable")
    owner, share = owner[order], share[order]
    start, end = strokes[owner, 0][:, None, :], strokes[owner, 1][:, None, :]
    # Weighted ends, not start + share * along: an end that is kept stays what it was to the last digit.
    points = start * (1.0 - share[:, :, None]) + end * share[:, :, None]
    return Pieces(stroke=owner, points=points, hits=tuple(sorted(hits)), dropped=dropped)


def met_strokes(
    strokes: FloatArray, *, keep_out: KeepOut, width: float, boxes: tuple[FloatArray, FloatArray]
) -> tuple[NDArray[np.int64], FloatArray, FloatArray]:
    """Return the numbers of the strokes that meet a keep-out, with the shares of their length where they do. [-]

    Parameters
    ----------
    strokes : (n, 2, 2) array
        Start and end of each. [m]
    keep_out : KeepOut
        With its clearance.
    width : float
        Of the cut line. [m]
    boxes : two (n, 2) arrays
        Of `stroke_boxes`, reckoned once for all keep-outs. [m]
    """
    lows, highs = boxes
    box = keep_out.shape.box
    room = 1.5 * (keep_out.clearance + width / 2.0) + _EDGE  # a square corner reaches 1.42 times as far
    near = np.nonzero(np.all((lows <= box[1] + room) & (highs >= box[0] - room), axis=1))[0]
    enter, leave = blocked_strokes(strokes[near], keep_out=keep_out, width=width)
    met = enter < leave
    return near[met], enter[met], leave[met]


def stroke_boxes(strokes: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the least and the greatest corner of each stroke, (n, 2) each. [m]"""
    return strokes.min(axis=1), strokes.max(axis=1)


def check_hits(count: int) -> None:
    """Refuse to go on where marks and keep-outs meet more often than one request may cost.

    Raises
    ------
    TooMuchWork
        With the limit.
    """
    if count > MOST_HITS:
        detail = f"marks and keep-outs meet more than {MOST_HITS} times: state fewer keep-outs or a larger pitch"
        fault = Fault(pointer="/keep_outs", code="too_many_hits", detail=detail, limit=MOST_HITS, seen=count)
        raise TooMuchWork([fault])


def _half_planes(strip: Strip, room: float) -> tuple[FloatArray, FloatArray]:
    """Return normals (4, 2) and limits (4,) of ``n . p < limit`` for a strip grown by `room`."""
    corners = strip.outline
    edges = np.roll(corners, -1, axis=0) - corners
    normals = np.column_stack([edges[:, 1], -edges[:, 0]]) / np.hypot(*edges.T)[:, None]
    return normals, np.sum(normals * corners, axis=1) + room


def _through_planes(beyond: FloatArray, rate: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where lines lie inside all planes; `beyond` is how far each start is outside of each, (n, 4)."""
    parallel = np.abs(rate) < 1e-15
    cross = -beyond / np.where(parallel, 1.0, rate)
    outside = np.any(parallel & (beyond >= -_EDGE), axis=1)
    enter = np.max(np.where(parallel | (rate > 0.0), 0.0, cross), axis=1)
    leave = np.min(np.where(parallel | (rate < 0.0), 1.0, cross), axis=1)
    enter, leave = np.maximum(enter, 0.0), np.minimum(leave, 1.0)
    return np.where(outside, 1.0, enter), np.where(outside, 0.0, leave)


def _through_circle(start: FloatArray, along: FloatArray, radius: float) -> tuple[FloatArray, FloatArray]:
    length = np.hypot(*along.T)
    unit = along / np.where(length > 0.0, length, 1.0)[:, None]
    middle = -np.sum(start * unit, axis=1)
    aside = np.abs(start[:, 0] * unit[:, 1] - start[:, 1] * unit[:, 0])
    half = np.sqrt(np.maximum(radius**2 - aside**2, 0.0))
    scale = np.where(length > 0.0, length, 1.0)
    enter, leave = np.maximum((middle - half) / scale, 0.0), np.minimum((middle + half) / scale, 1.0)
    miss = aside >= radius - _EDGE
    return np.where(miss, 1.0, enter), np.where(miss, 0.0, leave)


def _gaps(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    gaps, reached = [], 0.0
    for low, high in spans:
        if low > reached:
            gaps.append((reached, low))
        reached = max(reached, high)
    if reached < 1.0:
        gaps.append((reached, 1.0))
    return gaps
