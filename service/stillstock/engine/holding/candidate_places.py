"""Places where one more holder might stand, before anybody has asked whether something is in its way."""

from dataclasses import dataclass

import numpy as np
import shapely

from stillstock.engine.set_up import FloatArray, Stock

__all__ = ["EdgePlace", "beside", "edge_places", "inner_places"]


@dataclass(frozen=True, kw_only=True)
class EdgePlace:
    """A place on the stock's edge.

    Attributes
    ----------
    edge : int
        Number of the edge: it leads from that corner of the plan to the next.
    along : float
        From the edge's first corner. [m]
    at : (2,) tuple
        [m]
    inward : (2,) tuple
        Unit vector into the stock. [-]
    """

    edge: int
    along: float
    at: tuple[float, float]
    inward: tuple[float, float]


def _on_edge(plan: FloatArray, edge: int, along: float) -> EdgePlace:
    start, end = plan[edge], plan[(edge + 1) % len(plan)]
    way = (end - start) / np.hypot(*(end - start))
    x, y = start + along * way
    return EdgePlace(edge=edge, along=along, at=(float(x), float(y)), inward=(float(-way[1]), float(way[0])))


def _length(plan: FloatArray, edge: int) -> float:
    return float(np.hypot(*(plan[(edge + 1) % len(plan)] - plan[edge])))


def edge_places(stock: Stock, *, count: int, margin: float) -> tuple[EdgePlace, ...]:
    """Return places spread evenly along the stock's edges, counter-clockwise.

    Parameters
    ----------
    stock : Stock
    count : int
        About how many. [-]
    margin : float
        Kept from both ends of each edge; shorter edges get one place in their middle, those of a rounded outline only
        some. [m]
    """
    plan = stock.plan
    whole = sum(_length(plan, edge) for edge in range(len(plan)))
    found = []
    for edge in _edges(len(plan), most=3 * count):
        length = _length(plan, edge)
        usable = length - 2.0 * margin
        steps = max(int(np.ceil(count * length / whole)), 1)
        stations = np.linspace(margin, length - margin, steps) if usable > 0.0 and steps > 1 else [length / 2.0]
        found += [_on_edge(plan, edge, float(along)) for along in stations]
    return tuple(found)


def _edges(count: int, *, most: int) -> list[int]:
    """Return the edges to look at: all, or of very many so many spread evenly."""
    return (
        list(range(count)) if count <= most else np.unique(np.linspace(0, count - 1, most).round()).astype(int).tolist()
    )


def beside(stock: Stock, place: EdgePlace, *, by: float, margin: float) -> tuple[EdgePlace, ...]:
    """Return the two places a distance before and behind one on its edge, as far as they keep the margin. [m]"""
    length = _length(stock.plan, place.edge)
    stations = (place.along - by, place.along + by)
    return tuple(_on_edge(stock.plan, place.edge, s) for s in stations if margin <= s <= length - margin)


def inner_places(stock: Stock, *, count: int, inset: float) -> tuple[tuple[float, float], ...]:
    """Return places on a square grid over the stock.

    Parameters
    ----------
    stock : Stock
    count : int
        About how many. [-]
    inset : float
        Kept from the stock's edge. [m]
    """
    shape = shapely.Polygon(stock.plan).buffer(-inset)
    if shape.is_empty:
        return ()
    x0, y0, x1, y1 = shape.bounds
    pitch = max(np.sqrt((x1 - x0) * (y1 - y0) / count), 1e-3)
    xs, ys = (
        np.linspace(low, high, max(int(np.ceil((high - low) / pitch)) + 1, 2)) for low, high in ((x0, x1), (y0, y1))
    )
    return tuple(
        (float(x), float(y)) for y in ys for x in xs if shape.buffer(1e-9).covers(shapely.Point(float(x), float(y)))
    )
