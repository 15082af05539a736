"""Marks put into the order in which they are cut, with their depth: what one tool does after another."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillstock.engine.grid.insert_hole import HoleCut
from stillstock.engine.grid.marks import Lines
from stillstock.engine.grid.order import Tour, least_travel, to_and_fro, travel
from stillstock.engine.grid.request import Order
from stillstock.engine.grid.tool_path import Bore, Plunge, Stroke, ring_radii
from stillstock.engine.set_up import FloatArray

__all__ = [
    "Bored",
    "CutLine",
    "bore_moves",
    "bore_passes",
    "line_passes",
    "ordered_dots",
    "ordered_lines",
    "toured_bores",
]

#: Depth of a peck and of a turn, over the cutter's diameter (common practice, no source). [-]
_PECK = 1.0
_TURN = 0.25


@dataclass(frozen=True, kw_only=True)
class CutLine:
    """A stroke on its layer, (n, 2) points in the sense of cutting, and how deep. [m]"""

    layer: str
    points: FloatArray
    depth: float


@dataclass(frozen=True, kw_only=True)
class Bored:
    """A hole on its layer, its middle [m], and what is cut there."""

    layer: str
    at: tuple[float, float]
    cut: HoleCut


def ordered_lines(
    lines: Sequence[Lines], *, others: Sequence[CutLine], order: Order, layers: tuple[CutLine, CutLine]
) -> list[CutLine]:
    """Return all strokes of the V-bit in the order of cutting.

    Parameters
    ----------
    lines : sequence of Lines
        Of each direction.
    others : sequence of CutLine
        Zero mark and text.
    order : Order
        One direction after the other, to and fro, and the others after that; or the least travel over all.
    layers : (CutLine, CutLine)
        Layer and depth of fine and of major lines; their points do not matter.
    """
    cuts: list[CutLine] = []
    place = (0.0, 0.0)
    if order is Order.LEAST_TRAVEL:
        everything = [cut for item in lines for cut in _cut_lines(item, None, layers)] + list(others)
        return _toured(everything, place)
    for item in lines:
        cuts += _cut_lines(item, to_and_fro(item.strokes, axis=item.axis), layers)
    if cuts:
        place = (float(cuts[-1].points[-1, 0]), float(cuts[-1].points[-1, 1]))
    return cuts + _toured(list(others), place)


def ordered_dots(points: FloatArray, *, order: Order) -> FloatArray:
    """Return dots in the order of cutting, (n, 2). [m]"""
    if not len(points):
        return points
    strokes = np.repeat(points[:, None, :], 2, axis=1)
    tour = to_and_fro(strokes, axis=0) if order is Order.ONE_DIRECTION else least_travel(strokes, start=(0.0, 0.0))
    ordered: FloatArray = points[tour.order]
    return ordered


def toured_bores(bores: Sequence[Bored]) -> list[Bored]:
    """Return holes in a short tour from the zero."""
    if not bores:
        return []
    points = np.array([bore.at for bore in bores])
    tour = least_travel(np.repeat(points[:, None, :], 2, axis=1), start=(0.0, 0.0))
    return [bores[row] for row in tour.order.tolist()]


def line_passes(cuts: Sequence[CutLine]) -> tuple[Stroke, ...]:
    """Return strokes at their depth below the face of the board."""
    return tuple(Stroke(points=np.column_stack([cut.points, np.full(len(cut.points), -cut.depth)])) for cut in cuts)


def bore_passes(bores: Sequence[Bored], *, tool: float) -> list[Bore | Plunge]:
    """Return the plunges and bores of holes: the counterbore first, then the hole in its floor.

    Parameters
    ----------
    bores : sequence of Bored
        In the order of cutting.
    tool : float
        Diameter of the end mill, at most that of any hole. [m]
    """
    passes: list[Bore | Plunge] = []
    for bore in bores:
        top, cut = 0.0, bore.cut
        if cut.counterbore is not None:
            diameter, depth = cut.counterbore
            passes.append(_bore(bore.at, diameter, (0.0, -depth), tool))
            top = -depth
        if cut.depth > -top:
            passes.append(_bore(bore.at, cut.diameter, (top, -cut.depth), tool))
    return passes


def bore_moves(cut: HoleCut, *, tool: float) -> int:
    """Return how many moves of the tool one hole takes: turns, level turns and pecks. [-]"""
    passes = bore_passes([Bored(layer="", at=(0.0, 0.0), cut=cut)], tool=tool)
    return sum(len(item.radii) * (item.turns + 1) if isinstance(item, Bore) else item.pecks for item in passes)


def _bore(at: tuple[float, float], diameter: float, levels: tuple[float, float], tool: float) -> Bore | Plunge:
    top, bottom = levels
    if diameter - tool < 1e-6:  # as wide as the tool, to the thousandth of a millimetre
        return Plunge(at=at, bottom=bottom, step=_PECK * tool)
    return Bore(at=at, radii=ring_radii(diameter, tool=tool), top=top, bottom=bottom, pitch=_TURN * tool)


def _cut_lines(item: Lines, tour: Tour | None, layers: tuple[CutLine, CutLine]) -> list[CutLine]:
    strokes, major = item.strokes, item.major
    if tour is not None:
        strokes, major = tour.strokes(strokes), major[tour.order]
    return [
        CutLine(layer=layers[int(big)].layer, points=points, depth=layers[int(big)].depth)
        for points, big in zip(strokes, major.tolist(), strict=True)
    ]


def _toured(cuts: list[CutLine], start: tuple[float, float]) -> list[CutLine]:
    """Return cuts in a short order; the order they came in is kept where that is no longer."""
    if not cuts:
        return []
    ends = np.array([(cut.points[0], cut.points[-1]) for cut in cuts])
    tour = least_travel(ends, start=start)
    if travel(ends, start=start) <= travel(tour.strokes(ends), start=start):
        return cuts
    return [
        replace(cuts[row], points=cuts[row].points[::-1]) if back else cuts[row]
        for row, back in zip(tour.order.tolist(), tour.back.tolist(), strict=True)
    ]
