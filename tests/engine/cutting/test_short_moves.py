"""Neighbourhoods along a path, against plain loops."""

import numpy as np
from numpy.testing import assert_array_equal

from stillstock.engine.cutting.short_moves import greatest_nearby, nearby


def test_neighbours_are_those_within_reach_and_without_a_break():
    length = np.array([1.0, 1.0, 0.2, 3.0, 1.0])
    first, last = nearby(length, breaks=np.array([True, False, False, False, True]), reach=1.1)
    assert_array_equal(first, (0, 0, 0, 1, 4))
    assert_array_equal(last, (3, 4, 4, 4, 5))


def test_greatest_nearby_is_the_plain_maximum():
    """Two roads: tables of powers of two against one slice a range."""
    values = np.sin(np.arange(50.0) ** 2)
    first = np.arange(50) // 2
    last = np.minimum(50, first + 1 + np.arange(50) % 17)
    plain = [values[a:b].max() for a, b in zip(first, last, strict=True)]
    assert_array_equal(greatest_nearby(values, first, last), plain)
