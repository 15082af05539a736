"""Reading programs: modal words, zeros, units, what is told, and what no text may do."""

import math
import time

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.growth import growth
from tests.programs import cabinet_door_program, raster_program

from stillstock.engine.program.findings import FINDING_LIMIT
from stillstock.engine.program.moves import FEED, RAPID
from stillstock.engine.program.read import read_program
from stillstock.engine.program.words import LINE_LIMIT
from stillstock.errors import TooMuchWork

HEAD = "G21 G90 G94\nS9000 M3\nF600\n"
START = HEAD + "G0 X0 Y0 Z0\n"


def read(text, **options):
    return read_program(text, **{"max_moves": 100_000, **options})


def ends(text, **options):
    """Ends of all moves. [mm]"""
    return np.round(read(text, **options).moves.end * 1e3, 9).tolist()


def told(text, **options):
    return {(finding.code, finding.line, finding.doubt) for finding in read(text, **options).findings}


def test_motion_word_stays_in_force():
    moves = read(START + "G1 X5\nY6\nZ-1 X4\nG0 Z9\nX1").moves
    assert moves.kind.tolist() == [RAPID, FEED, FEED, FEED, RAPID, RAPID]
    assert moves.line.tolist() == [4, 5, 6, 7, 8, 9]
    assert (moves.start[1:] * 1e3).tolist() == (moves.end[:-1] * 1e3).tolist()
    assert_allclose(moves.end[-1] * 1e3, (1, 6, 9))


def test_spaces_case_signs_and_missing_zeros_do_not_matter():
    """Section 3.3 of NISTIR 6556 (from memory), and its example: ``g0x +0. 12 34y 7`` is ``G0 X+0.1234 Y7``."""
    assert ends(HEAD + "g0x +0. 12 34y 7 z.5\nn10 G01X-.25Z+2.\tf300") == [[0.1234, 7, 0.5], [-0.25, 7, 2]]


def test_comments_line_numbers_and_program_numbers_say_nothing():
    text = "%\nO0815 (DOOR (X1)\nN1 G21 (G20) G90 S9 M3 ; G91 X5 (\n(MSG, X)N2 G0 X1 (A) Y2 (B) Z3;\n(C) X4\n%\n"
    reading = read(text)
    assert not reading.findings
    assert_allclose(reading.moves.end * 1e3, [[1, 2, 3], [4, 2, 3]])
    assert reading.lines == 6


def test_line_ends_of_all_editors_count_the_same():
    text = START + "\nG1 X5\n"
    for ending in ("\r\n", "\r"):
        reading = read(text.replace("\n", ending))
        assert reading.moves.line.tolist() == [4, 6]
        assert reading.lines == 6


def test_feed_and_speed_are_taken_in_si():
    moves = read("G21 G90 G0 X0 Y0 Z0\nS6000 M3\nG1 X1 F1200\nM4 X2\nM5\nG20 F60 X1").moves
    assert_allclose(moves.feed, [0, 0.020, 0.020, 0.0254])
    assert_allclose(moves.speed, [0, 200 * math.pi, -200 * math.pi, 0])


def test_feed_per_revolution_follows_the_spindle():
    """0.1 mm a revolution at 6000 rev/min is 600 mm/min."""
    assert_allclose(read("G21 G90 G95 S6000 M3\nG0 X0 Y0 Z0\nG1 X9 F0.1").moves.feed[-1], 0.010)


def test_inverse_time_feed_spreads_the_whole_path_over_its_time():
    """G93 (NISTIR 6556, section 3.5.19, from memory): F2 is half a minute for the move, an arc too."""
    moves = read(START + "G93\nG1 X30 F2\nG3 X50 I10 F2\nG1 X0").moves
    arc = moves.line == 7
    assert_allclose(moves.feed[1], 0.030 / 30)
    assert_allclose(moves.feed[arc], 0.010 * math.pi / 30)
    assert ("no_feed", 8, True) in told(START + "G93\nG1 X30 F2\nG3 X50 I10 F2\nG1 X0")


