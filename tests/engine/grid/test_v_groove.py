"""The groove of a V-bit by plane geometry."""

import math

import pytest

from stillstock.engine.grid.v_groove import depth_of_width, edge_speed, skims_outlived, width_of_depth


@pytest.mark.parametrize(
    ("angle", "depth", "tip", "width"),
    [
        (22.0, 1.0, 0.0, 0.389),  # 2 tan 11 deg
        (60.0, 0.5, 0.0, 0.577),  # 1 / sqrt 3
        (90.0, 0.3, 0.0, 0.6),  # right angle: twice the depth
        (90.0, 0.3, 0.2, 0.8),  # and the flat of the tip
        (30.0, 1.2, 0.1, 0.743),  # 2.4 tan 15 deg + 0.1
    ],
)
def test_width_follows_from_angle_and_depth_and_back(angle, depth, tip, width):
    """Closed form: half the width is the depth times the tangent of half the included angle."""
    got = width_of_depth(depth * 1e-3, angle=math.radians(angle), tip=tip * 1e-3)
    assert got == pytest.approx(width * 1e-3, abs=0.5e-6)
    assert depth_of_width(got, angle=math.radians(angle), tip=tip * 1e-3) == pytest.approx(depth * 1e-3, rel=1e-12)


def test_height_error_widens_the_line_by_twice_the_tangent():
    """0.15 mm too low with a 30 degree bit is 0.08 mm of width: closed form 2 dz tan 15 deg."""
    error = width_of_depth(1.15e-3, angle=math.radians(30)) - width_of_depth(1e-3, angle=math.radians(30))
    assert error == pytest.approx(0.0804e-3, rel=1e-3)


def test_a_flat_wider_than_the_line_leaves_no_depth():
    assert depth_of_width(0.1e-3, angle=math.radians(60), tip=0.2e-3) < 0.0


def test_edge_speed_is_pi_diameter_times_turns():
    """Closed form: 0.5 mm at 18,000 rev/min is pi x 0.0005 x 300 m/s."""
    assert edge_speed(0.5e-3, speed=18_000 * math.pi / 30) == pytest.approx(math.pi * 0.0005 * 300, rel=1e-12)


@pytest.mark.parametrize(
    ("depth", "skim", "left"), [(0.4, 0.2, 1), (0.5, 0.2, 2), (0.6, 0.2, 2), (0.1, 0.2, 0), (3.0, 0.3, 9)]
)
def test_a_groove_outlives_the_skims_that_stay_above_its_bottom(depth, skim, left):
    """Counted by hand: what is left after k skims is depth - k skim, gone at 0; 3.0 / 0.3 is not 10 in floats."""
    assert skims_outlived(depth * 1e-3, skim=skim * 1e-3) == left
