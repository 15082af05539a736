"""Loads of a cutter, and their turning into the work frame."""

from math import pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.engagement import side_cut, slot
from stillstock.engine.cutting.force_curve import scaled
from stillstock.engine.cutting.loads import cut_curve, in_work_frame
from stillstock.engine.set_up import Direction, Tool, ToolKind

SPEED, FEED = 1885.0, 0.05
MDF = Coefficients(ktc=26e6, krc=5e6, kac=15e6, kte=2.2e3, kre=3e3, kae=0.3e3)


def tool(kind=ToolKind.END_MILL, **more):
    return Tool(number=1, kind=kind, **{"diameter": 6e-3, "up_length": 3e-3} | more)


def curve(cutter, engagement, material=MDF):
    return cut_curve(cutter, material, engagement, feed=FEED, speed=SPEED)


UP = tool()


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
