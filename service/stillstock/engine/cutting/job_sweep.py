"""The loads of a whole job: which fan of loads acts where, and which cut or line it belongs to."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.coefficients import Box, Coefficients
from stillstock.engine.cutting.engagement import described_engagements
from stillstock.engine.cutting.force_curve import ForceCurve, scaled
from stillstock.engine.cutting.loads import cut_curves
from stillstock.engine.cutting.milling import ENTRY
from stillstock.engine.mechanics.sweep import Fan, Sweep
from stillstock.engine.mechanics.wrench import cross
from stillstock.engine.set_up import Cut, FloatArray, Load, Tool
from stillstock.tables.scatter import Corner

__all__ = ["JobSweep", "Places", "capped", "chosen", "cut_places", "fan_of", "given_places", "joined"]

IntArray = NDArray[np.int64]
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, kw_only=True)
class Places:
    """Where one fan acts.

    Attributes
    ----------
    fan : Fan
        About points `height` above the tool tip.
    height : float
        [m]
    tip : (n, 3) array
        Tool tip, or point of attack of a given load. [m]
    heading : (n,) array
        Of the feed, from +x. [rad]
    cut, line, move : int arrays (n,)
        Number of the described cut or given load, -1 for a program's; line of the program, 0 for none; row of its
        moves, -1 for none.
    stretch : (n,) int array
        Of the described cut's path, from 0; 0 for all else.
    """

    fan: Fan
    height: float
    tip: FloatArray
    heading: FloatArray
    cut: IntArray
    line: IntArray
    move: IntArray
    stretch: IntArray


@dataclass(frozen=True, kw_only=True)
class JobSweep:
    """All places of a job; the arrays as in `Places`."""

    sweep: Sweep
    tip: FloatArray
    cut: IntArray
    line: IntArray
    move: IntArray
    stretch: IntArray

    def __len__(self) -> int:
        return len(self.cut)

    def only(self, rows: IntArray | NDArray[np.bool_]) -> "JobSweep":
        """Return some of the places, by number or by mask."""
        sweep = self.sweep
        return JobSweep(
            sweep=replace(sweep, fan=sweep.fan[rows], point=sweep.point[rows], heading=sweep.heading[rows]),
            tip=self.tip[rows],
            cut=self.cut[rows],
            line=self.line[rows],
            move=self.move[rows],
            stretch=self.stretch[rows],
        )


def joined(parts: Sequence[Places]) -> JobSweep:
    """Return all places as one sweep; there must be one at least."""
    tip = np.concatenate([part.tip for part in parts])
    heights = np.concatenate([np.full(len(part.cut), part.height) for part in parts])
    return JobSweep(
        sweep=Sweep(
            fans=tuple(part.fan for part in parts),
            fan=np.concatenate([np.full(len(part.cut), number) for number, part in enumerate(parts)]),
            point=tip + heights[:, None] * UP,
            heading=np.concatenate([part.heading for part in parts]) % (2.0 * np.pi),
        ),
        tip=tip,
        cut=np.concatenate([part.cut for part in parts]),
        line=np.concatenate([part.line for part in parts]),
        move=np.concatenate([part.move for part in parts]),
        stretch=np.concatenate([part.stretch for part in parts]),
    )


def _with_unpressed(force: FloatArray, couple: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Add, beside each load that presses down, the same load without its pressing part.

    The load factor would scale the pressing of a down-cut too, as if it could be relied on; it cannot.
    """
    pressing = force[:, 2] < 0.0
    bare = force[pressing] * (1.0, 1.0, 0.0)
    return np.concatenate([force, bare]), np.concatenate([couple, couple[pressing]])


def _distinct(rows: FloatArray) -> FloatArray:
    """Return the distinct rows, in order."""
    rows = np.take(rows, np.lexsort(rows.T[::-1]), axis=0)
    new = np.concatenate([[True], np.any(rows[1:] != rows[:-1], axis=1)])
    kept: FloatArray = rows[new]
    return kept


