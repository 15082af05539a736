"""Stock removal against plane geometry: arcs, depths, volumes and times that can be worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from tests.engine.cutting.removal_jobs import (
    ACROSS,
    BED,
    CELL,
    RADIUS,
    SLOT,
    STOCK,
    TOOLS,
    centre_line,
    joined,
    mirrored,
    path,
    removed,
    turned,
    volume_cut,
    width_at,
)

from stillstock.engine.cutting.height_map import height_map
from stillstock.engine.cutting.stock_removal import remove_stock
from stillstock.engine.program.moves import RAPID


class TestStraightCuts:
    def test_slot_engages_the_whole_front_at_its_depth(self):
        """A slot engages 0 to pi whatever the cells (Altintas 2012, ch. 2, from memory)."""
        got = removed(SLOT)
        assert_allclose((got.depth[0], got.arc_start[0], got.arc_end[0]), (0.004, 0.0, np.pi), atol=1e-12)
        assert got.cutting[0]
        assert not got.full[0]
        assert got.resolved[0]

    @pytest.mark.parametrize("stepover", [0.0007, 0.0021, 0.003, 0.0044])
    @pytest.mark.parametrize("heading", [0.0, 0.4, 0.25 * np.pi, 2.0, -1.1])
    def test_stepover_to_the_left_is_conventional_and_to_the_right_is_climb(self, stepover, heading):
        """Material on the left: 0 to arccos(1 - ae/R); on the right: its mirror (Altintas 2012, ch. 2, from memory).

        Tolerance: rounded up by half a cell on a long move, and by the cells a little less or more.
        """
        for side, start, end in ((1, "arc_start", "arc_end"), (-1, "arc_end", "arc_start")):
            aside = path((-0.03, 0.004 + side * stepover, -0.004), (0.12, 0.004 + side * stepover, -0.004))
            job = turned(joined(ACROSS, aside), STOCK, heading)
            got = removed(job[0], stock=job[1])
            edge, inner = getattr(got, start)[1], getattr(got, end)[1]
            assert_allclose(edge, 0.0 if side > 0 else np.pi, atol=1e-12)
            width = width_at(inner if side > 0 else np.pi - inner)
            assert stepover <= width <= stepover + CELL
            assert_allclose(got.depth[1], 0.004, atol=1e-12)

    def test_greatest_measured_thickness_counts(self):
        got = removed(SLOT, stock=replace(STOCK, thickness=(0.0176, 0.0187)))
        assert_allclose(got.depth[0], 0.0047, atol=1e-12)

    def test_pass_thinner_than_a_cell_along_an_axis_is_met_everywhere(self):
        """0.1 mm at 0.5 mm cells: samples in the middle of the cells would miss four of five such passes."""
        for shift in np.arange(0.0, CELL, 0.00009):
            first = path((-0.03, shift, -0.004), (0.12, shift, -0.004))
            second = path((0.12, shift + 1e-4, -0.004), (-0.03, shift + 1e-4, -0.004))
            got = removed(joined(first, second))
            assert got.cutting[1]
            assert_allclose(got.arc_end[1], np.pi, atol=1e-12)
            assert 1e-4 <= width_at(np.pi - got.arc_start[1]) <= 1e-4 + CELL

    def test_second_level_of_a_slot_cuts_only_its_own_depth(self):
        got = removed(joined(SLOT, path((0.05, 0.004, -0.0065), (-0.03, 0.004, -0.0065))))
        assert_allclose(got.depth, (0.004, 0.0025), atol=1e-12)

    def test_same_pass_again_cuts_nothing(self):
        got = removed(joined(SLOT, path((0.05, 0.004, -0.004), (-0.03, 0.004, -0.004))))
        assert_array_equal(got.cutting, (True, False))
        assert (got.depth[1], got.arc_start[1], got.arc_end[1]) == (0.0, 0.0, 0.0)
        assert_allclose(got.position[1], (-0.03, 0.004, -0.004))

    def test_span_says_where_along_the_move_it_cuts(self):
        """The leading rim meets the edge at x = -13 mm with the axis a radius before it; the far end still cuts."""
        got = removed(SLOT)
        assert_allclose(got.span[0], ((0.017 - RADIUS) / 0.08, 1.0), atol=CELL / 0.08)
        out = removed(path((0.06, 0.004, -0.004), (0.12, 0.004, -0.004)))
        assert_allclose(out.span[0, 1], 0.037 / 0.06, atol=CELL / 0.06)

    def test_deepest_place_of_an_uneven_pass(self):
        """The second half crosses a floor already lowered by 3 mm: the place of the greatest depth is in the first."""
        pocket = path((0.02, 0.004, -0.003), (0.05, 0.004, -0.003))
        got = removed(joined(pocket, path((0.0, 0.004, -0.005), (0.05, 0.004, -0.005))))
        assert_allclose(got.depth[1], 0.005, atol=1e-12)
        assert -0.001 <= got.position[1, 0] <= 0.02
        assert_allclose(got.position[1, 1:], (0.004, -0.005))

    def test_volume_of_a_slot(self):
        """Width times length times depth, plus the round end. Tolerance: the samples along the slot's rim."""
        got = removed(SLOT)
        exact = (2.0 * RADIUS * 0.063 + 0.5 * np.pi * RADIUS**2) * 0.004
        assert_allclose(volume_cut(got), exact, rtol=0.01)

    def test_volume_of_a_long_oblique_slot_cut_in_pieces(self):
        """The pieces of one move together sweep the same stadium."""
        got = removed(path((0.0, -0.02, -0.004), (0.085, 0.03, -0.004)), cell=0.0002)
        exact = (2.0 * RADIUS * np.hypot(0.085, 0.05) + np.pi * RADIUS**2) * 0.004
        assert_allclose(volume_cut(got), exact, rtol=0.005)
        assert_allclose((got.arc_start[0], got.arc_end[0]), (0.0, 2.0 * np.pi))  # it starts inside the stock
        assert got.full[0]

    def test_pieces_tell_the_span_of_the_whole_move(self):
        moves = path((-0.03, -0.04, -0.004), (0.1, 0.03, -0.004))
        whole = removed(moves, cell=0.0002)
        coarse = removed(moves, cell=0.001)
        assert_allclose(whole.span, coarse.span, atol=0.01)
        assert_allclose(whole.depth, coarse.depth)


