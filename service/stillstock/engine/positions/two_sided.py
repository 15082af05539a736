"""In how many ways a part goes onto its dowels, and where it lies once it is turned over."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from stillstock.engine.positions.request import Flip
from stillstock.engine.set_up import FloatArray

__all__ = ["Way", "flipped_corner", "ways"]

#: Pins and holes within this of each other meet, and a pin goes in a hole that is less than this narrower. [m]
_SAME = 1e-4


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way to put a part onto its pins.

    Attributes
    ----------
    over : bool
        Whether its back is up.
    turn : float
        Angle by which it is turned from how it is stated; turned over, twice the angle of the axis about which. [rad]
    pins : tuple of int
        The pin that each hole stands on. [-]
    """

    over: bool
    turn: float
    pins: tuple[int, ...]


def ways(places: Sequence[tuple[float, float]], diameters: Sequence[float]) -> tuple[Way, ...]:
    """Return every way in which a part goes onto its pins; the first is as stated.

    Parameters
    ----------
    places : sequence of (2,) tuples
        Of two holes or more, and of the pins as the part lies as stated. [m]
    diameters : sequence of float
        Of pins and their holes. A pin goes into a wider hole too. [m]
    """
    points = np.array(places)
    found = []
    for pins in permutations(range(len(points))):
        if all(diameters[pin] <= diameters[hole] + _SAME for hole, pin in enumerate(pins)):
            found += [Way(over=over, turn=turn, pins=pins) for over, turn in _motions(points, points[list(pins)])]
    return tuple(sorted(found, key=lambda way: (way.over, abs(way.turn), way.pins)))


def _motions(holes: FloatArray, pins: FloatArray) -> Iterator[tuple[bool, float]]:
    """Yield each motion of the plane, turned over or not, that brings all holes onto their pins."""
    span, goal = holes[1] - holes[0], pins[1] - pins[0]
    if abs(np.hypot(*span) - np.hypot(*goal)) > _SAME:
        return
    for over in (False, True):
        mirror = np.diag([1.0, -1.0]) if over else np.eye(2)
        start = mirror @ span
        turn = math.remainder(math.atan2(goal[1], goal[0]) - math.atan2(start[1], start[0]), math.tau)
        c, s = math.cos(turn), math.sin(turn)
        turned = (holes - holes[0]) @ mirror.T @ np.array([[c, s], [-s, c]])
        if float(np.abs(turned + pins[0] - pins).max()) <= _SAME:
            yield over, 0.0 if abs(turn) < 1e-9 else turn


def flipped_corner(corner: tuple[float, float], size: tuple[float, ...], flip: Flip) -> tuple[float, float]:
    """Return the lower corner of the part once it is turned over about its dowels, which stay where they are. [m]

    An axis along y at a distance a from the part's left edge sends x to 2 a - x: the part then spans 2 a - width to
    2 a from where its left edge was.
    """
    across = 1 if flip.axis == "x" else 0
    moved = list(corner)
    moved[across] += 2.0 * flip.at - size[across]
    return moved[0], moved[1]
