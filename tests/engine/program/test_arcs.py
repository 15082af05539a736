"""Arcs and helices against the closed forms of a circle."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.program.arcs import chord_count, radii_agree
from stillstock.engine.program.read import read_program

CHORD_ERROR = 2e-5
HEAD = "G21 G90 G94\nS9000 M3\nF1200\n"

# Plane word, its two axes in right-handed order, its normal: from +Y one sees Z to X turn counter-clockwise.
PLANES = [("G17", (0, 1, 2)), ("G18", (2, 0, 1)), ("G19", (1, 2, 0))]


def arc(text, **options):
    moves = read_program(HEAD + text, max_moves=100_000, chord_error=CHORD_ERROR, **options).moves
    last = moves.line == moves.line[-1]
    return np.vstack([moves.start[last][:1], moves.end[last]]) * 1e3


def word(letters, axis, value):
    return f"{letters[axis]}{value:.6f}"


@pytest.mark.parametrize(("plane", "axes"), PLANES)
@pytest.mark.parametrize(("motion", "sense"), [("G2", -1), ("G3", 1)])
@pytest.mark.parametrize("degrees", [17.0, 90.0, 200.0, 351.0])
def test_arc_keeps_to_its_circle_turns_the_right_way_and_rises_evenly(plane, axes, motion, sense, degrees):
    """Closed form: points at r from the centre, length r phi, sagitta r (1 - cos(step / 2)), pitch even with the angle.

    G2 is clockwise seen from the positive end of the axis normal to the plane: ISO 6983-1, and NISTIR 6556, section
    3.5.3 (from memory).
    """
    a, b, c = axes
    r, centre, first = 23.0, (41.0, -12.0), math.radians(33.0)
    phi = sense * math.radians(degrees)
    start = (centre[0] + r * math.cos(first), centre[1] + r * math.sin(first))
    end = (centre[0] + r * math.cos(first + phi), centre[1] + r * math.sin(first + phi))
    text = f"G0 {word('XYZ', a, start[0])} {word('XYZ', b, start[1])} {word('XYZ', c, 5.0)}\n"
    text += f"{plane} {motion} {word('XYZ', a, end[0])} {word('XYZ', b, end[1])} {word('XYZ', c, 2.0)} "
    text += f"{word('IJK', a, centre[0] - start[0])} {word('IJK', b, centre[1] - start[1])}"
    points = arc(text)

    u, v = points[:, a] - centre[0], points[:, b] - centre[1]
    assert_allclose(np.hypot(u, v), r, atol=2e-6)
    assert_allclose(points[-1, [a, b, c]], [*end, 2.0], atol=1e-6)
    steps = np.diff(np.unwrap(np.arctan2(v, u)))
    assert_allclose(steps.sum(), phi, atol=1e-6)
    assert_allclose(steps, steps.mean(), atol=1e-6)
    assert r * (1 - np.cos(np.abs(steps).max() / 2)) <= CHORD_ERROR * 1e3 * (1 + 1e-6)
    assert_allclose(np.diff(points[:, c]), -3.0 / len(steps), atol=1e-6)
    chords = np.hypot(np.diff(u), np.diff(v)).sum()
    assert r * abs(phi) * (1 - steps[0] ** 2 / 24) - 1e-4 <= chords < r * abs(phi)


@pytest.mark.parametrize(("plane", "axes"), PLANES)
def test_full_circle_comes_back_the_long_way(plane, axes):
    """Closed form: circumference 2 pi r; NISTIR 6556, section 3.5.3.2 (from memory): equal ends are a full circle."""
    a, b, _ = axes
    points = arc(f"G0 X3 Y4 Z5\n{plane} G2 {'IJK'[a]}-7.5 {'IJK'[b]}0")
    assert_allclose(points[0], points[-1], atol=0)
    length = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
    assert_allclose(length, math.tau * 7.5, rtol=2e-3)
    # Clockwise from the far right of the circle leads to the smaller second axis first.
    assert points[1, b] < points[0, b]


@pytest.mark.parametrize(
    ("words", "middle"),
    [
        ("G2 X10 Y10 R10", (2.9289, 7.0711)),
        ("G3 X10 Y10 R10", (7.0711, 2.9289)),
        ("G2 X10 Y10 R-10", (-7.0711, 17.0711)),
        ("G3 X10 Y10 R-10", (17.0711, -7.0711)),
    ],
)
def test_radius_form_takes_the_short_arc_and_a_negative_radius_the_long_one(words, middle):
    """From (0, 0) to (10, 10) with R10 the centres are (10, 0) and (0, 10); middles by hand, 10 (1 -+ 1/sqrt 2).

    NISTIR 6556, section 3.5.3.1 (from memory): a positive radius turns through less than 180 degrees.
    """
    points = arc(f"G0 X0 Y0 Z0\n{words}")
    nearest = np.hypot(points[:, 0] - middle[0], points[:, 1] - middle[1]).min()
    assert nearest < 0.7  # half a chord: 2 sqrt(2 r e) / 2
    assert_allclose(points[-1, :2], (10.0, 10.0), atol=1e-12)


def test_half_circle_by_radius_needs_no_exact_fit():
    points = arc("G0 X0 Y0 Z0\nG3 X20 Y0 R9.9999")
    assert_allclose(points[:, 1].min(), -10.0, atol=0.05)


def test_absolute_centres_are_places_and_not_distances():
    """The same arc said both ways; NISTIR 6556 has no G90.1 (from memory): common practice, no source."""
    relative = arc("G0 X30 Y12 Z1\nG2 X40 Y2 I10 J0 Z0")
    absolute = arc("G0 X30 Y12 Z1\nG90.1 G2 X40 Y2 I40 J12 Z0")
    back = arc("G90.1\nG0 X30 Y12 Z1\nG91.1 G2 X40 Y2 I10 J0 Z0")
    assert_allclose(absolute, relative, atol=1e-9)
    assert_allclose(back, relative, atol=1e-9)


@pytest.mark.parametrize(("end", "agrees"), [(20.0049, True), (20.0199, True), (20.03, False)])
def test_ends_that_are_not_equally_far_are_told(end, agrees):
    """Common practice, no source: 0.005 mm, or 0.1 % of the radius, here 0.02 mm."""
    reading = read_program(HEAD + f"G0 X0 Y0 Z0\nG3 X{20 + end:.4f} Y0 I20 J0", max_moves=1000)
    codes = [finding.code for finding in reading.findings]
    assert ("arc_radius" in codes) is not agrees
    assert_allclose(reading.moves.end[-1], [0.02 + end * 1e-3, 0, 0], atol=1e-12)


def test_no_arc_however_large_forgives_more_than_half_a_millimetre():
    assert radii_agree(1.0, end=1.0004)
    assert not radii_agree(1.0, end=1.0006)


def test_end_on_the_ray_of_the_start_is_a_whole_turn():
    """From (10, 0) to (10.004, 0) about the origin, a rounding error apart: once around."""
    points = arc("G0 X10 Y0 Z0\nG3 X10.004 I-10")
    assert_allclose(np.hypot(*np.diff(points[:, :2], axis=0).T).sum(), math.tau * 10.0, rtol=2e-3)


def test_radius_too_short_for_its_chord_is_told():
    reading = read_program(HEAD + "G0 X0 Y0 Z0\nG3 X30 Y0 R10", max_moves=1000)
    assert [finding.code for finding in reading.findings] == ["arc_radius"]
    assert reading.findings[0].doubt


@pytest.mark.parametrize("words", ["G2 X5 Y5", "G2 X5 Y5 I0 J0", "G2 X0 Y0 R5", "G2 X5 Y5 R0", "G90.1 G2 X5 Y5 J0"])
def test_arc_without_a_centre_is_told_and_read_straight(words):
    reading = read_program(HEAD + f"G0 X0 Y0 Z0\n{words}", max_moves=1000)
    assert ("arc_centre", 5, True) in [(finding.code, finding.line, finding.doubt) for finding in reading.findings]
    assert len(reading.moves) <= 2


@pytest.mark.parametrize("radius", [1e-5, 1e-3, 0.1, 5.0])
def test_chords_are_as_few_as_the_chord_error_allows(radius):
    """One chord fewer would stray further than allowed: sagitta r (1 - cos(phi / 2n)), closed form."""
    count = chord_count(4.0, radius=radius, chord_error=CHORD_ERROR)
    assert 2 * radius * math.sin(4.0 / count / 4) ** 2 <= CHORD_ERROR * (1 + 1e-9) or count == 2
    if count > 3:
        assert 2 * radius * math.sin(4.0 / (count - 1) / 4) ** 2 > CHORD_ERROR
