"""What lies on an area under the stock: tapes inside the parts, vacuum zone by zone."""

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stillstock.answers.placing.ground import Ground, Layout, NoPlace
from stillstock.answers.placing.growth import Tries
from stillstock.answers.shop import Entry
from stillstock.engine.holding.place import TOUCH
from stillstock.engine.mechanics.area import grown, shrunk
from stillstock.engine.set_up import FloatArray

__all__ = ["tape", "vacuum"]

#: What tape keeps from the edge of stock or part, so that no cutter meets it; common practice, no source. [m]
INSET = 0.003

#: Part of a vacuum zone that the stock must cover for it to be opened; own judgement. [-]
COVERED = 0.98


def _outline(ground: Ground, shape: BaseGeometry) -> FloatArray | None:
    """Return the outline of the greatest piece of a shape, in round numbers, (n, 2); None if nothing is left. [m]"""
    pieces = [piece for piece in getattr(shape, "geoms", [shape]) if piece.area > 1e-6]
    if not pieces:
        return None
    largest = shapely.orient_polygons(max(pieces, key=lambda piece: piece.area))
    return np.array([ground.point(at) for at in np.asarray(largest.exterior.coords)[:-1]])


def tape(ground: Ground, entry: Entry, taken: Layout) -> Tries:  # noqa: ARG001
    """Yield tape inside each part that comes free, slugs and all; under the whole stock where no part is stated."""
    parts = [shapely.Polygon(part.outline) for part in ground.set_up.parts]
    reaches = [grown(part, by=TOUCH) for part in parts]
    shapely.prepare(reaches)
    shapes = [
        part
        for part in parts
        if not any(other.area > part.area and reach.covers(part) for other, reach in zip(parts, reaches, strict=True))
    ] or [ground.plan]
    areas = [_outline(ground, shrunk(shape, by=INSET)) for shape in shapes]
    kept = [area for area in areas if area is not None]
    if len(kept) < len(shapes):
        raise NoPlace("no_place", f"a part is narrower than two insets of {ground.say(INSET)}: no tape fits under it")
    yield tuple(ground.piece(entry, {"area": area}) for area in kept)


def vacuum(ground: Ground, entry: Entry, taken: Layout) -> Tries:  # noqa: ARG001
    """Yield the zones that the stock covers; one under the whole stock where the table has none."""
    zones = ground.question.shop.zones
    if not zones:
        yield (ground.piece(entry, {}),)
        return
    covered = [zone for zone in zones if _share(zone, ground.plan) >= COVERED]
    if not covered:
        best = max(_share(zone, ground.plan) for zone in zones)
        detail = f"no vacuum zone is covered by the stock: the best of {len(zones)} by {best:.0%}"
        raise NoPlace("no_zone", detail, value=best, limit=COVERED)
    yield tuple(ground.piece(entry, {"area": np.array([ground.point(at) for at in zone])}) for zone in covered)


def _share(zone: FloatArray, plan: shapely.Polygon) -> float:
    shape = shapely.Polygon(zone)
    return float(shape.intersection(plan).area / shape.area)
