"""What supports the stock from below: the bed under it, and the pads beneath clamps."""

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from stillstock.engine.mechanics.area import hull_corners, joined
from stillstock.engine.set_up import Bed, FloatArray, Stock

__all__ = ["CONE", "ground_shape", "pad_shape", "spreads_stiffly", "support_corners"]

#: Half-angle of the pressure cone beneath a clamp. 30 degrees is the narrow end of the 30 to 45 that bolted joints are
#: reckoned with (Shigley's Mechanical Engineering Design, ch. 8, frustum method, from memory). [rad]
CONE = np.pi / 6.0

#: Longest side over thickness up to which stock is taken as stiff enough to spread a clamp's push over its whole face;
#: own judgement. [-]
STIFF_UP_TO = 25.0


def ground_shape(stock: Stock, bed: Bed) -> BaseGeometry:
    """Return the plan area where the bed supports the stock. [m]"""
    shape: BaseGeometry = Polygon(stock.plan)
    return shape.difference(joined(bed.voids)) if bed.voids else shape


def support_corners(shape: BaseGeometry) -> FloatArray:
    """Return the corners about which a body on the area could tip, counter-clockwise. (k, 2) [m]"""
    return hull_corners(shape)


def pad_shape(toe: FloatArray, ground: BaseGeometry, *, thickness: float) -> BaseGeometry:
    """Return the area of bed that a push through a toe presses: its pressure cone, cut with what really supports there.

    Parameters
    ----------
    toe : (n, 2) array
        Outline through which the push enters the top face. [m]
    ground : shapely geometry
        Where the bed supports the stock. [m]
    thickness : float
        Of the stock. [m]
    """
    spread = Polygon(toe).buffer(thickness * np.tan(CONE), join_style="mitre")
    return spread.intersection(ground)


def spreads_stiffly(stock: Stock) -> bool:
    """Return whether the stock is stiff and flat enough to spread a push over its whole face."""
    return stock.bow <= 0.0 and max(stock.size[:2]) <= STIFF_UP_TO * stock.thickness[0]
