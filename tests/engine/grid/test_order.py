"""Orders of cutting: closed forms on lattices, a brute-force search on few points, a lower bound on many."""

import math
from itertools import permutations

import numpy as np
import pytest

from stillstock.engine.grid.order import least_travel, to_and_fro, travel, travel_floor


def as_strokes(points):
    return np.repeat(np.asarray(points, dtype=float)[:, None, :], 2, axis=1)


def test_lines_are_cut_to_and_fro():
    """Closed form: five lines of 1 m at 0.1 m, from the start of the first, cost four steps of 0.1 m between them."""
    lines = np.array([[(0.0, y), (1.0, y)] for y in (0.2, 0.0, 0.4, 0.1, 0.3)])
    tour = to_and_fro(lines, axis=0)
    assert lines[tour.order, 0, 1].tolist() == [0.0, 0.1, 0.2, 0.3, 0.4]
    assert tour.back.tolist() == [False, True, False, True, False]
    assert travel(tour.strokes(lines), start=(0.0, 0.0)) == pytest.approx(0.4, rel=1e-12)


def test_pieces_of_a_broken_line_follow_the_sense_of_their_row():
    pieces = np.array(
        [[(0.0, 0.0), (0.4, 0.0)], [(0.6, 0.0), (1.0, 0.0)], [(0.0, 0.1), (0.4, 0.1)], [(0.6, 0.1), (1.0, 0.1)]]
    )
    cut = to_and_fro(pieces, axis=0).strokes(pieces)
    assert cut[:, 0, 0].tolist() == [0.0, 0.6, 1.0, 0.4]
    assert cut[:, 1, 0].tolist() == [0.4, 1.0, 0.6, 0.0]


def test_lines_along_y_go_to_and_fro_as_well():
    lines = np.array([[(0.3, 0.0), (0.3, 1.0)], [(0.1, 0.0), (0.1, 1.0)]])
    cut = to_and_fro(lines, axis=1).strokes(lines)
    assert cut[:, 0].tolist() == [[0.1, 0.0], [0.3, 1.0]]


@pytest.mark.parametrize("seed", range(6))
def test_a_tour_of_few_holes_is_as_short_as_the_shortest_of_all_orders_within_5_percent(seed):
    """Brute force over all 5,040 orders of seven holes."""
    points = np.random.default_rng(seed).random((7, 2))
    best = min(travel(as_strokes(points[list(order)]), start=(0.0, 0.0)) for order in permutations(range(7)))
    got = travel(least_travel(as_strokes(points), start=(0.0, 0.0)).strokes(as_strokes(points)), start=(0.0, 0.0))
    assert best - 1e-12 <= got <= 1.05 * best


def test_a_full_lattice_of_holes_is_toured_at_the_lower_bound():
    """Closed form: n holes at one pitch cannot be joined by less than n - 1 steps, and rows to and fro reach that."""
    points = np.array([(0.05 + 0.03 * i, 0.05 + 0.03 * j) for i in range(9) for j in range(6)])
    way = travel(least_travel(as_strokes(points), start=(0.05, 0.05)).strokes(as_strokes(points)), start=(0.05, 0.05))
    assert way == pytest.approx(53 * 0.03, rel=1e-9)
    assert travel_floor(points, start=(0.05, 0.05)) == pytest.approx(53 * 0.03, rel=1e-9)


@pytest.mark.parametrize("count", [40, 400, 1500])
def test_a_tour_of_scattered_holes_stays_near_the_lower_bound(count):
    """The shortest tour of many points in a unit square is near 0.7124 sqrt(n) (Johnson and McGeoch, from memory).

    2-opt is known to come within about 5 percent of the shortest (the same); 15 are allowed here, since few points lie
    above the limit value by their edge.
    """
    points = np.random.default_rng(count).random((count, 2))
    strokes = as_strokes(points)
    tour = least_travel(strokes, start=(0.0, 0.0))
    way = travel(tour.strokes(strokes), start=(0.0, 0.0))
    assert sorted(tour.order) == list(range(count))
    assert (
        travel_floor(points, start=(0.0, 0.0))
        < way
        < 1.15 * (0.7124 * math.sqrt(count) * (1 + 0.33 / math.sqrt(count)) + 0.1)
    )


def test_least_travel_turns_strokes_round_where_that_is_shorter():
    lines = np.array([[(0.0, 0.0), (1.0, 0.0)], [(0.0, 0.1), (1.0, 0.1)], [(0.0, 0.2), (1.0, 0.2)]])
    tour = least_travel(lines, start=(1.0, 0.25))
    assert travel(tour.strokes(lines), start=(1.0, 0.25)) == pytest.approx(0.25, rel=1e-9)
    assert tour.back.tolist() == [True, False, True]


def test_points_in_one_line_have_the_line_as_lower_bound():
    points = np.array([(0.1, 0.2), (0.4, 0.2), (0.9, 0.2)])
    assert travel_floor(points, start=(0.0, 0.2)) == pytest.approx(0.9)


def test_the_same_points_always_give_the_same_tour():
    strokes = as_strokes(np.random.default_rng(3).random((300, 2)))
    tours = [least_travel(strokes, start=(0.0, 0.0)).order.tolist() for _ in range(2)]
    assert tours[0] == tours[1]
