"""Enclosing loads, and their turning into the work frame."""

from math import pi

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import linprog

from stillstock.engine.cutting.coefficients import Box, Coefficients
from stillstock.engine.cutting.engagement import plunge, side_cut, slot
from stillstock.engine.cutting.force_curve import scaled
from stillstock.engine.cutting.load_hull import enclosing, load_vertices
from stillstock.engine.cutting.loads import cut_curve, cut_curves, in_work_frame
from stillstock.engine.set_up import Direction, Helix, Tool, ToolKind
from stillstock.tables.scatter import Triple

SPEED, FEED = 1885.0, 0.05
MDF = Coefficients(ktc=26e6, krc=5e6, kac=15e6, kte=2.2e3, kre=3e3, kae=0.3e3)


def tool(kind=ToolKind.END_MILL, **more):
    return Tool(number=1, kind=kind, **{"diameter": 6e-3, "up_length": 3e-3} | more)


def curve(cutter, engagement, material=MDF):
    return cut_curve(cutter, material, engagement, feed=FEED, speed=SPEED)


def light(cutter):
    return side_cut(cutter, width=0.8e-3, depth=6e-3, direction=Direction.CLIMB)


UP, STRAIGHT, ONE = tool(), tool(helix=Helix.STRAIGHT), tool(flutes=1, helix=Helix.DOWN)
COMPRESSION = tool(helix=Helix.COMPRESSION, run_out=0.02e-3)
BALL, DRILL = tool(ToolKind.BALL_NOSE), tool(ToolKind.DRILL, tip_angle=2.0)
CUTS = {
    "slot": (UP, slot(depth=6e-3)),
    "light": (UP, light(UP)),
    "straight": (STRAIGHT, light(STRAIGHT)),
    "one flute": (ONE, slot(depth=2e-3)),
    "compression": (COMPRESSION, slot(depth=9e-3)),
    "ball": (BALL, slot(depth=4e-3)),
    "drill": (DRILL, plunge(DRILL, depth=4e-3, through=True)),
    "blind": (DRILL, plunge(DRILL, depth=4e-3, through=False)),
}


def miss(points, body):
    """Least mismatch, in units of the greatest load, of a convex mix of the body's corners with each point."""
    scale = np.repeat([np.abs(points[:, :3]).max(), np.abs(points[:, 3:]).max()], 3)
    n = len(body)
    equal = np.vstack((np.hstack(((body / scale).T, np.eye(6), -np.eye(6))), np.r_[np.ones(n), np.zeros(12)]))
    cost = np.r_[np.zeros(n), np.ones(12)]
    found = [linprog(cost, A_eq=equal, b_eq=np.r_[p / scale, 1.0], bounds=(0, None)) for p in points]
    assert all(each.status == 0 for each in found)
    return max(float(each.fun or 0.0) for each in found)


@pytest.mark.parametrize("name", CUTS)
def test_every_load_of_a_curve_is_a_mix_of_the_enclosing_ones(name):
    """Second road: a linear programme for each point seeks the mix and measures what it misses, at most 1e-9."""
    points = curve(*CUTS[name]).wrenches
    body = enclosing(points)
    assert len(body) <= 78
    assert miss(points[::3], body) < 1e-9


@pytest.mark.parametrize("name", CUTS)
def test_enclosing_loads_reach_little_beyond_the_curve(name):
    """Along any direction of force the body reaches at most 6 % of the curve's width beyond the curve."""
    points = curve(*CUTS[name]).wrenches
    body = enclosing(points)
    turn = np.linspace(0, 2 * pi, 24, endpoint=False)
    aims = np.stack((np.cos(turn), np.sin(turn), 0.5 * np.sin(3 * turn)), axis=1)
    inner, outer = points[:, :3] @ aims.T, body[:, :3] @ aims.T
    width = np.ptp(points[:, :3], axis=0).max()
    assert np.all(outer.max(axis=0) - inner.max(axis=0) <= 0.06 * width + 1e-9)


def test_a_chosen_few_of_random_loads_hold_them_all():
    """Nothing known about the points: a lopsided cloud of all six dimensions, made by a fixed generator."""
    cloud = np.random.default_rng(7).normal(size=(80, 6)) * (50, 20, 5, 0.1, 0.4, 0.02) + (10, -30, 5, 0.1, 0, -0.1)
    assert miss(cloud[::8], enclosing(cloud)) < 1e-9


def test_all_corners_of_the_coefficients_are_enclosed():
    terms = {
        name: Triple(low=value * (-0.2 if name == "krc" else 0.5), typical=value, high=value * 2)
        for name, value in vars(MDF).items()
    }
    curves = cut_curves(UP, Box(terms=terms), (light(UP), slot(depth=3e-3)), feed=FEED, speed=SPEED)
    assert len(curves) == 16
    body = load_vertices(curves)
    assert miss(np.vstack([c.wrenches for c in curves])[::97], body) < 1e-9


def test_one_steady_load_stays_one():
    steady = np.tile([1.0, 2.0, 3.0, 0.1, 0.2, 0.3], (5, 1))
    assert_allclose(enclosing(steady), steady[:1])


def test_turned_loads_keep_their_size_and_follow_the_heading():
    """Feed along +y (a quarter turn): ahead is +y, left is -x; half a turn back along x reverses both."""
    loads = np.array([[10.0, -3.0, 5.0, 0.1, 0.4, -0.2], [1.0, 2.0, -3.0, 0.0, 0.3, 0.7]])
    turned = in_work_frame(loads, np.array([0.0, pi / 2, pi]))
    assert turned.shape == (3, 2, 6)
    assert_allclose(turned[0], loads)
    assert_allclose(turned[1, 0], (3.0, 10.0, 5.0, -0.4, 0.1, -0.2), atol=1e-12)
    assert_allclose(turned[2, 1], (-1.0, -2.0, -3.0, 0.0, -0.3, 0.7), atol=1e-12)


def test_a_slot_along_y_pushes_the_work_to_plus_x():
    """The push to the right of the feed, seen in the work frame: right of +y is +x."""
    slotted = curve(UP, slot(depth=6e-3))
    mean = in_work_frame(np.r_[slotted.mean, 0, 0, 0][None], np.array([pi / 2]))[0, 0]
    assert mean[0] > abs(mean[1])


def test_a_spindle_that_stands_still_is_refused():
    with pytest.raises(ValueError, match="stands still"):
        cut_curve(UP, MDF, slot(depth=1e-3), feed=FEED, speed=0.0)


def test_an_entry_multiplies_force_and_moment():
    base = curve(UP, slot(depth=6e-3))
    assert_allclose(scaled(base, 1.5).wrenches, 1.5 * base.wrenches)


def test_a_cutter_in_air_pulls_at_nothing():
    """No depth, no arc or no feed: no force, whatever its edge terms."""
    miss_by = side_cut(UP, width=0.0, depth=6e-3, direction=Direction.CLIMB)
    for engagement, feed in ((slot(depth=0.0), FEED), (miss_by, FEED), (slot(depth=6e-3), 0.0)):
        idle = cut_curve(UP, MDF, engagement, feed=feed, speed=SPEED)
        assert not idle.wrenches.any()
        assert len(load_vertices([idle])) == 1
