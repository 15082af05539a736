"""The marks of a pattern after the keep-outs have taken theirs: what is cut, what was broken, what was left out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.grid.keep_outs import blocked_points, check_hits, free_pieces, met_strokes, stroke_boxes
from stillstock.engine.grid.labelling import Written
from stillstock.engine.grid.pattern import Grid, nodes, strokes_along
from stillstock.engine.grid.request import KeepOut, Mark, Pattern
from stillstock.engine.set_up import FloatArray

__all__ = ["BrokenLine", "Ground", "LeftOut", "Lines", "free_labels", "free_nodes", "free_strokes", "pattern_lines"]


_NAMED = 5  # keep-outs named beside a mark; the rest are counted [-]


@dataclass(frozen=True, kw_only=True)
class Ground:
    """Where cuts may be: the keep-outs, the width of a cut line and the shortest piece worth a plunge. [m]"""

    keep_outs: Sequence[KeepOut]
    width: float
    shortest: float


@dataclass(frozen=True, kw_only=True)
class Lines:
    """Strokes of one direction.

    Attributes
    ----------
    axis : int
        Along which they run, 0 for x. [-]
    strokes : (n, 2, 2) array
        Start and end of each. [m]
    major : (n,) bool array
        Which belong to major lines.
    """

    axis: int
    strokes: FloatArray
    major: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class BrokenLine:
    """A line that keep-outs interrupt: the axis it runs along, its place on the other one [m], and by what."""

    axis: int
    place: float
    by: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """A mark that is not cut: what it is, where it would be [m], and for the sake of what."""

    mark: str
    at: tuple[float, float]
    by: tuple[str, ...]


def pattern_lines(
    pattern: Pattern, *, grid: Grid, ground: Ground
) -> tuple[list[Lines], list[BrokenLine], list[LeftOut], int]:
    """Return the lines or cross arms of a pattern, those broken, crosses left out, and how many pieces were too short.

    Parameters
    ----------
    pattern : Pattern
        Its mark says which.
    grid : Grid
        Places of its lines.
    ground : Ground
        Where cuts may be.
    """
    if pattern.mark is Mark.CROSSES:
        arms, missing = _crosses(pattern, grid, ground)
        return arms, [], missing, 0
    axes = {Mark.LINES: (0, 1), Mark.LINES_X: (0,), Mark.LINES_Y: (1,)}.get(pattern.mark, ())
    lines, broken, dropped = [], [], 0
    for axis in axes:
        found, cut, short = _lines(pattern, grid, ground, axis)
        lines.append(found)
        broken += cut
        dropped += short
    return lines, broken, [], dropped


def free_nodes(
    points: FloatArray, *, mark: str, radius: float, ground: Ground
) -> tuple[NDArray[np.bool_], list[LeftOut]]:
    """Return which discs stay clear of all keep-outs, and those that do not.

    Parameters
    ----------
    points : (n, 2) array
        Middles. [m]
    mark : str
        What they are called where one is left out.
    radius : float
        Of a disc. [m]
    ground : Ground
        Where cuts may be.
    """
    by: dict[int, list[str]] = {}
    hits = 0
    for keep_out in ground.keep_outs:
        met = np.nonzero(blocked_points(points, keep_out=keep_out, radius=radius))[0]
        hits += len(met)
        check_hits(hits)
        for row in met.tolist():
            by.setdefault(row, []).append(keep_out.name)
    return _sorted_out(points, mark, by)


def free_strokes(strokes: FloatArray, *, mark: str, ground: Ground) -> tuple[FloatArray, list[LeftOut]]:
    """Return strokes that meet no keep-out; the others are left out whole. [m]"""
    by = _blockers(strokes, ground)
    free, missing = _sorted_out(strokes.mean(axis=1), mark, by)
    return strokes[free], missing


def free_labels(items: Sequence[Written], *, ground: Ground) -> tuple[list[Written], list[LeftOut]]:
    """Return labels none of whose strokes meets a keep-out, and those left out."""
    if not items:
        return [], []
    runs = [(number, stroke) for number, item in enumerate(items) for stroke in item.strokes]
    owner = np.array([number for number, stroke in runs for _ in range(len(stroke) - 1)])
    strokes = np.concatenate([np.stack([stroke[:-1], stroke[1:]], axis=1) for _, stroke in runs])
    by: dict[int, list[str]] = {}
    for row, names in _blockers(strokes, ground).items():
        known = by.setdefault(int(owner[row]), [])
        known += [name for name in names if name not in known]
    kept = [item for number, item in enumerate(items) if number not in by]
    missing = [
        LeftOut(mark=f"label {items[number].text}", at=_pair(items[number].strokes[0][0]), by=_some(names))
        for number, names in sorted(by.items())
    ]
    return kept, missing


def _lines(pattern: Pattern, grid: Grid, ground: Ground, axis: int) -> tuple[Lines, list[BrokenLine], int]:
    whole = strokes_along(grid, area=pattern.area, axis=axis)
    major = (grid.y if axis == 0 else grid.x).is_major(pattern.major_every)
    pieces = free_pieces(whole, keep_outs=ground.keep_outs, width=ground.width, shortest=ground.shortest)
    by: dict[int, list[str]] = {}
    for stroke, number in pieces.hits:
        by.setdefault(stroke, []).append(ground.keep_outs[number].name)
    broken = [
        BrokenLine(axis=axis, place=float(whole[stroke, 0, 1 - axis]), by=_some(names)) for stroke, names in by.items()
    ]
    return Lines(axis=axis, strokes=pieces.points, major=major[pieces.stroke]), broken, pieces.dropped


def _crosses(pattern: Pattern, grid: Grid, ground: Ground) -> tuple[list[Lines], list[LeftOut]]:
    points, half = nodes(grid), pattern.cross_size / 2.0
    arms = []
    for axis in (0, 1):
        reach = np.eye(2)[axis] * half
        arms.append(np.stack([points - reach, points + reach], axis=1))
    by: dict[int, list[str]] = {}
    for strokes in arms:
        for row, names in _blockers(strokes, ground).items():
            known = by.setdefault(row, [])
            known += [name for name in names if name not in known]
    free, missing = _sorted_out(points, "cross", by)
    major = np.zeros(int(free.sum()), dtype=bool)
    return [Lines(axis=axis, strokes=arms[axis][free], major=major) for axis in (0, 1)], missing


def _blockers(strokes: FloatArray, ground: Ground) -> dict[int, list[str]]:
    by: dict[int, list[str]] = {}
    boxes, hits = stroke_boxes(strokes), 0
    for keep_out in ground.keep_outs:
        met, _, _ = met_strokes(strokes, keep_out=keep_out, width=ground.width, boxes=boxes)
        hits += len(met)
        check_hits(hits)
        for row in met.tolist():
            by.setdefault(row, []).append(keep_out.name)
    return by


def _sorted_out(points: FloatArray, mark: str, by: dict[int, list[str]]) -> tuple[NDArray[np.bool_], list[LeftOut]]:
    free = np.ones(len(points), dtype=bool)
    free[list(by)] = False
    return free, [LeftOut(mark=mark, at=_pair(points[row]), by=_some(names)) for row, names in sorted(by.items())]


def _some(names: list[str]) -> tuple[str, ...]:
    """Return the first few names and how many there are besides."""
    more = len(names) - _NAMED
    return tuple(names) if more <= 0 else (*names[:_NAMED], f"and {more} more")


def _pair(place: FloatArray) -> tuple[float, float]:
    return float(place[0]), float(place[1])
