"""The swept tool against standing bodies: closed forms, and a fine sampling of the motion."""

import random

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from tests.engine.clearance.random_tables import drawn_bodies, drawn_moves, drawn_parts

from stillstock.engine.clearance.plan import inner_depth, point_distance, segment_distance, within_reach
from stillstock.engine.clearance.swept import TOUCH, sweep
from stillstock.engine.clearance.turned_body import tool_parts
from stillstock.engine.holding.body import Body, cylinder
from stillstock.engine.holding.place import rectangle
from stillstock.engine.set_up import Collet, Tool, ToolKind

STEP = 5e-5  # the sampling that the answers are held to: 0.05 mm of path


def shape(core):
    return {1: shapely.Point, 2: shapely.LineString}.get(len(core), shapely.Polygon)(
        core[0] if len(core) == 1 else core
    )


def overlaps(tips, part, body):
    """Overlap at each sample in plan and in height, from a geometry library and the tool's own profile. [m]"""
    away = shapely.distance(shape(body.core), shapely.points(tips[:, :2])) - body.radius
    under = tips[:, 2] + part.bottom + part.end.rise(np.clip(away, 0.0, part.radius) ** 2)
    height = np.minimum(body.high - under, tips[:, 2] + part.top - body.low)
    return part.radius - away, height


@pytest.mark.parametrize("seed", range(20))
def test_a_fine_sampling_finds_nothing_else(seed):
    """Own check, by brute force: samples every 0.05 mm of path, shapely for the distances.

    Missed: a sample overlaps by more than 0.01 mm and the pair is not reported. Absent: a pair is reported, and at
    one of the samples within the reported span there is no overlap.
    """
    draw = random.Random(seed)
    bodies, parts = drawn_bodies(draw, count=8), drawn_parts(draw)
    start, end = drawn_moves(draw, count=32)
    met = sweep(start, end, parts=parts, bodies=bodies)
    spans = dict(zip(zip(met.move.tolist(), met.part.tolist(), met.body.tolist(), strict=True), met.span, strict=True))
    missed, absent = [], []
    for k in range(len(start)):
        count = int(np.linalg.norm(end[k] - start[k]) / STEP) + 2
        along = np.linspace(0.0, 1.0, count)[:, None]
        for p, part in enumerate(parts):
            for b, body in enumerate(bodies):
                plan, height = overlaps(start[k] + along * (end[k] - start[k]), part, body)
                if (k, p, b) in spans:
                    first, last = spans[k, p, b]
                    within = start[k] + (first + along * (last - first)) * (end[k] - start[k])
                    absent += [(k, p, b)] * int(min(map(np.min, overlaps(within, part, body))) < 0.5 * TOUCH)
                elif ((plan > TOUCH * 1.01) & (height > TOUCH * 1.01)).any():
                    missed.append((k, p, b))
    assert missed == []
    assert absent == []
    assert len(spans) > 3


def test_the_depth_of_a_meeting_is_the_shorter_way_out():
    """Closed form. A 6 mm end mill passes 1 mm inside the face of a block, 4 mm below its top: 1 mm aside, 4 mm up."""
    block = Body(holder=0, part="block", core=np.array([[0, 0], [0.05, 0], [0.05, 0.02], [0, 0.02]]), low=0, high=0.012)
    parts = tool_parts(Tool(number=1, kind=ToolKind.END_MILL, diameter=0.006), stickout=0.03, collet=None)
    start, end = np.array([[-0.03, 0.022, 0.008]]), np.array([[0.08, 0.022, 0.008]])
    met = sweep(start, end, parts=parts, bodies=[block])
    assert len(met) == 1
    assert_allclose(met.sideways, 0.001, atol=1e-9)
    assert_allclose(met.rise, 0.004, atol=1e-9)
    assert_allclose(met.depth, 0.001, atol=1e-9)
    # 2 mm beside the face, the circle of 3 mm (less the tolerance) reaches sqrt(9 - 4) mm past each end of it.
    past = np.sqrt((0.003 - TOUCH) ** 2 - 0.002**2)
    assert_allclose(met.span[0] * 0.11, [0.03 - past, 0.08 + past], atol=1e-9)


@pytest.mark.parametrize(("gap", "meets"), [(-2.0 * TOUCH, True), (0.0, False), (2.0 * TOUCH, False)])
def test_touching_is_not_meeting(gap, meets):
    """The tool slides along a fence: its edge on the face, or twice the tolerance to either side."""
    fence = Body(
        holder=0, part="block", core=rectangle((0.05, -0.005), along=0.1, across=0.01, angle=0), low=0, high=0.01
    )
    parts = tool_parts(Tool(number=1, kind=ToolKind.END_MILL, diameter=0.008), stickout=0.03, collet=None)
    y = 0.004 + gap
    met = sweep(np.array([[0.0, y, 0.002]]), np.array([[0.09, y, 0.002]]), parts=parts, bodies=[fence])
    assert (len(met) > 0) == meets


