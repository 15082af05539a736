"""The end of a cutter: drills, plunges, ramps, break-through."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.drilling import break_through_pull, end_forces
from stillstock.engine.cutting.engagement import Arc, Engagement, plunge, slot
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.set_up import Helix, Tool, ToolKind

WOOD = Coefficients(ktc=25e6, krc=-6e6, kac=14e6, kte=2.3e3, kre=3e3)
SPEED, FEED = 1885.0, 0.03


def tool(kind, **more):
    return Tool(number=1, kind=kind, **{"diameter": 6e-3, "tip_angle": np.radians(118.0)} | more)


def test_computed_drill():
    """C10, from the handbook form kc f D^2 / 8 and c kc f D / 2 (from memory): 54 N mm, lips-only thrust 18 N.

    Torque here is 1.2 times that, as of Ghosh & Mallik (second hand).
    """
    wrench = end_forces(tool(ToolKind.DRILL), Coefficients(ktc=60e6), sink=0.2e-3, thrust=0.5)
    assert_allclose(wrench, (0, 0, -18.0, 0, 0, -1.2 * 0.054), rtol=1e-12)


def test_plunging_end_mill():
    """(D / 2) (Ktc f + N Kre) times a centre factor of 1.5 to 2; common practice, no source."""
    end_mill = tool(ToolKind.END_MILL, flutes=3)
    wrench = end_forces(end_mill, WOOD, sink=0.4e-3, thrust=1.5)
    assert_allclose(wrench[2], -1.5 * 3e-3 * (25e6 * 0.4e-3 + 3 * 3e3))


@pytest.mark.parametrize("speed", [SPEED, -SPEED])
def test_torque_turns_the_work_with_the_spindle(speed):
    """Clockwise seen from above is negative about z up."""
    drill = tool(ToolKind.DRILL)
    curve = cut_curve(drill, WOOD, plunge(drill, depth=5e-3, through=True), feed=FEED, speed=speed)
    assert np.all(np.sign(curve.moment[:, 2]) == -np.sign(speed))
    assert_allclose(curve.force[:, :2], 0.0)


def test_a_fluted_drill_pulls_up_as_it_breaks_through():
    """Screw without friction: 2 M tan(helix) / D; the mean thrust is untouched by these passing states."""
    drill = tool(ToolKind.DRILL)
    blind, through = (
        cut_curve(drill, WOOD, plunge(drill, depth=5e-3, through=out), feed=FEED, speed=SPEED) for out in (False, True)
    )
    torque = through.torque.max()
    assert_allclose(through.lift, 2 * torque * np.tan(np.pi / 6) / 6e-3)
    assert blind.lift == 0.0
    assert_allclose(through.mean, blind.mean)
    assert through.mean[2] < 0.0


@pytest.mark.parametrize(
    ("helix", "pulls"), [("up", True), ("down", False), ("straight", False), ("compression", True)]
)
def test_only_flutes_that_lift_at_the_tip_pull(helix, pulls):
    assert (break_through_pull(tool(ToolKind.END_MILL, helix=Helix(helix)), torque=0.05) > 0.0) is pulls


def test_a_ramp_is_a_slot_and_a_plunge_each_by_its_part_of_the_feed():
    """Superposition, slope 0.3: sides with feed cos(0.3), end with feed sin(0.3)."""
    end_mill = tool(ToolKind.END_MILL, flutes=2)
    level, slope = slot(depth=3e-3), 0.3
    ramp = cut_curve(end_mill, WOOD, Engagement(arcs=level.arcs, slope=slope), feed=FEED, speed=SPEED)
    side = cut_curve(end_mill, WOOD, level, feed=FEED * np.cos(slope), speed=SPEED)
    end = end_forces(end_mill, WOOD, sink=2 * np.pi * FEED / SPEED * np.sin(slope), thrust=1.75)
    assert_allclose(ramp.mean, side.mean + end[:3], rtol=1e-9)
    assert_allclose(ramp.mean_torque, side.mean_torque - end[5], rtol=1e-9)
    assert ramp.force[:, 2].min() < side.force[:, 2].min()


@pytest.mark.parametrize("helix", [Helix.UP, Helix.STRAIGHT])
def test_the_sides_of_an_end_mill_do_not_cut_in_a_plunge(helix):
    """Its wall is as wide as the cutter, all round: only the end is pressed, and nothing pushes sideways."""
    end_mill = tool(ToolKind.END_MILL, helix=helix)
    hole = Engagement(arcs=(Arc(entry=0.0, leave=2 * np.pi, low=0.0, high=5e-3),), slope=np.pi / 2)
    bare = plunge(end_mill, depth=5e-3, through=False)
    walled, plain = (cut_curve(end_mill, WOOD, e, feed=FEED, speed=SPEED) for e in (hole, bare))
    assert_allclose(walled.mean, plain.mean)
    assert_allclose(walled.force[:, :2], 0.0)


def test_uphill_the_end_does_not_cut():
    end_mill = tool(ToolKind.END_MILL)
    assert not end_forces(end_mill, WOOD, sink=-1e-4, thrust=2.0).any()
    level = slot(depth=3e-3)
    up = cut_curve(end_mill, WOOD, Engagement(arcs=level.arcs, slope=-0.3), feed=FEED, speed=SPEED)
    side = cut_curve(end_mill, WOOD, level, feed=FEED * np.cos(0.3), speed=SPEED)
    assert_allclose(up.wrenches, side.wrenches)


@pytest.mark.parametrize(
    ("kind", "tip", "cuts"), [("ball_nose", 0.0, False), ("v_bit", 0.0, False), ("v_bit", 1e-3, True)]
)
def test_pointed_ends_have_no_flat_to_press_with(kind, tip, cuts):
    shape = tool(ToolKind(kind), tip_diameter=tip)
    assert bool(end_forces(shape, WOOD, sink=1e-4, thrust=1.75).any()) is cuts
