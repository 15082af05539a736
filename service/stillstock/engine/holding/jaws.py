"""Where two parallel jaws meet the sides of a stock."""

from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Polygon

from stillstock.engine.holding.place import TOUCH
from stillstock.engine.set_up import FloatArray, Stock
from stillstock.errors import Fault, ImpossibleSetUp

__all__ = ["Jaws", "jaws_on"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Jaws:
    """Places of a pair of jaws in plan.

    Attributes
    ----------
    normal, across : (3,) tuples
        Push of the fixed jaw on the stock, and the direction along both jaws. [-]
    fixed : (2, 2) array
        Ends of the stock's face on the fixed jaw. [m]
    halves : (2, 2) array
        Middles of the two halves of its face on the moving jaw. [m]
    """

    normal: tuple[float, float, float]
    across: tuple[float, float, float]
    fixed: FloatArray
    halves: FloatArray


def jaws_on(stock: Stock, at: tuple[float, float], normal: tuple[float, float, float], *, width: float) -> Jaws:
    """Return where a fixed jaw at a place and the moving jaw opposite meet a stock.

    Parameters
    ----------
    stock : Stock
    at : (2,) tuple
        Middle of the fixed jaw. [m]
    normal : (3,) tuple
        Which way it faces. [-]
    width : float
        Of both jaws. [m]

    Raises
    ------
    ImpossibleSetUp
        If the two faces of the stock between them are not parallel to them; with the pointer ``/at``.
    """
    inward = np.asarray(normal)[:2]
    along = np.array([-inward[1], inward[0]])
    reach = (np.asarray(stock.plan) - at) @ along
    low, high = max(-width / 2.0, float(reach.min())), min(width / 2.0, float(reach.max()))
    middle, quarter, inset = (low + high) / 2.0, (high - low) / 4.0, 1e-6 * (high - low)
    ends = [_crossing(stock, at, along * end, inward) for end in (low + inset, high - inset)]
    halves = [_crossing(stock, at, along * (middle + side * quarter), inward) for side in (-1.0, 1.0)]
    near = [pair[0] for pair in (*ends, *halves)]
    far = [pair[1] for pair in (*ends, *halves)]
    if max(np.ptp(near), np.ptp(far)) > TOUCH:
        fault = Fault(
            pointer="/at",
            code="not_parallel",
            detail="the stock's faces between the jaws are not parallel to them: they would touch at single points",
            limit=TOUCH,
            seen=float(max(np.ptp(near), np.ptp(far))),
            dimension="length",
        )
        raise ImpossibleSetUp([fault])
    base = np.asarray(at)
    return Jaws(
        normal=normal,
        across=(float(along[0]), float(along[1]), 0.0),
        fixed=np.array([base + along * end + inward * near[0] for end in (low, high)]),
        halves=np.array([base + along * (middle + s * quarter) + inward * far[2] for s in (-1.0, 1.0)]),
    )


def _crossing(stock: Stock, at: tuple[float, float], beside: FloatArray, inward: FloatArray) -> tuple[float, float]:
    """Return where a line along the jaws' push enters and leaves the stock, from the fixed jaw. [m]"""
    start = np.asarray(at) + beside
    longest = float(np.ptp(stock.plan, axis=0).sum())
    line = LineString([start - inward * 2.0 * TOUCH, start + inward * longest])
    cut = np.asarray(line.intersection(Polygon(stock.plan).exterior).bounds).reshape(2, 2)
    if np.isnan(cut).any():
        return np.inf, np.inf
    ways = np.sort((cut - start) @ inward)
    return float(ways[0]), float(ways[1])
