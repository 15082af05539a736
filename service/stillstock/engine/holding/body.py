"""What of a holder stands on the table: upright bodies that the tool must not meet."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = ["Body", "Keeping", "block_behind", "cylinder"]


class Keeping(StrEnum):
    """How a body is kept clear of, which says what margin it gets."""

    FIXED = "fixed"
    HAND_SET = "hand_set"
    SCREW = "screw"


@dataclass(frozen=True, kw_only=True, eq=False)
class Body:
    """An upright prism with rounded edges: a convex core in plan, grown by a radius, between two heights.

    A core of one point makes a cylinder, one of two points a slot with round ends.

    Attributes
    ----------
    holder : int
        Number of the holder in the set-up.
    part : str
        The trade's word for this part of the holder.
    core : (n, 2) array
        Convex outline in plan, counter-clockwise. [m]
    radius : float
        By which the core is grown on all sides. [m]
    low, high : float
        Heights of its underside and its top in the work frame. [m]
    keeping : Keeping
        Whether its height depends on the hand that set it, or it is a fastener that may be hidden under chips.
    """

    holder: int
    part: str
    core: FloatArray
    low: float
    high: float
    radius: float = 0.0
    keeping: Keeping = Keeping.FIXED

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y in plan. [m]"""
        low, high = self.core.min(axis=0) - self.radius, self.core.max(axis=0) + self.radius
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def cylinder(at: tuple[float, float]) -> FloatArray:
    """Return the core of a body that is round in plan. (1, 2) [m]"""
    return np.array([at], dtype=np.float64)


def block_behind(
    at: tuple[float, float], normal: tuple[float, float, float], *, width: float, depth: float
) -> FloatArray:
    """Return the outline of a block whose face, `width` wide, faces along `normal` at a place. (4, 2) [m]

    It reaches `depth` back from that face.
    """
    face, inward = np.asarray(at), np.asarray(normal[:2])
    across = np.array([-inward[1], inward[0]]) * width / 2.0
    back = face - inward * depth
    corners: FloatArray = np.array([back - across, face - across, face + across, back + across])
    return corners
