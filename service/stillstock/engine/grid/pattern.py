"""Which marks a pattern has and where they lie, before the keep-outs take some of them away."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.grid.lattice import Lattice, lattice, lattice_count
from stillstock.engine.grid.request import Circle2D, ExistingPattern, KeepOut, Mark, Pattern, PatternPlace
from stillstock.engine.set_up import FloatArray

__all__ = [
    "Grid",
    "anchor",
    "crossed_holes",
    "existing_keep_outs",
    "existing_places",
    "grid_of",
    "mark_count",
    "nodes",
    "off_centre",
    "strokes_along",
    "zero_strokes",
]


@dataclass(frozen=True, kw_only=True)
class Grid:
    """The two lattices of a pattern, along x and along y."""

    x: Lattice
    y: Lattice


def anchor(pattern: Pattern, *, axis: int) -> float:
    """Return where mark 0 lies or would lie along an axis. [m]

    Without an existing pattern that is the offset from the zero. *Between* puts every hole of the existing pattern into
    the middle of a cell, so that no line meets a hole where the hole pitch is a whole multiple of the grid's; *on* puts
    a line across every hole.
    """
    start = pattern.offset[axis]
    if pattern.existing is None:
        return start
    half = pattern.pitch[axis] / 2.0 if pattern.existing.place is PatternPlace.BETWEEN else 0.0
    return start + pattern.existing.first[axis] + half


def grid_of(pattern: Pattern) -> Grid:
    """Return the places of a pattern's lines along x and y."""
    x0, y0, x1, y1 = pattern.area
    return Grid(
        x=lattice(x0, high=x1, pitch=pattern.pitch[0], anchor=anchor(pattern, axis=0)),
        y=lattice(y0, high=y1, pitch=pattern.pitch[1], anchor=anchor(pattern, axis=1)),
    )


def mark_count(pattern: Pattern) -> int:
    """Return how many marks a pattern would make, without making them; at least its places along both edges. [-]"""
    x0, y0, x1, y1 = pattern.area
    across = lattice_count(x0, high=x1, pitch=pattern.pitch[0], anchor=anchor(pattern, axis=0))
    up = lattice_count(y0, high=y1, pitch=pattern.pitch[1], anchor=anchor(pattern, axis=1))
    return across * up if pattern.mark in (Mark.CROSSES, Mark.DOTS, Mark.HOLES) else across + up


def strokes_along(grid: Grid, *, area: tuple[float, float, float, float], axis: int) -> FloatArray:
    """Return the lines of one direction from edge to edge of the area, (n, 2, 2). [m]

    Parameters
    ----------
    grid : Grid
        Places of the lines.
    area : (4,) tuple
        Least x, least y, greatest x, greatest y. [m]
    axis : int
        Along which the lines run, 0 for x. [-]
    """
    place = grid.y.place if axis == 0 else grid.x.place
    strokes = np.empty((len(place), 2, 2))
    strokes[:, 0, axis], strokes[:, 1, axis] = area[axis], area[axis + 2]
    strokes[:, :, 1 - axis] = place[:, None]
    return strokes


def nodes(grid: Grid) -> FloatArray:
    """Return all nodes of a grid, row by row, (n, 2). [m]"""
    x, y = np.meshgrid(grid.x.place, grid.y.place)
    return np.column_stack([x.ravel(), y.ravel()])


def zero_strokes(box: tuple[float, float, float, float], *, size: float) -> FloatArray:
    """Return the mark round the zero: a square on its corner, as far as it lies on the table, (n, 2, 2). [m]

    A cross would lie on the grid's own lines and cut them twice; slanted strokes do not.
    """
    half = size / 2.0
    tips = np.array([(half, 0.0), (0.0, half), (-half, 0.0), (0.0, -half)])
    strokes = np.stack([tips, np.roll(tips, -1, axis=0)], axis=1)
    inside = (strokes >= np.array(box[:2])) & (strokes <= np.array(box[2:]))
    kept: FloatArray = strokes[np.all(inside, axis=(1, 2))]
    return kept


def existing_places(existing: ExistingPattern) -> FloatArray:
    """Return the middles of the holes that are there already, row by row, (n, 2). [m]"""
    x = existing.first[0] + np.arange(existing.count[0]) * existing.pitch[0]
    y = existing.first[1] + np.arange(existing.count[1]) * existing.pitch[1]
    return np.column_stack([np.tile(x, len(y)), np.repeat(y, len(x))])


def existing_keep_outs(existing: ExistingPattern) -> tuple[KeepOut, ...]:
    """Return the existing holes as keep-outs, named by column and row; none if cutting across them is allowed."""
    if existing.clearance is None:
        return ()
    columns = existing.count[0]
    return tuple(
        KeepOut(
            name=f"hole {number % columns + 1}/{number // columns + 1}",
            shape=Circle2D(at=(x, y), radius=existing.diameter / 2.0),
            clearance=existing.clearance,
        )
        for number, (x, y) in enumerate(existing_places(existing).tolist())
    )


def off_centre(pattern: Pattern) -> tuple[bool, bool]:
    """Return for x and y whether the holes of the existing pattern cannot all lie alike to the grid."""
    if pattern.existing is None:
        return False, False
    ratios = [pattern.existing.pitch[axis] / pattern.pitch[axis] for axis in (0, 1)]
    uneven = [
        pattern.existing.count[axis] > 1 and not math.isclose(ratios[axis], round(ratios[axis]), rel_tol=1e-9)
        for axis in (0, 1)
    ]
    return uneven[0], uneven[1]


def crossed_holes(strokes: FloatArray, *, existing: ExistingPattern, axis: int) -> NDArray[np.int64]:
    """Return the numbers of the lines along `axis` that run over holes of the existing pattern. [-]"""
    rows = existing.first[1 - axis] + np.arange(existing.count[1 - axis]) * existing.pitch[1 - axis]
    apart = np.abs(strokes[:, 0, 1 - axis, None] - rows[None, :])
    return np.nonzero(np.any(apart < existing.diameter / 2.0, axis=1))[0]
