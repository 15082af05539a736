"""Where three stops touch a part: two on its longer edge, one on the shorter (3-2-1)."""

import math

import numpy as np

from stillstock.engine.positions.location import Locator
from stillstock.engine.positions.request import Dowels, Part, Pattern

__all__ = ["dowel_locators", "stop_locators"]

#: From an end of the edge to the stop, where nothing else says where stops stand (common practice, no source). [-]
_INSET = 1.0 / 8.0
_NOISE = 1e-9  # [m]


def stop_locators(
    part: Part, corner: tuple[float, float], *, radius: float, pattern: Pattern | None
) -> tuple[Locator, Locator, Locator] | None:
    """Return where the stops touch the part, or None if the pattern leaves no places along its edges.

    Parameters
    ----------
    part : Part
    corner : (2,) tuple
        Its lower corner. [m]
    radius : float
        Of a stop; 0 for a line. [m]
    pattern : Pattern or None
        On which their middles stand.
    """
    longer = 0 if part.size[0] >= part.size[1] else 1
    ends, middle = (_along(part, corner, axis, radius, pattern) for axis in (longer, 1 - longer))
    if len(ends) < 2 or not len(middle):
        return None
    centre = corner[1 - longer] + part.size[1 - longer] / 2.0
    one = float(middle[int(np.argmin(np.abs(middle - centre)))])
    return (
        _touching(longer, float(ends[0]), corner),
        _touching(longer, float(ends[-1]), corner),
        _touching(1 - longer, one, corner),
    )


def _along(part: Part, corner: tuple[float, float], axis: int, radius: float, pattern: Pattern | None) -> np.ndarray:
    """Return the places along an edge at which a stop may stand, wholly beside it. [m]"""
    start, size = corner[axis], part.size[axis]
    if pattern is None:
        return start + size * np.array([_INSET, 0.5, 1.0 - _INSET])
    first, pitch = pattern.first[axis], pattern.pitch[axis]
    least = math.ceil((start + radius - first) / pitch - _NOISE)
    most = math.floor((start + size - radius - first) / pitch + _NOISE)
    return first + pitch * np.arange(least, most + 1)


def _touching(axis: int, along: float, corner: tuple[float, float]) -> Locator:
    """Return the contact on the edge that runs along an axis."""
    if axis == 0:
        return Locator(at=(along, corner[1]), normal=(0.0, 1.0))
    return Locator(at=(corner[0], along), normal=(1.0, 0.0))


def dowel_locators(dowels: Dowels) -> tuple[Locator, Locator, Locator]:
    """Return what two dowels fix, in the part: the first along and across their line, the second across it."""
    one, other = (np.array(at) for at in dowels.at)
    along = (other - one) / float(np.hypot(*(other - one)))
    across = (-float(along[1]), float(along[0]))
    return (
        Locator(at=dowels.at[0], normal=(float(along[0]), float(along[1]))),
        Locator(at=dowels.at[0], normal=across),
        Locator(at=dowels.at[1], normal=across),
    )
