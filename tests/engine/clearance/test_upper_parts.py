"""Shank, nut, nose and shoe against the stock as it stands: cases by hand, and a fine stepping of the motion."""

import random

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.clearance import upper_parts
from stillstock.engine.clearance.holder_collision import upper_meetings
from stillstock.engine.clearance.turned_body import tool_parts
from stillstock.engine.clearance.upper_parts import RUBS, StockWatch
from stillstock.engine.cutting.height_map import height_map
from stillstock.engine.cutting.passes import cell_size
from stillstock.engine.cutting.stock_removal import watched_removal
from stillstock.engine.cutting.watch import BLIND
from stillstock.engine.program.moves import FEED, PROBE, Moves
from stillstock.engine.program.read import read_program
from stillstock.engine.set_up import Bed, Collet, Stock, Tool, ToolKind
from stillstock.tables.load import load_tables

MM = 1e-3
HEAD = "G21 G90 G17 G94\nT1 M6\nS18000 M3\nF1000\n"
LINES = HEAD.count("\n")
MDF = load_tables().material("mdf") or pytest.fail("the tables have no mdf")
BED = Bed(material=MDF, thickness=0.018, top=-0.040)
STOCK = Stock(material=MDF, size=(0.1, 0.06, 0.04), thickness=(0.04, 0.04), origin=(0.0, 0.0, -0.04))
NUT = Collet(diameter=32 * MM, length=20 * MM)


def watched(moves, tool, *, stickout, shoe=None, collet=NUT, stock=STOCK):
    parts = {1: tool_parts(tool, stickout=stickout * MM, collet=collet, shoe=shoe)}
    watch = StockWatch(moves, stock, {1: tool}, parts)
    watched_removal(moves, stock, BED, {1: tool}, max_cells=300_000, watch=watch)
    return watch.rubs


def met(text, *, stickout=60, shoe=None, collet=NUT, **tool):
    cutter = Tool(number=1, **{"kind": ToolKind.END_MILL, "diameter": 6 * MM, **tool})
    moves = read_program(HEAD + text, max_moves=9999, park=(0.0, 0.0, 0.07), tool_numbers=(1,)).moves
    found = upper_meetings(moves, watched(moves, cutter, stickout=stickout, shoe=shoe, collet=collet))
    return [(one.line - LINES, one.tool_part, round(one.rise / MM, 3)) for one in found]


def slot(*depths):
    """A slot from X20 to X80 in passes."""
    ends = [80, 20] * len(depths)
    cuts = "".join(f"G1 Z-{d}\nX{x}\n" for d, x in zip(depths, ends, strict=False))
    return f"G0 X20 Y30\nG0 Z5\n{cuts}G0 Z50\n"


def test_a_nut_meets_both_sides_of_a_slot_deeper_than_the_stickout():
    """Worked by hand: 22 sticks out; passes to 10, 20 and 30. Only on the last is the nut in the stock, 8 deep."""
    got = met(slot(10, 20, 30), stickout=22)
    assert got == [(7, "collet_nut", 8.0), (8, "collet_nut", 8.0)]


def test_a_shank_wider_than_the_cutter_meets_the_walls_of_a_deep_slot():
    """Worked by hand: 6 mm cutter with an edge of 12 on a shank of 8: at 10 deep clear, at 16 the shank is 4 deep.

    It goes 1 mm beyond each wall; the front, which the cutter has yet to clear, lets it go nowhere but up.
    """
    assert met(slot(8, 10), cutting_length=12 * MM, shank=8 * MM) == []
    got = met(slot(8, 16), cutting_length=12 * MM, shank=8 * MM)
    assert got == [(5, "shank", 4.0), (6, "shank", 4.0)]


@pytest.mark.parametrize(("shank", "parts"), [(6, []), (5, []), (8, ["shank"])])
def test_a_shank_no_wider_than_the_cutter_follows_it_into_the_slot_that_it_has_cut(shank, parts):
    """Worked by hand: edge of 12, passes of 6 down to 24: within the cutter's own slot nothing is left to meet."""
    got = met(slot(6, 12, 18, 24), cutting_length=12 * MM, shank=shank * MM)
    assert sorted({part for _, part, _ in got}) == parts


@pytest.mark.parametrize("shank", [4, 6])
def test_a_pass_deeper_than_the_edge_drives_the_shank_into_what_the_edge_does_not_reach(shank):
    """Worked by hand: an edge of 12 on a full pass of 20: above it stand 8 mm of uncut stock. Straight down it clears
    its own hole."""
    assert met(slot(20), cutting_length=12 * MM, shank=shank * MM) == [(4, "shank", 8.0)]


