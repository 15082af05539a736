"""How closely a part comes back, against worked examples and a brute-force turn of the part."""

import math
from itertools import product

import numpy as np
import pytest

from stillstock.engine.positions.location import Locator, displacements, locator_terms, shift_term, stacked

W, H = 0.4, 0.26
CORNERS = np.array([(0.0, 0.0), (W, 0.0), (0.0, H), (W, H)])
STOPS = (
    Locator(at=(0.05, 0.0), normal=(0.0, 1.0)),
    Locator(at=(0.35, 0.0), normal=(0.0, 1.0)),
    Locator(at=(0.0, 0.13), normal=(1.0, 0.0)),
)


def test_a_chain_of_tolerances_adds_up_as_in_the_textbook():
    """Shigley, "Mechanical Engineering Design", 10th ed., example 1-7 (from memory): a screw with three sleeves.

    1.750 +- 0.003, 0.750 +- 0.001, 0.120 +- 0.005 and 0.875 +- 0.001 in: the gap is off by 0.010 in at worst, and by
    0.006 in as the root of the sum of squares.
    """
    inch = 0.0254
    terms = [
        shift_term(f"sleeve {number}", (tolerance * inch, 0.0), np.zeros((1, 2)))
        for number, tolerance in enumerate((0.003, 0.001, 0.005, 0.001))
    ]
    found = stacked(terms)
    assert found.worst / inch == pytest.approx(0.010, rel=1e-12)
    assert found.rss / inch == pytest.approx(0.006, rel=1e-12)


def test_three_stops_worked_by_hand():
    """By hand: stops 300 mm apart, each 0.1 mm off; lever of the far corner (400, 260).

    Stop 1 alone turns the part by -0.1/300 about stop 2 at (350, 0), and the contact with stop 3 at height 130 keeps x
    there: u = (130 mm below the corner) 0.1/300 x 130 = 0.04333, v = -0.1/300 x 50 = -0.016667. Stop 2 alone turns it
    by 0.1/300 about stop 1: u = -0.04333, v = 0.1/300 x 350 = 0.116667. Stop 3 moves all by 0.1 along x.
    """
    terms = locator_terms(STOPS, CORNERS, names=["1", "2", "3"], amounts=[1e-4] * 3)
    moves = [1e3 * term.moves[3] for term in terms]
    assert moves == [
        pytest.approx([0.043333, -0.016667], abs=1e-5),
        pytest.approx([-0.043333, 0.116667], abs=1e-5),
        pytest.approx([0.1, 0.0], abs=1e-9),
    ]
    found = stacked(terms)
    squares = 0.043333**2 + 0.016667**2 + 0.043333**2 + 0.116667**2 + 0.1**2
    assert found.at in (1, 2, 3)
    assert stacked([t.__class__(what=t.what, amount=t.amount, moves=t.moves[3:]) for t in terms]).rss * 1e3 == (
        pytest.approx(math.sqrt(squares), abs=1e-5)
    )
    # All at once at worst there: 2, 3 and -1, or their negatives: x 0.1 + 0.08667, y 0.13333.
    assert found.worst * 1e3 == pytest.approx(math.hypot(0.1 + 0.086667, 0.133333), abs=1e-5)


def test_two_dowels_turn_a_part_by_their_play_over_their_distance():
    """Textbook rule for a pair of pins: angle = (c1 + c2) / (2 L), with c the greatest play over the diameter."""
    dowels = (
        Locator(at=(0.02, 0.03), normal=(1.0, 0.0)),
        Locator(at=(0.02, 0.03), normal=(0.0, 1.0)),
        Locator(at=(0.22, 0.03), normal=(0.0, 1.0)),
    )
    moves = displacements(dowels, np.array([(0.02, 0.03), (1.02, 0.03)]))
    first, second = 0.029e-3 / 2.0, 0.024e-3 / 2.0
    turn = (first + second) / 0.2
    there = -first * moves[1] + second * moves[2]
    assert there[1, 1] - there[0, 1] == pytest.approx(turn * 1.0, rel=1e-12)


def test_small_motions_agree_with_a_part_pushed_onto_moved_stops():
    """Brute force: the exact pose in which the straight edges touch the three moved stops, by solving for it."""
    for signs in product((-1.0, 1.0), repeat=3):
        errors = 1e-6 * np.array(signs)
        points = np.array([np.array(one.at) + e * np.array(one.normal) for one, e in zip(STOPS, errors, strict=True)])
        angle = math.atan2(points[1, 1] - points[0, 1], points[1, 0] - points[0, 0])
        along, across = np.array([math.cos(angle), math.sin(angle)]), np.array([-math.sin(angle), math.cos(angle)])
        # The lower edge passes through points 0 and 1, the left edge, at right angles to it, through point 2.
        corner = along * (points[2] @ along) + across * (points[0] @ across)
        exact = corner + CORNERS[:, :1] * along + CORNERS[:, 1:] * across - CORNERS
        linear = np.einsum("i,ikd->kd", errors, displacements(STOPS, CORNERS))
        assert linear == pytest.approx(exact, abs=1e-10)  # second order: the turn 2e-6 / 0.3 times 2e-6


@pytest.mark.parametrize(
    "locators",
    [
        [((0.0, 0.0), (0.0, 1.0)), ((0.1, 0.0), (0.0, 1.0)), ((0.2, 0.0), (0.0, 1.0))],
        [((0.0, 0.1), (1.0, 0.0)), ((0.1, 0.0), (0.0, 1.0)), ((0.0, 0.0), (math.sqrt(0.5), math.sqrt(0.5)))],
    ],
)
def test_three_points_that_leave_a_part_free_are_refused(locators):
    """Three parallel normals let it slide; the second three meet in (0.1, 0.1), about which it turns."""
    with pytest.raises(ValueError, match="do not locate"):
        displacements([Locator(at=at, normal=normal) for at, normal in locators], CORNERS)


def test_no_cause_no_error():
    assert stacked([shift_term("x", (0.0, 0.0), CORNERS)]) == stacked([])