def test_inch_and_metric_text_give_the_same_moves():
    """1 in is 25.4 mm exactly (international yard and pound agreement, 1959)."""
    metric = "G21 G90 S9000 M3\nG0 X25.4 Y50.8 Z12.7\nG1 Z-2.54 F762\nG2 X50.8 Y25.4 I0 J-25.4\n"
    metric += "G98 G83 X12.7 Z-5.08 R2.54 Q3.81"
    inch = "G20 G90 S9000 M3\nG0 X1 Y2 Z.5\nG1 Z-.1 F30\nG2 X2 Y1 I0 J-1\nG98 G83 X.5 Z-.2 R.1 Q.15"
    one, other = read(metric).moves, read(inch).moves
    assert_allclose(one.end, other.end, atol=1e-15)
    assert_allclose(one.feed, other.feed, rtol=1e-12)


def test_incremental_and_absolute_text_give_the_same_moves():
    absolute = START + "G1 X10 Y2 Z-1\nX7\nG3 X17 Y12 R10\nG0 Z5"
    incremental = START + "G91 G1 X10 Y2 Z-1\nX-3\nG3 X10 Y10 R10\nG0 Z6"
    assert_allclose(read(incremental).moves.end, read(absolute).moves.end, atol=1e-15)


@pytest.mark.parametrize("distance", ["G90", "G91"])
def test_short_and_long_way_of_reading_a_line_agree(distance):
    """The same program, once in plain lines and once with its words in another order, which the short way refuses."""
    rng = np.random.default_rng(3)
    plain, turned = [START, f"{distance} G1 X1 Y1\n"], [START, f"{distance} G1 X1 Y1\n"]
    for x, y, z, f in rng.uniform(-50, 900, (200, 4)):
        g = int(f) % 2
        plain.append(f"G{g} X{x:.4f} Y{y:.3f} Z{z:.2f} F{abs(f):.1f}\n")
        turned.append(f"F{abs(f):.1f} Z{z:.2f} Y{y:.3f} X{x:.4f} G0{g}\n")
    one, other = read("".join(plain)).moves, read("".join(turned)).moves
    for column in ("line", "kind", "start", "end", "feed", "speed", "known"):
        assert_allclose(getattr(one, column), getattr(other, column), atol=0, err_msg=column)


def test_moves_that_go_nowhere_are_none():
    assert len(read(START + "G1 X0\nF500\nG1\nX0 Y0").moves) == 1


def test_place_is_unknown_until_every_axis_was_stated():
    moves = read(HEAD + "G0 Z5\nG0 X1 Y2\nG1 Z0").moves
    assert moves.known.tolist() == [False, False, True]
    assert_allclose(moves.end * 1e3, [[0, 0, 5], [1, 2, 5], [1, 2, 0]])
    assert_allclose(moves.start * 1e3, [[0, 0, 5], [1, 2, 5], [1, 2, 5]])


def test_parked_tool_makes_the_first_move_known():
    moves = read(HEAD + "G0 X1 Y2", park=(0.1, 0.2, 0.05)).moves
    assert moves.known.tolist() == [True]
    assert_allclose(moves.start[0], (0.1, 0.2, 0.05))
    assert_allclose(moves.end[0], (0.001, 0.002, 0.05))


def test_cutting_from_an_unknown_place_is_doubtful():
    assert ("unknown_position", 4, True) in told(HEAD + "G1 Z-3")


@pytest.mark.parametrize("word", ["G53 G0 Z0", "G28 G91 Z0", "G30", "G0 G53 Z-5"])
def test_machine_frame_leaves_the_place_unknown(word):
    safe = START + f"G1 X5\n{word}\nG90 G0 X1 Y1\nZ2\nG1 Z-1"
    assert told(safe) == {("machine_frame", 6, False)}
    assert read(safe).moves.known.tolist()[-2:] == [False, True]
    assert ("unknown_position", 7, True) in told(START + f"G1 X5\n{word}\nG90 G1 X1 Y1")


def test_g53_holds_for_one_line_and_leaves_the_other_axes_alone():
    assert_allclose(read(START + "G0 X3 Y4\nG53 G0 Z0\nG0 Z7").moves.end[-1] * 1e3, (3, 4, 7))


def test_return_by_way_of_a_point_passes_it():
    assert ends(START + "G28 X3 Z9\n")[1] == [3, 0, 9]


def test_first_work_offset_is_the_frame_and_a_second_must_be_given():
    text = HEAD + "G55 G0 X1 Y1 Z1\nG1 X2\nG56 X5 Y6 Z7\nX6"
    assert ("work_offset", 6, True) in told(text)
    assert read(text).moves.known.tolist() == [False, True, False, False]
    given_offset = {"G56": (0.1, 0.0, -0.02)}
    assert ends(text, offsets={"G55": (0, 0, 0), **given_offset})[-1] == [106, 6, -13]
    assert not [code for code, _, _ in told(text, offsets={"G55": (0, 0, 0), **given_offset}) if code == "work_offset"]


