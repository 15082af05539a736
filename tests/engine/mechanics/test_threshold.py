"""Scan and bisect against borders that are known."""

import math

import pytest

from stillstock.engine.mechanics.threshold import nearest_that_holds


def test_the_border_is_found_on_its_holding_side():
    tried = []

    def holds(value: float) -> bool:
        tried.append(value)
        return value <= math.pi

    found = nearest_that_holds(holds, [16.0, 8.0, 4.0, 2.0, 1.0], tolerance=1e-6, steps=30)
    assert found is not None
    assert found <= math.pi
    assert found == pytest.approx(math.pi, rel=1e-6)
    assert 1.0 not in tried


def test_values_may_rise_as_well():
    found = nearest_that_holds(lambda value: value >= math.e, [1.0, 2.0, 4.0], tolerance=1e-6, steps=30)
    assert found == pytest.approx(math.e, rel=1e-6)
    assert found is not None
    assert found >= math.e


def test_an_island_is_found_before_the_shore():
    """Holds from 9 to 11 and below 2: from the top the island comes first, its upper side is its greatest value."""
    found = nearest_that_holds(
        lambda value: value < 2.0 or 9.0 <= value <= 11.0, [12.0, 10.0, 8.0, 1.0], tolerance=1e-4
    )
    assert found == pytest.approx(11.0, rel=1e-3)


def test_what_never_holds_is_none_and_what_holds_at_once_is_taken():
    assert nearest_that_holds(lambda _value: False, [3.0, 2.0]) is None
    assert nearest_that_holds(lambda _value: True, []) is None
    assert nearest_that_holds(lambda _value: True, [3.0, 2.0]) == 3.0
