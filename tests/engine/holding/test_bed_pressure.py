"""A slab on a bed against closed forms: it slides, tips, lifts, twists."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import dblquad
from tests.engine.holding.slabs import (
    LONG,
    MIDDLE,
    MU,
    THICK,
    WIDE,
    at,
    box,
    clamp,
    factor,
    gathered,
    screw,
    slab,
    stop,
    strip,
    suction,
    weight,
)

from stillstock.engine.mechanics.wrench import wrench

WEIGHT = 100.0
#: Where the weight acts, off the middle both ways. [m]
XG, YG = 0.14, 0.11
TWIST = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 1.0])
COS = np.cos(np.pi / 16.0)


def mean_distance(x0: float, x1: float, y0: float, y1: float) -> float:
    """Return the integral of the distance from the middle of a rectangle. [m3]"""
    cx, cy = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    return float(dblquad(lambda y, x: np.hypot(x - cx, y - cy), x0, x1, y0, y1, epsabs=1e-12)[0])


@pytest.mark.parametrize("height", [0.001, 0.05, 0.1, 0.18, 0.25, 0.4, 0.8, 2.0])
@pytest.mark.parametrize(
    ("push", "place", "arm", "length"),
    [
        ((1.0, 0.0, 0.0), (XG, WIDE / 2.0), LONG - XG, LONG),
        ((-1.0, 0.0, 0.0), (XG, WIDE / 2.0), XG, LONG),
        ((0.0, 1.0, 0.0), (LONG / 2.0, YG), WIDE - YG, WIDE),
        ((0.0, -1.0, 0.0), (LONG / 2.0, YG), YG, WIDE),
    ],
)
def test_a_slab_slides_low_and_tips_high(push, place, arm, length, height):
    """Coulomb: it slides at mu W. Balance about the edge ahead: it tips at W arm / h. Never above either.

    Where it does both at once the pressure is affine: the part W1 that rubs lies no nearer to the edge than a third of
    the length, the rest W - W1 is carried by the smooth edge itself. About the edge, with b the length,

        W arm - mu W1 h = W1 b / 3   and   F = mu W1 = mu W arm / (mu h + b / 3)

    own derivation; corners of the polygon lie along x and y, so there is no error of the polygon.
    """
    got = factor(
        gathered(weight(WEIGHT, *place)), wrench(at(place[0], place[1], height), push), stock=slab((LONG, WIDE, 0.1))
    )
    both = MU * WEIGHT * arm / (MU * height + length / 3.0)
    assert_allclose(got, min(MU * WEIGHT, both), rtol=1e-9)
    assert got <= min(MU * WEIGHT, WEIGHT * arm / height) * (1.0 + 1e-9)


@pytest.mark.parametrize("height", [0.01, 0.3, 0.6, 2.0])
def test_a_slab_against_a_stop_tips_over_it_by_the_plain_lever(height):
    """Stopped at half its thickness c it cannot slide: W arm = F |h - c|, about one end's edge or the other.

    The bed's friction works at the lever c too and is there for the asking, mu W c at the most: the bounds.
    """
    stopped = gathered(weight(WEIGHT, XG, WIDE / 2.0), stop(at(LONG, WIDE / 2.0, 0.05), (-1.0, 0.0, 0.0), mu=0.0))
    got = factor(stopped, wrench(at(XG, WIDE / 2.0, height), (1.0, 0.0, 0.0)), stock=slab((LONG, WIDE, 0.1)))
    arm, lever = (LONG - XG if height > 0.05 else XG), abs(height - 0.05)
    assert WEIGHT * arm / lever * (1.0 - 1e-9) <= got <= (WEIGHT * arm + MU * WEIGHT * 0.05) / lever


@pytest.mark.parametrize(
    ("force", "arm", "edge"),
    [
        ((1.0, 0.0, 0.0), LONG - XG, "far"),
        ((-1.0, 0.0, 0.0), XG, "near"),
        ((0.0, 1.0, 0.0), WIDE - YG, "back"),
        ((0.0, -1.0, 0.0), YG, "front"),
    ],
)
def test_a_very_tall_slab_tips_over_the_edge_it_is_pushed_at(force, arm, edge):
    """As mu h grows past the length the load factor goes to W arm / h, the balance about that edge: within 2 %."""
    height, mu = 20.0, 2.0
    load = wrench(at(XG, YG, height), force)
    got = factor(gathered(weight(WEIGHT, XG, YG)), load, mu=mu)
    assert WEIGHT * arm / height * 0.98 < got <= WEIGHT * arm / height, edge


@pytest.mark.parametrize(
    ("angle", "bound"), [(0.0, 1.0), (np.pi / 16.0, COS), (np.pi / 8.0, 1.0), (2.0, None), (4.0, None)]
)
def test_a_slide_askew_is_rated_within_the_polygon(angle, bound):
    """mu W in every direction by Coulomb; cos(pi / 16) of it at the worst, half-way between two corners."""
    load = wrench(at(XG, YG, 0.0), (np.cos(angle), np.sin(angle), 0.0))
    got = factor(gathered(weight(WEIGHT, XG, YG)), load) / (MU * WEIGHT)
    assert COS - 1e-9 <= got <= 1.0 + 1e-9
    if bound is not None:
        assert_allclose(got, bound, rtol=1e-9)


@pytest.mark.parametrize(("x", "y"), [(LONG, 0.13), (LONG, WIDE), (0.0, 0.02), (0.08, 0.0), (0.2, 0.17)])
def test_a_slab_is_lifted_off_by_the_least_force_about_any_edge(x, y):
    """Balance about each edge that the pull lies beyond: W times the arm of the weight over that of the pull."""
    edges = (
        (XG, x),
        (LONG - XG, LONG - x),
        (YG, y),
        (WIDE - YG, WIDE - y),
    )
    expected = min(WEIGHT * mine / pull for mine, pull in edges if pull > 1e-9)
    got = factor(gathered(weight(WEIGHT, XG, YG)), wrench(at(x, y, THICK), (0.0, 0.0, 1.0)))
    assert_allclose(got, min(expected, WEIGHT * 1e9), rtol=1e-9)


@pytest.mark.parametrize(
    "size", [(0.2, 0.2), (0.2, 0.19), (0.3, 0.2), (0.15, 0.3), (0.4, 0.16), (0.9, 0.15), (0.12, 1.2)]
)
def test_the_twist_under_vacuum_is_mu_p_times_the_mean_distance(size):
    """A stiff slab under an even pressure turns about its middle at mu p times the integral of r dA, within 2 %.

    The integral is that of scipy's adaptive quadrature; the 16 sides take at most 2 % and on the mean 0.6 %.
    """
    stock = slab((*size, 0.02))
    held = gathered(suction(30e3, box(0.0, 0.0, *size)))
    exact = MU * 30e3 * mean_distance(0.0, size[0], 0.0, size[1])
    for turn in (1.0, -1.0):
        assert_allclose(factor(held, turn * TWIST, stock=stock), exact, rtol=0.02)


def test_the_twist_of_a_vacuum_zone_off_the_middle_is_its_own():
    """A zone near one corner turns about its own middle, at mu p times its own integral of r dA."""
    exact = MU * 25e3 * mean_distance(0.02, 0.17, 0.03, 0.15)
    got = factor(gathered(suction(25e3, box(0.02, 0.03, 0.17, 0.15))), TWIST)
    assert_allclose(got, exact, rtol=0.02)


def test_vacuum_against_a_straight_lift_at_its_middle():
    """p A, all of the suction at once."""
    got = factor(gathered(suction(30e3)), wrench(MIDDLE, (0.0, 0.0, 1.0)))
    assert_allclose(got, 30e3 * LONG * WIDE, rtol=1e-9)


@pytest.mark.parametrize(
    ("x", "y", "arm", "lever"),
    [(LONG, WIDE / 2, 0.1, LONG), (0.0, WIDE / 2, LONG - 0.1, LONG), (0.1, 0.0, WIDE - 0.075, WIDE)],
)
def test_vacuum_against_a_lift_at_an_edge(x, y, arm, lever):
    """Balance about the opposite edge: p A times the arm of the zone's middle over that of the lift.

    The zone reaches from 0.05 to 0.15 along and from 0.03 to 0.12 across: its middle is at 0.1 and 0.075. A lift in the
    middle of one edge may also turn the slab about a side, which the minimum over the edges counts.
    """
    zone = box(0.05, 0.03, 0.15, 0.12)
    force = 30e3 * 0.1 * 0.09
    sides = [(0.075, y), (WIDE - 0.075, WIDE - y), (0.1, x), (LONG - 0.1, LONG - x)]
    expected = min([force * arm / lever, *(force * own / pull for own, pull in sides if pull > 1e-9)])
    got = factor(gathered(suction(30e3, zone)), wrench(at(x, y, THICK), (0.0, 0.0, 1.0)))
    assert_allclose(got, expected, rtol=1e-9)


def test_a_central_clamp_is_rated_by_the_pad_beneath_it_and_not_by_the_field():
    """One clamp of 1 kN in the middle: spread over the face it would give mu F times the mean distance, 29.0 N m.

    What it surely presses is its pad: the toe of 30 by 20 mm, wider on each side by t tan 30 degrees (frustum method,
    Shigley's Mechanical Engineering Design, ch. 8, from memory). The twist is mu F times the pad's own mean distance;
    two points a side and the 16-sided polygon take up to 3 %, the safe side.
    """
    grown = THICK * np.tan(np.pi / 6.0)
    a, b = 0.03 + 2.0 * grown, 0.02 + 2.0 * grown
    pad = MU * 1000.0 * mean_distance(0.0, a, 0.0, b) / (a * b)
    field = MU * 1000.0 * mean_distance(0.0, LONG, 0.0, WIDE) / (LONG * WIDE)
    got = factor(gathered(clamp(1000.0, LONG / 2.0, WIDE / 2.0)), TWIST)
    assert_allclose(field, 29.0, rtol=2e-3)
    assert_allclose(got, pad, rtol=0.03)
    assert got <= pad


def test_three_strips_of_tape_share_a_lift_at_an_edge_by_their_stiffness():
    """Equal strips at 0, 1/2 and 1 of the length, force f each, lifted at the end: F / 3 + F / 2 in the last strip.

    The elastic field of a stiff slab, F / 3 from the lift and F / 2 from the turning (the middle strip lies on its
    axis): 5 F / 6 = f, so F = 120 N for f = 100 N. A bed that may push up at the far edge would give 125 N, free
    sharing 150 N; own derivation. The strips' own width takes 0.1 %.
    """
    inset = 1e-4
    strips = gathered(*(strip(x, force=100.0, holder=i) for i, x in enumerate((inset, LONG / 2.0, LONG - inset))))
    got = factor(strips, wrench(at(LONG, WIDE / 2.0, 0.0), (0.0, 0.0, 1.0)))
    assert_allclose(got, 120.0, rtol=2e-3)
    assert got < 125.0 < 150.0
    straight = factor(strips, wrench(at(LONG / 2.0, WIDE / 2.0, 0.0), (0.0, 0.0, 1.0)))
    assert_allclose(straight, 300.0, rtol=1e-6)


def test_a_strip_off_the_middle_is_peeled_from_the_nearer_end():
    """One wide tape, its stress linear: F / A (1 + e (c / i^2)) at its edge, with i^2 = a^2 / 12 and c = a / 2."""
    a, e = 0.2, 0.07
    tape = strip(0.12, force=80.0, width=a)
    got = factor(gathered(tape), wrench(at(0.12 + e, WIDE / 2.0, 0.0), (0.0, 0.0, 1.0)))
    assert_allclose(got, 80.0 / (1.0 + e * (a / 2.0) / (a**2 / 12.0)), rtol=1e-9)


def test_two_screws_share_a_lift_by_the_motion_of_the_slab():
    """A thread bears 1000 N in all, of which 300 N are its preload; own derivation from one rigid motion.

    Lifted half-way between both, each gives all: 2000 N. Lifted at 0.1 between 0.04 and 0.22, the nearer one takes two
    thirds while the slab hangs free: 1500 N. Hinged on the bed at the far edge, 0.3, the nearer one stretches 0.26 and
    the other 0.08: (1000 0.26 + (300 + 700 0.08 / 0.26) 0.08) / 0.2 = 1506 N. If each screw could be loaded at will,
    it would be (1000 0.26 + 1000 0.08) / 0.2 = 1700 N, more than the nearer one bears.
    """
    pair = gathered(screw(0.04, 0.1, holder=0), screw(0.22, 0.1, holder=1))
    middle = factor(pair, wrench(at(0.13, 0.1, 0.0), (0.0, 0.0, 1.0)))
    aside = factor(pair, wrench(at(0.1, 0.1, 0.0), (0.0, 0.0, 1.0)))
    assert_allclose(middle, 2000.0, rtol=1e-6)
    assert_allclose(aside, (260.0 + (300.0 + 700.0 * 0.08 / 0.26) * 0.08) / 0.2, rtol=1e-6)


def test_screws_in_shear_share_it_by_stiffness():
    """Four screws without preload, pulled through their middle: 4 times one's sideways strength.

    Pulled along y beside the middle, the farthest one governs: F / 4 + F e r / sum r^2, at right angles to its arm
    (elastic bolt group, Shigley's Mechanical Engineering Design, ch. 8, from memory). Within the polygon's 2 %.
    """
    places = [(0.02, 0.02), (0.28, 0.02), (0.28, 0.18), (0.02, 0.18)]
    four = gathered(*(screw(x, y, preload=0.0, holder=i) for i, (x, y) in enumerate(places)))
    assert_allclose(factor(four, wrench(at(0.15, 0.1, 0.0), (1.0, 0.0, 0.0))), 800.0, rtol=1e-6)
    e, sum_square = 0.11, 4.0 * (0.13**2 + 0.08**2)
    at_one = np.hypot(0.25 + e * 0.13 / sum_square, e * 0.08 / sum_square)
    got = factor(four, wrench(at(0.15 + e, 0.1, 0.0), (0.0, 1.0, 0.0)))
    assert COS * 200.0 / at_one <= got <= 200.0 / at_one
