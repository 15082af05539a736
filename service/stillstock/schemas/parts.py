"""Whether the parts of a document fit the stock and each other."""

from collections.abc import Iterator

import shapely

from stillstock.answers.said import written
from stillstock.engine.set_up import SetUp
from stillstock.errors import Fault
from stillstock.units import System

__all__ = ["part_faults"]

#: What rounding a document's numbers may shift. [m]
TOLERANCE = 1e-6


def part_faults(set_up: SetUp, system: System) -> Iterator[Fault]:
    """Give the faults of parts that reach beyond the stock, and of those that share ground with another.

    A part wholly inside another is its slug; two that cut into each other, or lie on the same ground, cannot both be.
    """
    shapes = [shapely.Polygon(part.outline) for part in set_up.parts]
    stock = shapely.Polygon(set_up.stock.plan).buffer(TOLERANCE)
    for number, shape in enumerate(shapes):
        if not stock.covers(shape):
            detail = f"{set_up.parts[number].name} reaches beyond the stock"
            yield Fault(pointer=f"/parts/{number}/outline", code="outside", detail=detail)
    if not shapes:
        return
    ones, others = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    for one, other in sorted((max(pair), min(pair)) for pair in zip(ones, others, strict=True) if pair[0] < pair[1]):
        if _share_ground(shapes[one], shapes[other]):
            yield _overlap(set_up, int(one), int(other), shapes[one].intersection(shapes[other]).area, system)


def _share_ground(one: shapely.Polygon, other: shapely.Polygon) -> bool:
    within, around = sorted((one, other), key=lambda shape: float(shape.area))
    common = within.intersection(around).area
    slug = around.buffer(TOLERANCE).covers(within) and around.area - within.area > within.length * TOLERANCE
    return bool(common > within.length * TOLERANCE and not slug)


def _overlap(set_up: SetUp, one: int, other: int, common: float, system: System) -> Fault:
    area = written(common, "area", system)
    names = set_up.parts[one].name, set_up.parts[other].name
    detail = (
        f"{names[0]} and {names[1]} share {area} of the stock: a slug lies wholly inside its part, all else beside it"
    )
    return Fault(pointer=f"/parts/{one}/outline", code="overlap", detail=detail, seen=f"/parts/{other}")
