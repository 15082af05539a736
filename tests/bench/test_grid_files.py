"""How long the files of a large grid take, against the plain way, and how long a tour of holes is; -s shows figures."""

import io
import time

import numpy as np
import pytest
from ezdxf.filemanagement import new, read

from stillstock.engine.drawing import Drawing, Polyline
from stillstock.engine.grid.order import least_travel, travel, travel_floor
from stillstock.engine.set_up import FloatArray
from stillstock.writers.dxf import dxf
from stillstock.writers.svg import svg
from stillstock.writers.unit import MILLIMETRE

LINES = 20_000


def fastest(work, times=3):
    """Least processor time of a few runs: other work on the machine only ever adds. [s]"""
    spent = []
    for _ in range(times):
        started = time.process_time()
        work()
        spent.append(time.process_time() - started)
    return min(spent)


@pytest.fixture(scope="module")
def drawing():
    places = np.arange(LINES) * 1e-4
    shapes = tuple(Polyline(layer="lines_fine", points=np.array([(0.0, y), (1.2, y)])) for y in places)
    return Drawing(title="Long", description="", layers=("lines_fine",), shapes=shapes)


def test_a_large_grid_as_dxf_takes_less_than_a_third_of_an_entity_for_each_line(drawing):
    """Tried: 0.18 s against 1.15 s, 6 times as fast; both hold the same lines, read back by ezdxf."""

    def plain():
        document = new("R2000", units=4)
        model = document.modelspace()
        for shape in drawing.shapes:
            start, end = (shape.points * 1000.0).tolist()
            model.add_line(start, end, dxfattribs={"layer": "lines_fine"})
        stream = io.StringIO()
        document.write(stream)
        return document.encode(stream.getvalue())

    mine, theirs = (
        sorted((line.dxf.start, line.dxf.end) for line in read(io.StringIO(text)).modelspace().query("LINE"))
        for text in (dxf(drawing, unit=MILLIMETRE).decode("cp1252"), plain().decode("cp1252"))
    )
    assert len(mine) == LINES
    assert all(
        a.isclose(c, abs_tol=1e-3) and b.isclose(d, abs_tol=1e-3) for (a, b), (c, d) in zip(mine, theirs, strict=True)
    )
    ours, entities = fastest(lambda: dxf(drawing, unit=MILLIMETRE)), fastest(plain)
    print(f"{LINES} lines as DXF: {ours:.3f} s here, {entities:.3f} s an entity at a time, {entities / ours:.1f} times")
    assert 3.0 * ours < entities


def test_a_large_grid_as_svg_takes_no_longer_than_as_dxf(drawing):
    """Tried: 0.10 s for 20,000 lines."""
    spent = fastest(lambda: svg(drawing))
    print(f"{LINES} lines as SVG: {spent:.3f} s")
    assert spent < fastest(lambda: dxf(drawing, unit=MILLIMETRE))


@pytest.mark.parametrize(
    ("name", "most"),
    [("whole lattice", 1.01), ("lattice with a track out", 1.10), ("scattered", 1.25)],
)
def test_the_tour_of_holes_against_its_lower_bound(name, most):
    """The bound is the least spanning tree; the shortest tour itself passes it by about 8 percent where scattered."""
    x, y = np.meshgrid(np.arange(40), np.arange(25))
    lattice = np.column_stack([x.ravel(), y.ravel()]) * 0.03
    points: FloatArray = {  # type: ignore[assignment]
        "whole lattice": lattice,
        "lattice with a track out": lattice[np.abs(lattice[:, 1] - 0.4 * lattice[:, 0] - 0.1) > 0.03],
        "scattered": np.random.default_rng(5).random((1000, 2)) * [1.2, 0.75],
    }[name]
    strokes = np.repeat(points[:, None], 2, axis=1)
    started = time.process_time()
    way = travel(least_travel(strokes, start=(0.0, 0.0)).strokes(strokes), start=(0.0, 0.0))
    spent = time.process_time() - started
    floor = travel_floor(points, start=(0.0, 0.0))
    print(
        f"{len(points)} holes, {name}: {way:.2f} m, at least {floor:.2f} m, {way / floor:.3f} times, in {spent:.2f} s"
    )
    assert way < most * floor
