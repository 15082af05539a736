"""Canned cycles against sequences worked by hand.

Source of all definitions: T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3", NISTIR
6556, 2000, section 3.5.16 (seen as quoted in a public copy); G73: common practice, no source. G83 goes out to the R
plane between pecks, as the interpreter of the report does (from memory), not to the level of return as its text says.
"""

import pytest
from numpy.testing import assert_allclose

from stillstock.engine.program.read import read_program

HEAD = "G21 G90 G94 G17\nS9000 M3\nF600\nG0 X1 Y2 Z5\n"


def moves_of(text, head=HEAD):
    reading = read_program(head + text, max_moves=1000)
    moves = reading.moves
    skip = head.count("\n") + 0
    return [
        ("f" if kind else "r", *(round(float(v) * 1e3, 6) for v in end))
        for line, kind, end in zip(moves.line, moves.kind, moves.end, strict=True)
        if line > skip
    ]


def codes_of(text, head=HEAD):
    return [(finding.code, finding.doubt) for finding in read_program(head + text, max_moves=1000).findings]


def test_drilling_goes_over_down_in_and_out_to_the_initial_level():
    assert moves_of("G98 G81 X4 Y5 Z-1.5 R2.8") == [
        ("r", 4, 5, 5),
        ("r", 4, 5, 2.8),
        ("f", 4, 5, -1.5),
        ("r", 4, 5, 5),
    ]


def test_g99_stays_at_the_r_plane_between_holes():
    assert moves_of("G99 G81 X4 Y5 Z-1.5 R2.8\nX9\nG80\nG0 Z5") == [
        ("r", 4, 5, 5),
        ("r", 4, 5, 2.8),
        ("f", 4, 5, -1.5),
        ("r", 4, 5, 2.8),
        ("r", 9, 5, 2.8),
        ("f", 9, 5, -1.5),
        ("r", 9, 5, 2.8),
        ("r", 9, 5, 5),
    ]


def test_g98_returns_to_the_level_before_the_series_even_after_g99():
    assert moves_of("G99 G81 X4 Y5 Z-1.5 R2.8\nG98 X9")[-1] == ("r", 9, 5, 5)


def test_tool_below_the_r_plane_is_lifted_first_and_only_once():
    """Preliminary motion: below R the tool goes up to R before it goes anywhere."""
    assert moves_of("G98 G81 X4 Y5 Z-1.5 R8\nX6") == [
        ("r", 1, 2, 8),
        ("r", 4, 5, 8),
        ("f", 4, 5, -1.5),
        ("r", 4, 5, 8),
        ("r", 6, 5, 8),
        ("f", 6, 5, -1.5),
        ("r", 6, 5, 8),
    ]


def test_drilling_as_in_the_example_of_the_report():
    """Example 1 of section 3.5.16.1: at (1, 2, 3) ``G90 G81 G98 X4 Y5 Z1.5 R2.8``."""
    assert moves_of("G90 G81 G98 X4 Y5 Z1.5 R2.8", HEAD.replace("Z5", "Z3")) == [
        ("r", 4, 5, 3),
        ("r", 4, 5, 2.8),
        ("f", 4, 5, 1.5),
        ("r", 4, 5, 3),
    ]


def test_incremental_repeats_as_in_the_example_of_the_report():
    """Example 2 of section 3.5.16.1: at (1, 2, 3) ``G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3``.

    X, Y step by (4, 5) each time, R plane 3 + 1.8 = 4.8 and bottom 4.8 - 0.6 = 4.2 for all repeats; the initial
    level 3 lies below R, so the return is to R.
    """
    head = HEAD.replace("Z5", "Z3")
    expected = [("r", 1, 2, 4.8)]
    for x, y in [(5, 7), (9, 12), (13, 17)]:
        expected += [("r", x, y, 4.8), ("f", x, y, 4.2), ("r", x, y, 4.8)]
    assert moves_of("G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3", head) == expected
    assert moves_of("G91 G81 G98 X4 Y5 Z-0.6 R1.8 K3", head) == expected


def test_incremental_series_says_the_same_as_the_absolute_one():
    absolute = moves_of("G98 G81 X4 Y5 Z-1.5 R2\nX9\nY0 Z-2")
    assert moves_of("G91 G98 G81 X3 Y3 Z-3.5 R-3\nX5\nY-5 Z-4") == absolute


def test_incremental_series_under_g99_is_told_as_ambiguous():
    assert ("cycle_level", True) in codes_of("G91 G99 G81 X3 Y3 Z-3.5 R-3\nX5")


