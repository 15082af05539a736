"""From a tool, its engagement, feed and speed to the loads on the workpiece."""

from collections.abc import Sequence

import numpy as np

from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.drilling import breaking_through, end_forces, thrust_band, with_states
from stillstock.engine.cutting.engagement import Engagement, described_engagements, from_other_side
from stillstock.engine.cutting.force_curve import ForceCurve, added, mirrored
from stillstock.engine.cutting.milling import milling_curves
from stillstock.engine.set_up import FloatArray, Tool

__all__ = ["cut_curve", "cut_curves", "described_engagements", "in_work_frame"]


def _still() -> ForceCurve:
    """Return the curve of a cutter whose sides cut nothing. [N, N m]"""
    return ForceCurve(angle=np.zeros(1), force=np.zeros((1, 3)), moment=np.zeros((1, 3)), weight=np.ones(1))


def _clockwise(
    tool: Tool, sets: Sequence[Coefficients], engagement: Engagement, *, feed: float
) -> tuple[ForceCurve, ...]:
    """Curve of sides and end together, spindle clockwise, of each set; feed per revolution. [m]"""
    sides = milling_curves(tool, sets, engagement, feed=feed) if engagement.arcs else (_still(),) * len(sets)
    sink = feed * float(np.sin(engagement.slope))
    with_ends = (_with_end(curve, tool, c, sink=sink) for curve, c in zip(sides, sets, strict=True))
    return tuple(breaking_through(curve, tool) if engagement.through else curve for curve in with_ends)


def _with_end(sides: ForceCurve, tool: Tool, coefficients: Coefficients, *, sink: float) -> ForceCurve:
    """Add what the end does while it goes down by `sink` a revolution. [m]"""
    band = thrust_band(tool)
    steady, hard = (end_forces(tool, coefficients, sink=sink, thrust=c) for c in (band.typical, band.high))
    curve = added(sides, steady=steady)
    if not np.any(steady):
        return curve
    pressed = added(sides, steady=hard)
    return with_states(curve, force=pressed.force, moment=pressed.moment)


def cut_curve(
    tool: Tool, coefficients: Coefficients, engagement: Engagement, *, feed: float, speed: float
) -> ForceCurve:
    """Return the curve of one set of coefficients, as `cut_curves` does of several. [N, N m]"""
    return cut_curves(tool, (coefficients,), engagement, feed=feed, speed=speed)[0]


def cut_curves(
    tool: Tool, sets: Sequence[Coefficients], engagement: Engagement, *, feed: float, speed: float
) -> tuple[ForceCurve, ...]:
    """Force and moment on the workpiece while a tool cuts, for each of some sets of coefficients.

    Parameters
    ----------
    tool : Tool
    sets : sequence of Coefficients
    engagement : Engagement
        As it really lies: left and right of the feed, whichever way the spindle turns.
    feed : float
        Along the path. [m/s]
    speed : float
        Of the spindle; negative turns counter-clockwise (M4). [rad/s]

    Returns
    -------
    tuple of ForceCurve
        In the feed frame, about the tool tip. A ramp adds the end's thrust and torque to the sides', each by its part
        of the feed; a tool that comes out below adds the pull. Times `milling.ENTRY` while it enters the work.

    Raises
    ------
    ValueError
        If the spindle stands still: nothing is cut then.

    Notes
    -----
    A counter-clockwise cutter is the mirror image of a clockwise one: its load is found mirrored and mirrored back.
    """
    if speed == 0.0:
        raise ValueError("a spindle that stands still does not cut")
    per_revolution = 2 * np.pi * feed / abs(speed)
    if speed > 0.0:
        return _clockwise(tool, sets, engagement, feed=per_revolution)
    return tuple(map(mirrored, _clockwise(tool, sets, from_other_side(engagement), feed=per_revolution)))


def in_work_frame(loads: FloatArray, heading: FloatArray) -> FloatArray:
    """Turn loads from the feed frame to the work frame, for many headings at once.

    Parameters
    ----------
    loads : (m, 6) array
        Force and moment in the feed frame, about the tool tip. [N, N m]
    heading : (n,) array
        Angle from +x of the work frame to the feed, counter-clockwise seen from above. [rad]

    Returns
    -------
    (n, m, 6) array
        The same about the same tip, along the axes of the work frame. [N, N m]
    """
    cosine, sine = np.cos(heading)[:, None], np.sin(heading)[:, None]
    x, y = loads[:, [0, 3]].T[:, None], loads[:, [1, 4]].T[:, None]
    turned = np.broadcast_to(loads, (len(heading), *loads.shape)).copy()
    turned[..., [0, 3]] = np.moveaxis(cosine * x - sine * y, 0, -1)
    turned[..., [1, 4]] = np.moveaxis(sine * x + cosine * y, 0, -1)
    return turned
