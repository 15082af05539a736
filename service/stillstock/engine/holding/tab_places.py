"""Where tabs go on an outline: evenly along it, as far from its corners as that allows."""

import numpy as np
from shapely.geometry import LinearRing

from stillstock.engine.set_up import FloatArray

__all__ = ["tab_places"]

#: Turn from which a vertex counts as a corner, where a tab is hard to cut off. [rad]
CORNER = np.radians(20.0)

#: Starts that are tried within one spacing. [-]
STARTS = 24


def _corners(outline: FloatArray) -> FloatArray:
    """Return how far along the outline its corners lie, (k,). [m]"""
    step = np.roll(outline, -1, axis=0) - outline
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs((heading - np.roll(heading, 1) + np.pi) % (2.0 * np.pi) - np.pi)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*step.T))[:-1]])
    found: FloatArray = along[turn > CORNER]
    return found


def tab_places(outline: FloatArray, count: int) -> tuple[tuple[float, float, float], ...]:
    """Return places for some tabs on an outline.

    Parameters
    ----------
    outline : (n, 2) array
        Counter-clockwise, not closed. [m]
    count : int
        Tabs. [-]

    Returns
    -------
    tuple of (x, y, angle)
        On the outline, and the direction of the path there. [m], [m], [rad]

    Examples
    --------
    >>> square = np.array([(0.0, 0.0), (0.1, 0.0), (0.1, 0.1), (0.0, 0.1)])
    >>> [(round(x, 3), round(y, 3)) for x, y, _ in tab_places(square, 4)]
    [(0.05, 0.0), (0.1, 0.05), (0.05, 0.1), (0.0, 0.05)]
    """
    ring = LinearRing(outline)
    spacing = ring.length / count
    corners = _corners(outline)

    def to_corner(start: float) -> float:
        if not len(corners):
            return 0.0
        gap = np.abs((start + spacing * np.arange(count))[:, None] - corners[None, :])
        return float(np.minimum(gap, ring.length - gap).min())

    start = max((spacing * k / STARTS for k in range(STARTS)), key=to_corner)
    return tuple(_place(ring, start + spacing * k) for k in range(count))


def _place(ring: LinearRing, along: float) -> tuple[float, float, float]:
    here = ring.interpolate(along)
    reach = ring.length * 1e-4
    before, after = ring.interpolate((along - reach) % ring.length), ring.interpolate((along + reach) % ring.length)
    return here.x, here.y, float(np.arctan2(after.y - before.y, after.x - before.x))
