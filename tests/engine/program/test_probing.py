"""Probing, and places that the program states in the machine's own frame."""

import math

import pytest
from numpy.testing import assert_allclose

from stillstock.engine.program.machine_frame import NOT_STATED, MachineFrame
from stillstock.engine.program.moves import FEED, PROBE, RAPID
from stillstock.engine.program.read import read_program

MM = 1e-3
HEAD = "G21 G90 G17 G94\nT1 M6\nF100\nG0 X10 Y10 Z30\n"


def read(text, *, machine=NOT_STATED, park=(0.0, 0.0, 0.05)):
    return read_program(HEAD + text, max_moves=1000, park=park, tool_numbers=(1, 2), machine=machine)


def table(height):
    """Stand for a table whose surface lies at one height; no move sideways touches anything. [mm]"""

    def touch(start, target, tool):
        del tool
        return (*start[:2], height * MM) if target[2] <= height * MM < start[2] else None

    return MachineFrame(touch=touch)


def codes(reading):
    return [(finding.code, finding.doubt) for finding in reading.findings]


def test_a_probing_move_ends_where_it_touches():
    """NISTIR 6556, section 3.5.7 (from memory): at the feed, straight, until the probe trips."""
    reading = read("G38.2 Z-40\nG0 Z30\n", machine=table(2.0))
    assert reading.moves.kind.tolist() == [RAPID, PROBE, RAPID]
    assert_allclose(reading.moves.end[:, 2], [30 * MM, 2 * MM, 30 * MM])
    assert reading.moves.feed[1] == pytest.approx(0.1 / 60)
    assert codes(reading) == []


@pytest.mark.parametrize(
    ("word", "end", "told"),
    [
        ("G38.2", 5.0, [("probe_misses", True)]),
        ("G38.3", 5.0, [("probe_misses", False)]),
        ("G38.4", 30.0, []),
        ("G38.5", 30.0, []),
    ],
)
def test_a_probing_move_that_touches_nothing_goes_to_its_end(word, end, told):
    """G38.2 then stops the machine (NISTIR 6556, 3.5.7, from memory); away from a surface it stops where it starts."""
    reading = read(f"{word} Z5\n", machine=table(-90.0))
    assert reading.moves.end[-1, 2] == pytest.approx(end * MM)
    assert codes(reading) == told


def test_on_a_table_of_which_nothing_is_known_it_ends_somewhere_until_the_height_is_stated():
    reading = read("G38.2 Z-40\nG0 X50\nZ30\nX60\n")
    assert reading.moves.known.tolist() == [True, False, False, False, True]


@pytest.mark.parametrize("zero", ["G10 L20 P1 Z{}", "G92 Z{}"])
@pytest.mark.parametrize(
    ("value", "told"),
    [
        (0.4, []),
        (19.05, [("probe_plate", False)]),
        (-4.0, [("probe_zero", True)]),
    ],
)
def test_a_zero_set_by_probing_is_the_set_ups_own(zero, value, told):
    """The set-up is stated in the frame that the program has after probing: its Z20 stays 20.

    On a surface at 0 a zero of 19.05 says that a plate lay between; one of -4 contradicts the set-up.
    """
    reading = read("G38.2 Z-40\n" + zero.format(value) + "\nG0 Z20\nX80\n", machine=table(0.0))
    assert_allclose(reading.moves.end[1:, 2], [value * MM, 20 * MM, 20 * MM], atol=1e-12)
    assert [code for code in codes(reading) if code[0] != "zero_shift"] == told


def test_a_second_slow_touch_sets_the_zero():
    """Fast, up 2, slow, zero, up 10: common practice, no source."""
    text = "G38.2 Z-40\nG91\nG0 Z2\nG38.2 Z-5 F20\nG10 L20 P1 Z0\nG0 Z10\nG90\nG0 X80\n"
    reading = read(text, machine=table(0.0))
    assert_allclose(reading.moves.end[1:, 2] / MM, [0, 2, 0, 10, 10], atol=1e-9)
    assert codes(reading) == []


def test_machine_coordinates_count_from_the_stated_zero_and_from_each_tools_own_tip():
    """Worked by hand: the first tip is at (-100, -50, 90) at machine zero; tool 2 hangs 7 mm lower."""
    machine = MachineFrame(zero=(-0.1, -0.05, 0.09), hangs={2: 0.007})
    reading = read("G53 G0 Z-5\nG53 X20 Y30\nT2 M6\nG53 G0 Z0\n", machine=machine)
    assert_allclose(reading.moves.end[1:] / MM, [(10, 10, 85), (-80, -20, 85), (-80, -20, 83)], atol=1e-9)
    assert reading.moves.kind.tolist() == [RAPID] * 4
    assert codes(reading) == []
    assert [(change.line, change.before, change.tool) for change in reading.changes] == [(2, 0, 1), (7, 3, 2)]


def test_g53_with_g1_in_force_is_a_feed():
    assert read("G1 X20\nG53 G1 Z-5\n", machine=MachineFrame(zero=(0, 0, 0.09))).moves.kind[-1] == FEED


def test_the_reference_point_is_reached_by_way_of_the_stated_point():
    """Worked by hand: up by 5 from 30, then to Z80; then X and Y alone, by way of where it stands."""
    text = "G28 G91 Z5\nG28 X0 Y0\nG90\nG0 Z70\n"
    reading = read(text, machine=MachineFrame(reference=(-0.02, 0.3, 0.08)))
    assert_allclose(reading.moves.end[1:] / MM, [(10, 10, 35), (10, 10, 80), (-20, 300, 80), (-20, 300, 70)], atol=1e-9)


@pytest.mark.parametrize("text", ["G53 G0 Z0\n", "G28 G91 Z0\n", "G30\n"])
def test_places_that_nobody_stated_are_not_known(text):
    reading = read(text + "G90\nG0 X5\n")
    assert not reading.moves.known[-1]
    assert ("machine_frame", False) in codes(reading)
    assert math.isfinite(reading.moves.end.sum())


def test_so_many_probing_moves_as_one_request_may_cost_are_followed():
    line = "G38.2 X{} F100\nG0 X0\n"
    reading = read("".join(line.format(k + 1) for k in range(250)), machine=table(-90.0))
    assert ("probes", True) in codes(reading)
    assert reading.moves.known.sum() >= 400


def test_so_many_tool_changes_as_one_request_may_cost_are_noted():
    reading = read("T1 M6\n" * 1200)
    assert len(reading.changes) == 1000
    assert ("tool_changes", True) in codes(reading)
