"""Lowest safe heights, starts of cuts, keep-outs and the Z budget, each worked by hand."""

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose

from stillstock.engine.clearance.keep_out import keep_outs
from stillstock.engine.clearance.lead_in import lead_ins
from stillstock.engine.clearance.margins import Margins
from stillstock.engine.clearance.obstacles import overlaps, stock_body
from stillstock.engine.clearance.retract_height import clearance_height, crossing_heights, over_stock, rapid_heights
from stillstock.engine.clearance.turned_body import tool_parts
from stillstock.engine.clearance.z_budget import z_budget
from stillstock.engine.holding.body import Body, Keeping, cylinder
from stillstock.engine.holding.place import rectangle
from stillstock.engine.program.read import read_program
from stillstock.engine.set_up import Bed, Collet, Machine, SetUp, Stock, Tool, ToolKind
from stillstock.tables.load import load_tables

MM = 1e-3
MDF = load_tables().material("mdf") or pytest.fail("the tables have no mdf")
MARGINS = Margins(
    over=5 * MM, over_hand_set=10 * MM, over_stock=1.5 * MM, beside=3 * MM, around_screws=12 * MM, into_bed=1 * MM
)
TOOL = Tool(number=1, kind=ToolKind.END_MILL, diameter=6 * MM, run_out=0.1 * MM)
PARTS = tool_parts(TOOL, stickout=28 * MM, collet=Collet(diameter=32 * MM, length=20 * MM))
STOCK = Stock(material=MDF, size=(0.2, 0.1, 0.018), thickness=(0.0178, 0.0184), origin=(0.0, 0.0, -0.018))
TABLE = stock_body(STOCK)
BED = -18 * MM


def knob(x, y, *, radius=10, high=42, keeping=Keeping.HAND_SET, holder=0):
    at = cylinder((x * MM, y * MM))
    return Body(holder=holder, part="knob", core=at, radius=radius * MM, low=12 * MM, high=high * MM, keeping=keeping)


def crossing(bodies, y):
    start, end = np.array([[-0.05, y * MM]]), np.array([[0.25, y * MM]])
    return crossing_heights(start, end, parts=PARTS, bodies=bodies, margins=MARGINS, bed=BED)


@pytest.mark.parametrize(
    ("y", "height", "part"),
    [
        (12.9, 52.0, 0),  # the cutter: 3 + 10 + 3 mm reach to 16 mm, so it has to pass above the knob
        (15.9, 52.0, 0),
        (16.1, 24.0, 1),  # the nut alone, its face 28 mm above the tip: 42 + 10 - 28
        (28.9, 24.0, 1),  # 16 + 10 + 3
        (29.1, 5.4, 0),  # nothing but the stock, at its greatest measured thickness: 0.4 + 5
    ],
)
def test_a_crossing_is_as_low_as_each_part_of_the_tool_allows(y, height, part):
    """Worked by hand: a knob of 20 mm on the axis, 42 mm high, set by hand; the way runs beside it."""
    found = crossing([knob(100, 0), TABLE], y)
    assert_allclose(found.height, height * MM, atol=1e-9)
    assert found.part[0] == part


def test_a_cone_may_pass_lower_beside_an_edge():
    """Worked by hand: a 90 deg V-bit of 20 mm; 7 mm beside a pin, less the margin of 3, it stands 4 mm higher."""
    cone = tool_parts(Tool(number=1, kind=ToolKind.V_BIT, diameter=0.02, tip_angle=np.pi / 2, cutting_length=0.015),
                      stickout=0.06, collet=None)  # fmt: skip
    pin = Body(holder=0, part="pin", core=cylinder((0.1, -0.007)), low=BED, high=0.02)
    found = crossing_heights(
        np.array([[0.0, 0.0]]), np.array([[0.2, 0.0]]), parts=cone, bodies=[pin], margins=MARGINS, bed=BED
    )
    assert_allclose(found.height, (20 + 5 - 4) * MM, atol=1e-9)


def test_the_clearance_is_over_everything_and_over_a_shoe_that_hangs_low():
    """Worked by hand: 42 + 10 above the knob; a shoe that hangs 4 mm below the tip asks for 4 more."""
    bodies = [knob(100, 0), knob(20, 20, high=46, keeping=Keeping.FIXED), TABLE]
    assert_allclose(clearance_height(bodies, margins=MARGINS, lowest_part=0.0, bed=BED), 52 * MM)
    assert_allclose(clearance_height(bodies, margins=MARGINS, lowest_part=-4 * MM, bed=BED), 56 * MM)


@pytest.mark.parametrize(("x", "height"), [(-30, 5.4), (-28, 24.0), (-15, 52.0)])
def test_without_a_program_only_what_the_tool_can_reach_over_the_stock_counts(x, height):
    """Worked by hand: reaches of 3 + 10 + 3 = 16 mm (cutter) and 16 + 10 + 3 = 29 mm (nut) from the stock's edge."""
    found, _ = over_stock(TABLE, parts=PARTS, bodies=[knob(x, 50)], margins=MARGINS)
    assert_allclose(found, height * MM, atol=1e-9)


