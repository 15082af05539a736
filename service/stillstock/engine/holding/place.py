"""Places of holders on a stock, refused where they cannot be."""

import numpy as np
from shapely.geometry import Point, Polygon

from stillstock.engine.set_up import Bed, FloatArray, Stock
from stillstock.errors import Fault, ImpossibleSetUp

__all__ = [
    "TOUCH",
    "below_top",
    "facing",
    "no_higher",
    "on_stock",
    "rectangle",
    "touching",
    "within_bed",
    "within_outline",
    "within_stock",
]

#: How far a stop or side clamp may stand from the stock's edge and still be taken to touch it; own judgement. [m]
TOUCH = 1.0e-3

_FACES = {"+x": (1.0, 0.0, 0.0), "-x": (-1.0, 0.0, 0.0), "+y": (0.0, 1.0, 0.0), "-y": (0.0, -1.0, 0.0)}


def facing(word: str) -> tuple[float, float, float]:
    """Return the unit vector of ``"+x"``, ``"-x"``, ``"+y"`` or ``"-y"``. [-]"""
    return _FACES[word]


def rectangle(center: tuple[float, float], *, along: float, across: float, angle: float) -> FloatArray:
    """Return the corners of a rectangle turned by an angle, counter-clockwise. (4, 2) [m]"""
    u = np.array([np.cos(angle), np.sin(angle)]) * along / 2.0
    v = np.array([-np.sin(angle), np.cos(angle)]) * across / 2.0
    corners: FloatArray = np.asarray(center) + np.array([-u - v, u - v, u + v, -u + v])
    return corners


def on_stock(stock: Stock, at: tuple[float, float], *, what: str) -> None:
    """Refuse a place that is not over the stock.

    Raises
    ------
    ImpossibleSetUp
        With the pointer ``/at``.
    """
    if not Polygon(stock.plan).covers(Point(at)):
        distance = Polygon(stock.plan).distance(Point(at))
        fault = Fault(
            pointer="/at",
            code="beside_the_stock",
            detail=f"the {what} stands {{0}} beside the stock",
            numbers=((distance, "length"),),
            seen=list(at),
            dimension="length",
        )
        raise ImpossibleSetUp([fault])


def within_bed(bed: Bed, depth: float, *, what: str) -> None:
    """Refuse a fastener that goes deeper than the bed is thick. [m]

    Raises
    ------
    ImpossibleSetUp
        With the pointer ``/depth``.
    """
    if depth > bed.thickness:
        fault = Fault(
            pointer="/depth",
            code="range",
            detail=f"the {what} goes deeper than the bed is thick",
            limit=bed.thickness,
            seen=depth,
            dimension="length",
        )
        raise ImpossibleSetUp([fault])


def below_top(stock: Stock, height: float, *, what: str) -> None:
    """Refuse a side contact at a height above the stock's underside where the stock is no more. [m]

    Raises
    ------
    ImpossibleSetUp
        With the pointer ``/height``.
    """
    least = stock.thickness[0]
    if height > least:
        fault = Fault(
            pointer="/height",
            code="above_the_stock",
            detail=f"the {what} would push at {{0}}, above stock of {{1}}: it meets nothing there",
            numbers=((height, "length"), (least, "length")),
            limit=least,
            seen=height,
            dimension="length",
        )
        raise ImpossibleSetUp([fault])


def no_higher(stock: Stock, height: float, *, member: str, what: str) -> None:
    """Refuse what is left standing of the stock higher than the stock is thick. [m]

    Raises
    ------
    ImpossibleSetUp
        With the pointer of the member.
    """
    most = stock.thickness[1]
    if height > most * (1.0 + 1e-9):
        fault = Fault(
            pointer=f"/{member}",
            code="above_the_stock",
            detail=f"the {what} would be {{0}} high, in stock of {{1}}",
            numbers=((height, "length"), (most, "length")),
            limit=most,
            seen=height,
            dimension="length",
        )
        raise ImpossibleSetUp([fault])


def within_outline(stock: Stock, area: FloatArray, *, what: str) -> None:
    """Refuse an outline in the stock that reaches beyond it.

    Raises
    ------
    ImpossibleSetUp
        With the pointer ``/area``.
    """
    beyond = Polygon(area).difference(Polygon(stock.plan).buffer(TOUCH))
    if not beyond.is_empty:
        reach = float(Polygon(stock.plan).hausdorff_distance(Polygon(area).union(Polygon(stock.plan))))
        fault = Fault(
            pointer="/area",
            code="beside_the_stock",
            detail=f"the {what} runs {{0}} beyond the stock",
            numbers=((reach, "length"),),
            seen=reach,
            dimension="length",
        )
        raise ImpossibleSetUp([fault])


def within_stock(stock: Stock, area: FloatArray, *, what: str) -> FloatArray:
    """Return the part of an area that lies under the stock, as its outline. (n, 2) [m]

    Raises
    ------
    ImpossibleSetUp
        If none of it does; with the pointer ``/area``.
    """
    cut = Polygon(area).intersection(Polygon(stock.plan))
    pieces = [g for g in getattr(cut, "geoms", [cut]) if isinstance(g, Polygon) and g.area > 0.0]
    if not pieces:
        fault = Fault(pointer="/area", code="beside_the_stock", detail=f"no part of the {what} lies under the stock")
        raise ImpossibleSetUp([fault])
    largest = max(pieces, key=lambda piece: piece.area)
    outline = np.asarray(largest.exterior.coords)[:-1, :2]
    return outline if largest.exterior.is_ccw else outline[::-1]


def touching(stock: Stock, at: tuple[float, float], normal: tuple[float, float, float], *, what: str) -> None:
    """Refuse a side contact that does not touch the stock's edge or pushes out of it.

    Raises
    ------
    ImpossibleSetUp
        With the pointer ``/at`` or that of the direction.
    """
    shape = Polygon(stock.plan)
    gap = shape.exterior.distance(Point(at))
    if gap > TOUCH:
        fault = Fault(
            pointer="/at",
            code="not_touching",
            detail=f"the {what} stands {{0}} from the nearest edge of the stock: it does not touch it",
            numbers=((gap, "length"),),
            limit=TOUCH,
            seen=gap,
            dimension="length",
        )
        raise ImpossibleSetUp([fault])
    inside = Point(at[0] + 3.0 * TOUCH * normal[0], at[1] + 3.0 * TOUCH * normal[1])
    if not shape.contains(inside):
        fault = Fault(
            pointer="/at",
            code="wrong_way",
            detail=f"the {what} pushes away from the stock: turn its direction round",
            seen=list(at),
            dimension="length",
        )
        raise ImpossibleSetUp([fault])