def test_a_pocket_wide_enough_for_the_nut_is_clear_and_its_wall_is_not():
    """Worked by hand: a pocket of 46 by 46 mm, 20 deep, with 12 sticking out; the nut of 32 stays 3 mm clear in it.

    Where the cutter then runs up to 3 mm from the wall, the nut of 16 reaches 10 mm into it, 8 mm deep.
    """
    rows = "".join(f"G1 Y{y}\nX{80 if k % 2 == 0 else 40}\n" for k, y in enumerate(np.arange(10, 51, 2.5)))
    clear = "".join(f"G0 X40 Y10\nG1 Z-{z}\n{rows}G0 Z20\n" for z in (5, 10, 12))
    small = "G0 X57 Y27\nG1 Z-20\nX63\nY33\nX57\nY27\nG0 Z20\n"
    start = "G0 X40 Y10\nG0 Z20\n"
    assert met(start + clear + small, stickout=12) == []
    beside = "G0 X60 Y27\nG1 Z-20\nX77\nG0 Z20\n"
    got = met(start + clear + beside, stickout=12)
    assert [(part, rise) for _, part, rise in got] == [("collet_nut", 8.0)]


def test_a_shoe_that_hangs_low_meets_the_stock_beside_the_cut():
    """Worked by hand: a rigid shoe 4 mm above the tip on a cut 6 deep comes 2 mm too low."""
    assert met(slot(3, 6), shoe=(0.07, 4 * MM)) == [(5, "dust_shoe", 2.0), (6, "dust_shoe", 2.0)]


def test_a_probe_that_is_fed_into_the_stock_meets_it_and_cuts_nothing():
    got = met("G0 X20 Y30\nG0 Z5\nG1 Z-3\nG1 X40\nG0 Z50\n", kind=ToolKind.PROBE, diameter=2 * MM)
    assert [(line, part) for line, part, _ in got] == [(3, "cutter"), (4, "cutter")]
    assert [rise for *_, rise in got] == pytest.approx([3.0, 3.0], abs=1e-3)


@pytest.mark.parametrize(("kind", "tool"), [(PROBE, ToolKind.END_MILL), (FEED, ToolKind.PROBE)])
def test_neither_a_probing_move_nor_a_probe_cuts(kind, tool):
    ends = np.array([(0.05, 0.03, 0.005), (0.05, 0.03, -0.004)])
    moves = Moves(
        line=np.array([1]), kind=np.array([kind]), start=ends[:1], end=ends[1:], feed=np.ones(1), speed=np.ones(1),
        tool=np.ones(1, dtype=np.int64), known=np.ones(1, dtype=np.bool_),
    )  # fmt: skip
    tools = {1: Tool(number=1, kind=tool, diameter=6 * MM)}
    removal = watched_removal(moves, STOCK, BED, tools, max_cells=300_000, watch=BLIND)
    assert not removal.cutting.any()
    assert removal.low.max() == removal.low[removal.map.stands].min() == 0.0


def test_the_place_is_where_the_part_first_touches():
    """Worked by hand: a ramp from (10, 10) at 0 to 40 deep at X50; 20 sticks out: the nut touches at 20 deep, X30."""
    moves = read_program(
        HEAD + "G0 X10 Y30\nG1 Z0\nX50 Z-40\n", max_moves=99, park=(0.0, 0.0, 0.07), tool_numbers=(1,)
    ).moves
    (rub,) = watched(moves, Tool(number=1, kind=ToolKind.END_MILL, diameter=6 * MM), stickout=20)
    assert_allclose(rub.at, (30 * MM, 30 * MM, -20 * MM), atol=1 * MM)


def test_of_very_many_rubs_the_deepest_are_still_found(monkeypatch):
    """Worked by hand: eight rows 1 mm apart, each 0.5 mm deeper, 8 sticks out: with two counted the last is found."""
    monkeypatch.setattr(upper_parts, "MANY", 2)
    rows = "".join(f"G1 Z{-10 - 0.5 * k}\nG1 X{80 if k % 2 == 0 else 20} Y{30 + k}\n" for k in range(8))
    flat = "".join(f"X{x}\n" for x in range(30, 80, 10))
    got = met("G0 X20 Y30\nG0 Z5\n" + rows + flat + "G0 Z50\n", stickout=8)
    assert max(rise for *_, rise in got) == pytest.approx(10 + 3.5 - 8)
    assert {line for line, *_ in got}.isdisjoint(range(20, 25))


