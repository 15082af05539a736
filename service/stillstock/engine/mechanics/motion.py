"""The motion with which a body lets go, read from the dual of its gauge."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = ["LetGo", "Motion", "let_go"]


class Motion(StrEnum):
    """How a body moves off, in plain words."""

    SLIDE = "slide"
    LIFT = "lift"
    TIP = "tip"
    TWIST = "twist"


@dataclass(frozen=True, kw_only=True)
class LetGo:
    """A motion with its direction and, where it turns, the point about which it does.

    Attributes
    ----------
    kind : Motion
    direction : (3,) tuple
        Slide and lift: unit vector of the movement. Tip and twist: unit vector of the axis (right-hand rule). [-]
    pivot : (3,) tuple or None
        A point of the axis, nearest to the body's middle; None for slide and lift. [m]
    twist : (6,) array
        The motion itself: velocity at the origin and rotation, so scaled that the farthest corner moves by 1.
    """

    kind: Motion
    direction: tuple[float, float, float]
    pivot: tuple[float, float, float] | None
    twist: FloatArray


def _unit(vector: FloatArray) -> tuple[float, float, float]:
    x, y, z = vector / np.linalg.norm(vector)
    return float(x), float(y), float(z)


def _pivot(velocity: FloatArray, turning: FloatArray, middle: FloatArray) -> tuple[float, float, float]:
    """Return the point of the axis of `turning` that is nearest to the middle, which moves with `velocity`. [m]"""
    x, y, z = middle + np.cross(turning, velocity) / (turning @ turning)
    return float(x), float(y), float(z)


def let_go(slope: FloatArray, *, corners: FloatArray) -> LetGo:
    """Name the motion of a gauge's slope.

    Parameters
    ----------
    slope : (6,) array
        Gradient of the gauge with respect to the wrench about the origin. [1/N, 1/(N m)]
    corners : (k, 3) array
        Corners of the body. [m]

    Returns
    -------
    LetGo

    Raises
    ------
    ValueError
        If the slope is zero: a load that only presses home has no motion.

    Notes
    -----
    The dual of an equilibrium is a virtual motion (kinematic theorem). Friction of Coulomb's law in this programme is
    associated: a sliding contact also parts from its face with the slope mu, so a slide carries a lift of that size and
    still is a slide. Rotations are weighed by what they move at half the body's diagonal; own judgement of where one
    word ends and the next begins.
    """
    most = float(np.abs(slope).max())
    if most == 0.0:
        raise ValueError("a slope of zero has no motion")
    slope = slope / most  # only its direction counts, and squares of very small numbers are nought
    middle = corners.mean(axis=0)
    reach = float(np.linalg.norm(np.ptp(corners, axis=0))) / 2.0
    velocity, turning = slope[:3] + np.cross(slope[3:], middle), slope[3:]
    moved = np.linalg.norm(slope[:3] + np.cross(slope[3:], corners), axis=1).max()
    twist = slope / (moved if moved > 0.0 else 1.0)
    level = np.array([turning[0], turning[1], 0.0])
    upright = np.array([0.0, 0.0, turning[2]])
    sizes = {
        Motion.TIP: float(np.linalg.norm(level)) * reach,
        Motion.TWIST: abs(float(turning[2])) * reach,
        Motion.LIFT: abs(float(velocity[2])),
        Motion.SLIDE: float(np.hypot(velocity[0], velocity[1])),
    }
    most = max(sizes.values())
    thresholds = ((Motion.TIP, 0.5), (Motion.TWIST, 0.5), (Motion.LIFT, 1.0), (Motion.SLIDE, 0.0))
    kind = next(kind for kind, share in thresholds if sizes[kind] >= share * most)
    if kind is Motion.TIP:
        return LetGo(kind=kind, direction=_unit(level), pivot=_pivot(velocity, level, middle), twist=twist)
    if kind is Motion.TWIST:
        return LetGo(kind=kind, direction=_unit(upright), pivot=_pivot(velocity, upright, middle), twist=twist)
    if kind is Motion.LIFT:
        return LetGo(kind=kind, direction=(0.0, 0.0, float(np.sign(velocity[2]) or 1.0)), pivot=None, twist=twist)
    return LetGo(kind=kind, direction=_unit(np.array([velocity[0], velocity[1], 0.0])), pivot=None, twist=twist)