def fan_of(curves: Sequence[ForceCurve], *, factor: float) -> tuple[Fan, float]:
    """Return all loads of some curves as one fan, and the height above the tip about which it stands.

    Parameters
    ----------
    curves : sequence of ForceCurve
        In one feed frame, about the tool tip.
    factor : float
        On all of them, such as the knock of an entry. [-]

    Notes
    -----
    The height is that at which the mean sideways force attacks: about it the couples that are left are small, which
    makes the bounds of the sweep tight.
    """
    force = np.concatenate([curve.force for curve in curves]) * factor
    couple = np.concatenate([curve.moment for curve in curves]) * factor
    flat = force * (1.0, 1.0, 0.0)
    square = float(np.einsum("ij,ij->", flat, flat))
    height = (
        float(np.einsum("ij,ij->", cross(flat, couple), np.broadcast_to(UP, flat.shape))) / square if square else 0.0
    )
    force, couple = _with_unpressed(force, couple - cross(height * UP, force))
    kept = _distinct(np.round(np.concatenate([force, couple], axis=1), 12))
    return Fan(force=kept[:, :3], couple=kept[:, 3:]), height


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


def chosen(box: Box, corner: Corner) -> tuple[Coefficients, ...]:
    """Return the coefficients to try: typical ones, or every corner of their band."""
    return (box.typical(),) if corner is Corner.TYPICAL else box.vertices()


def _segments(path: FloatArray) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return both ends of each segment (2 s, 3) [m], its heading [rad] and its number (2 s,)."""
    if len(path) == 1:
        return path, np.zeros(1), np.zeros(1, dtype=np.int64)
    step = np.diff(path, axis=0)
    heading = np.arctan2(step[:, 1], step[:, 0])
    ends = np.stack([path[:-1], path[1:]], axis=1).reshape(-1, 3)
    return ends, np.repeat(heading, 2), np.repeat(np.arange(len(step)), 2)


def cut_places(
    cut: Cut, *, number: int, tool: Tool, box: Box, corner: Corner, push_limit: float | None
) -> tuple[list[Places], bool]:
    """Return where a described cut acts, and whether the machine's push limit held it down.

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
    list of Places, bool
        At the path's first point the loads carry the knock of entering. A layer that is cut in passes is judged in its
        lowest and its highest pass: the gauge is convex in the height at which a force attacks, so none between them is
        worse.
    """
    curves = [
        curve
        for engagement in described_engagements(cut, tool)
        for curve in cut_curves(tool, chosen(box, corner), engagement, feed=cut.feed, speed=cut.speed)
    ]
    held, limited = capped(curves, push_limit=push_limit)
    knock = ENTRY.typical if corner is Corner.TYPICAL else ENTRY.high
    at, heading, stretch = _segments(cut.path)
    places = []
    above = max((cut.layer or cut.depth) - cut.depth, 0.0)
    for some, factor in ((slice(None), 1.0), (slice(1), knock)):
        fan, height = fan_of(held, factor=factor)
        places += [
            _described(fan, height, at[some] + rise * UP, heading[some], number, stretch[some])
            for rise in dict.fromkeys((0.0, above))
        ]
    return places, limited


def _described(fan: Fan, height: float, tip: FloatArray, heading: FloatArray, number: int, stretch: IntArray) -> Places:
    count = len(tip)
    return Places(
        fan=fan,
        height=height,
        tip=tip,
        heading=heading,
        cut=np.full(count, number),
        line=np.zeros(count, dtype=np.int64),
        move=np.full(count, -1),
        stretch=stretch,
    )


def given_places(loads: Sequence[Load], *, start: int) -> list[Places]:
    """Return the places of loads that the caller knows, numbered from `start`."""
    found, whole = [], np.zeros(1, dtype=np.int64)
    for number, load in enumerate(loads, start=start):
        force, couple = _with_unpressed(np.array([load.force], dtype=float), np.array([load.moment], dtype=float))
        fan = Fan(force=force, couple=couple)
        found.append(_described(fan, 0.0, np.array([load.at], dtype=float), np.zeros(1), number, whole))
    return found