def test_offsets_written_in_the_program_tell_one_zero_from_the_other():
    """G10 L2 gives machine positions: only their difference counts, here (100, 20, -5)."""
    text = HEAD + "G10 L2 P1 X-400 Y-300 Z-50\nG10 L2 P9 X-300 Y-280 Z-55\nG54 G0 X1 Y2 Z3\nG59.3 X1 Y2 Z3"
    assert ends(text) == [[1, 2, 3], [101, 22, -2]]
    moved = text + "\nG10 L2 P0 X-290\nX1"
    assert ends(moved)[-1] == [111, 22, -2]


def test_offset_can_be_set_to_the_place_of_the_tool():
    """G10 L20: where the tool stands becomes the stated coordinates."""
    text = START + "G0 X10 Y20 Z30\nG10 L20 P2 X0 Y5 Z1\nG55 G0 X1 Y1 Z1"
    assert ends(text)[-1] == [11, 16, 30]


def test_offset_set_to_the_place_of_the_tool_minds_the_shift():
    """The tool is at X10; after G92 X4 the shift is 6; so G55 must lie at 10 - 1 - 6 = 3 to read X1 here."""
    assert ends(START + "G0 X10\nG92 X4\nG10 L20 P2 X1 Y0 Z0\nG55 G0 X2\nG92.1 X0")[2:] == [[11, 0, 0], [3, 0, 0]]


def test_zero_set_before_any_motion_is_the_frame():
    for word in ("G10 L20 P1 X0 Y0 Z2", "G92 X0 Y0 Z2"):
        reading = read(HEAD + word + "\nG1 X5")
        assert reading.moves.known.tolist() == [True]
        assert_allclose(reading.moves.start[0] * 1e3, (0, 0, 2))
        assert not any(finding.doubt for finding in reading.findings)
        assert ("zero_shift", 4, True) in told(HEAD + word + "\nG1 X5", park=(0.3, 0, 0))


def test_g92_shifts_the_zero_until_it_is_cancelled():
    """NISTIR 6556, section 3.5.18 (from memory): the current point gets the stated coordinates."""
    assert ends(START + "G0 X10 Y20 Z5\nG92 X0 Y1\nG0 X5 Y5\nG92.1\nX5 Y5")[2:] == [[15, 24, 5], [5, 5, 5]]


def test_g92_shifts_add_up_as_in_the_example_of_the_standard():
    """NISTIR 6556, section 3.5.18 (seen as quoted): at X4, G92 X7 makes the shift -3, and G92 X9 after it -5."""
    assert ends(START + "G0 X4\nG92 X7\nG0 X0\nX7\nG92 X9\nG0 X0")[2:] == [[-3, 0, 0], [4, 0, 0], [-5, 0, 0]]


def test_g92_where_nobody_knows_the_place_is_doubtful():
    assert ("zero_shift", 5, True) in told(HEAD + "G0 Z5\nG92 X0")


@pytest.mark.parametrize("word", ["G10 L1 P1 Z5", "G10 L2 P12 X1", "G10 X1"])
def test_other_g10_is_told(word):
    assert ("unread_word", 5, True) in told(START + word)


def test_missing_unit_is_doubtful_and_read_as_stated():
    text = "G90 S9 M3 F9\nG0 X1 Y1 Z1"
    assert told(text) == {("no_unit", 2, True)}
    assert ends(text) == [[1, 1, 1]]


def test_unit_that_changes_under_a_feed_is_doubtful():
    assert ("unit_change", 6, True) in told(START + "G20\nG1 X1")
    assert not told(START + "G20 F20\nG1 X1")


def test_cutting_without_feed_or_spindle_is_doubtful():
    assert told("G21 G90\nG0 X0 Y0 Z0\nG1 X1\nX2\nF100 S100 M3\nX3") == {("no_feed", 3, True), ("no_speed", 3, True)}


def test_tool_change_stops_the_spindle():
    """NISTIR 6556, section 3.6.3 (from memory): after M6 the spindle stands still."""
    assert ("no_speed", 6, True) in told(START + "T3 M6\nG1 X1", tool_numbers=[3])


