"""Force and moment on a rigid body, and the scale in which they are solved."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stillstock.engine.set_up import FloatArray

__all__ = ["Scale", "cross", "wrench"]


def cross(a: FloatArray, b: FloatArray) -> FloatArray:
    """Return the vector products of (..., 3) arrays; for single vectors many times as fast as the library's."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    x = ay * bz - az * by
    product = np.empty((*x.shape, 3))
    product[..., 0], product[..., 1], product[..., 2] = x, az * bx - ax * bz, ax * by - ay * bx
    return product


def wrench(at: ArrayLike, force: ArrayLike, moment: ArrayLike = (0.0, 0.0, 0.0)) -> FloatArray:
    """Return the wrenches, about the frame's origin, of forces at points.

    Parameters
    ----------
    at : (..., 3) array
        Points of attack. [m]
    force : (..., 3) array
        Forces. [N]
    moment : (..., 3) array
        Couples that come with them. [N m]

    Returns
    -------
    (..., 6) array
        Forces and moments. [N, N m]

    Examples
    --------
    >>> wrench((1.0, 0.0, 0.0), (0.0, 0.0, 2.0))
    array([ 0.,  0.,  2.,  0., -2.,  0.])
    """
    at, force = np.asarray(at, dtype=float), np.asarray(force, dtype=float)
    turned = cross(at, force) + np.asarray(moment, dtype=float)
    found = np.empty((*turned.shape[:-1], 6))
    found[..., :3], found[..., 3:] = force, turned
    return found


@dataclass(frozen=True, kw_only=True)
class Scale:
    """Reference point and units in which a linear programme is well conditioned.

    Attributes
    ----------
    reference : (3,) tuple
        Point about which moments are taken. [m]
    length, force : float
        Units of length and force. [m], [N]
    """

    reference: tuple[float, float, float]
    length: float
    force: float

    def points(self, at: ArrayLike) -> FloatArray:
        """Return points relative to the reference, in units of length. [-]"""
        scaled: FloatArray = (np.asarray(at, dtype=float) - self.reference) / self.length
        return scaled

    def wrenches(self, loads: FloatArray) -> FloatArray:
        """Return (..., 6) wrenches about the origin as scaled ones about the reference. [-]"""
        forces, moments = loads[..., :3], loads[..., 3:]
        moved = moments - cross(np.asarray(self.reference), forces)
        return np.concatenate([forces, moved / self.length], axis=-1) / self.force

    def gradient(self, scaled: FloatArray) -> FloatArray:
        """Return the vector g with g.w = scaled.(scaled w) for every wrench w about the origin. [1/N, 1/(N m)]"""
        turning = scaled[..., 3:] / (self.force * self.length)
        along = scaled[..., :3] / self.force - cross(turning, np.asarray(self.reference))
        return np.concatenate([along, turning], axis=-1)
