"""Insert holes, dowels and facing, by hand."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely import LineString, box

from stillstock.engine.grid.dowels import dowel_places
from stillstock.engine.grid.insert_hole import hole_cut
from stillstock.engine.grid.request import Board, DowelKind, Dowels, HoleKind, HoleWanted, SkimWanted
from stillstock.engine.grid.skim import row_places, skim_strokes


def test_an_insert_sits_sunk_in_a_counterbore_with_room_below():
    """By hand, from the measures of an M6 insert: 12 over the thread, 9.5 under it, 13 long, flange 15 by 1.5 mm.

    Sunk 4 mm: counterbore 16 wide and 5.5 deep, hole 5.5 + 13 + 2 deep; in MDF 0.9 of the 2.5 mm of thread bites.
    """
    wanted = HoleWanted(
        kind=HoleKind.INSERT, diameter=0.012, core=0.0095, length=0.013, flange=(0.015, 0.0015), sunk=0.004
    )
    cut = hole_cut(wanted, board=Board.MDF, thickness=0.022)
    assert cut.counterbore == pytest.approx((0.016, 0.0055))
    assert cut.depth == pytest.approx(0.0205)
    assert cut.diameter == pytest.approx(0.012 - 0.9 * 0.0025)
    assert cut.needed == pytest.approx(0.0185)
    assert not cut.through
    assert hole_cut(wanted, board=Board.HARDWOOD, thickness=0.022).diameter > cut.diameter
    assert hole_cut(wanted, board=Board.MDF, thickness=0.019).through


def test_a_tee_nut_goes_through_and_wants_its_flange_below():
    wanted = HoleWanted(kind=HoleKind.TEE_NUT, diameter=0.008, length=0.009, flange=(0.019, 0.0015), sunk=0.003)
    cut = hole_cut(wanted, board=Board.MDF, thickness=0.018)
    assert (cut.diameter, cut.depth, cut.through) == (0.008, 0.018, True)
    assert cut.underside == pytest.approx((0.020, 0.0015))
    assert cut.counterbore is None
    assert cut.needed == pytest.approx(0.0135)


def test_a_dowel_hole_is_larger_by_its_fit_and_has_no_counterbore():
    wanted = HoleWanted(kind=HoleKind.DOWEL, diameter=0.010, length=0.012, fit=0.00005)
    cut = hole_cut(wanted, board=Board.MDF, thickness=0.018)
    assert cut.diameter == pytest.approx(0.01005)
    assert (cut.counterbore, cut.through, cut.depth) == (None, False, 0.012)


@pytest.mark.parametrize(("to", "sides"), [((0.5, 0.4), (1, 1)), ((-0.1, 0.4), (-1, 1)), ((0.25, 0.05), (1, -1))])
def test_a_corner_stop_touches_the_stock_at_three_points(to, sides):
    """Closed form: two dowels' rims touch the longer edge from outside, one the shorter (the 3-2-1 rule, practice)."""
    at, radius = (0.2, 0.1), 0.004
    places = dowel_places(Dowels(kind=DowelKind.CORNER, at=at, to=to, diameter=0.008, depth=0.012, inset=0.015))
    stock = box(min(at[0], to[0]), min(at[1], to[1]), max(at[0], to[0]), max(at[1], to[1]))
    gaps = [stock.distance(LineString([place, place])) for place, _ in places]
    assert_allclose(gaps, radius, rtol=1e-9)
    longer = 0 if abs(to[0] - at[0]) >= abs(to[1] - at[1]) else 1
    beside = [
        place for place, _ in places if abs(place[1 - longer] - (at[1 - longer] - sides[1 - longer] * radius)) < 1e-12
    ]
    assert len(beside) == 2
    assert abs(beside[0][longer] - beside[1][longer]) == pytest.approx(abs(to[longer] - at[longer]) - 0.03)


def test_a_flip_pair_has_two_diameters_so_that_it_fits_one_way_only():
    pair = Dowels(kind=DowelKind.FLIP, at=(0.1, 0.2), to=(0.5, 0.2), diameter=0.008, second=0.006, depth=0.02)
    assert dowel_places(pair) == [((0.1, 0.2), 0.008), ((0.5, 0.2), 0.006)]


def test_a_row_is_even_from_end_to_end():
    row = Dowels(kind=DowelKind.ROW, at=(0.1, 0.2), to=(0.4, 0.3), diameter=0.008, depth=0.01, count=4)
    assert_allclose([p for p, _ in dowel_places(row)], [(0.1, 0.2), (0.2, 0.7 / 3), (0.3, 0.8 / 3), (0.4, 0.3)])


def test_rows_of_a_skim_step_evenly_and_pass_both_edges():
    """By hand: 25 mm cutter, 600 mm, at most 15 mm steps: middles from 10 to 590, 580 / 15 = 38.7 so 40 rows."""
    rows = row_places(0.0, high=0.6, cutter=0.025, stepover=0.6)
    assert (len(rows), rows[0], rows[-1]) == (40, pytest.approx(0.010), pytest.approx(0.590))
    assert np.diff(rows).max() <= 0.015
    assert row_places(0.0, high=0.01, cutter=0.025, stepover=0.6).tolist() == [0.005]


@pytest.mark.parametrize("table", [(0.0, 0.0, 0.4, 0.25), (-0.1, 0.05, 0.1, 0.6)])
def test_a_skim_leaves_no_lip_anywhere(table):
    """Against shapely: the board lies wholly in what the cutter sweeps; a circle of 64 sides is a little smaller."""
    strokes = skim_strokes(table, wanted=SkimWanted(cutter=0.025, depth=0.001, passes=2, stepover=0.7))
    assert [stroke.points[0, 2] for stroke in strokes] == [-0.0005, -0.001]
    swept = LineString(strokes[0].points[:, :2]).buffer(0.0125, quad_segs=64)
    assert box(*table).difference(swept).area == pytest.approx(0.0, abs=1e-12)
    start = strokes[0].points[0, :2]
    assert box(*table).distance(LineString([start, start])) > 0.0125
    assert math.isclose(
        np.ptp(strokes[0].points[1:, 0 if table[2] - table[0] > 0.3 else 1]),
        max(table[2] - table[0], table[3] - table[1]) + 0.005,
    )
