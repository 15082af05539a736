"""Facing the spoilboard flat: rows to and fro that leave no lip."""

import math

import numpy as np

from stillstock.engine.grid.request import SkimWanted
from stillstock.engine.grid.tool_path import Stroke
from stillstock.engine.set_up import FloatArray

__all__ = ["LEAD", "OVERLAP", "row_count", "row_places", "skim_strokes"]

#: How far the cutter's rim passes the edge, over its diameter, and how far clear of the board it is lowered.
#: Common practice, no source. [-], [m]
OVERLAP = 0.1
LEAD = 0.005


def row_places(low: float, *, high: float, cutter: float, stepover: float) -> FloatArray:
    """Return where the rows of the cutter's middle lie across the board.

    Parameters
    ----------
    low, high : float
        Edges of the board. [m]
    cutter : float
        Diameter. [m]
    stepover : float
        Greatest share of the diameter from row to row. [-]

    Returns
    -------
    (n,) array
        Even steps; the rim of the first and last row passes the edge by `OVERLAP`. One row in the middle if the
        cutter is wider than the board. [m]
    """
    inset = (0.5 - OVERLAP) * cutter
    count = row_count(high - low, cutter=cutter, stepover=stepover)
    if count == 1:
        return np.array([(low + high) / 2.0])
    return np.linspace(low + inset, high - inset, count)


def row_count(span: float, *, cutter: float, stepover: float) -> int:
    """Return how many rows `row_places` would make across a board `span` wide [m]. [-]"""
    inner = span - 2.0 * (0.5 - OVERLAP) * cutter
    return 1 if inner <= 0.0 else math.ceil(round(inner / (stepover * cutter), 9)) + 1


def skim_strokes(box: tuple[float, float, float, float], *, wanted: SkimWanted) -> tuple[Stroke, ...]:
    """Return one long stroke a pass over the whole board, along its longer side.

    Parameters
    ----------
    box : (4,) tuple
        Least x, least y, greatest x, greatest y of the board. [m]
    wanted : SkimWanted
        Cutter, depth, passes and stepover.

    Returns
    -------
    tuple of Stroke
        The tool is lowered beside the board, since many surfacing cutters cannot plunge. [m]
    """
    x0, y0, x1, y1 = box
    lengthwise = x1 - x0 >= y1 - y0
    (a0, a1), (b0, b1) = ((x0, x1), (y0, y1)) if lengthwise else ((y0, y1), (x0, x1))
    over = OVERLAP * wanted.cutter
    points = []
    for row, place in enumerate(row_places(b0, high=b1, cutter=wanted.cutter, stepover=wanted.stepover)):
        ends = [(a0 - over, place), (a1 + over, place)]
        points += ends if row % 2 == 0 else ends[::-1]
    points[0] = (a0 - wanted.cutter / 2.0 - LEAD, points[0][1])
    plan = np.array(points)
    if not lengthwise:
        plan = plan[:, ::-1]
    levels = [-wanted.depth * (turn + 1) / wanted.passes for turn in range(wanted.passes)]
    return tuple(Stroke(points=np.column_stack([plan, np.full(len(plan), level)])) for level in levels)
