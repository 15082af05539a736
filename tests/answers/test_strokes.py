"""A tool path as few strokes: the same path, the same classes, and no more of them than a picture bears."""

import numpy as np
import pytest
import shapely

from stillstock.answers.strokes import MOST_POINTS, MOST_STROKES, strokes_of

FINE = 1e-5


def polyline(points):
    path = np.asarray(points, dtype=float)
    return path[:-1], path[1:]


def test_neighbours_of_one_class_are_one_stroke_and_a_gap_parts_them():
    start, end = polyline([(0, 0, 0), (1, 0, 0), (1, 1, 0), (2, 1, 0), (3, 0, 0), (4, 0, 0)])
    keep = np.array([True, True, False, True, True])
    found = strokes_of(start[keep], end[keep], np.array([2, 2, 2, 5]), fine=FINE)
    assert [(kind, line.tolist()) for kind, line in found.lines] == [
        (2, [[0, 0], [1, 0], [1, 1]]),
        (2, [[2, 1], [3, 0]]),
        (5, [[3, 0], [4, 0]]),
    ]
    assert found.every == 1


def test_a_plunge_gives_a_worse_class_to_the_move_beside_it_and_is_a_dot_where_there_is_none():
    start, end = polyline([(0, 0, 0), (0, 0, -1), (1, 0, -1), (2, 0, -1)])
    found = strokes_of(start, end, np.array([0, 4, 4]), fine=FINE)
    assert [kind for kind, _ in found.lines] == [0, 4]
    alone = strokes_of(start[:1], end[:1], np.array([3]), fine=FINE)
    assert [(kind, at.tolist()) for kind, at in alone.dots] == [(3, [0.0, 0.0])]


@pytest.mark.parametrize("gaps", [False, True])
def test_a_hundred_thousand_moves_are_few_strokes_that_never_look_better_than_they_are(gaps):
    """The worst stay where they are: a stroke of the worst class goes by each of its moves, to a print's width."""
    n = 100_000
    turn = np.linspace(0.0, 300.0, n + 1)
    start, end = polyline(np.column_stack([turn * np.cos(turn), turn * np.sin(turn), 0.0 * turn]) * 1e-3)
    if gaps:
        end = start + 0.5 * (end - start)
    kind = np.where(np.arange(n) % 1000 == 7, 0, np.arange(n) % 6 + 1)
    found = strokes_of(start, end, kind, fine=1e-4)
    assert len(found.lines) <= MOST_STROKES + 2
    assert sum(len(line) for _, line in found.lines) <= MOST_POINTS
    worst = shapely.union_all([shapely.LineString(line) for number, line in found.lines if number == 0])
    middles = shapely.points((start[kind == 0, :2] + end[kind == 0, :2]) / 2.0)
    assert shapely.distance(worst, middles).max() < 2e-3
    assert (found.every > 1) == gaps
