"""JSON, SVG, DXF and RS-274 of one board are read back, each by a reader of its own, and hold the same geometry."""

import io
from collections import Counter
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from defusedxml import ElementTree
from ezdxf.filemanagement import read
from numpy.testing import assert_allclose
from scipy.spatial import cKDTree
from shapely import LineString, Point, Polygon, box
from tests.writers import boards

from stillstock.engine.drawing import Circle, Polyline
from stillstock.engine.grid.request import Strip
from stillstock.engine.program.moves import FEED
from stillstock.engine.program.read import read_program
from stillstock.schemas.grid_answer import grid_document
from stillstock.writers.dxf import dxf, dxf_r12
from stillstock.writers.gcode import rs274
from stillstock.writers.svg import svg
from stillstock.writers.unit import INCH, MILLIMETRE

BOARDS = [boards.LINES, boards.CROSSES, boards.HOLES, boards.INCH]
SVG = "{http://www.w3.org/2000/svg}"


def unit_of(answer):
    return INCH if answer.asked.inch else MILLIMETRE


def segment(layer, start, end, digits):
    ends = sorted((round(x, digits) + 0.0, round(y, digits) + 0.0) for x, y in (start, end))
    return (layer, *ends)


def from_json(answer, digits):
    found: Counter[Any] = Counter()
    for shape in grid_document(answer)["geometry"]:
        if "center" in shape:
            found[shape["layer"], tuple(shape["center"]), round(shape["diameter"], digits)] += 1
            continue
        points = shape["points"] + shape["points"][:1] * shape["closed"]
        found.update(segment(shape["layer"], *pair, digits) for pair in pairwise(points))
    return found


def from_svg(content, answer, digits):
    """One user unit is 1 mm, y runs down; the first outline point is the table's lowest corner."""
    size = unit_of(answer).size * 1000.0
    root = ElementTree.fromstring(content)
    corner = root.find(f"{SVG}g[@id='table_outline']/{SVG}polygon").get("points").split()[0].split(",")
    left, low = float(corner[0]), float(corner[1])
    x0, y0 = (value * 1000.0 for value in answer.asked.table.origin)

    def place(x, y):
        return (float(x) - left + x0) / size, (low - float(y) + y0) / size

    found: Counter[Any] = Counter()
    for group in root.iter(f"{SVG}g"):
        layer = group.get("id")
        for item in group:
            if item.tag == f"{SVG}circle":
                x, y = place(item.get("cx"), item.get("cy"))
                diameter = round(2 * float(item.get("r")) / size, digits)
                found[layer, (round(x, digits) + 0.0, round(y, digits) + 0.0), diameter] += 1
            elif item.tag == f"{SVG}line":
                ends = place(item.get("x1"), item.get("y1")), place(item.get("x2"), item.get("y2"))
                found[segment(layer, *ends, digits)] += 1
            else:
                points = [place(*point.split(",")) for point in item.get("points").split()]
                points += points[:1] * (item.tag == f"{SVG}polygon")
                found.update(segment(layer, *pair, digits) for pair in pairwise(points))
    return found


def from_dxf(content, digits):
    document = read(io.StringIO(content.decode("cp1252")))
    assert document.audit().errors == []
    found: Counter[Any] = Counter()
    items: Iterable[Any] = document.modelspace()
    for item in items:
        layer = item.dxf.layer
        if item.dxftype() == "CIRCLE":
            center = item.dxf.center
            found[layer, (round(center.x, digits), round(center.y, digits)), round(2 * item.dxf.radius, digits)] += 1
        elif item.dxftype() == "LINE":
            found[segment(layer, item.dxf.start.vec2, item.dxf.end.vec2, digits)] += 1
        elif item.dxftype() == "LWPOLYLINE":
            points = [point[:2] for point in item.get_points()]
            points += points[:1] * item.closed
            found.update(segment(layer, *pair, digits) for pair in pairwise(points))
        elif item.dxftype() == "POLYLINE":
            points = [(v.dxf.location.x, v.dxf.location.y) for v in item.vertices]
            points += points[:1] * item.is_closed
            found.update(segment(layer, *pair, digits) for pair in pairwise(points))
        else:
            assert (item.dxftype(), layer) == ("TEXT", "notes")
    return found


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board["title"] + board["mark"])
def test_json_svg_and_dxf_hold_the_same_geometry(board):
    """SVG is read by an XML parser, DXF by ezdxf; radii are written to the last digit, so diameters to two of them."""
    answer = boards.answered(board)
    digits = unit_of(answer).decimals
    plain = from_json(answer, digits)
    picture = svg(answer.drawing, decimals=6 if answer.asked.inch else 3)
    assert close(from_svg(picture, answer, digits), plain, digits)
    for write in (dxf, dxf_r12):
        assert close(from_dxf(write(answer.drawing, unit=unit_of(answer)), digits), plain, digits)


