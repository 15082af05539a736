"""Times of moves that start and end at rest, and of whole paths, by hand."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.grid.cutting_time import cutting_time, move_times, path_lengths
from stillstock.engine.grid.tool_path import Bore, Plunge, Stroke, ToolPath, ring_radii


def path(*passes, feed=0.02, plunge=0.01, clearance=0.005):
    return ToolPath(title="", tool="", zero="", speed=1.0, feed=feed, plunge=plunge, clearance=clearance, passes=passes)


def test_a_long_move_takes_length_over_rate_plus_rate_over_acceleration():
    """Closed form of uniform acceleration: 1 m at 0.1 m/s and 0.5 m/s2 takes 10 s + 0.2 s."""
    assert_allclose(move_times(np.array([1.0]), rate=0.1, acceleration=0.5), [10.2], rtol=1e-12)


def test_a_short_move_never_reaches_its_rate():
    """Closed form: half the way speeding up, half slowing down, 2 sqrt(L / a); both forms meet at L = v v / a."""
    assert_allclose(move_times(np.array([0.005]), rate=0.1, acceleration=0.5), [0.2], rtol=1e-12)
    edge = move_times(np.array([0.02, 0.02 - 1e-12]), rate=0.1, acceleration=0.5)
    assert_allclose(edge, 0.4, rtol=1e-9)


def test_no_acceleration_to_speak_of_leaves_the_bare_lengths_over_rates():
    """By hand: out 0.5 m, down 5.3 mm, 0.3 m cut, up 5.3 mm."""
    stroke = Stroke(points=np.array([(0.3, 0.4, -0.0003), (0.6, 0.4, -0.0003)]))
    cut = path(stroke)
    got = cutting_time(cut, lengths=path_lengths(cut), rapid=0.1, rapid_z=0.05, acceleration=1e9)
    assert got == pytest.approx(0.5 / 0.1 + 0.0053 / 0.01 + 0.3 / 0.02 + 0.0053 / 0.05, rel=1e-6)


def test_a_bore_is_turns_of_a_helix_and_a_level_one():
    """By hand: 8 mm hole, 6 mm cutter: radius 1 mm; 4 mm deep at 1.5 mm a turn are three turns and a level one."""
    bore = Bore(at=(0.1, 0.0), radii=ring_radii(0.008, tool=0.006), top=0.0, bottom=-0.004, pitch=0.0015)
    lengths = path_lengths(path(bore))
    turn = math.hypot(2 * math.pi * 1e-3, 0.004 / 3)
    assert bore.turns == 3
    assert lengths["cut"].sum() == pytest.approx(3 * turn + 2 * math.pi * 1e-3, rel=1e-12)
    assert lengths["plunge"].sum() == pytest.approx(0.005)
    assert lengths["rapid_z"].sum() == pytest.approx(0.009)
    assert lengths["rapid"].sum() == pytest.approx(0.101)


def test_pecks_lift_clear_of_the_chips_each_time():
    """By hand: 6 mm in pecks of 3 mm from 5 mm above: down 8, up 8, back 8, down 3, up 11."""
    lengths = path_lengths(path(Plunge(at=(0.0, 0.0), bottom=-0.006, step=0.003)))
    assert lengths["plunge"].sum() == pytest.approx(0.011)
    assert lengths["rapid_z"].sum() == pytest.approx(0.008 + 0.008 + 0.011)


@pytest.mark.parametrize(("hole", "tool"), [(0.011, 0.004), (0.0085, 0.006), (0.025, 0.003), (0.012, 0.006)])
def test_rings_leave_no_core_and_no_ridge(hole, tool):
    """Closed form: ring i sweeps from its radius less to its radius plus half the tool; together 0 to half the hole."""
    radii = ring_radii(hole, tool=tool)
    reached = 0.0
    for radius in radii:
        assert radius - tool / 2 <= reached + 1e-12
        reached = radius + tool / 2
    assert reached == pytest.approx(hole / 2, rel=1e-12)


def test_a_cutter_that_does_not_fit_is_our_mistake():
    with pytest.raises(ValueError, match="smaller"):
        ring_radii(0.006, tool=0.006)
