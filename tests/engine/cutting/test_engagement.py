"""Entry and exit angles of cuts, and the engagements of described cuts."""

from dataclasses import replace
from math import acos, asin, pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.cutting.engagement import (
    between,
    centred_face,
    cutting_radius,
    described_engagements,
    from_other_side,
    plunge,
    side_cut,
    slot,
)
from stillstock.engine.set_up import Cut, CutKind, Direction, Tool, ToolKind

D, AE, AP = 10e-3, 2e-3, 3e-3


def tool(kind=ToolKind.END_MILL, **more):
    return Tool(number=1, kind=kind, diameter=D, **more)


def angles(engagement):
    (arc,) = engagement.arcs
    return arc.entry, arc.leave


def cut(kind, *, path=((0, 0, 0), (0.1, 0, 0)), direction=Direction.CLIMB, speed=1885.0, width=AE):
    path = np.array(path, dtype=float)
    return Cut(
        name="c", kind=kind, tool=1, width=width, depth=AP, feed=0.04, speed=speed, direction=direction, path=path
    )


def test_entry_and_exit_angles():
    """Altintas 2012, ch. 2 (from memory): up milling ends at arccos(1 - ae/R), down milling mirrors it."""
    reach = acos(1 - AE / (D / 2))
    assert_allclose(angles(side_cut(tool(), width=AE, depth=AP, direction=Direction.CONVENTIONAL)), (0, reach))
    assert_allclose(angles(side_cut(tool(), width=AE, depth=AP, direction=Direction.CLIMB)), (pi - reach, pi))
    assert_allclose(angles(slot(depth=AP)), (0, pi))
    half = asin(0.6)
    assert_allclose(angles(centred_face(width=6e-3, radius=D / 2, depth=AP)), (pi / 2 - half, pi / 2 + half))
    assert_allclose(angles(between(right=-1e-3, left=4e-3, radius=D / 2, depth=AP)), (acos(0.8), acos(-0.2)))


def test_a_side_cut_as_wide_as_the_cutter_is_a_slot():
    for direction in Direction:
        assert_allclose(angles(side_cut(tool(), width=1.5 * D, depth=AP, direction=direction)), (0, pi), atol=1e-12)


def test_work_beside_the_cutter_is_not_engaged():
    assert between(right=6e-3, left=9e-3, radius=D / 2, depth=AP).arcs == ()


def test_mirroring_twice_changes_nothing():
    one = between(right=-1e-3, left=4e-3, radius=D / 2, depth=AP)
    twice = from_other_side(from_other_side(one))
    assert_allclose(angles(twice), angles(one))
    full = plunge(tool(ToolKind.V_BIT, tip_angle=pi / 2), depth=AP, through=False)
    assert from_other_side(full) == full


@pytest.mark.parametrize(
    ("shape", "height", "radius"),
    [
        (tool(), 1e-3, 5e-3),
        (tool(ToolKind.BALL_NOSE), 2e-3, 4e-3),  # 3-4-5
        (tool(ToolKind.BALL_NOSE), 7e-3, 5e-3),
        (tool(ToolKind.V_BIT, tip_angle=pi / 2, tip_diameter=1e-3), 2e-3, 2.5e-3),
        (tool(ToolKind.V_BIT, tip_angle=pi / 2), 9e-3, 5e-3),
    ],
)
def test_radius_at_a_height(shape, height, radius):
    assert_allclose(cutting_radius(shape, height=height), radius)


def test_a_ball_beside_a_wall_meets_it_with_its_upper_part_only():
    """Layer by layer: below the height at which the ball is R - ae wide, it cuts nothing (climb: work on the right)."""
    engagement = side_cut(tool(ToolKind.BALL_NOSE), width=1e-3, depth=5e-3, direction=Direction.CLIMB)
    lowest = 5e-3 - 3e-3  # where the radius is 4 mm
    assert min(arc.low for arc in engagement.arcs) >= lowest - 5e-3 / 4
    assert all(arc.entry > pi / 2 and arc.leave == pi for arc in engagement.arcs)
    starts = [arc.entry for arc in engagement.arcs]
    assert starts == sorted(starts, reverse=True)


def test_described_cuts():
    climb = side_cut(tool(), width=AE, depth=AP, direction=Direction.CLIMB)
    conventional = side_cut(tool(), width=AE, depth=AP, direction=Direction.CONVENTIONAL)
    full = slot(depth=AP)
    expected = {
        CutKind.SLOT: (full,),
        CutKind.ENGRAVE: (full,),
        CutKind.PROFILE: (climb,),
        CutKind.POCKET: (climb, full),
        CutKind.FACE: (climb, conventional),
        CutKind.DRILL: (plunge(tool(), depth=AP, through=True),),
        CutKind.PLUNGE: (plunge(tool(), depth=AP, through=True),),
    }
    assert {kind: described_engagements(cut(kind), tool()) for kind in CutKind} == expected


def test_climb_lies_on_the_other_side_of_a_spindle_that_turns_the_other_way():
    (ahead,), (back,) = (described_engagements(cut(CutKind.PROFILE, speed=s), tool()) for s in (1885.0, -1885.0))
    assert angles(ahead)[0] > pi / 2 > angles(back)[1]


def test_ramps_and_plunges_of_a_path_are_engagements_of_their_own():
    path = ((0, 0, 0), (0.03, 0.04, -0.005), (0.05, 0.04, -0.006), (0.05, 0.04, -0.009), (0.01, 0.04, 0.0))
    level, ramp, down = described_engagements(cut(CutKind.PROFILE, path=path), tool())
    assert ramp == replace(level, slope=ramp.slope)
    assert_allclose(ramp.slope, np.arctan(0.1))
    assert down == plunge(tool(), depth=AP, through=False)
