"""Size of the cells, and the pieces of a program that can meet the stock."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from stillstock.engine.cutting.height_map import height_map
from stillstock.engine.cutting.passes import cell_size, passes
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import Material, Stock, Tool, ToolKind

MDF = Material(key="mdf", title="MDF", family="panel", properties={})
STOCK = Stock(material=MDF, size=(0.11, 0.07, 0.018), thickness=(0.0176, 0.018), origin=(-0.013, -0.029, -0.018))
RADIUS = 0.003
CELL = 0.0005
MILL = Tool(number=1, kind=ToolKind.END_MILL, diameter=2 * RADIUS)
V_BIT = Tool(number=3, kind=ToolKind.V_BIT, diameter=0.012, tip_angle=np.radians(60.0), tip_diameter=0.0004)
TOOLS = {1: MILL, 3: V_BIT}


def path(*points, tool=1):
    """Feed moves from point to point."""
    places = np.array(points, dtype=np.float64).reshape(-1, 3)
    n = len(places) - 1
    return Moves(
        line=np.arange(1, n + 1),
        kind=np.full(n, FEED),
        start=places[:-1],
        end=places[1:],
        feed=np.full(n, 0.04),
        speed=np.full(n, 1885.0),
        tool=np.full(n, tool),
        known=np.ones(n, dtype=bool),
    )


SLOT = path((-0.03, 0.004, -0.004), (0.05, 0.004, -0.004))


def test_cell_is_a_sixth_of_the_radius():
    assert_allclose(cell_size(SLOT, STOCK, TOOLS, max_cells=10**6), RADIUS / 6.0)


def test_cell_for_a_v_bit_is_a_sixth_of_its_contact_radius_at_the_deepest():
    line = path((-0.03, 0.004, -0.003), (0.05, 0.004, -0.003), tool=3)
    expected = (0.0002 + 0.003 * np.tan(np.radians(30.0))) / 6.0
    assert_allclose(cell_size(line, STOCK, TOOLS, max_cells=10**6), expected)


def test_no_more_cells_than_asked_for():
    cell = cell_size(SLOT, STOCK, TOOLS, max_cells=5_000)
    assert 4_500 < height_map(STOCK, cell=cell).heights.size <= 5_000


def test_cells_are_coarser_for_a_wide_cutter_on_a_long_program():
    """20,000 passes of a 60 mm cutter beside one of 1 mm: the fine cells would be visited 2e10 times."""
    tools = {1: replace(MILL, diameter=0.06), 3: replace(MILL, diameter=0.001)}
    x = np.tile((0.0, 0.09), 10_001)
    facing = path(*np.column_stack((x, np.zeros_like(x), np.full_like(x, -0.001))))
    fine = path((0.0, 0.0, -0.002), (0.01, 0.0, -0.002), tool=3)
    names = ("line", "kind", "start", "end", "feed", "speed", "tool", "known")
    both = Moves(**{name: np.concatenate((getattr(facing, name), getattr(fine, name))) for name in names})
    assert_allclose(cell_size(fine, STOCK, tools, max_cells=10**7), 0.0001)
    cell = cell_size(both, STOCK, tools, max_cells=10**7)
    assert 2e8 < 20_000 * 0.15 * 0.06 / cell**2 < 5e8


def test_program_that_meets_nothing_needs_no_fine_cells():
    air = path((-0.03, 0.004, 0.004), (0.05, 0.004, 0.004))
    assert_allclose(cell_size(air, STOCK, TOOLS, max_cells=10**6), 0.0011)


@pytest.mark.parametrize("end", [(0.09, 0.037), (-0.011, 0.033), (0.085, -0.025)])
def test_pieces_of_a_long_oblique_move_follow_on_each_other_to_its_very_end(end):
    moves = path((0.001, 0.002, -0.003), (*end, -0.007))
    sweep = passes(moves, height_map(STOCK, cell=0.0002), TOOLS, top=0.0)
    assert len(sweep.move) > 1
    assert_array_equal(sweep.start[0], moves.start[0])
    assert_array_equal(sweep.end[-1], moves.end[0])
    assert_allclose(sweep.start[1:], sweep.end[:-1], atol=1e-15)
    assert_array_equal(sweep.part[1:, 0], sweep.part[:-1, 1])


def test_move_along_an_axis_stays_whole():
    sweep = passes(SLOT, height_map(STOCK, cell=0.0002), TOOLS, top=0.0)
    assert_array_equal(sweep.part, [(0.0, 1.0)])


def test_boxes_hold_every_cell_that_the_tool_touches():
    """Row i holds samples from i to i + 1 cells off the map's edge."""
    grid = height_map(STOCK, cell=CELL)
    sweep = passes(SLOT, grid, TOOLS, top=0.0)
    assert_array_equal(sweep.box, [(0, 133, 60, 73)])


def test_moves_above_beside_or_nowhere_are_left_out():
    above = path((-0.03, 0.004, 0.0), (0.05, 0.004, 0.0))
    beside = path((-0.03, 0.2, -0.004), (0.05, 0.2, -0.004))
    still = path((0.02, 0.004, -0.004), (0.02, 0.004, -0.004))
    grid = height_map(STOCK, cell=CELL)
    for moves in (above, beside, still, replace(SLOT, known=np.zeros(1, dtype=bool))):
        assert len(passes(moves, grid, TOOLS, top=0.0).move) == 0
