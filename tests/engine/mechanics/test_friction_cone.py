"""The polygon that stands for the circle of Coulomb's law."""

import numpy as np
from numpy.testing import assert_allclose

from stillstock.engine.mechanics.friction_cone import SIDES, face_normals, spokes


def test_the_polygon_has_its_corners_on_the_circle_and_its_sides_within_cos_pi_16():
    """A regular polygon of n sides inscribed in a circle of radius 1 has the apothem cos(pi / n): plane geometry."""
    corners = spokes()
    sides = (corners + np.roll(corners, -1, axis=0)) / 2.0
    assert SIDES == 16
    assert_allclose(np.hypot(*corners.T), 1.0, rtol=1e-15)
    assert_allclose(np.hypot(*sides.T), np.cos(np.pi / 16.0), rtol=1e-15)


def test_one_corner_lies_along_each_axis():
    """So that a pull along x or y is reckoned without any error of the polygon."""
    for axis in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)):
        assert np.isclose(spokes() @ axis, 1.0, rtol=0.0, atol=1e-15).sum() == 1


def test_the_half_planes_are_those_of_the_same_polygon():
    """Each corner meets two of the half-planes with equality and lies inside all others; middles of sides meet one."""
    corners = spokes()
    reach = face_normals() @ corners.T
    assert_allclose(reach.max(axis=0), 1.0, rtol=1e-14)
    assert (np.isclose(reach, 1.0, atol=1e-12).sum(axis=0) == 2).all()
    middles = (corners + np.roll(corners, -1, axis=0)) / 2.0
    assert (np.isclose(face_normals() @ middles.T, 1.0, atol=1e-12).sum(axis=0) == 1).all()


def test_a_pull_between_two_corners_is_rated_least_and_never_too_high():
    """The support of the polygon against that of the circle, over all directions: cos(pi / 16) to 1."""
    angle = np.linspace(0.0, 2.0 * np.pi, 721)
    along = np.stack([np.cos(angle), np.sin(angle)])
    gauge = (face_normals() @ along).max(axis=0)
    assert_allclose(1.0 / gauge.max(), 1.0, atol=2e-2)
    assert (1.0 / gauge <= 1.0 + 1e-12).all()
    assert (1.0 / gauge >= np.cos(np.pi / 16.0) - 1e-12).all()
    assert_allclose((1.0 / gauge).min(), np.cos(np.pi / 16.0), rtol=1e-4)
