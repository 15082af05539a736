"""Programs against a single holder, each worked by hand: arcs, helices, ramps, cycles, orders of up and across."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.clearance.first_and_last import Order, order_of, path_notes
from stillstock.engine.clearance.holder_collision import bed_meetings, holder_meetings, limit_meetings, stock_meetings
from stillstock.engine.clearance.legs import journey
from stillstock.engine.clearance.turned_body import tool_parts
from stillstock.engine.cutting.stock_removal import remove_stock
from stillstock.engine.holding.body import Body, cylinder
from stillstock.engine.holding.place import rectangle
from stillstock.engine.program.read import read_program
from stillstock.engine.set_up import Bed, Stock, Tool, ToolKind
from stillstock.tables.load import load_tables

MM = 1e-3
CHORD = 2e-5  # greatest distance of an arc from its chords, and so the tolerance of what is met on one
TOOL = Tool(number=1, kind=ToolKind.END_MILL, diameter=6 * MM)
PARTS = {1: tool_parts(TOOL, stickout=60 * MM, collet=None)}
HEAD = "G21 G90 G17 G94\nT1 M6\nS18000 M3\nF1000\n"
LINES = HEAD.count("\n")
MDF = load_tables().material("mdf") or pytest.fail("the tables have no mdf")


def moves_of(text, park=(0.0, 0.0, 0.05)):
    return read_program(HEAD + text, max_moves=10_000, park=park, tool_numbers=(1,)).moves


def pin(x, y, *, radius, high, low=-20.0):
    return Body(holder=0, part="pin", core=cylinder((x * MM, y * MM)), radius=radius * MM, low=low * MM, high=high * MM)


def block(x0, x1, *, high, y=0.0):
    core = rectangle(((x0 + x1) / 2 * MM, y * MM), along=(x1 - x0) * MM, across=40 * MM, angle=0.0)
    return Body(holder=0, part="block", core=core, low=-20 * MM, high=high * MM)


def met(text, body, **more):
    return holder_meetings(moves_of(text, **more), parts=PARTS, bodies=[body])


@pytest.mark.parametrize(
    ("word", "y", "deep"), [("G2", 56, 1.0), ("G2", 58, None), ("G3", 56, None), ("G3", -56.5, 0.5)]
)
def test_an_arc_meets_what_lies_on_its_own_side(word, y, deep):
    """Worked by hand: half a circle of 50 mm from -X to +X, over +Y clockwise and over -Y counter-clockwise.

    A pin of 4 mm radius outside it at 56 mm is 6 mm from the axis of a 6 mm cutter: 3 + 4 - 6 = 1 mm deep; at 58 mm
    it is clear by 1 mm.
    """
    found = met(f"G0 X-50 Y0 Z50\nG1 Z0\n{word} X50 Y0 I50 J0\n", pin(0, y, radius=4, high=10))
    assert bool(found) == (deep is not None)
    if deep is not None:
        assert found[0].line == LINES + 3
        assert_allclose(found[0].depth, deep * MM, atol=2 * CHORD)


@pytest.mark.parametrize(("y", "rise"), [(20, 4 - 2.101), (-20, None)])
def test_a_helix_meets_what_it_has_come_down_to(y, rise):
    """Worked by hand: one turn clockwise of 20 mm radius from (20, 0), down from 10 to 0.

    It passes -Y at 7.5 and +Y at 2.5. A pin of 2 mm radius and 4 mm height is left where the chord from it is 5 mm,
    2 asin(5 / 40) = 0.2507 rad past it: at 2.5 - 0.2507 / (2 pi) 10 = 2.101.
    """
    found = met("G0 X20 Y0 Z50\nG1 Z10\nG2 X20 Y0 I-20 J0 Z0\n", pin(0, y, radius=2, high=4))
    assert bool(found) == (rise is not None)
    if rise is not None:
        assert_allclose(found[0].rise, rise * MM, atol=5e-3 * MM + CHORD)


def test_a_ramp_is_lowest_where_it_leaves_the_block():
    """Worked by hand: down from 10 to 0 over 100 mm; the cutter leaves a block that ends at 60 at X63, 3.7 up."""
    found = met("G0 X0 Y0 Z10\nG1 X100 Z0\n", block(30, 60, high=6))
    assert [one.line for one in found] == [LINES + 2]
    assert_allclose(found[0].rise, (6 - 3.7) * MM, atol=2e-6)
    # It touches where it has come down to 6, at X40, which lies over the block.
    assert_allclose(found[0].at, (40 * MM, 0.0, 6 * MM), atol=2e-4)


@pytest.mark.parametrize(
    ("words", "rise"),
    [
        ("G99 G81 X20 Y0 R2 Z-5\nX80\n", 13.0),
        ("G98 G81 X20 Y0 R2 Z-5\nX80\n", None),
        ("G99 G83 X20 Y0 R2 Z-5 Q2\nX80\n", 13.0),
        ("G98 G83 X20 Y0 R2 Z-5 Q2\nX80\n", None),
        ("G99 G82 X20 Y0 R16 Z-5 P0.5\nX80\n", None),
    ],
)
def test_canned_cycles_return_to_the_level_that_g98_and_g99_say(words, rise):
    """Worked by hand after NISTIR 6556, section 3.5.16: G98 returns to the initial level, 30; G99 to the R plane.

    Between the holes stands a block of 15 mm: the way at R2 is 13 mm too low, those at 30 and at R16 are clear.
    """
    found = met(f"G0 X20 Y0 Z30\n{words}G80\n", block(45, 55, high=15))
    assert bool(found) == (rise is not None)
    if rise is not None:
        assert found[0].rapid
        assert found[0].line == LINES + 3
        assert_allclose(found[0].rise, rise * MM, atol=1e-9)


def test_a_cycle_that_starts_below_its_r_plane_goes_up_first():
    """NISTIR 6556, section 3.5.16.1: below the R plane the tool is raised to it before it goes across.

    From Z1 at X0 to X80 over a block of 15 mm: at R20 it clears, at R12 it is 3 mm too low.
    """
    text = "G0 X0 Y0 Z30\nG0 Z1\nG98 G81 X80 R{} Z-5\nG80\n"
    assert met(text.format(20), block(45, 55, high=15)) == []
    (found,) = met(text.format(12), block(45, 55, high=15))
    assert_allclose(found.rise, 3 * MM, atol=1e-9)


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("G0 Z5\nG0 X0\nG1 Z-3\n", Order.DOWN_BEFORE_ACROSS),
        ("G0 X0 Z5\nG1 Z-3\n", Order.ACROSS_WHILE_DOWN),
        ("G0 X0\nG0 Z5\nG1 Z-3\nG0 X200\nG0 Z50\n", Order.ACROSS_BEFORE_UP),
        ("G0 X0\nG0 Z5\nG1 Z-3\nG0 X200 Z50\n", Order.ACROSS_WHILE_UP),
        ("G0 X0\nG0 Z5\nG1 Z-3\nG0 X60\nG0 X200\nG0 Z10\n", Order.NONE),
    ],
)
def test_the_order_of_up_and_across_is_named_where_the_other_would_clear(text, order):
    """Worked by hand: parked 50 mm up at X200, a block of 30 mm from 80 to 130 on the way to X0.

    Straight from (200, 50) to (0, 5) the tip is at 33.6 over X127 and at 22.3 over X77: it meets the block.
    The last way never rises above the block: no order would do.
    """
    moves = moves_of(text, park=(0.2, 0.0, 0.05))
    found = holder_meetings(moves, parts=PARTS, bodies=[block(80, 130, high=30)])
    way = journey(moves, changes=(), park=None, tool_change=None, hangs={})
    assert order_of(way, found[0]) is order


@pytest.mark.parametrize(
    ("text", "park", "codes"),
    [
        ("G0 X20 Y20 Z30\nG1 Z-3\nG0 Z60\n", None, ["park_unknown"]),
        ("G0 X20 Y20 Z30\nG1 Z-3\nG1 X40\nG1 Y50\n", (0, 0, 0.06), ["never_retracts"]),
        ("G0 X20 Y20 Z30\nG1 Z-3\nG0 Z10\n", (0, 0, 0.06), ["ends_low"]),
        ("G0 X20 Y20 Z30\nG1 Z-3\nG0 Z10\nT2 M6\nG0 Z60\n", (0, 0, 0.06), ["tool_change_low"]),
        ("G0 X20 Y20 Z30\nG1 Z-3\nG0 Z60\nG53 G0 Z0\nX0 Y0\n", (0, 0, 0.06), ["place_unknown"]),
        ("G0 X20 Y20 Z30\nG1 Z-3\nG0 Z60\n", (0, 0, 0.06), []),
    ],
)
def test_the_way_in_the_tool_changes_and_the_way_back_are_told(text, park, codes):
    notes = path_notes(moves_of(text, park=park), clearance=50 * MM, stock_top=0.0)
    assert [note.code for note in notes] == codes


def test_a_rapid_meets_stock_only_where_it_still_stands():
    """Worked by hand: a slot 5 mm deep along Y20, then a rapid back in the slot, then one across the uncut middle.

    The rapid at Z-5 in the slot is in air; the one from (80, 20) to (80, 60) goes 5 mm deep through what stands.
    """
    stock = Stock(material=MDF, size=(0.1, 0.08, 0.018), thickness=(0.018, 0.018), origin=(0.0, 0.0, -0.018))
    moves = moves_of("G0 X20 Y20 Z5\nG1 Z-5\nG1 X80\nG0 X20\nG0 X80\nG0 Y60\n", park=(0.02, 0.02, 0.05))
    removal = remove_stock(moves, stock, Bed(material=MDF, thickness=0.018, top=-0.018), {1: TOOL}, max_cells=200_000)
    (found,) = stock_meetings(moves, removal)
    assert found.line == LINES + 6
    assert_allclose(found.depth, 5 * MM, atol=1e-6)
    assert_allclose(found.at[:2], (80 * MM, 20 * MM), atol=0.7 * MM)  # to a cell of the map


def test_the_bed_and_the_limits_are_met_by_what_goes_beyond():
    """Worked by hand: the bed lies at -18; a cut to -19.5 goes 1.5 into it, 0.5 more than allowed."""
    moves = moves_of("G0 X20 Y20 Z5\nG1 Z-18.9\nG1 Z-19.5\nG0 Z5\nG0 X312\n")
    (bed,) = bed_meetings(moves, bed=-18 * MM, allowed=1 * MM)
    assert bed.line == LINES + 3
    assert_allclose((bed.depth, bed.rise), (1.5 * MM, 0.5 * MM), atol=1e-9)
    (limit,) = limit_meetings(moves, envelope=((-0.01, -0.01, -0.05), (0.3, 0.2, 0.06)))
    assert (limit.line, limit.part) == (LINES + 5, "x_end")
    assert_allclose(limit.depth, 12 * MM, atol=1e-9)


def test_the_same_holder_on_one_line_is_told_once_by_its_deepest_move():
    """An arc is many chords: one meeting for its line."""
    found = met("G0 X-50 Y0 Z50\nG1 Z0\nG2 X50 Y0 I50 J0\n", pin(0, 51, radius=4, high=10))
    assert len(found) == 1
    assert np.isclose(found[0].depth, 6 * MM, atol=2 * CHORD)
