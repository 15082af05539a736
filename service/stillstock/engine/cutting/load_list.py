"""The loads of a whole job: what pulls at the stock, where, and which cut or line it belongs to."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.coefficients import Box, Coefficients
from stillstock.engine.cutting.engagement import described_engagements
from stillstock.engine.cutting.force_curve import ForceCurve, scaled
from stillstock.engine.cutting.load_hull import load_vertices
from stillstock.engine.cutting.loads import cut_curve, in_work_frame
from stillstock.engine.cutting.milling import ENTRY
from stillstock.engine.mechanics.capacity import Loads
from stillstock.engine.set_up import Cut, FloatArray, Load, Tool
from stillstock.tables.scatter import Corner

__all__ = ["LoadList", "capped", "cut_loads", "given_loads", "joined", "path_loads", "without_pressing"]

IntArray = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class LoadList:
    """Loads with where they come from.

    Attributes
    ----------
    loads : Loads
        n loads in the work frame.
    cut : (n,) int array
        Number of the described cut or given load; -1 for a program's.
    line : (n,) int array
        Line of the program; 0 for none.
    move : (n,) int array
        Row of the program's moves; -1 for none.
    """

    loads: Loads
    cut: IntArray
    line: IntArray
    move: IntArray

    def __len__(self) -> int:
        return len(self.cut)


def joined(parts: Sequence[LoadList]) -> LoadList:
    """Return several lists as one."""
    empty = np.zeros((0, 3))
    return LoadList(
        loads=Loads(
            force=np.concatenate([empty, *(p.loads.force for p in parts)]),
            point=np.concatenate([empty, *(p.loads.point for p in parts)]),
            couple=np.concatenate([empty, *(p.loads.couple for p in parts)]),
        ),
        cut=np.concatenate([np.zeros(0, dtype=np.int64), *(p.cut for p in parts)]),
        line=np.concatenate([np.zeros(0, dtype=np.int64), *(p.line for p in parts)]),
        move=np.concatenate([np.zeros(0, dtype=np.int64), *(p.move for p in parts)]),
    )


def without_pressing(given: LoadList) -> LoadList:
    """Return the list with, beside each load that presses down, the same load without its pressing part.

    The load factor would scale the pressing of a down-cut too, as if it could be relied on; it cannot.
    """
    pressing = given.loads.force[:, 2] < 0.0
    if not pressing.any():
        return given
    force = given.loads.force[pressing].copy()
    force[:, 2] = 0.0
    bare = LoadList(
        loads=Loads(force=force, point=given.loads.point[pressing], couple=given.loads.couple[pressing]),
        cut=given.cut[pressing],
        line=given.line[pressing],
        move=given.move[pressing],
    )
    return joined([given, bare])


def capped(curves: Sequence[ForceCurve], *, push_limit: float | None) -> tuple[tuple[ForceCurve, ...], bool]:
    """Return curves held to what the machine can push sideways, and whether that changed any.

    Parameters
    ----------
    curves : sequence of ForceCurve
    push_limit : float or None
        Greatest sideways push of the axes. [N]

    Notes
    -----
    The mean sideways force of a steady cut is what the axes must push: beyond their limit they stall or lose steps. The
    peaks of single teeth may pass it, so a whole curve is scaled by its mean. Own derivation.
    """
    if push_limit is None:
        return tuple(curves), False
    means = [float(np.hypot(*curve.mean[:2])) for curve in curves]
    held = tuple(
        scaled(curve, push_limit / mean) if mean > push_limit else curve
        for curve, mean in zip(curves, means, strict=True)
    )
    return held, any(mean > push_limit for mean in means)


def path_loads(vertices: FloatArray, *, at: FloatArray, heading: FloatArray) -> Loads:
    """Return the loads of one set of force vertices at many places and headings.

    Parameters
    ----------
    vertices : (m, 6) array
        In the feed frame, about the tool tip. [N, N m]
    at : (n, 3) array
        Tool tip. [m]
    heading : (n,) array
        Of the feed. [rad]

    Returns
    -------
    Loads
        n m loads, those of one place together.
    """
    turned = in_work_frame(vertices, heading).reshape(-1, 6)
    return Loads(force=turned[:, :3], point=np.repeat(at, len(vertices), axis=0), couple=turned[:, 3:])


def _coefficients(box: Box, corner: Corner) -> tuple[Coefficients, ...]:
    return (box.typical(),) if corner is Corner.TYPICAL else box.vertices()


def _segments(path: FloatArray) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Return both ends of each segment (2 s, 3), its heading (2 s,) and whether an end is the path's first."""
    if len(path) == 1:
        return path, np.zeros(1), np.ones(1, dtype=bool)
    step = np.diff(path, axis=0)
    heading = np.arctan2(step[:, 1], step[:, 0])
    ends = np.stack([path[:-1], path[1:]], axis=1).reshape(-1, 3)
    first = np.zeros(len(ends), dtype=bool)
    first[0] = True
    return ends, np.repeat(heading, 2), first


def cut_loads(
    cut: Cut, *, number: int, tool: Tool, box: Box, corner: Corner, push_limit: float | None
) -> tuple[LoadList, bool]:
    """Return the loads of a described cut, and whether the machine's push limit held some of them down.

    Parameters
    ----------
    cut : Cut
    number : int
        Of the cut.
    tool : Tool
    box : Box
        Band of the cutting coefficients.
    corner : Corner
        TYPICAL for typical coefficients; any other takes every corner of their band.
    push_limit : float or None
        Of the machine's axes. [N]

    Returns
    -------
    LoadList, bool
        At the path's first point the loads carry the knock of entering.
    """
    curves = [
        cut_curve(tool, coefficients, engagement, feed=cut.feed, speed=cut.speed)
        for engagement in described_engagements(cut, tool)
        for coefficients in _coefficients(box, corner)
    ]
    held, limited = capped(curves, push_limit=push_limit)
    vertices = load_vertices(held)
    knock = ENTRY.typical if corner is Corner.TYPICAL else ENTRY.high
    at, heading, first = _segments(cut.path)
    parts = [path_loads(vertices, at=at, heading=heading)]
    parts.append(path_loads(vertices * knock, at=at[first], heading=heading[first]))
    found = [
        LoadList(
            loads=part,
            cut=np.full(len(part.force), number),
            line=np.zeros(len(part.force), dtype=np.int64),
            move=np.full(len(part.force), -1),
        )
        for part in parts
    ]
    return joined(found), limited


def given_loads(loads: Sequence[Load], *, start: int) -> LoadList:
    """Return loads that the caller knows, numbered from `start`."""
    count = len(loads)
    return LoadList(
        loads=Loads(
            force=np.array([load.force for load in loads], dtype=float).reshape(-1, 3),
            point=np.array([load.at for load in loads], dtype=float).reshape(-1, 3),
            couple=np.array([load.moment for load in loads], dtype=float).reshape(-1, 3),
        ),
        cut=np.arange(start, start + count),
        line=np.zeros(count, dtype=np.int64),
        move=np.full(count, -1),
    )