@pytest.mark.parametrize(
    ("kind", "aside"),
    [
        # z + rise(d) = top: a ball of R 5 rises 5 - sqrt(25 - 16) = 2 at 4 mm from its axis; a 90 deg cone 4 at 4.
        ({"kind": ToolKind.BALL_NOSE, "diameter": 0.010}, 0.002),
        ({"kind": ToolKind.V_BIT, "diameter": 0.020, "tip_angle": np.pi / 2}, 0.004),
    ],
)
@pytest.mark.parametrize(("lower", "meets"), [(2.5 * TOUCH, True), (-2.5 * TOUCH, False)])
def test_balls_and_cones_pass_where_their_own_shape_passes(kind, aside, lower, meets):
    """Closed form: the lower end at 4 mm from the axis, over the edge of a block."""
    block = Body(holder=0, part="block", core=np.array([[0, 0], [0.05, 0], [0.05, 0.02], [0, 0.02]]), low=0, high=0.012)
    parts = tool_parts(Tool(number=1, cutting_length=0.015, **kind), stickout=0.03, collet=None)
    z = 0.012 - aside - lower
    met = sweep(np.array([[-0.02, 0.024, z]]), np.array([[0.07, 0.024, z]]), parts=parts, bodies=[block])
    assert (len(met) > 0) == meets


def test_the_nut_meets_what_the_cutter_clears():
    """Worked by hand. Nut of 32 mm, 20 mm above the tip; knob 10 mm in diameter, 18 mm beside the axis, up to 22 mm.

    At a tip height of 0 the nut's lower face is 2 mm below the knob's top, and 16 + 5 > 18 mm: they overlap by 3 mm
    in plan. The cutter, 6 mm in diameter, passes 10 mm clear.
    """
    tool = Tool(number=1, kind=ToolKind.END_MILL, diameter=0.006)
    parts = tool_parts(tool, stickout=0.020, collet=Collet(diameter=0.032, length=0.015))
    knob = Body(holder=3, part="star_knob", core=cylinder((0.05, 0.018)), radius=0.005, low=0.002, high=0.022)
    met = sweep(np.array([[0.0, 0.0, 0.0]]), np.array([[0.1, 0.0, 0.0]]), parts=parts, bodies=[knob])
    assert [parts[p].name for p in met.part] == ["collet_nut"]
    assert_allclose([met.rise[0], met.sideways[0]], [0.002, 0.003], atol=1e-9)


@pytest.mark.parametrize(
    ("start", "end", "deep"),
    [
        ((-10, 6), (60, 6), 6.0),  # along the block, 6 from its lower edge
        ((25, -10), (25, 30), 10.0),  # straight across: half its width at the middle
        ((0, -5), (12, 7), 7.0),  # aslant, ends inside
        ((0, -5), (20, 15), 10.0),
        ((-10, 30), (60, 30), 0.0),
    ],
)
def test_the_way_out_counts_from_inside_the_body_too(start, end, deep):
    """Worked by hand, block of 50 by 20 mm.

    Aslant: the way (s, s - 5) is s behind the left edge, s - 5 behind the lower and 25 - s behind the upper one; the
    least of them is greatest at s = 15, or at the end of a shorter way.
    """
    core = rectangle((0.025, 0.01), along=0.05, across=0.02, angle=0)
    got = inner_depth(np.array([start]) / 1e3, np.array([end]) / 1e3, core=core)
    assert_allclose(got * 1e3, deep, atol=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_distances_in_plan_agree_with_a_geometry_library(seed):
    """Reference: shapely's distance and buffer-free tests, on random convex cores and segments."""
    draw = random.Random(100 + seed)
    start, end = drawn_moves(draw, count=60, longest=0.2)
    for body in drawn_bodies(draw, count=8):
        lines = shapely.linestrings(np.stack((start[:, :2], end[:, :2]), axis=1))
        want = shapely.distance(lines, shape(body.core))
        assert_allclose(segment_distance(start[:, :2], end[:, :2], core=body.core), want, atol=1e-12)
        points = shapely.distance(shapely.points(start[:, :2]), shape(body.core))
        assert_allclose(point_distance(start[:, :2], core=body.core), points, atol=1e-12)
        first, last = within_reach(start[:, :2], (end - start)[:, :2], core=body.core, reach=0.013)
        assert ((first <= last) == (want < 0.013)).all()
