"""How fast meetings are found: 100,000 moves against 20 holders, and the same by a geometry library's distance call."""

import random
import time

import numpy as np
import pytest
import shapely
from tests.engine.clearance.random_tables import drawn_bodies, drawn_moves

from stillstock.engine.clearance.swept import sweep
from stillstock.engine.clearance.turned_body import tool_parts
from stillstock.engine.holding.methods.strap_clamp import StrapClamp
from stillstock.engine.set_up import Bed, Collet, SetUp, Stock, Tool, ToolKind
from stillstock.tables.load import load_tables

MOVES, HOLDERS, SAMPLE = 100_000, 20, 400
MDF = load_tables().material("mdf") or pytest.fail("the tables have no mdf")


def outline(bodies):
    """Return all that stands of one holder as one shape in plan."""
    core = {1: shapely.Point, 2: shapely.LineString}
    return shapely.union_all(
        [
            core.get(len(b.core), shapely.Polygon)(b.core[0] if len(b.core) == 1 else b.core).buffer(b.radius)
            for b in bodies
        ]
    )


def clamped_sheet():
    """A carve of 600 by 400 mm in rows of 2.4 mm moves, and 20 strap clamps round its edge."""
    x, y = np.meshgrid(np.linspace(0.005, 0.595, 251), np.linspace(0.005, 0.395, 399))
    x[1::2] = x[1::2, ::-1]
    tips = np.column_stack((x.ravel(), y.ravel(), -0.004 + 0.003 * np.sin(40.0 * x.ravel() + 7.0 * y.ravel())))
    stock = Stock(material=MDF, size=(0.6, 0.4, 0.018), thickness=(0.0178, 0.0181), origin=(0.0, 0.0, -0.018))
    table = SetUp(stock=stock, bed=Bed(material=MDF, thickness=0.018, top=-0.018))
    edge = 0.004
    places = [(px, py, a) for px in np.linspace(0.04, 0.56, 6) for py, a in ((edge, 1.5), (0.4 - edge, -1.6))]
    places += [(px, py, a) for py in np.linspace(0.05, 0.35, 4) for px, a in ((edge, 0.1), (0.6 - edge, 3.0))]
    clamps = [StrapClamp(at=(px, py), angle=a, toe=(0.012, 0.03)) for px, py, a in places]
    return tips[:-1], tips[1:], [list(clamp.bodies(k, table)) for k, clamp in enumerate(clamps)]


def timed(start, end, holders):
    """Seconds of one sweep and of the distance calls, single and in arrays, and the meetings."""
    tool = Tool(number=1, kind=ToolKind.END_MILL, diameter=0.006, cutting_length=0.02)
    parts = tool_parts(tool, stickout=0.055, collet=Collet(diameter=0.03, length=0.02), shoe=(0.08, 0.052))
    begun = time.process_time()
    met = sweep(start, end, parts=parts, bodies=[body for one in holders for body in one])
    ours = time.process_time() - begun
    outlines = [outline(bodies) for bodies in holders]
    rows = np.linspace(0, len(start) - 1, SAMPLE).astype(int)
    lines = shapely.linestrings(np.stack((start[rows, :2], end[rows, :2]), axis=1))
    begun = time.process_time()
    for line in lines:
        for shape in outlines:
            line.distance(shape)
    single = (time.process_time() - begun) * len(start) / SAMPLE
    begun = time.process_time()
    for shape in outlines:
        shapely.distance(lines, shape)
    arrays = (time.process_time() - begun) * len(start) / SAMPLE
    return ours, single, arrays, len(met)


def test_a_hundred_thousand_moves_against_twenty_holders(capsys):
    """At least 50 times as fast as one distance call for each move and holder, timed on a sample of the moves.

    Both calls give the distance in plan alone; ours also judges five parts of the tool at their heights. Printed
    beside it: the library's own arrays, and moves scattered over a crowded table on which every fortieth pair meets:
    more work is left there for the exact judgement, and 20 times is asked.
    """
    start, end, holders = clamped_sheet()
    assert len(holders) == HOLDERS
    assert len(start) >= MOVES
    # Best of five each, in processor time: whatever else the machine does only adds to either.
    ours, single, arrays, met = np.min([timed(start, end, holders) for _ in range(5)], axis=0)
    draw = random.Random(7)
    moves = drawn_moves(draw, count=MOVES, longest=0.004)
    crowd = [[body] for body in drawn_bodies(draw, count=HOLDERS)]
    scattered = np.min([timed(*moves, crowd) for _ in range(5)], axis=0)
    with capsys.disabled():
        print(f"\n{len(start)} moves, {HOLDERS} holders, 5 parts: {ours:.3f} s, {met:.0f} meetings; a call each")
        print(f"{single:.1f} s: {single / ours:.0f} times; in arrays {arrays:.1f} s: {arrays / ours:.0f} times")
        print(f"scattered: {scattered[0]:.3f} s, {scattered[3]:.0f} meetings, {scattered[1] / scattered[0]:.0f} times")
    assert met > 0
    assert single / ours >= 50.0
    assert scattered[1] / scattered[0] >= 20.0
