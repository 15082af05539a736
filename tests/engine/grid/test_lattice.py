"""Places of marks: whole numbers, so that nothing drifts."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from stillstock.engine.grid.lattice import lattice, lattice_count, ticks

INCH = 0.0254


@pytest.mark.parametrize("fraction", [Fraction(1, 64), Fraction(3, 4), Fraction(23, 32), Fraction(1, 128), Fraction(1)])
def test_inch_grids_land_on_exact_multiples_of_their_fraction(fraction):
    """Closed form: mark i lies at exactly i times the fraction; 1 in = 25.4 mm exactly (agreement of 1959)."""
    pitch = float(fraction) * INCH
    marks = lattice(0.0, high=1000.5 * pitch, pitch=pitch, anchor=0.0)
    assert len(marks.index) == 1001
    exact = [Fraction(254, 10_000) * fraction * i * 10**10 for i in range(1001)]
    assert [Fraction(int(tick)) for tick in marks.tick] == exact


def test_the_thousandth_line_of_a_tenth_of_a_millimetre_has_not_drifted():
    """Closed form; adding 0.1 a thousand times in floats misses 100 by 1.4e-12, whole numbers by nothing."""
    place = lattice(0.0, high=0.2, pitch=1e-4, anchor=0.0).place
    assert [str(Decimal(repr(float(p))).normalize()) for p in place[[1, 3, 999, 1000]]] == [
        "0.0001",
        "0.0003",
        "0.0999",
        "0.1",
    ]


def test_both_ends_belong_to_the_lattice_and_the_anchor_may_lie_outside():
    marks = lattice(-0.03, high=0.05, pitch=0.02, anchor=0.11)
    assert_array_equal(np.round(marks.place, 9), [-0.03, -0.01, 0.01, 0.03, 0.05])
    assert_array_equal(marks.index, [-7, -6, -5, -4, -3])


def test_major_lines_are_counted_from_the_anchor_on_both_sides():
    marks = lattice(-0.05, high=0.05, pitch=0.01, anchor=0.0)
    assert_array_equal(np.round(marks.place[marks.is_major(4)], 9), [-0.04, 0.0, 0.04])
    assert not marks.is_major(0).any()


@pytest.mark.parametrize(
    ("low", "high", "pitch", "anchor"), [(0, 1, 0.3, 0), (-0.2, 0.75, 0.05, 0.013), (0, 0.1, 0.2, 0.15)]
)
def test_counting_agrees_with_making(low, high, pitch, anchor):
    made = lattice(low, high=high, pitch=pitch, anchor=anchor)
    assert lattice_count(low, high=high, pitch=pitch, anchor=anchor) == len(made.index)


def test_an_absurd_pitch_is_counted_without_being_made():
    assert lattice_count(0.0, high=1.0, pitch=1e-9, anchor=0.0) == 10**9 + 1


def test_a_pitch_below_one_tick_is_our_mistake():
    with pytest.raises(ValueError, match="tick"):
        lattice(0.0, high=1.0, pitch=1e-11, anchor=0.0)


def test_the_smallest_written_steps_are_whole_ticks():
    assert ticks(1e-6) == 10_000
    assert ticks(1e-6 * INCH) == 254