class TestShortMoves:
    def test_chords_of_a_slot_engage_as_the_whole_slot_does(self):
        """Chords far shorter than a cell; clear of the ends each one cuts the full front."""
        x = np.arange(-0.02, 0.04, 0.00007)
        got = removed(path(*np.column_stack((x, np.full_like(x, 0.004), np.full_like(x, -0.004)))))
        inside = got.position[:, 0] > STOCK.origin[0] + CELL
        assert_allclose(got.depth[inside], 0.004, atol=1e-12)
        assert_allclose(got.arc_start[inside], 0.0, atol=1e-12)
        assert_allclose(got.arc_end[inside], np.pi, atol=1e-12)
        assert not got.full.any()
        clear = got.position[:, 0] < STOCK.origin[0] - RADIUS - 4.0 * CELL
        assert clear.any()
        assert not got.cutting[clear].any()

    @pytest.mark.parametrize("stepover", [0.0012, 0.0025])
    def test_ring_of_a_circular_pocket_engages_by_the_law_of_cosines(self, stepover):
        r"""A path of radius r, outside it stock from R1 on: cos psi = (R1^2 - r^2 - R^2) / (2 r R) from the radius.

        More than the straight stepover's arccos(1 - ae/R). Closed form: law of cosines, own derivation. Counter-
        clockwise the stock lies on the right. Tolerance: rounded up by a cell, and a cell of neighbouring path.
        """
        centre, inner = np.array([0.031, 0.006]), 0.004
        rings = []
        for radius in (inner, inner + stepover):
            turn = np.linspace(0.0, 2.0 * np.pi, 240)
            ring = centre + radius * np.column_stack((np.cos(turn), np.sin(turn)))
            rings.append(path(*np.column_stack((ring, np.full(len(turn), -0.005)))))
        got = removed(joined(*rings))
        r, cleared = inner + stepover, inner + RADIUS
        psi = np.arccos((cleared**2 - r**2 - RADIUS**2) / (2.0 * r * RADIUS))
        straight = np.arccos(1.0 - stepover / RADIUS)
        assert psi > straight + 0.1
        second = slice(239 + 20, 2 * 239 - 30)
        assert_allclose(got.arc_end[second], np.pi, atol=1e-12)
        width = width_at(np.pi - got.arc_start[second])
        assert np.all(width >= width_at(psi))
        assert np.all(width <= width_at(psi) + 1.5 * CELL)
        assert_allclose(got.depth[second], 0.005, atol=1e-12)

    @pytest.mark.parametrize("heading", [0.0, 0.3, 0.25 * np.pi, -2.2])
    @pytest.mark.parametrize("chord", [0.00004, 0.0004, 0.0021])
    def test_side_cut_in_chords_is_never_rounded_down(self, chord, heading):
        """1.3 mm of stock on the left: each chord has at least arccos(1 - ae/R), and at most a cell more width."""
        strip = replace(STOCK, origin=(-0.013, 0.038, -0.018), size=(0.11, 0.03, 0.018))
        x = np.arange(0.0, 0.02, chord)
        line = np.column_stack((x, np.full_like(x, 0.038 - RADIUS + 0.0013), np.full_like(x, -0.004)))
        moves, stock = turned(path((-0.03, *line[0, 1:]), *line), strip, heading)
        got = removed(moves, stock=stock)
        assert got.cutting.all()
        assert_allclose(got.arc_start, 0.0, atol=1e-12)
        assert np.all(width_at(got.arc_end) >= 0.0013)
        assert np.all(width_at(got.arc_end) <= 0.0013 + CELL + 1e-9)

    def test_slivers_that_other_chords_leave_on_a_wall_do_not_count(self):
        """The same circle in 36 and then in 39 chords, 2 mm deeper: the walls differ by up to 19 micrometres."""
        rings = []
        for count, z in ((36, -0.002), (39, -0.004), (36, -0.006)):
            turn = np.linspace(0.0, 2.0 * np.pi, count + 1)
            circle = np.column_stack((0.03 + 0.005 * np.cos(turn), 0.005 * np.sin(turn), np.full(count + 1, z)))
            rings.append(path((circle[0, 0], circle[0, 1], z + 0.002), *circle))
        got = removed(joined(*rings), cell=0.0001)
        assert_allclose(got.depth[got.cutting], 0.002, atol=1e-12)

    def test_small_steps_straight_down_on_the_way_do_not_hide_the_slot(self):
        """Chords of 0.05 mm with a step of 20 micrometres straight down after each: every chord cuts the full front."""
        x = np.repeat(np.arange(-0.02, 0.0, 0.00005), 2)
        z = -0.001 - 2e-5 * np.append((np.arange(len(x)) // 2)[1:], len(x) // 2)
        got = removed(path(*np.column_stack((x, np.full_like(x, 0.004), z))[1:]))
        inside = got.position[:, 0] > STOCK.origin[0] + CELL
        chords = inside & (np.arange(len(inside)) % 2 == 0)
        assert_allclose(got.arc_start[chords], 0.0, atol=1e-12)
        assert_allclose(got.arc_end[chords], np.pi, atol=1e-12)
        assert not got.full[chords].any()
        steps = inside & ~chords & (got.position[:, 0] < STOCK.origin[0] + 0.005)
        assert got.full[steps].all()
        assert_allclose(got.depth[steps], 2e-5, atol=1e-9)

    def test_volume_of_a_pocket(self):
        """Rows at 40 % of the diameter clear a rectangle with corners of the tool's radius."""
        y = np.append(np.arange(-0.02, 0.03, 0.4 * 2 * RADIUS), 0.03)
        x = np.tile((0.0, 0.05, 0.05, 0.0), len(y))[: 2 * len(y)]
        got = removed(path(*np.column_stack((x, np.repeat(y, 2), np.full(2 * len(y), -0.006)))))
        area = (0.05 + 2 * RADIUS) * (0.05 + 2 * RADIUS) - (4.0 - np.pi) * RADIUS**2
        assert_allclose(volume_cut(got), area * 0.006, rtol=0.003)
        rows = np.arange(2, 2 * len(y) - 3, 2)
        assert_allclose(got.depth[rows], 0.006, atol=1e-12)


class TestPlungesAndRamps:
    def test_plunge_engages_the_full_circle(self):
        """Volume of a cylinder. Tolerance: the samples along its rim."""
        got = removed(path((0.02, 0.01, 0.005), (0.02, 0.01, -0.007)), cell=0.00025)
        assert got.full[0]
        assert_allclose((got.depth[0], got.arc_start[0], got.arc_end[0]), (0.007, 0.0, 2.0 * np.pi), atol=1e-12)
        assert_allclose(got.position[0], (0.02, 0.01, -0.007))
        assert_allclose(volume_cut(got), np.pi * RADIUS**2 * 0.007, rtol=0.02)

    def test_pecks_cut_their_own_part_each(self):
        z = (0.002, -0.003, 0.002, -0.003, -0.0075)
        got = removed(path(*((0.02, 0.01, height) for height in z)))
        assert_allclose(got.depth, (0.003, 0.0, 0.0, 0.0045), atol=1e-12)
        assert_array_equal(got.full, (True, False, False, True))

    def test_drilled_hole_is_a_cylinder_on_a_cone(self):
        """Volume of a 118 degree point and the bore above it; depth to the point's tip."""
        got = removed(path((0.02, 0.01, 0.005), (0.02, 0.01, -0.009), tool=4), cell=0.00025)
        point = 0.004 / np.tan(np.radians(59.0))
        assert_allclose(got.depth[0], 0.009, rtol=0.03)
        exact = np.pi * 0.004**2 * (0.009 - point + point / 3.0)
        assert_allclose(volume_cut(got), exact, rtol=0.02)

    def test_ramp_engages_the_front_and_leaves_a_sloping_floor(self):
        """The trailing rim is the last over a point: floor(u) = z(u + R), level under the end. Exact at a sample."""
        got = removed(path((0.0, 0.004, 0.0), (0.05, 0.004, -0.005)))
        assert_allclose(got.depth[0], 0.005, atol=1e-12)
        assert_allclose((got.arc_start[0], got.arc_end[0]), (0.0, np.pi), atol=1e-12)
        assert not got.full[0]
        assert_allclose(got.position[0, 0], 0.05, atol=CELL)
        u, floor = centre_line(got, y=0.004)
        inside = (u > 0.0) & (u < 0.05)
        assert_allclose(floor[inside], -0.1 * np.minimum(u[inside] + RADIUS, 0.05), atol=0.1 * CELL)

    def test_way_up_leaves_what_the_leading_rim_leaves(self):
        got = removed(path((0.0, 0.004, -0.005), (0.05, 0.004, -0.001)))
        u, floor = centre_line(got, y=0.004)
        inside = (u > 0.004) & (u < 0.049)
        assert_allclose(floor[inside], -0.005 + 0.08 * (u[inside] - RADIUS), atol=0.08 * CELL)

    def test_helix_in_chords_engages_its_pitch(self):
        """Two turns down, 2 mm a turn: on the second the front meets one pitch at most, not the whole depth."""
        turn = np.linspace(0.0, 4.0 * np.pi, 160)
        helix = np.column_stack((0.03 + 0.005 * np.cos(turn), 0.005 * np.sin(turn), -0.002 * turn / (2.0 * np.pi)))
        got = removed(path(*helix))
        assert not got.full.any()
        assert_allclose(got.depth[100:], 0.002, atol=0.0002)
        assert_allclose(got.arc_start[100:], 0.0, atol=1e-12)
        assert_allclose(got.arc_end[100:], np.pi, atol=1e-12)

    def test_descent_steeper_than_45_degrees_counts_as_a_plunge(self):
        got = removed(path((0.02, 0.01, 0.0), (0.023, 0.01, -0.004)))
        assert got.full[0]
        assert_allclose((got.depth[0], got.arc_end[0]), (0.004, 2.0 * np.pi), atol=1e-12)


class TestRapids:
    def test_rapid_through_uncut_stock_is_a_hit_at_its_depth(self):
        got = removed(path((-0.03, 0.01, -0.002), (0.04, 0.02, -0.002), kind=RAPID))
        assert got.rapid_hit[0]
        assert_allclose(got.depth[0], 0.002, atol=1e-12)

    def test_rapid_above_or_along_a_cut_slot_is_none(self):
        back = path((0.05, 0.004, -0.004), (-0.03, 0.004, -0.004), kind=RAPID)
        above = path((-0.03, 0.004, 0.0), (0.05, 0.03, 0.0), kind=RAPID)
        got = removed(joined(SLOT, back, above))
        assert_array_equal(got.rapid_hit, (False, False, False))
        assert_array_equal(got.cutting, (True, False, False))

    def test_rapid_down_onto_the_stock_is_a_plunge(self):
        got = removed(path((0.02, 0.01, 0.01), (0.02, 0.01, -0.001), kind=RAPID))
        assert got.rapid_hit[0]
        assert got.full[0]

    def test_rapid_without_a_tool_is_passed_over(self):
        got = removed(path((-0.03, 0.01, -0.002), (0.04, 0.02, -0.002), kind=RAPID, tool=0))
        assert not got.cutting[0]


class TestCuttingThrough:
    def test_cells_know_the_move_that_cut_them_through(self):
        deeper = path((0.12, 0.004, -0.0181), (-0.03, 0.004, -0.0181))
        again = path((-0.03, 0.0061, -0.019), (0.12, 0.0061, -0.019))
        got = removed(joined(ACROSS, deeper, again))
        assert_array_equal(np.unique(got.first_cut), (-1, 1, 2))
        assert_allclose(np.sum(got.first_cut == 1) * CELL**2, 2.0 * RADIUS * 0.11, rtol=0.01)
        assert_allclose(np.sum(got.first_cut == 2) * CELL**2, 0.0021 * 0.11, rtol=0.01)
        assert_array_equal((got.low == -0.018), got.first_cut >= 0)
        assert_allclose(got.through, (-0.014, 0.0001, 0.001), atol=1e-12)
        assert_allclose(got.depth[1:], (0.014, 0.018), atol=1e-12)  # the bed below the stock is no stock

    def test_exactly_to_the_bottom_is_through(self):
        got = removed(path((-0.03, 0.004, -0.018), (0.05, 0.004, -0.018)))
        assert (got.first_cut == 0).any()
        assert not got.map.stands[got.first_cut == 0].any()

    def test_skin_counts_as_through_only_if_asked(self):
        skinned = path((-0.03, 0.004, -0.0177), (0.05, 0.004, -0.0177))
        assert (removed(skinned).first_cut == -1).all()
        assert (removed(skinned, skin=0.0003).first_cut == 0).any()

    def test_descending_end_cuts_through_where_it_is_low_enough(self):
        got = removed(path((0.0, 0.004, -0.016), (0.05, 0.004, -0.021)))
        x, first = centre_line(got, y=0.004, values=got.first_cut)
        assert_allclose(x[first == 0].min(), 0.02 - RADIUS, atol=2.0 * CELL)


class TestWholeJobs:
    MOVES = joined(
        ACROSS,
        path((0.12, 0.0055, -0.004), (-0.03, 0.0055, -0.004)),
        path((-0.03, 0.02, -0.006), (0.04, 0.012, -0.008), (0.06, 0.02, -0.008)),
    )

    @pytest.mark.parametrize("angle", [np.pi / 2.0, np.pi, -0.7])
    def test_turning_the_job_changes_nothing(self, angle):
        """Tolerance: a cell of engaged width, which is rounded up in both."""
        plain = removed(self.MOVES)
        moves, stock = turned(self.MOVES, STOCK, angle)
        got = removed(moves, stock=stock)
        assert_allclose(got.depth, plain.depth, atol=1e-4)
        for arc in ("arc_start", "arc_end"):
            width = width_at(getattr(got, arc)) - width_at(getattr(plain, arc))
            assert_allclose(width, 0.0, atol=CELL)
        assert_allclose(got.map.volume, plain.map.volume, rtol=1e-3)

    def test_mirror_swaps_left_and_right(self):
        plain = removed(self.MOVES)
        moves, stock = mirrored(self.MOVES, STOCK)
        got = removed(moves, stock=stock)
        assert_allclose(got.depth, plain.depth, atol=1e-4)
        assert plain.arc_end[1] > np.pi - 0.01
        assert plain.arc_start[1] > 0.5
        assert_allclose(width_at(got.arc_start), width_at(np.pi - plain.arc_end), atol=CELL)
        assert_allclose(width_at(got.arc_end), width_at(np.pi - plain.arc_start), atol=CELL)

    @pytest.mark.parametrize("shift", [(0.3, 0.0, 0.0), (0.0, -0.3, 0.0), (0.0, 0.0, 0.05)])
    def test_program_outside_the_stock_cuts_nothing(self, shift):
        moves = replace(SLOT, start=SLOT.start + shift, end=SLOT.end + shift)
        got = removed(moves)
        assert not got.cutting.any()
        assert_array_equal(got.depth, 0.0)
        assert volume_cut(got) == 0.0

    def test_nothing_is_cut_where_an_outline_leaves_no_stock(self):
        """An L: the notch in its corner is air."""
        corners = [(0.0, 0.0), (0.1, 0.0), (0.1, 0.02), (0.03, 0.02), (0.03, 0.06), (0.0, 0.06)]
        ell = replace(STOCK, size=(0.1, 0.06, 0.018), origin=(0.0, 0.0, -0.018), outline=np.array(corners))
        got = removed(path((0.05, 0.04, -0.003), (0.09, 0.04, -0.003), (0.02, 0.04, -0.003)), stock=ell)
        assert_array_equal(got.cutting, (False, True))
        assert_allclose(height_map(ell, cell=CELL).volume, (0.1 * 0.02 + 0.03 * 0.04) * 0.018, rtol=0.01)

    def test_unknown_places_are_passed_over(self):
        moves = replace(SLOT, known=np.zeros(1, dtype=bool))
        got = removed(moves)
        assert not got.cutting[0]
        assert got.through[0] == -np.inf

    def test_runs_of_cutting_moves_are_entered_and_left_once(self):
        places = ((-0.03, 0.004), (0.0, 0.004), (0.03, 0.012), (0.05, 0.012), (0.05, 0.06), (0.07, 0.06))
        got = removed(path(*((x, y, -0.004) for x, y in places)))
        assert_array_equal(got.cutting, (True, True, True, True, False))
        assert_array_equal(got.enters, (True, False, False, False, False))
        assert_array_equal(got.exits, (False, False, False, True, False))

    def test_move_that_starts_in_uncut_stock_is_engaged_all_round(self):
        got = removed(path((0.02, 0.004, -0.003), (0.04, 0.004, -0.003)))
        assert got.full[0]
        assert_allclose(got.arc_end[0], 2.0 * np.pi)

    def test_empty_program(self):
        got = removed(path((0.0, 0.0, 0.0)))
        assert got.depth.shape == (0,)
        assert got.position.shape == (0, 3)

    def test_feed_with_a_tool_that_is_not_there_is_refused(self):
        with pytest.raises(ValueError, match="tool"):
            removed(path((-0.03, 0.01, -0.002), (0.04, 0.02, -0.002), tool=9))


class TestCells:
    def test_cells_that_are_too_many_or_none_are_refused(self):
        with pytest.raises(ValueError, match="more than 100 cells"):
            remove_stock(SLOT, STOCK, BED, TOOLS, cell=0.001, max_cells=100)
        with pytest.raises(ValueError, match="positive"):
            height_map(STOCK, cell=0.0)

    def test_cutter_too_small_for_the_cells_keeps_its_depth_and_engages_its_front(self):
        """3 mm radius on 4 mm cells: level by level its depth stays right, and its arc is taken as the whole front."""
        back = path((0.05, 0.004, -0.007), (-0.03, 0.004, -0.007))
        got = removed(joined(SLOT, back, path((-0.03, 0.0075, -0.007), (0.05, 0.0075, -0.007))), cell=0.004)
        assert not got.resolved.any()
        assert_allclose(got.depth, (0.004, 0.003, 0.007), atol=1e-12)
        assert_allclose(got.arc_start, 0.0)
        assert_allclose(got.arc_end, np.pi)
