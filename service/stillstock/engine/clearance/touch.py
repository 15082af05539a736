"""Where a probing move first touches what it is to probe."""

from collections.abc import Sequence

import numpy as np

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
    a, b = np.array(start), np.array(target)
    length = float(np.linalg.norm(b - a))
    if length == 0.0:
        return None
    # The sweep tells where they overlap by `TOUCH`: they touch that much earlier.
    found = [float(at) - TOUCH / length for at in sweep(a[None], b[None], parts=(part,), bodies=bodies).span[:, 0]]
    if target[2] < bed <= start[2]:
        found.append((start[2] - bed) / (start[2] - target[2]))
    if not found:
        return None
    x, y, z = (a + max(min(found), 0.0) * (b - a)).tolist()
    return x, y, z
