"""Stock removal by balls, cones and drills against the sections that they leave."""

import numpy as np
from numpy.testing import assert_allclose
from tests.engine.cutting.removal_jobs import centre_line, path, removed, volume_cut


class TestBallsAndCones:
    def test_groove_of_a_ball_is_a_circular_segment(self):
        """Area R^2 (a - sin a cos a), cos a = 1 - h/R; the engaged arc is the whole front."""
        got = removed(path((-0.03, 0.004, -0.0014), (0.12, 0.004, -0.0014), tool=2), cell=0.00025)
        angle = np.arccos(1.0 - 0.0014 / 0.003)
        exact = 0.003**2 * (angle - np.sin(angle) * np.cos(angle)) * 0.11
        assert_allclose(volume_cut(got), exact, rtol=0.01)
        assert_allclose(got.depth[0], 0.0014, rtol=1e-3)
        assert_allclose((got.arc_start[0], got.arc_end[0]), (0.0, np.pi), atol=1e-12)

    def test_ball_that_goes_on_inside_the_stock_is_not_engaged_all_round(self):
        """What the ball leaves of its own end's groove is ahead of the next move, not under its start."""
        places = [(-0.03, 0.004), (0.01, 0.004), (0.03, 0.006), (0.035, 0.02), (0.06, 0.021)]
        got = removed(path(*((x, y, -0.0014 - 0.01 * x) for x, y in places), tool=2), cell=0.00025)
        assert not got.full.any()
        assert_allclose(got.arc_start, 0.0, atol=1e-12)
        assert_allclose(got.arc_end, np.pi, atol=1e-12)

    def test_scallop_between_two_ball_passes(self):
        """Its height above the floor is R - sqrt(R^2 - s^2/4) at a stepover s (handbook formula, from memory)."""
        got = removed(
            path(
                (-0.03, 0.004, -0.0014),
                (0.12, 0.004, -0.0014),
                (0.12, 0.0058, -0.0014),
                (-0.03, 0.0058, -0.0014),
                tool=2,
            ),
            cell=0.00025,
        )
        scallop = 0.003 - np.sqrt(0.003**2 - 0.0009**2)
        _, ridge = centre_line(got, y=0.0049)
        assert_allclose(ridge.max(), -0.0014 + scallop, atol=0.003 * 0.00025 / 0.0012 * 0.05)
        # Back along -x the second pass has the stock on its right.
        assert_allclose(got.arc_end[2], np.pi, atol=1e-12)

    def test_ball_on_a_ramp_leaves_the_slanted_cylinder(self):
        """Under the path the groove lies R (sqrt(1 + m^2) - 1) below the tip's own line."""
        got = removed(path((0.0, 0.004, 0.0), (0.04, 0.004, -0.016), tool=2), cell=0.00025)
        u, floor = centre_line(got, y=0.004)
        inside = (u > 0.005) & (u < 0.035)
        line = -0.4 * u[inside] - 0.003 * (np.sqrt(1.16) - 1.0)
        assert_allclose(floor[inside], line, atol=5e-6)

    def test_line_of_a_v_bit_is_as_wide_as_its_angle_says(self):
        """Width b + 2 h tan(angle / 2) with a tip flat b (common practice, no source)."""
        got = removed(path((-0.03, 0.004, -0.003), (0.12, 0.004, -0.003), tool=3), cell=0.00025)
        width = np.sum(got.low < -1e-6) * got.map.cell**2 / 0.11
        assert_allclose(width, 0.0004 + 2.0 * 0.003 * np.tan(np.radians(30.0)), rtol=0.01)
        assert_allclose(got.depth[0], 0.003, atol=1e-12)

    def test_edge_chamfered_by_a_v_bit_lies_on_the_stocks_side(self):
        """Axis just off the left edge (x = -13 mm), feed +y: stock on the right, depth counted from the tip."""
        got = removed(path((-0.0135, -0.05, -0.002), (-0.0135, 0.06, -0.002), tool=3))
        reach = 0.0002 + 0.002 * np.tan(np.radians(30.0))
        assert_allclose(got.arc_end[0], np.pi, atol=1e-12)
        assert got.arc_start[0] <= np.arccos(-0.0005 / reach)
        assert got.arc_start[0] > np.pi / 4.0
        assert_allclose(got.depth[0], 0.002, atol=1e-12)
