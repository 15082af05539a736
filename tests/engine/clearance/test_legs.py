"""The way in, the ways to tool changes and the way back: which moves they are and what they pass, worked by hand."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.clearance.first_and_last import Order, order_of
from stillstock.engine.clearance.holder_collision import holder_meetings
from stillstock.engine.clearance.legs import Leg, journey
from stillstock.engine.clearance.touch import first_touch
from stillstock.engine.clearance.turned_body import TIP, tool_parts
from stillstock.engine.holding.body import Body, cylinder
from stillstock.engine.holding.place import rectangle
from stillstock.engine.program.read import read_program
from stillstock.engine.set_up import Tool, ToolKind

MM = 1e-3
PARK = (0.0, 0.0, 60 * MM)
CHANGE = (-0.1, 0.25, 80 * MM)
TEXT = "G21 G90\nT1 M6\nF900\nG0 X20 Y20 Z30\nG1 Z-3\nG0 Z10\nG0 X90\nG1 Z-3\nG0 Z10\nT2 M6\n"
TEXT += "G0 X40 Y50\nG1 Z-2\nG0 Z8\nM30\n"
W, C, B, T, R = Leg.WAY_IN, Leg.CUT, Leg.BETWEEN_CUTS, Leg.TOOL_CHANGE, Leg.WAY_BACK


def way(text=TEXT, *, park=PARK, tool_change=None, hangs=None):
    reading = read_program(text, max_moves=99, park=park, tool_numbers=(1, 2))
    return journey(reading.moves, changes=reading.changes, park=park, tool_change=tool_change, hangs=hangs or {})


def rows(found, leg):
    return [k for k in range(len(found.moves)) if found.leg(k) is leg]


def test_every_move_belongs_to_a_leg():
    found = way(park=None)
    assert [found.leg(k) for k in range(len(found.moves))] == [W, C, B, B, C, T, T, C, R]
    assert found.leg(-1) is Leg.NONE


def test_the_way_back_goes_up_first_then_across():
    """Worked by hand: from (40, 50, 8) up to 60, then across to where it is parked, on the line of the last move."""
    found = way()
    back = rows(found, R)[1:]
    assert_allclose(found.moves.end[back] / MM, [(40, 50, 60), (0, 0, 60)])
    assert found.moves.line[back].tolist() == [13, 13]
    assert found.moves.tool[back].tolist() == [2, 2]


def test_from_above_the_park_position_it_goes_across_before_it_goes_down():
    found = way(TEXT.replace("G0 Z8", "G0 Z90"))
    assert_allclose(found.moves.end[rows(found, R)[1:]] / MM, [(0, 0, 90), (0, 0, 60)])


def test_a_program_that_ends_where_it_is_parked_has_no_more_way():
    found = way(TEXT.replace("G0 Z8", "G0 Z60\nG0 X0 Y0"))
    assert len(rows(found, R)) == 2


def test_the_tool_goes_to_the_change_place_and_comes_back_to_where_it_was():
    """Worked by hand; that it comes back: NISTIR 6556, section 3.6.3 (from memory). Tool 2 hangs 7 mm lower."""
    found = way(tool_change=CHANGE, hangs={1: 0.0, 2: 7 * MM})
    first = rows(found, T)[:4]
    assert_allclose(found.moves.end[first] / MM, [(0, 0, 80), (-100, 250, 80), (0, 0, 80), (0, 0, 60)])
    second = rows(found, T)[5:9]
    assert found.moves.line[second].tolist() == [10] * 4
    assert found.moves.tool[second].tolist() == [1, 1, 2, 2]
    assert_allclose(found.moves.end[second] / MM, [(90, 20, 80), (-100, 250, 80), (90, 20, 73), (90, 20, 10)])
    # Then the program goes on from where it stood.
    assert_allclose(found.moves.start[second[-1] + 1] / MM, (90, 20, 10))
    assert_allclose(found.moves.end[-1] / MM, (0, 0, 53))


def test_the_order_is_not_blamed_on_moves_that_the_machine_makes_itself():
    """Parked at Z10 beside a block of 30 mm, up to a tool change at Z80 and back down: the program only goes across."""
    core = rectangle((0.05, 0.0), along=0.02, across=0.04, angle=0.0)
    block = Body(holder=0, part="block", core=core, low=-18 * MM, high=30 * MM)
    text = "G21 G90\nT1 M6\nF900\nG0 X100\nG1 Z-3\nG0 Z60\n"
    found = way(text, park=(0.0, 0.0, 10 * MM), tool_change=(-0.1, 0.0, 80 * MM))
    tool = tool_parts(Tool(number=1, kind=ToolKind.END_MILL, diameter=6 * MM), stickout=0.05, collet=None)
    (met,) = holder_meetings(found.moves, parts={1: tool}, bodies=[block])
    assert (met.line, order_of(found, met)) == (4, Order.NONE)


def test_what_is_not_known_is_left_out():
    assert len(way(park=None).moves) == 9
    assert rows(way(TEXT.replace("G0 Z8", "G30")), R) == rows(way(TEXT.replace("G0 Z8", "G30"), park=None), R)


def plate(high):
    core = rectangle((0.05, 0.04), along=0.1, across=0.08, angle=0.0)
    return Body(holder=-1, part="stock", core=core, low=-18 * MM, high=high * MM)


@pytest.mark.parametrize(
    ("start", "target", "at"),
    [
        ((50, 40, 30), (50, 40, -40), (50, 40, 0)),
        ((50, 82, 30), (50, 82, -40), (50, 82, 0)),  # 2 mm beside: the disc of 3 still meets the edge
        ((50, 84, 30), (50, 84, -40), (50, 84, -18)),  # 4 mm beside: the bed
        ((115, 40, -5), (60, 40, -5), (103, 40, -5)),
        ((130, 40, 30), (130, 40, -40), (130, 40, 12)),  # the puck
        ((130, 90, 30), (130, 90, -10), None),
        ((130, 90, 30), (130, 90, 30), None),
    ],
)
def test_a_probe_stops_at_what_it_touches_first(start, target, at):
    """Worked by hand: stock of 100 by 80 mm up to 0, a puck of 20 mm up to 12, the bed at -18; a cutter of 6 mm."""
    puck = Body(holder=-2, part="puck", core=cylinder((130 * MM, 40 * MM)), radius=10 * MM, low=-18 * MM, high=12 * MM)
    part = tool_parts(Tool(number=1, kind=ToolKind.END_MILL, diameter=6 * MM), stickout=0.05, collet=None)[0]
    a, b = (tuple(np.array(place) * MM) for place in (start, target))
    found = first_touch(a, b, part=part, bodies=[plate(0), puck], bed=-18 * MM)
    assert (found is None) == (at is None)
    if found is not None and at is not None:
        assert_allclose(np.array(found), np.array(at) * MM, atol=1e-9)


def test_a_tool_that_nobody_described_touches_too():
    found = [first_touch(a, b, part=TIP, bodies=[plate(0)], bed=-18 * MM) for a, b in (
        ((0.05, 0.04, 0.03), (0.05, 0.04, -0.04)), ((0.12, 0.04, -0.005), (0.05, 0.04, -0.005)))]  # fmt: skip
    assert_allclose(np.array(found), [(0.05, 0.04, 0.0), (0.10005, 0.04, -0.005)], atol=1e-6)


def test_a_ball_beside_an_edge_goes_lower_before_it_touches():
    """Closed form: 2 mm beside the edge a ball of 3 mm radius stands 3 - sqrt(9 - 4) mm above its lowest point."""
    part = tool_parts(Tool(number=1, kind=ToolKind.PROBE, diameter=6 * MM), stickout=0.05, collet=None)[0]
    for target in ((0.05, 0.082, -0.04), (0.05, 0.0820001, -0.04)):  # straight down, and all but so by the sweep
        found = first_touch((0.05, 0.082, 0.03), target, part=part, bodies=[plate(0)], bed=-18 * MM)
        assert found is not None
        assert found[2] == pytest.approx(-(3 - np.sqrt(5)) * MM, abs=1e-6)