def close(found, wanted, digits):
    """Compare to two of the last digit: halves may round either way in one format and the other."""
    assert sum(found.values()) == sum(wanted.values())

    def key(item):
        return (item[0], *np.round(np.array(flat(item)), digits - 1))

    rows = sorted(found.elements(), key=key), sorted(wanted.elements(), key=key)
    left, right = (np.array([pad(flat(item)) for item in side]) for side in rows)
    assert [item[0] for item in rows[0]] == [item[0] for item in rows[1]]
    assert_allclose(left, right, atol=2.01 * 10.0**-digits)
    return True


def flat(item):
    return [float(value) for part in item[1:] for value in (part if isinstance(part, tuple) else (part,))]


def pad(row):
    return row + [0.0] * (4 - len(row))


@pytest.mark.parametrize("board", [boards.LINES, boards.CROSSES, boards.INCH], ids=lambda b: b["title"] + b["mark"])
def test_the_program_retraced_cuts_the_strokes_of_the_geometry_and_nothing_else(board):
    """Read back by the project's reader: every feed move below the face, against every stroke of a cut layer."""
    answer = boards.answered(board)
    unit = unit_of(answer)
    reading = read_program(rs274(answer.chosen.path, unit=unit).decode(), max_moves=10**6)
    assert not [finding for finding in reading.findings if finding.doubt and finding.code != "missing_tool"]
    moves = reading.moves
    cutting = (moves.kind == FEED) & (moves.start[:, 2] < 0) & (moves.end[:, 2] < 0)
    rows = [
        [(*pair[0], -answer.cut_layers[shape.layer]), (*pair[1], -answer.cut_layers[shape.layer])]
        for shape in answer.drawing.shapes
        if shape.layer in answer.cut_layers and isinstance(shape, Polyline)
        for pair in pairwise(shape.points.tolist())
    ]
    got, want = np.stack([moves.start[cutting], moves.end[cutting]], axis=1), np.array(rows)
    _, partner = cKDTree(undirected(got)).query(undirected(want))
    assert sorted(np.atleast_1d(partner)) == list(range(len(got)))
    apart = np.abs(np.stack([got[partner], got[partner][:, ::-1]]) - want).max(axis=(2, 3)).min(axis=0)
    assert apart.max() <= 0.51 * unit.size * 10.0**-unit.program_decimals
    level = np.abs(moves.start[:, :2] - moves.end[:, :2]).max(axis=1) > 0
    assert np.all(moves.end[(moves.kind != FEED) & level, 2] == pytest.approx(0.005, abs=1.3e-6))


def undirected(strokes):
    """Return middle, length and twice the angle of strokes, which do not depend on their sense; (n, 6) in metres."""
    along = (strokes[:, 1] - strokes[:, 0])[:, 0] + 1j * (strokes[:, 1] - strokes[:, 0])[:, 1]
    turned = along**2 / np.maximum(np.abs(along), 1e-12)
    return np.column_stack([strokes.mean(axis=1), np.abs(along), turned.real, turned.imag])