def test_tools_that_the_set_up_lacks_are_told():
    text = START + "T3 M6 M3\nG1 X1\nM3 M6 T4\nX2"
    assert told(text, tool_numbers=[4]) == {("missing_tool", 5, True)}
    assert read(text).moves.tool.tolist() == [0, 3, 4]


def test_one_tool_selected_and_never_changed_is_taken_for_all():
    """The standard changes tools by M6 only; on routers without a changer the T word names what was put in by hand."""
    assert read("T2\n" + START + "G1 X1").moves.tool.tolist() == [2, 2]
    assert told("T2\n" + START + "G1 X1", tool_numbers=[2]) == {("no_tool_change", 1, False)}
    assert ("no_tool_change", 1, True) in told("T2\n" + START + "T3\nG1 X1", tool_numbers=[2, 3])


def test_length_of_another_tool_is_told():
    assert ("tool_length", 5, False) in told(START + "T1 M6 G43 H2", tool_numbers=[1])


@pytest.mark.parametrize(
    ("line", "code", "doubt"),
    [
        ("G41 D1", "unread_word", True),
        ("G68 R30", "unread_word", True),
        ("G1.23 X1", "unread_word", True),
        ("G1000 X1", "unread_word", True),
        ("G4 X2", "unread_word", True),
        ("G2 X0 I4 P3", "unread_word", True),
        ("M110", "unread_word", True),
        ("G1 A30", "unread_word", True),
        ("G1 X5 R2", "unread_word", True),
        ("G1 X5 P2", "unread_word", False),
        ("G1 X5 @3", "unread_word", True),
        ("G1 X Y5", "unread_word", True),
        ("M98 P100", "subprogram", True),
        ("O100 sub", "subprogram", True),
        ("#1=5", "expression", True),
        ("G1 X[1+2]", "expression", True),
        ("G1 X1e-3", "exponent", True),
        ("G1 X1 (open", "comment", True),
        ("G1 X1 X2", "repeated_word", True),
        ("G0 G1 X1", "modal_group", True),
        ("G1 X1000001", "number", True),
        ("G1 X1 F-5", "number", True),
        ("S1" + "0" * 400, "number", True),
        ("T1.5 M6", "number", True),
        ("/G1 X5", "block_delete", False),
        ("G1 X5" + " " * LINE_LIMIT + "Y7", "long_line", True),
        ("G53 G2 X5 I2", "machine_frame", True),
        ("M30\nG1 X5", "after_end", True),
        ("%\n%\nG1 X5", "after_end", True),
    ],
)
def test_what_is_not_plain_is_told_by_line(line, code, doubt):
    lines = [row for kind, row, doubtful in told(START + line, tool_numbers=[1]) if kind == code and doubtful is doubt]
    assert lines
    assert lines[0] in range(5, 8)


@pytest.mark.parametrize(
    "line",
    [
        "G40 G49 G61 G64 P0.01 G80 G97",
        "G4 P1.5",
        "M0 M1",
        "M7 M8 M9 M48 M49",
        "G54 G17 G91.1 G98",
        "N5 G43 H0",
        ":12",
    ],
)
def test_words_without_effect_are_read_in_silence(line):
    assert not told(START + line)


@pytest.mark.parametrize("line", ["G33 X9", "G1 X[1]", "G52 X5", "G1 X Y5", "G1 X2000000", "G4 X1"])
def test_axis_of_a_word_that_is_not_read_is_unknown_until_stated(line):
    moves = read(START + f"{line}\nG0 Y1\nX1\nZ2").moves
    assert moves.known.tolist()[-1]
    assert not moves.known[-2]
    assert not moves.known[-3]


def test_exponent_is_still_worked_out():
    assert ends(START + "G1 X1.5e1 Y2E-1")[-1] == [15, 0.2, 0]


def test_end_of_program_ends_it():
    assert len(read(START + "M2\nG1 X5").moves) == 1
    assert told(START + "M30\n%\n\n(end)") == set()


def test_text_without_motion_says_so():
    reading = read("(nothing)\n")
    assert len(reading.moves) == 0
    assert reading.moves.end.shape == (0, 3)
    assert [finding.code for finding in reading.findings] == ["no_motion"]


def test_same_finding_on_many_lines_is_told_once():
    findings = read(START + "M110\n" * 500).findings
    assert len(findings) == 1
    assert findings[0].line == 5
    assert "499 more" in findings[0].detail


