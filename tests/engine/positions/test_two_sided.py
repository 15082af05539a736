"""Ways onto dowels, and where a part lies once it is turned over."""

import math

import pytest

from stillstock.engine.positions.request import Flip
from stillstock.engine.positions.two_sided import flipped_corner, ways

AXIS = ((0.1, 0.02), (0.1, 0.3))


def test_like_dowels_fit_four_ways_and_unlike_ones_two():
    """Geometry: a segment has four symmetries (stay, half turn, mirror in it and across it); unlike ends leave two."""
    four = ways(AXIS, (0.008, 0.008))
    assert [(way.over, round(abs(way.turn), 6)) for way in four] == [
        (False, 0.0),
        (False, round(math.pi, 6)),
        (True, 0.0),
        (True, round(math.pi, 6)),
    ]
    two = ways(AXIS, (0.008, 0.006))
    assert [(way.over, way.pins) for way in two] == [(False, (0, 1)), (True, (0, 1))]
    # The one way over is the flip about the axis of the dowels, here along y: mirrored in it.
    assert abs(two[1].turn) == pytest.approx(math.pi)


def test_dowels_that_differ_by_less_than_they_can_tell_count_as_like():
    assert len(ways(AXIS, (0.008, 0.00795))) == 4


def test_three_dowels_at_uneven_steps_fit_two_ways():
    """In line and uneven: only staying and the flip about their own line bring each onto itself."""
    places = ((0.1, 0.02), (0.1, 0.1), (0.1, 0.3))
    assert [(way.over, way.pins) for way in ways(places, (0.008,) * 3)] == [(False, (0, 1, 2)), (True, (0, 1, 2))]


def test_three_dowels_off_one_line_never_go_on_turned_over():
    """A scalene triangle has no symmetry."""
    places = ((0.0, 0.0), (0.1, 0.0), (0.03, 0.2))
    assert [way.over for way in ways(places, (0.008,) * 3)] == [False]


@pytest.mark.parametrize(
    ("axis", "at", "corner"),
    [("y", 0.2, (1.0, 2.0)), ("y", 0.15, (0.9, 2.0)), ("x", 0.13, (1.0, 2.0)), ("x", 0.1, (1.0, 1.94))],
)
def test_a_part_turned_over_lies_where_its_mirror_image_does(axis, at, corner):
    """By hand, 400 x 260: about x = 150 the right edge at 400 goes to -100; about y = 100 the back at 260 to -60."""
    assert flipped_corner((1.0, 2.0), (0.4, 0.26, 0.04), Flip(axis=axis, at=at)) == pytest.approx(corner)