def test_the_program_of_holes_bores_every_hole_to_its_width_and_depth():
    """Closed form: the tool's middle runs on circles of half the hole less half the tool, down to the depth."""
    answer = boards.answered(boards.HOLES)
    assert answer.hole
    assert answer.hole.counterbore
    reading = read_program(rs274(answer.chosen.path, unit=MILLIMETRE).decode(), max_moves=10**6, chord_error=1e-6)
    ends = reading.moves.end[(reading.moves.kind == FEED)]
    below = ends[ends[:, 2] <= 0]
    depths = {"holes": answer.hole.depth, "counterbores": answer.hole.counterbore[1], "dowel_holes": 0.012}
    circles = [s for s in answer.drawing.shapes if isinstance(s, Circle) and s.layer in depths]
    assert Counter(shape.layer for shape in circles) == {"holes": 16, "counterbores": 16, "dowel_holes": 3}
    for shape in circles:
        radius = shape.radius - 0.003
        apart = np.hypot(below[:, 0] - shape.center[0], below[:, 1] - shape.center[1])
        on_wall = below[np.abs(apart - radius) < 2e-6]
        assert len(on_wall) > 50
        assert on_wall[:, 2].min() == pytest.approx(-depths[shape.layer], abs=5e-7)
    centers, radii = np.array([s.center for s in circles]), np.array([s.radius - 0.003 for s in circles])
    apart = np.linalg.norm(below[:, None, :2] - centers, axis=2) - radii
    assert apart.min(axis=1).max() < 2e-6
    assert len(answer.left_out) == 4


def test_bores_run_counter_clockwise_which_is_climb_with_a_right_hand_spindle():
    """Closed form: the cross product of place and move about the nearest hole's middle is positive."""
    answer = boards.answered(boards.HOLES)
    moves = read_program(rs274(answer.chosen.path, unit=MILLIMETRE).decode(), max_moves=10**6).moves
    turning = (moves.kind == FEED) & (np.abs(moves.end[:, :2] - moves.start[:, :2]).max(axis=1) > 0)
    centers = np.array([s.center for s in answer.drawing.shapes if isinstance(s, Circle) and "hole" in s.layer])
    start, end = moves.start[turning][:, :2], moves.end[turning][:, :2]
    arm = start - centers[cKDTree(centers).query(start)[1]]
    step = end - start
    assert np.all(arm[:, 0] * step[:, 1] - arm[:, 1] * step[:, 0] > 0)


def test_dots_are_plunged_to_their_depth_where_the_geometry_has_them():
    answer = boards.answered({**boards.LINES, "mark": "dots", "labels": None, "zero_mark": 0})
    moves = read_program(rs274(answer.chosen.path, unit=MILLIMETRE).decode(), max_moves=10**6).moves
    got = moves.end[(moves.kind == FEED) & (moves.end[:, 2] < 0)]
    want = np.array(
        [(*s.center, -0.0003) for s in answer.drawing.shapes if isinstance(s, Circle) and s.layer == "dots"]
    )
    assert len(want) > 100
    assert_allclose(got, want, atol=0.51e-6)
    assert answer.cut_layers == {"dots": 0.0003}


@pytest.mark.parametrize("board", [boards.LINES, boards.HOLES, boards.INCH], ids=lambda board: board["title"])
def test_the_line_of_known_length_lies_below_everything_else(board):
    shapes = boards.answered({**board, "skim": {"cutter": "1 in", "depth": "0.5 mm"}}).drawing.shapes
    heights = {s.layer: s.points[:, 1] for s in shapes if isinstance(s, Polyline)}
    known = heights.pop("known_length")
    assert known.max() < min(places.min() for places in heights.values())


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board["title"] + board["mark"])
def test_no_segment_is_drawn_twice(board):
    found = from_json(boards.answered(board), 6)
    assert [item for item, count in found.items() if count > 1] == []


@pytest.mark.parametrize("board", BOARDS, ids=lambda board: board["title"] + board["mark"])
def test_cut_strokes_are_open_and_stay_on_the_table_and_out_of_keep_outs(board):
    answer = boards.answered(board)
    table = box(*answer.asked.table.box)
    areas = [
        Polygon(shape.outline) if isinstance(shape, Strip) else Point(shape.at).buffer(shape.radius)
        for shape in (keep_out.shape for keep_out in answer.asked.keep_outs)
    ]
    for shape in answer.drawing.shapes:
        if shape.layer in answer.cut_layers and isinstance(shape, Polyline):
            stroke = LineString(shape.points)
            assert not shape.closed
            assert table.covers(stroke)
            assert not any(area.intersects(stroke) for area in areas)