def stepped(moves, tool, parts, *, cell, grown):
    """Return the deepest overlap of each move and part by stepping along it: check the parts, then cut. [m]

    The edge cuts what it reaches; what stands higher stays until the move is over.
    """
    stock_map = height_map(STOCK, cell=cell)
    samples = stock_map.samples
    x = stock_map.origin[0] + samples.by_row[:, :1] + samples.by_column[:, 0]
    y = stock_map.origin[1] + samples.by_row[:, 1:] + samples.by_column[:, 1]
    deepest: dict[tuple[int, str], float] = {}
    for k in range(len(moves)):
        start, end = moves.start[k], moves.end[k]
        before = stock_map.heights.copy()
        old, swept = {}, np.full_like(before, np.inf)
        for s in np.linspace(0.0, 1.0, int(np.linalg.norm(end - start) / 5e-5) + 2):
            tip = start + s * (end - start)
            away = np.hypot(x - tip[0], y - tip[1])
            for part in parts[1:]:
                inside = (away < part.radius - RUBS + grown) & (before > -1.0)
                deep = np.where(inside, stock_map.heights - tip[2] - part.bottom, -np.inf)
                if s == 0.0 and end[2] >= start[2]:
                    old[part.name] = deep > RUBS
                if part.name in old:
                    deep = np.where(old[part.name], -np.inf, deep)
                deepest[k, part.name] = max(deepest.get((k, part.name), -np.inf), float(deep.max()))
            cut = away <= tool.diameter / 2.0
            swept[cut] = np.minimum(swept[cut], tip[2])
            cut &= stock_map.heights <= tip[2] + parts[0].top
            stock_map.heights[cut] = np.minimum(stock_map.heights[cut], tip[2])
        stock_map.heights[:] = np.minimum(stock_map.heights, swept)
    return deepest


@pytest.mark.parametrize("seed", range(8))
def test_a_fine_stepping_finds_nothing_else(seed):
    """Own check, by brute force: steps of 0.05 mm, the parts against all samples, then the cutter's disc.

    Missed: a step overlaps by more than 0.2 mm and it is not reported. Absent: it is reported, and no step overlaps
    with the part grown by a step.
    """
    draw = random.Random(seed)
    tool = Tool(
        number=1, kind=ToolKind.END_MILL, diameter=6 * MM, cutting_length=5 * MM, shank=draw.choice((5, 6, 9)) * MM
    )
    parts = tool_parts(tool, stickout=draw.uniform(8, 12) * MM, collet=Collet(diameter=18 * MM, length=20 * MM))
    points = [np.array([20 * MM, 20 * MM, 1 * MM])]
    for number in range(14):
        step = np.array([draw.uniform(-9, 9), draw.uniform(-9, 9), draw.uniform(-5, 3)]) * MM
        step *= [(1, 1, 0), (0, 0, 1), (1, 1, 1)][number % 3]
        points.append(np.clip(points[-1] + step, (12 * MM, 12 * MM, -18 * MM), (40 * MM, 40 * MM, 2 * MM)))
    ends = np.array(points)
    count = len(ends) - 1
    moves = Moves(
        line=np.arange(count) + 1, kind=np.full(count, FEED), start=ends[:-1], end=ends[1:], feed=np.ones(count),
        speed=np.ones(count), tool=np.ones(count, dtype=np.int64), known=np.ones(count, dtype=np.bool_),
    )  # fmt: skip
    watch = StockWatch(moves, STOCK, {1: tool}, {1: parts})
    watched_removal(moves, STOCK, BED, {1: tool}, max_cells=300_000, watch=watch)
    found = {(rub.move, rub.part.name): rub.rise for rub in watch.rubs}
    cell = cell_size(moves, STOCK, {1: tool}, max_cells=300_000)
    plain = stepped(moves, tool, parts, cell=cell, grown=0.0)
    grown = stepped(moves, tool, parts, cell=cell, grown=1e-4)
    missed = [key for key, deep in plain.items() if deep > 2e-4 and key not in found]
    absent = [key for key in found if grown.get(key, -1.0) < 0.0]
    assert missed == []
    assert absent == []
    for key, rise in found.items():
        if plain[key] > 2e-4:
            assert_allclose(rise, plain[key], atol=2e-4)