def test_findings_are_bounded_and_the_rest_is_counted():
    findings = read(START + "".join(f"M{k}\n" for k in range(100, 1100))).findings
    assert len(findings) == FINDING_LIMIT + 1
    assert findings[-1].code == "more_findings"
    assert findings[-1].doubt
    assert "800" in findings[-1].detail


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("G1 X1\n" * 5 + "G1 X1 Y1\nX2\nX3\nX4", 12),
        ("X1\nX2\nX3\nX4\nX5\n", 8),
        ("G2 I500 X0", 5),
        ("G81 X1 Z-1 R1 L1000000", 5),
        ("G83 X1 Z-1 R1 Q0.0000001", 5),
        ("G91 G81 Z0 R0 L999999999", 5),
    ],
)
def test_more_moves_than_allowed_are_refused_at_their_line(text, line):
    with pytest.raises(TooMuchWork) as refused:
        read(START + text, max_moves=4)
    fault = refused.value.faults[0]
    assert (fault.pointer, fault.code, fault.limit, fault.line) == ("/program/text", "limit", 4, line)
    assert isinstance(fault.seen, int)
    assert fault.seen > 4


def test_chord_error_must_be_positive():
    with pytest.raises(ValueError, match="chord error"):
        read("", chord_error=0.0)


def test_program_of_a_cabinet_door_is_read_without_doubt():
    """The extents are those of its docstring, half a tool outside of the outline and half a millimetre into the bed."""
    text = cabinet_door_program()
    assert text.count("\n") >= 3000
    reading = read(text, tool_numbers=[1, 2])
    assert [finding.code for finding in reading.findings] == ["machine_frame"]
    moves = reading.moves
    assert sorted(set(moves.tool.tolist())) == [1, 2]
    assert_allclose(moves.end.min(axis=0) * 1e3, (7, 7, -18.5))
    assert_allclose(moves.end.max(axis=0) * 1e3, (393, 293, 8))
    cutting = moves.kind == FEED
    assert moves.known[cutting].all()
    assert (moves.feed[cutting] > 0).all()


def test_raster_has_as_many_lines_as_asked_and_reads_without_doubt():
    text = raster_program(450_00)
    assert text.count("\n") == 450_00
    assert not read(text, tool_numbers=[1]).findings


WORDS = """
    G0 G1 G2 G3 G17 G18 G19 G20 G21 G28 G53 G54 G55 G73 G80 G81 G83 G89 G90 G91 G90.1 G92 G92.1 G93 G94 G95 G98 G99 G10
    L2 L20 L3 P1 P9 M3 M4 M5 M6 M30 % / ( ) ; # [ T1 S1e9 X1 X-3.5 Y7 Z-2 Z. I1 J-2 K3 R5 R-1 Q1 Q0 F0 F1e400 X1e999 E5
    O1 O N
"""
PIECES = st.one_of(
    st.sampled_from([*WORDS.split(), "\n", "\r", "\0"]), st.text(max_size=6), st.floats().map(lambda v: f"X{v}")
)


@settings(deadline=None)
@given(st.lists(PIECES, max_size=60))
@example(["G2", "I1e6", "X1", "R1e-300"])
@example(["G91", "X1e5"] * 30)
def test_no_text_does_anything_but_be_read_or_refused(words):
    try:
        reading = read(HEAD + " ".join(words), max_moves=2000)
    except TooMuchWork:
        return
    moves = reading.moves
    for column in (moves.start, moves.end, moves.feed, moves.speed):
        assert np.isfinite(column).all()
    assert len(moves) <= 2000
    assert (moves.feed >= 0).all()
    for finding in reading.findings:
        assert finding.detail.isascii()
        assert len(finding.detail) < 250


@pytest.mark.parametrize(
    "piece", ["X1", "1", "(", ")", "( ", ";", " ", ".", "-", "G1 X", "#", "E", "X1E", "\u00e9", "N1", "/", "%"]
)
def test_five_million_characters_on_one_line_end_at_once(piece):
    started = time.process_time()
    read(START + piece * (5_000_000 // len(piece)))
    assert time.process_time() - started < 2.0


@pytest.mark.parametrize("piece", ["\n", "(\n", "X1\n", "M110 #\n", "M30\n", "G28\n"])
def test_work_grows_no_faster_than_the_text(piece):
    """Twice the text in about twice the time; the bound of 4 leaves room for a busy machine."""

    def seconds(times):
        started = time.process_time()
        read(START + piece * times, max_moves=10**6)
        return time.process_time() - started

    assert growth(seconds, 20_000, 40_000, bound=4.0) < 4.0
