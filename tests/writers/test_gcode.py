"""RS-274: what a small controller gets, word by word."""

import re

import numpy as np
import pytest
from tests.writers import boards

from stillstock.engine.grid.tool_path import Plunge, Stroke, ToolPath
from stillstock.writers.gcode import rs274
from stillstock.writers.unit import INCH, MILLIMETRE

#: Words of RS-274 as written here (NISTIR 6556, from memory): a letter and a number without exponent.
BLOCK = re.compile(r"(?:[GXYZIJFSPM]-?[0-9]+(?:\.[0-9]+)?)(?: [GXYZIJFSPM]-?[0-9]+(?:\.[0-9]+)?)*")


def path(*passes, title="Test", cautions=()):
    return ToolPath(
        title=title,
        tool="V-bit",
        zero="face of the board",
        speed=18_000 * np.pi / 30,
        feed=0.02,
        plunge=0.0066666,
        clearance=0.005,
        passes=passes,
        cautions=cautions,
    )


def stroke(*points):
    return Stroke(points=np.array(points))


@pytest.mark.parametrize("board", [boards.LINES, boards.HOLES, boards.INCH], ids=lambda b: b["title"])
def test_every_line_is_a_comment_or_plain_words(board):
    answer = boards.answered(board)
    unit = INCH if answer.asked.inch else MILLIMETRE
    for line in rs274(answer.chosen.path, unit=unit).decode("ascii").splitlines():
        assert len(line) <= 80
        if line.startswith("("):
            assert re.fullmatch(r"\([^()%;]*\)", line)
            continue
        assert BLOCK.fullmatch(line)
        places = re.findall(r"[XYZIJ](-?[0-9.]+)", line)
        assert all("." in number and len(number.split(".")[1]) <= unit.program_decimals for number in places)


def test_the_program_lifts_before_anything_else_and_ends_lifted_with_the_spindle_off():
    lines = rs274(path(stroke((0.01, 0.02, -0.0003), (0.03, 0.02, -0.0003))), unit=MILLIMETRE).decode().splitlines()
    assert [line for line in lines if not line.startswith("(")] == [
        "G17 G21 G40 G49 G80 G90 G94",
        "G54",
        "G0 Z5.0",
        "S18000 M3",
        "G4 P4",
        "G0 X10.0 Y20.0",
        "G1 Z-0.3 F400.0",
        "G1 X30.0 Y20.0 F1200.0",
        "G0 Z5.0",
        "M5",
        "M30",
    ]


def test_the_header_says_what_it_is():
    answer = boards.answered(boards.INCH)
    text = rs274(answer.chosen.path, unit=INCH).decode()
    header = text[: text.index("G17")]
    for words in (
        "(Program: Inch bench: lines)",
        "(Units: in, G20",
        "V-bit 90 deg",
        "Clearance: 0.1969 in",
        "min without",
    ):
        assert words in header
    assert "G20" in text.split("G17")[1].splitlines()[0]


@pytest.mark.parametrize("title", ["MSG, stop", "a) M3 (b", "x\nM30", "% ; /", "Übermaß 日本", "\ud800\x00", "y" * 500])
def test_a_title_cannot_become_words_or_an_active_comment(title):
    plain = rs274(path(title="t"), unit=MILLIMETRE).decode()
    text = rs274(path(title=title), unit=MILLIMETRE).decode("ascii")

    def body(whole):
        return [line for line in whole.splitlines() if not line.startswith("(")]

    assert body(text) == body(plain)
    assert not re.search(r"^\(\s*(MSG|DEBUG|PRINT|LOG|PROBE)", text, re.MULTILINE | re.IGNORECASE)
    assert all(line.endswith(")") and len(line) <= 80 for line in text.splitlines() if line.startswith("("))


def test_numbers_have_no_exponent_and_no_minus_nought():
    text = rs274(path(stroke((1e-9, -1e-9, -1e-5), (123.456789, 0.0, -1e-5))), unit=MILLIMETRE).decode()
    assert "G0 X0.0 Y0.0" in text
    assert "G1 X123456.789 Y0.0" in text
    assert "e-" not in text.split("M3")[1]
    assert "-0.0 " not in text


def test_moves_shorter_than_the_last_digit_are_not_written():
    text = rs274(path(stroke((0, 0, -1e-3), (1e-7, 0, -1e-3), (0.01, 0, -1e-3))), unit=MILLIMETRE).decode()
    assert text.count("G1 X") == 1


def test_pecks_go_down_step_by_step_and_lift_each_time():
    text = rs274(path(Plunge(at=(0.01, 0.0), bottom=-0.006, step=0.003)), unit=MILLIMETRE).decode()
    block = text[text.index("G0 X10.0") :].splitlines()[:6]
    assert block == ["G0 X10.0 Y0.0", "G1 Z-3.0 F400.0", "G0 Z5.0", "G0 Z-3.0", "G1 Z-6.0 F400.0", "G0 Z5.0"]


def test_inch_lines_land_on_their_fraction_to_the_last_digit():
    """Closed form: x = 1/64 + 3 i/4 in, written to 0.0001 in, for every upright line of the board."""
    text = rs274(boards.answered(boards.INCH).chosen.path, unit=INCH).decode()
    columns = {float(x) for x, y in re.findall(r"G0 X(-?[0-9.]+) Y(-0\.5|15\.5)\n", text)}
    assert columns == {round(1 / 64 + 0.75 * i, 4) for i in range(-2, 27) if -2 <= 1 / 64 + 0.75 * i <= 20}
