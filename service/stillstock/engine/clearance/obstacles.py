"""Everything that stands on the table, and whether it can all stand there at once."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from stillstock.engine.holding.body import Body, cylinder
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray, Puck, SetUp, Stock

__all__ = ["PUCK", "STOCK", "Overlap", "overlaps", "plan_shape", "puck_body", "standing", "stock_body"]

STOCK = -1
"""Number that stands for the stock where a holder's number is asked for. [-]"""

PUCK = -2
"""Number that stands for the touch puck where a holder's number is asked for. [-]"""

CROWDED = 1e-3
"""Overlap of two holders that no shop would measure: less is taken for touching; own judgement. [m]"""

LOOKING, A_PAIR = 0.1, 0.6
"""What it costs to look what is near a body, and how far two that are reach into each other; measured. [units]"""


@dataclass(frozen=True, kw_only=True)
class Overlap:
    """Two bodies of different holders in one place; `depth` is their overlap in plan. [m]"""

    one: Body
    other: Body
    depth: float


def standing(set_up: SetUp) -> tuple[Body, ...]:
    """Return the bodies of all holders, by the holders' order."""
    return tuple(body for index, holder in enumerate(set_up.holders) for body in holder.bodies(index, set_up))


def puck_body(puck: Puck, *, bed: float) -> Body:
    """Return the touch puck as it stands on the bed."""
    x, y, high = puck.at
    return Body(holder=PUCK, part="puck", core=cylinder((x, y)), radius=puck.diameter / 2.0, low=bed, high=high)


def stock_body(stock: Stock) -> Body:
    """Return the stock as one upright body: its convex hull in plan, at its greatest thickness and bow.

    Over a notch in its outline it stands higher than the stock, which is the safe side for heights.
    """
    hull = shapely.MultiPoint(np.asarray(stock.plan)).convex_hull
    core: FloatArray = np.asarray(shapely.orient_polygons(hull).exterior.coords)[:-1]
    bottom = stock.origin[2]
    return Body(holder=STOCK, part="stock", core=core, low=bottom, high=bottom + stock.thickness[1] + stock.bow)


def plan_shape(body: Body, *, grown: float = 0.0) -> shapely.Polygon:
    """Return a body's outline in plan as a shape, grown on all sides. [m]"""
    core = body.core
    if len(core) == 1:
        shape = shapely.Point(core[0])
    else:
        shape = shapely.LineString(core) if len(core) == 2 else shapely.Polygon(core)
    return shape.buffer(body.radius + grown, quad_segs=16)


def overlaps(bodies: Sequence[Body]) -> tuple[Overlap, ...]:
    """Find the bodies of different holders (or the puck) that overlap by more than 1 mm in plan, at a common height.

    Returns
    -------
    tuple of Overlap
        One for each pair of holders: the deepest.
    """
    worst: dict[tuple[int, int], Overlap] = {}
    for one, other in _near(bodies):
        depth = _depth(one, other)
        pair = (one.holder, other.holder)
        if depth > CROWDED and (pair not in worst or depth > worst[pair].depth):
            worst[pair] = Overlap(one=one, other=other, depth=depth)
    return tuple(worst.values())


def _near(bodies: Sequence[Body]) -> Iterator[tuple[Body, Body]]:
    """Give each pair of bodies of different holders whose boxes overlap by more than 1 mm along every axis."""
    if not bodies:
        return
    low = np.array([(*body.box[:2], body.low) for body in bodies])
    high = np.array([(*body.box[2:], body.high) for body in bodies])
    holder = np.array([body.holder for body in bodies])
    spend(LOOKING * len(bodies))
    for number, one in enumerate(bodies):
        shared = np.minimum(high[number], high[number + 1 :]) - np.maximum(low[number], low[number + 1 :])
        close = (shared > CROWDED).all(axis=1) & (holder[number + 1 :] != one.holder)
        yield from ((one, bodies[number + 1 + int(other)]) for other in np.flatnonzero(close))


def _depth(one: Body, other: Body) -> float:
    """Return how far two bodies reach into each other in plan: the lesser side of what they share, about. [m]"""
    spend(A_PAIR)
    shared = plan_shape(one).intersection(plan_shape(other))
    return 2.0 * float(shapely.maximum_inscribed_circle(shared).length) if shared.area > CROWDED**2 else 0.0
