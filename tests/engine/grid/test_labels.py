"""The single-stroke alphabet."""

import math
from itertools import pairwise

import numpy as np
import pytest

from stillstock.engine.grid.labelling import distance_text
from stillstock.engine.grid.labels import ALPHABET, letter_of, text_strokes, text_width


def segments(letter):
    for stroke in text_strokes(letter, at=(0.0, 0.0), height=6.0):
        for start, end in pairwise(stroke.tolist()):
            yield tuple(start), tuple(end)


def steps(start, end):
    """Whole steps of the net along a segment, so that two segments that lie on each other share one."""
    (x0, y0), (x1, y1) = start, end
    count = math.gcd(round(x1 - x0), round(y1 - y0))
    points = [(x0 + (x1 - x0) * i / count, y0 + (y1 - y0) * i / count) for i in range(count + 1)]
    return [frozenset(pair) for pair in pairwise(points)]


@pytest.mark.parametrize("letter", sorted(ALPHABET))
def test_no_part_of_a_letter_is_cut_twice(letter):
    drawn = [step for start, end in segments(letter) for step in steps(start, end)]
    assert len(drawn) == len(set(drawn))
    assert all(start != end for start, end in segments(letter))


def test_all_digits_and_capitals_are_there_and_no_two_look_alike():
    shapes = {letter: frozenset(s for a, b in segments(letter) for s in steps(a, b)) for letter in ALPHABET - {" "}}
    assert set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-./") <= ALPHABET
    assert len(set(shapes.values())) == len(shapes)


def test_text_keeps_within_its_box():
    strokes = np.vstack(text_strokes("8H0", at=(0.01, 0.02), height=0.006))
    assert strokes.min(axis=0) == pytest.approx((0.01, 0.02))
    assert strokes.max(axis=0) == pytest.approx((0.01 + text_width("8H0", height=0.006), 0.026))


def test_a_letter_that_is_not_there_is_our_mistake():
    with pytest.raises(ValueError, match="alphabet"):
        text_strokes("µ", at=(0, 0), height=1.0)


@pytest.mark.parametrize(
    ("index", "letters"), [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA")]
)
def test_letters_go_on_as_on_maps(index, letters):
    assert letter_of(index) == letters


@pytest.mark.parametrize(
    ("inches", "text"),
    [(1.5, "1-1/2"), (0.75, "3/4"), (23 / 32, "23/32"), (-2.25, "-2-1/4"), (12.0, "12"), (0.3, "0.3")],
)
def test_inches_are_engraved_as_shops_write_them(inches, text):
    assert distance_text(round(inches * 254_000_000), inch=True) == text
