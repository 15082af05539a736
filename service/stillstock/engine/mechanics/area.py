"""Plan areas: quadrature points over them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray

__all__ = ["PlanArea", "grown", "hull_corners", "joined", "plan_areas", "shrunk"]

#: Corners up to which a polygon is cut into triangles; one of more is cut into squares, so many along its longer side.
MOST_CORNERS, CELLS = 14, 8
#: What it costs to cut a polygon into squares, for each corner; by measurement. [units]
A_CORNER = 0.05
#: What it costs to grow a polygon, for each corner; by measurement. [units]
GROWING = 0.15
#: What it costs to take a polygon from another, for each corner, and to join it before with others that it may touch;
#: by measurement. [units]
TAKING, JOINING = 0.005, 0.025
#: Directions whose farthest corners stand for a hull of more corners; of a disc they leave out 1 / 800 of its radius.
DIRECTIONS = 64

_GAUSS: dict[int, tuple[FloatArray, FloatArray]] = {n: np.polynomial.legendre.leggauss(n) for n in (3, 4, 6)}

# Two points a side, drawn in from those of Gauss so far that a square keeps its exact mean distance from the centre.
_GAUSS[2] = (np.array([-0.5411, 0.5411]), np.ones(2))

# Six points and weights on a triangle, exact for polynomials of degree 4: G. R. Cowper, "Gaussian quadrature formulas
# for triangles", Int. J. Numer. Methods Eng. 7 (1973) 405-408, from memory; the tests hold them to the exact integrals.
_TRIANGLE = np.array(
    [
        (0.445948490915965, 0.445948490915965, 0.223381589678011),
        (0.445948490915965, 0.108103018168070, 0.223381589678011),
        (0.108103018168070, 0.445948490915965, 0.223381589678011),
        (0.091576213509771, 0.091576213509771, 0.109951743655322),
        (0.091576213509771, 0.816847572980459, 0.109951743655322),
        (0.816847572980459, 0.091576213509771, 0.109951743655322),
    ]
)


@dataclass(frozen=True, kw_only=True)
class PlanArea:
    """A plan area with the points at which fields on it are integrated.

    Attributes
    ----------
    points : (g, 2) array
        Quadrature points. [m]
    weights : (g,) array
        Their shares of the area, adding up to it. [m2]
    corners : (v, 2) array
        Corners of its convex hull, where an affine field is least and greatest; see `hull_corners`. [m]
    """

    points: FloatArray
    weights: FloatArray
    corners: FloatArray

    @property
    def size(self) -> float:
        """Area. [m2]"""
        return float(self.weights.sum())

    @property
    def centroid(self) -> FloatArray:
        """Centre of the area. (2,) [m]"""
        center: FloatArray = self.weights @ self.points / self.weights.sum()
        return center


def _orders(long: float, short: float, order: int) -> tuple[int, int]:
    return (order, order) if order == 2 or long < 1.2 * short else (6, 3)


def _rectangle(corners: FloatArray, order: int) -> tuple[FloatArray, FloatArray]:
    long, short = (corners[1] - corners[0]) / 2.0, (corners[3] - corners[0]) / 2.0
    if np.hypot(*long) < np.hypot(*short):
        long, short = short, long
    along, across = (_GAUSS[n] for n in _orders(float(np.hypot(*long)), float(np.hypot(*short)), order))
    u, v = np.meshgrid(along[0], across[0], indexing="ij")
    points = corners.mean(axis=0) + u.reshape(-1, 1) * long + v.reshape(-1, 1) * short
    size = 4.0 * abs(long[0] * short[1] - long[1] * short[0])
    return points, np.outer(along[1], across[1]).ravel() * size / 4.0


def _triangles(polygon: Polygon) -> tuple[FloatArray, FloatArray]:
    pieces = [p for p in shapely.constrained_delaunay_triangles(polygon).geoms if p.area > 0.0]
    points, weights = [], []
    for piece in pieces:
        a, b, c = np.asarray(piece.exterior.coords)[:3, :2]
        u, v = _TRIANGLE[:, :1], _TRIANGLE[:, 1:2]
        points.append(a + u * (b - a) + v * (c - a))
        weights.append(_TRIANGLE[:, 2] * piece.area)
    return np.concatenate(points), np.concatenate(weights)


def _cells(polygon: Polygon) -> tuple[FloatArray, FloatArray]:
    x0, y0, x1, y1 = polygon.bounds
    size = max(x1 - x0, y1 - y0) / CELLS
    across, along = (max(round(length / size + 0.499), 1) for length in (x1 - x0, y1 - y0))
    column, row = (each.ravel() for each in np.meshgrid(np.arange(across), np.arange(along), indexing="ij"))
    left, low = x0 + column * size, y0 + row * size
    spend(A_CORNER * _corner_count(polygon))
    floors = y0 + np.arange(along) * size
    strips = shapely.intersection(shapely.box(x0, floors, x1, floors + size), polygon)
    pieces = shapely.intersection(shapely.box(left, low, left + size, low + size), strips[row])
    weights = shapely.area(pieces)
    there = weights > 0.0
    centers = shapely.centroid(pieces[there])
    return np.column_stack([shapely.get_x(centers), shapely.get_y(centers)]), weights[there]


def _corner_count(polygon: Polygon) -> int:
    return int(shapely.get_num_coordinates(polygon)) - 1 - len(polygon.interiors)


def grown(shape: BaseGeometry, *, by: float) -> BaseGeometry:
    """Return a plan shape grown on all sides. [m]"""
    spend(GROWING * int(shapely.get_num_coordinates(shape)))
    return shape.buffer(by)


def shrunk(shape: BaseGeometry, *, by: float) -> BaseGeometry:
    """Return a plan shape shrunk on all sides, its corners kept sharp. [m]"""
    spend(GROWING * int(shapely.get_num_coordinates(shape)))
    return shape.buffer(-by, join_style="mitre")


def joined(outlines: Sequence[FloatArray]) -> BaseGeometry:
    """Return what outlines cover together as one shape; those that lie well apart need no joining."""
    if not outlines:
        return MultiPolygon()
    spend(TAKING * sum(len(outline) for outline in outlines))
    shapes = [Polygon(outline) for outline in outlines]
    boxes = shapely.STRtree(shapely.box(*shapely.bounds(shapes).T))
    if len(boxes.query(boxes.geometries, predicate="intersects")[0]) == len(shapes):
        return MultiPolygon(shapes)
    spend(JOINING * sum(len(outline) for outline in outlines))
    return shapely.union_all(shapes)


def hull_corners(shape: BaseGeometry) -> FloatArray:
    """Return the corners of a shape's convex hull, counter-clockwise; of very many those farthest in 64 directions.

    Parameters
    ----------
    shape : shapely geometry
        In plan. [m]

    Returns
    -------
    (k, 2) array
        They lie on the hull: a body tips about them no later than about it. [m]
    """
    hull = shapely.geometry.polygon.orient(shape.convex_hull)
    ring = np.asarray(hull.exterior.coords)[:-1, :2]
    if len(ring) <= DIRECTIONS:
        return ring
    angle = 2.0 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    farthest = np.argmax(ring @ np.array([np.cos(angle), np.sin(angle)]), axis=0)
    kept: FloatArray = ring[np.unique(farthest)]
    return kept


def _is_rectangle(polygon: Polygon) -> bool:
    if polygon.interiors or len(polygon.exterior.coords) != 5:
        return False
    box = polygon.minimum_rotated_rectangle
    return isinstance(box, Polygon) and box.area - polygon.area < 1e-9 * box.area


def _plan_area(polygon: Polygon, order: int) -> PlanArea:
    polygon = shapely.geometry.polygon.orient(polygon)
    ring = np.asarray(polygon.exterior.coords)[:-1, :2]
    if order == 1:
        points, weights = np.array([[polygon.centroid.x, polygon.centroid.y]]), np.array([polygon.area])
    elif _is_rectangle(polygon):
        points, weights = _rectangle(ring, order)
    else:
        points, weights = _triangles(polygon) if _corner_count(polygon) <= MOST_CORNERS else _cells(polygon)
    return PlanArea(points=points, weights=weights, corners=hull_corners(polygon))


def plan_areas(shape: BaseGeometry, *, order: int = 4) -> tuple[PlanArea, ...]:
    """Return the quadrature of each connected piece of a plan shape.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        In plan. [m]
    order : int
        Points along each side of a rectangle: 1 for any shape's middle alone, where its own twist does not matter; 2
        for a small pad; 4 for a face, of which an oblong one takes 6 along
        and 3 across. [-]

    Returns
    -------
    tuple of PlanArea
        Pieces of no area are left out.

    Notes
    -----
    The mean distance from the centre, on which twist rests, is not smooth there. For a square four points of Gauss a
    side give 1.009 of it; six by three give 0.998 to 1.016 for sides of 1.5 to 10, where four by four would be up to
    1.037. A small pad takes two points a side, drawn in so that a square has its exact mean distance; its moment about
    an edge is then too small by an eighth, the safe side.

    A polygon of many corners (a disc, a bed with many voids) is cut into squares of which each counts at its centroid:
    exact for affine fields, and never more than the true mean distance from a point, which is convex. Of a disc it is
    0.7 % less.
    """
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return tuple(_plan_area(part, order) for part in parts if isinstance(part, Polygon) and part.area > 0.0)
