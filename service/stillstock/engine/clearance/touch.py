"""Where a probing move first touches what it is to probe."""

from collections.abc import Sequence

import numpy as np

from stillstock.engine.clearance.plan import point_distance
from stillstock.engine.clearance.swept import TOUCH, sweep
from stillstock.engine.clearance.turned_body import ToolPart
from stillstock.engine.holding.body import Body

__all__ = ["first_touch"]

Place = tuple[float, float, float]


def first_touch(start: Place, target: Place, *, part: ToolPart, bodies: Sequence[Body], bed: float) -> Place | None:
    """Return where a straight move of a tool's lower end first touches a body or the bed; None if it never does.

    Parameters
    ----------
    start, target : (3,) tuples
        Of the tool tip. [m]
    part : ToolPart
        The stylus, or the cutter that is used as one.
    bodies : sequence of Body
        What is to be probed.
    bed : float
        Height of the bed. [m]
    """
    upright = start[:2] == target[:2] and target[2] <= start[2]
    found = _below(start, part=part, bodies=bodies) if upright else _along(start, target, part=part, bodies=bodies)
    drop = start[2] - target[2]
    if upright:
        found = [(start[2] - height) / drop for height in found if target[2] < height <= start[2]]
    if target[2] < bed <= start[2]:
        found.append((start[2] - bed) / drop)
    if not found:
        return None
    share = max(min(found), 0.0)
    x, y, z = (a + share * (b - a) for a, b in zip(start, target, strict=True))
    return x, y, z


def _below(start: Place, *, part: ToolPart, bodies: Sequence[Body]) -> list[float]:
    """Return the heights at which a tool that goes straight down touches each body that lies below it. [m]"""
    point = np.array([start[:2]])
    away = [max(float(point_distance(point, core=body.core)[0]) - body.radius, 0.0) for body in bodies]
    return [
        body.high - part.bottom - float(part.end.rise(np.array(gap * gap)))
        for gap, body in zip(away, bodies, strict=True)
        if gap < part.radius - TOUCH
    ]


def _along(start: Place, target: Place, *, part: ToolPart, bodies: Sequence[Body]) -> list[float]:
    """Return the shares of a move at which it touches each body that it meets. [-]"""
    a, b = np.array([start]), np.array([target])
    length = float(np.linalg.norm(b - a))
    if length == 0.0:
        return []
    # The sweep tells where they overlap by `TOUCH`: they touch that much earlier.
    return [float(at) - TOUCH / length for at in sweep(a, b, parts=(part,), bodies=bodies).span[:, 0]]