def test_dwell_changes_no_move():
    assert moves_of("G98 G82 X4 Y5 Z-1.5 R2.8 P0.5") == moves_of("G98 G81 X4 Y5 Z-1.5 R2.8")


def test_pecks_go_out_to_r_and_back_to_just_above_the_bottom():
    """G83: down by Q, rapid out, rapid back to the bottom backed off a bit (0.010 in), until Z is reached."""
    assert moves_of("G98 G83 X4 Y5 Z-5 R1 Q2.5") == [
        ("r", 4, 5, 5),
        ("r", 4, 5, 1),
        ("f", 4, 5, -1.5),
        ("r", 4, 5, 1),
        ("r", 4, 5, -1.246),
        ("f", 4, 5, -4),
        ("r", 4, 5, 1),
        ("r", 4, 5, -3.746),
        ("f", 4, 5, -5),
        ("r", 4, 5, 5),
    ]


def test_peck_that_divides_the_depth_evenly_makes_no_empty_peck():
    """1 to -5 is three times 2.0, and 0.3 is three times 0.1 though not in binary."""
    feeds = [move for move in moves_of("G99 G83 X4 Y5 Z-0.2 R0.1 Q0.1") if move[0] == "f"]
    assert [move[3] for move in feeds] == [0, -0.1, -0.2]


def test_chip_breaking_steps_back_and_stays_in_the_hole():
    assert moves_of("G99 G73 X4 Y5 Z-5 R1 Q4") == [
        ("r", 4, 5, 5),
        ("r", 4, 5, 1),
        ("f", 4, 5, -3),
        ("r", 4, 5, -2.746),
        ("f", 4, 5, -5),
        ("r", 4, 5, 1),
    ]


@pytest.mark.parametrize("word", ["G85", "G89 P1"])
def test_boring_feeds_out_again(word):
    assert moves_of(f"G98 {word} X4 Y5 Z-1.5 R2.8")[-2:] == [("f", 4, 5, -1.5), ("f", 4, 5, 5)]


def test_cycle_in_another_plane_drills_along_its_normal():
    """G18: the hole is along Y; G19: along X. Section 3.5.16 treats them by analogy."""
    assert moves_of("G18 G99 G81 X4 Z6 Y-7 R1") == [
        ("r", 4, 2, 6),
        ("r", 4, 1, 6),
        ("f", 4, -7, 6),
        ("r", 4, 1, 6),
    ]
    assert moves_of("G19 G98 G81 Z6 Y4 X-7 R0.5")[-2:] == [("f", -7, 4, 6), ("r", 1, 4, 6)]


def test_sticky_words_hold_for_the_series_and_not_after_it():
    assert moves_of("G99 G81 X4 Z-1 R2\nX5 Z-2\nX6")[-2] == ("f", 6, 2, -2)
    assert ("cycle_word", True) in codes_of("G99 G81 X4 Z-1 R2\nG80\nG81 X6")


def test_change_of_plane_starts_a_new_series():
    """The initial level is then that of the new normal: Y2 under G18, not the Z5 of before."""
    assert moves_of("G98 G81 X4 Z-1 R2\nG18 G81 X5 Y-3 R1")[-1] == ("r", 5, 2, 5)


def test_g80_ends_the_series():
    """Coordinates with no motion word in force: an error in the report; the place is then not known."""
    assert ("no_motion_word", True) in codes_of("G81 X4 Z-1 R2\nG80\nX9")


@pytest.mark.parametrize(
    ("text", "finding"),
    [
        ("G81 X4 Z-1", ("cycle_word", True)),
        ("G81 X4 R1", ("cycle_word", True)),
        ("G81 X4 R1 Z2", ("cycle_word", True)),
        ("G83 X4 R1 Z-2", ("cycle_word", True)),
        ("G81 X4 R1 Z-2 L1.5", ("cycle_word", True)),
        ("G81 X4 R1 Z-2 L0", ("cycle_word", False)),
        ("G84 X4 R1 Z-2\nX5", ("unread_word", True)),
    ],
)
def test_cycle_that_cannot_be_is_told(text, finding):
    assert finding in codes_of(text)


def test_cycle_that_is_not_read_leaves_the_place_unknown():
    reading = read_program(HEAD + "G84 X4 R1 Z-2\nX5\nG0 X1 Y1 Z5\nG1 X9", max_moves=100)
    assert list(reading.moves.known) == [False, False, False, False, True]
    assert_allclose(reading.moves.end[-1] * 1e3, (9, 1, 5))
