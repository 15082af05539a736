"""Surfaces that cutters' ends leave, against the end standing at many places."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from stillstock.engine.cutting.swept import Ball, Cone, FlatEnd, profile, swept_surface
from stillstock.engine.set_up import Tool, ToolKind

MILL = Tool(number=1, kind=ToolKind.END_MILL, diameter=0.006)
BALL = Tool(number=2, kind=ToolKind.BALL_NOSE, diameter=0.006)
V_BIT = Tool(number=3, kind=ToolKind.V_BIT, diameter=0.012, tip_angle=np.radians(60.0), tip_diameter=0.0004)
DRILL = Tool(number=4, kind=ToolKind.DRILL, diameter=0.008, tip_angle=np.radians(118.0))


@pytest.mark.parametrize("slope", [0.0, -0.3, 0.2, -0.9, 2.5])
@pytest.mark.parametrize(
    "shape",
    [
        FlatEnd(radius=0.003),
        Ball(radius=0.003),
        Cone(radius=0.004, flat=0.0007, steepness=0.8),
        Cone(radius=0.004, flat=0.0, steepness=1.7),
    ],
)
def test_swept_surface_is_the_lowest_of_many_stations(shape, slope):
    """Two roads: the closed form against the tool standing at 4,001 places of the move.

    Tolerance: between two stations a tip moves by less than the slope times their distance.
    """
    along, offset = np.meshgrid(np.linspace(-0.004, 0.014, 61), np.linspace(-0.0045, 0.0039, 29))
    length, z = 0.009, -0.001
    line = {"length": np.array(length), "z": np.array(z), "slope": np.array(slope)}
    surface, _ = swept_surface(shape, along=along, offset=offset, **line)
    lowest = np.full(along.shape, np.inf)
    for station in np.linspace(0.0, length, 4001):
        square = offset**2 + (along - station) ** 2
        under = np.where(square <= shape.radius**2, z + slope * station + shape.rise(square), np.inf)
        lowest = np.minimum(lowest, under)
    met = np.isfinite(lowest)
    assert_array_equal(np.isfinite(surface) | ~met, True)
    assert_allclose(surface[met], lowest[met], atol=8e-6)
    assert np.all(surface[met] <= lowest[met] + 1e-9)


def test_kinds_of_cutter_have_their_ends():
    assert profile(MILL) == FlatEnd(radius=0.003)
    assert profile(replace(MILL, kind=ToolKind.SURFACING)) == FlatEnd(radius=0.003)
    assert profile(BALL) == Ball(radius=0.003)
    cone = profile(V_BIT)
    assert_allclose(cone.rise(np.array([0.0001**2, 0.0032**2])), (0.0, 0.003 * np.sqrt(3.0)))
    assert_allclose(cone.reach(np.array([0.003 * np.sqrt(3.0), 1.0])), (0.0032, 0.006))


def test_drill_without_a_stated_point_is_flat():
    blunt = profile(replace(DRILL, tip_angle=np.pi))
    assert_allclose(blunt.rise(np.array([0.004**2])), 0.0, atol=1e-15)
    assert_allclose(Cone(radius=0.004, flat=0.0, steepness=0.0).reach(np.zeros(1)), 0.004)