def test_each_rapid_has_its_own_height_and_the_time_that_saves():
    """Worked by hand: three ways between cuts, one past the knob; the way in and the way back do not count.

    With the clearance at 52: 2 (52 - 5.4) twice and 2 (52 - 52) once, at 50 mm/s: 3.728 s.
    """
    text = (
        "G21 G90\nT1 M6\nS9000 M3\nF900\nG0 X10 Y90\nG1 Z-2\nG0 Z20\nX60\nG1 Z-2\nG0 Z20\nX60 Y0\nG1 Z-2\nG0 Z20\n"
        "X140 Y0\nG1 Z-2\nG0 Z60\nX0\n"
    )
    moves = read_program(text, max_moves=1000, park=(0.0, 0.0, 0.06), tool_numbers=(1,)).moves
    found = rapid_heights(moves, parts={1: PARTS}, bodies=[knob(100, 0), TABLE], margins=MARGINS, bed=BED)
    assert [int(moves.line[k]) for k in found.move] == [5, 8, 11, 14, 17]
    assert found.within.tolist() == [False, True, True, True, False]
    # The third runs straight at the knob's edge: from X60 to X140 through it.
    assert_allclose(found.lowest / MM, [5.4, 5.4, 5.4, 52.0, 52.0], atol=1e-6)
    assert_allclose(found.programmed / MM, [60, 20, 20, 20, 60], atol=1e-9)
    assert_allclose(found.time_saved(clearance=52 * MM, rate=0.05), 2 * 2 * 46.6 / 50, rtol=1e-9)


@pytest.mark.parametrize(("x", "gap"), [(18.0, 10.95), (16.0, 8.95), (5.0, -2.05)])
def test_a_plunge_too_near_a_screw_is_told_with_what_is_left(x, gap):
    """Worked by hand: screw head of 8 mm at X0; cutter of 6 mm with 0.1 mm run-out turns on 3.05; 12 mm are wanted."""
    text = f"G21 G90\nT1 M6\nS9000 M3\nF900\nG0 X{x} Y40\nG1 Z-2\n G1 X90\n"
    moves = read_program(text, max_moves=1000, park=(0.1, 0.04, 0.06), tool_numbers=(1,)).moves
    head = knob(0, 40, radius=4, high=5, keeping=Keeping.SCREW)
    found = lead_ins(moves, tools={1: TOOL}, bodies=[head], margins=MARGINS)
    assert [one.line for one in found] == [6]
    assert_allclose(found[0].gap, gap * MM, atol=1e-9)
    assert_allclose(found[0].wanted, 12 * MM)


def test_a_start_that_keeps_the_margin_is_not_told():
    text = "G21 G90\nT1 M6\nS9000 M3\nF900\nG0 X19.1 Y40\nG1 Z-2\n"
    moves = read_program(text, max_moves=1000, park=(0.1, 0.04, 0.06), tool_numbers=(1,)).moves
    head = knob(0, 40, radius=4, high=5, keeping=Keeping.SCREW)
    assert lead_ins(moves, tools={1: TOOL}, bodies=[head], margins=MARGINS) == []


def test_a_vise_on_a_plate_runs_out_of_travel():
    """Worked by hand; that this happens on small machines is common practice, no source.

    100 mm from bed to nose. Under the stock 45, stock 18.4, then 10 above it; the tool hangs 48 down: 0.75 of the
    travel is kept, and 100 - 45 - 18.4 - 10 - 48 - 0.75 = -22.15. At the lower end of 60 mm of travel the nose is at
    40, the tip at -8; the lowest cut is at 40 above the bed: 48 mm are left.
    """
    set_up = SetUp(
        stock=STOCK,
        bed=Bed(material=MDF, thickness=0.018, top=-0.063),
        machine=Machine(nose_to_bed=0.1, z_travel=0.06),
        tools={1: TOOL},
    )
    budget = z_budget(set_up, gauges={1: 0.048}, lowest={1: -0.023}, clearance=0.0104, short_of_switch=0.75 * MM)
    assert budget is not None
    assert_allclose([row.length / MM for row in budget.rows], [45, 18.4, 10, 48, 0.75], atol=1e-9)
    assert_allclose((budget.left / MM, budget.tools[0].left / MM), (-22.15, -22.15), atol=1e-9)
    assert_allclose(budget.tools[0].below or 0.0, 48 * MM, atol=1e-9)


@pytest.mark.parametrize(("shift", "deep"), [(0.006, 0.004), (0.0105, None)])
def test_holders_in_one_place_are_found(shift, deep):
    """Worked by hand: two blocks 10 mm wide, 6 mm apart, share a strip of 4 mm; 10.5 mm apart none."""

    def block(holder, x):
        return Body(
            holder=holder, part="block", core=rectangle((x, 0), along=0.01, across=0.03, angle=0), low=0, high=0.02
        )

    found = overlaps([block(0, 0.0), block(1, shift)])
    assert len(found) == (deep is not None)
    if deep is not None:
        assert_allclose(found[0].depth, deep, atol=2e-4)
    assert overlaps([block(0, 0.0), block(0, shift)]) == ()


@pytest.mark.parametrize(
    ("high", "reach", "name"), [(20.0, 6.0, "cutter"), (30.0, 19.0, "collet_nut"), (-6.0, None, "")]
)
def test_a_keep_out_is_as_wide_as_what_hangs_below_the_body(high, reach, name):
    """Worked by hand, tip at -5: the nut hangs at 23, so a body of 20 keeps the cutter off, 3 + 3; one of 30 the nut,
    16 + 3; one that ends at -6 keeps nothing off."""
    body = Body(
        holder=2, part="block", core=rectangle((0, 0), along=0.02, across=0.01, angle=0), low=-0.01, high=high * MM
    )
    found = keep_outs([body], tools=[PARTS], margins=MARGINS, lowest=-5 * MM)
    if reach is None:
        assert found == ()
        return
    assert found[0].tool_part == name
    want = 20 * 10 + 2 * (20 + 10) * reach + np.pi * reach**2  # a rounded rectangle, in mm2
    assert_allclose(shapely.Polygon(found[0].outline).area / MM**2, want, rtol=5e-3)
