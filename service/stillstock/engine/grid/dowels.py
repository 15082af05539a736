"""Holes for locating dowels: rows, corner stops for repeat parts, pairs on a flip axis for two-sided work."""

import numpy as np

from stillstock.engine.grid.request import DowelKind, Dowels
from stillstock.engine.set_up import FloatArray

__all__ = ["dowel_places"]


def dowel_places(dowels: Dowels) -> list[tuple[tuple[float, float], float]]:
    """Return the middle and the diameter of each dowel. [m, m]

    Parameters
    ----------
    dowels : Dowels
        What is wanted.

    Returns
    -------
    list of ((2,) tuple, float)
        A row: even steps from end to end. A corner stop: two dowels along the longer edge of the stock and one along
        the shorter, each touching the edge from outside, so that three points place the stock. A flip pair: two dowels
        on the axis about which the stock is turned over, of two diameters if a second one is given.
    """
    start, end = np.array(dowels.at), np.array(dowels.to)
    if dowels.kind is DowelKind.CORNER:
        return [(_pair(place), dowels.diameter) for place in _corner(start, end - start, dowels)]
    if dowels.kind is DowelKind.FLIP:
        return [(_pair(start), dowels.diameter), (_pair(end), dowels.second or dowels.diameter)]
    shares = np.linspace(0.0, 1.0, dowels.count)
    return [(_pair(start * (1.0 - share) + end * share), dowels.diameter) for share in shares]


def _corner(corner: FloatArray, reach: FloatArray, dowels: Dowels) -> list[FloatArray]:
    inward, extent = np.sign(reach), np.abs(reach)
    longer = 0 if extent[0] >= extent[1] else 1
    along, across = np.eye(2)[longer] * inward, np.eye(2)[1 - longer] * inward
    radius, inset = dowels.diameter / 2.0, dowels.inset
    return [
        corner + inset * along - radius * across,
        corner + (extent[longer] - inset) * along - radius * across,
        corner + inset * across - radius * along,
    ]


def _pair(place: FloatArray) -> tuple[float, float]:
    return float(place[0]), float(place[1])
