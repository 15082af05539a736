"""Circular moves as chords: centre from IJK or R, the points on the circle or helix."""

import math
from collections.abc import Iterator

__all__ = ["arc_points", "centre_from_radius", "chord_count", "radii_agree", "swept_angle"]

RADIUS_TOLERANCE = 5e-6
"""Difference of the radii at both ends that controllers forgive. [m]

Common practice of present router controllers, no source: 0.005 mm, or 0.1 % of the radius if that is more, but never
more than 0.5 mm. NISTIR 6556, 2000, section 3.5.3.2 (seen as quoted) forgives 0.002 mm (0.0002 in).
"""

RELATIVE_TOLERANCE = 1e-3
"""The same, as a share of the radius. [-]"""

GREATEST_TOLERANCE = 5e-4
"""No difference above this is forgiven. [m]"""


def radii_agree(start: float, *, end: float) -> bool:
    """Tell whether an arc's radius at its start and its end is one and the same for a controller. [m]"""
    difference = abs(start - end)
    if difference <= RADIUS_TOLERANCE:
        return True
    return difference <= RELATIVE_TOLERANCE * max(start, end) and difference <= GREATEST_TOLERANCE


def swept_angle(
    start: tuple[float, float], *, end: tuple[float, float], centre: tuple[float, float], clockwise: bool
) -> float:
    """Angle of an arc in its plane, signed, counter-clockwise positive; equal ends are a full circle.

    Parameters
    ----------
    start, end, centre : (2,) tuples
        In the plane's own axes: XY, ZX or YZ. [m]
    clockwise : bool
        True for G2, seen from the positive end of the plane's normal.

    Returns
    -------
    float
        [rad]
    """
    if start == end:
        return -math.tau if clockwise else math.tau
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    angle = (first - last if clockwise else last - first) % math.tau
    if angle == 0.0:
        angle = math.tau
    return -angle if clockwise else angle


def centre_from_radius(
    start: tuple[float, float], *, end: tuple[float, float], radius: float, clockwise: bool
) -> tuple[float, float]:
    """Centre of an arc given by R; a negative radius takes the arc of more than half a turn.

    Parameters
    ----------
    start, end : (2,) tuples
        In the plane's own axes, not the same. [m]
    radius : float
        The R word. [m]
    clockwise : bool
        True for G2.

    Returns
    -------
    (2,) tuple
        Centre; the middle of the chord if the radius is too short to reach. [m]

    Notes
    -----
    Meaning of the sign: NISTIR 6556, section 3.5.3.1 (from memory). Own derivation of the place: the centre lies beside
    the chord's middle by sqrt(R^2 - (c/2)^2), to its left for a short counter-clockwise arc.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(dx, dy)
    beside = math.sqrt(max(radius * radius - chord * chord / 4.0, 0.0))
    if clockwise != (radius < 0.0):
        beside = -beside
    return (start[0] + end[0]) / 2.0 - beside * dy / chord, (start[1] + end[1]) / 2.0 + beside * dx / chord


def chord_count(angle: float, *, radius: float, chord_error: float) -> int:
    """Count the equal chords that stray from the arc by no more than `chord_error`.

    Parameters
    ----------
    angle : float
        Swept angle. [rad]
    radius, chord_error : float
        Radius, and greatest sagitta r (1 - cos(step / 2)). [m]

    Returns
    -------
    int
        At least 3 for a full turn, 1 for a short arc. [-]
    """
    widest = math.tau / 3.0
    if chord_error < radius:
        # 2 asin(sqrt(e / 2r)) is acos(1 - e / r) without its loss of digits.
        widest = min(widest, 4.0 * math.asin(math.sqrt(chord_error / (2.0 * radius))))
    return max(1, math.ceil(abs(angle) / widest - 1e-9))


def arc_points(
    start: tuple[float, float, float],
    *,
    end: tuple[float, float, float],
    centre: tuple[float, float],
    angle: float,
    count: int,
) -> Iterator[tuple[float, float, float]]:
    """Give the ends of the chords of an arc or helix, the last one exactly at `end`.

    Parameters
    ----------
    start, end : (3,) tuples
        Two axes of the plane and its normal. [m]
    centre : (2,) tuple
        [m]
    angle : float
        Swept angle, counter-clockwise positive. [rad]
    count : int
        Number of chords. [-]

    Yields
    ------
    (3,) tuple
        In the axes of `start`. [m]

    Notes
    -----
    Where the radii at both ends differ the radius runs evenly from one to the other.
    """
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    radius = math.hypot(start[0] - centre[0], start[1] - centre[1])
    growth = math.hypot(end[0] - centre[0], end[1] - centre[1]) - radius
    rise = end[2] - start[2]
    for k in range(1, count):
        share = k / count
        r, phi = radius + growth * share, first + angle * share
        yield centre[0] + r * math.cos(phi), centre[1] + r * math.sin(phi), start[2] + rise * share
    yield end
