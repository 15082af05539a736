"""The groove of a V-bit: how deep makes how wide, how fast its edge runs, and how many skims it outlives."""

import math

__all__ = ["depth_of_width", "edge_speed", "skims_outlived", "width_of_depth"]


def width_of_depth(depth: float, *, angle: float, tip: float = 0.0) -> float:
    r"""Return the width of the groove at the face of the board.

    Parameters
    ----------
    depth : float
        Of the tip below the face. [m]
    angle : float
        Included angle of the bit. [rad]
    tip : float
        Flat at its tip. [m]

    Returns
    -------
    float
        Width of the line. [m]

    Notes
    -----
    Plain geometry: :math:`w = w_0 + 2 d \tan(\theta / 2)`.

    Examples
    --------
    A bit of 22 degrees, 1 mm deep:

    >>> round(1e3 * width_of_depth(1e-3, angle=math.radians(22)), 3)
    0.389
    """
    return tip + 2.0 * depth * math.tan(angle / 2.0)


def depth_of_width(width: float, *, angle: float, tip: float = 0.0) -> float:
    """Return the depth that makes a line so wide, the inverse of `width_of_depth`.

    Parameters
    ----------
    width : float
        Of the line at the face. [m]
    angle : float
        Included angle of the bit. [rad]
    tip : float
        Flat at its tip. [m]

    Returns
    -------
    float
        Depth; not positive if the flat alone is wider than the line. [m]
    """
    return (width - tip) / (2.0 * math.tan(angle / 2.0))


def edge_speed(diameter: float, *, speed: float) -> float:
    r"""Return how fast the edge runs at the diameter where it works.

    Parameters
    ----------
    diameter : float
        Where the edge works: for a groove, its width at the face, at most. [m]
    speed : float
        Of the spindle. [rad/s]

    Returns
    -------
    float
        Cutting speed, :math:`v = \omega D / 2`. [m/s]
    """
    return speed * diameter / 2.0


def skims_outlived(depth: float, *, skim: float) -> int:
    """Return how many skims leave something of a groove, insert cover or other depth.

    Parameters
    ----------
    depth : float
        Of the groove, or of what lies above an insert. [m]
    skim : float
        Taken off each time. [m]

    Returns
    -------
    int
        Greatest k with k skims less deep than `depth`. [-]

    Examples
    --------
    A groove of 0.4 mm is gone with the second skim of 0.2 mm; the comparison is in whole ticks.

    >>> skims_outlived(0.4e-3, skim=0.2e-3), skims_outlived(0.5e-3, skim=0.2e-3), skims_outlived(0.0, skim=0.2e-3)
    (1, 2, 0)
    """
    return max(0, -(-round(depth * 1e10) // round(skim * 1e10)) - 1)
