"""The closed curve of force and moment that a turning cutter puts on the workpiece."""

from dataclasses import dataclass, replace

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = ["ForceCurve", "added", "mirrored", "scaled"]

_MIRROR = np.array([1.0, -1.0, 1.0])  # a force mirrored in the plane y = 0; a moment turns the other way


@dataclass(frozen=True, kw_only=True)
class ForceCurve:
    """Force and moment on the workpiece at successive angles of the spindle, in the feed frame.

    The feed frame stands at the tool tip: x along the feed, y to its left, z up the spindle.

    Attributes
    ----------
    angle : (k,) array
        Angle of the spindle. The curve repeats after one tooth pitch, after one revolution with run-out. [rad]
    force : (k, 3) array
        Sum of all edge forces on the workpiece. [N]
    moment : (k, 3) array
        Their moment about the tool tip, each at its own height and tooth position. [N m]
    weight : (k,) array
        Share of the time for which each row stands, sum 1; 0 for passing states such as a drill breaking through. [-]
    """

    angle: FloatArray
    force: FloatArray
    moment: FloatArray
    weight: FloatArray

    @property
    def mean(self) -> FloatArray:
        """Mean force, (3,). [N]"""
        return np.asarray(self.weight @ self.force)

    @property
    def torque(self) -> FloatArray:
        """Torque that the spindle delivers at each angle, positive while it cuts, (k,). [N m]"""
        return np.abs(self.moment[:, 2])

    @property
    def mean_torque(self) -> float:
        """Mean torque of the spindle. [N m]"""
        return float(self.weight @ self.torque)

    @property
    def peak_horizontal(self) -> float:
        """Greatest sideways force. [N]"""
        return float(np.hypot(self.force[:, 0], self.force[:, 1]).max())

    @property
    def lift(self) -> float:
        """Greatest upward force, 0 if it only presses. [N]"""
        return max(0.0, float(self.force[:, 2].max()))

    @property
    def wrenches(self) -> FloatArray:
        """Force beside moment about the tool tip, (k, 6). [N, N m]"""
        return np.hstack((self.force, self.moment))


def mirrored(curve: ForceCurve) -> ForceCurve:
    """Return the curve of a spindle that turns the other way: everything mirrored in the plane of feed and axis. [N]"""
    return replace(curve, force=curve.force * _MIRROR, moment=curve.moment * -_MIRROR)


def scaled(curve: ForceCurve, factor: float) -> ForceCurve:
    """Return the curve times a factor [-], as for the knock of an entry."""
    return replace(curve, force=curve.force * factor, moment=curve.moment * factor)


def added(curve: ForceCurve, *, steady: FloatArray) -> ForceCurve:
    """Return the curve with one steady wrench (6,) added at every angle. [N, N m]"""
    return replace(curve, force=curve.force + steady[:3], moment=curve.moment + steady[3:])
