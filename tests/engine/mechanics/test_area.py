"""Plan areas of many corners: against closed forms of the disc and the ring (any calculus text)."""

import numpy as np
import pytest
import shapely

from stillstock.engine.mechanics.area import CELLS, DIRECTIONS, hull_corners, plan_areas

DISC = shapely.Point(0.4, -0.2).buffer(0.1, quad_segs=2500)
RING = DISC.difference(shapely.Point(0.4, -0.2).buffer(0.05, quad_segs=500))


def mean_distance(shape):
    (area,) = plan_areas(shape)
    return float(area.weights @ np.hypot(*(area.points - (0.4, -0.2)).T)) / area.size


def test_a_disc_of_ten_thousand_corners_is_cut_into_few_points_that_add_up_to_it():
    (area,) = plan_areas(DISC)
    assert len(area.points) <= CELLS**2
    assert len(area.corners) <= DIRECTIONS
    assert area.size == pytest.approx(np.pi * 0.1**2, rel=1e-6)
    assert area.centroid == pytest.approx((0.4, -0.2), abs=1e-9)


def test_its_mean_distance_from_the_centre_is_a_little_less_than_the_exact_one():
    """The integral of r over a disc is 2 pi R^3 / 3, a mean of 2 R / 3; of a ring 2 (R^3 - a^3) / (3 (R^2 - a^2))."""
    exact = 2.0 * (0.1**3 - 0.05**3) / 3.0 / (0.1**2 - 0.05**2)
    assert 0.99 * 2.0 / 30.0 < mean_distance(DISC) <= 2.0 / 30.0
    assert 0.985 * exact < mean_distance(RING) <= exact


def test_the_hull_of_many_corners_lies_inside_and_reaches_almost_as_far():
    corners = hull_corners(DISC)
    assert DISC.buffer(1e-12).covers(shapely.Polygon(corners))
    assert shapely.Polygon(corners).exterior.distance(shapely.Point(0.4, -0.2)) > 0.1 * (1.0 - 1.0 / 800.0)
    assert shapely.Polygon(corners).exterior.is_ccw


def test_a_hull_of_few_corners_keeps_them_all():
    shape = shapely.Polygon([(0, 0), (1, 0), (1.2, 0.5), (1, 1), (0, 1), (0.5, 0.5)])
    assert sorted(map(tuple, hull_corners(shape))) == [(0, 0), (0, 1), (1, 0), (1, 1), (1.2, 0.5)]


def test_an_area_of_one_point_counts_at_its_middle():
    (area,) = plan_areas(DISC, order=1)
    assert area.points == pytest.approx(np.array([[0.4, -0.2]]), abs=1e-9)
    assert area.size == pytest.approx(np.pi * 0.1**2, rel=1e-6)
