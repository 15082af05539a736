"""DXF: units in agreement, finite, audited, the same bytes each time."""

import io
import math
from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
import pytest
from ezdxf import filemanagement, recover
from tests.writers import boards
from tests.writers.test_svg import HOSTILE, drawing

from stillstock.engine.drawing import Circle, Drawing, Label, Polyline
from stillstock.writers.dxf import dxf, dxf_r12
from stillstock.writers.unit import INCH, MILLIMETRE

WRITERS = [dxf, dxf_r12]


def read(content):
    return filemanagement.read(io.StringIO(content.decode("cp1252")))


@pytest.mark.parametrize(("unit", "insunits", "measurement"), [(MILLIMETRE, 4, 1), (INCH, 1, 0)])
def test_units_stand_in_both_variables_and_agree(unit, insunits, measurement):
    """DXF reference, header variables (from memory): $INSUNITS 1 in, 4 mm; $MEASUREMENT 0 English, 1 metric."""
    document = read(dxf(drawing(), unit=unit))
    assert document.dxfversion == "AC1015"
    assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == (insunits, measurement)


@pytest.mark.parametrize("unit", [MILLIMETRE, INCH])
def test_r12_knows_no_units_so_a_text_says_them(unit):
    document = read(dxf_r12(drawing(), unit=unit))
    assert document.dxfversion == "AC1009"
    texts = [item.dxf.text for item in document.modelspace().query("TEXT")]
    assert any(text.startswith(f"Unit: {unit.name} ({unit.word})") for text in texts)


def coordinates(item: Any) -> Iterator[float]:
    """Yield the numbers of an entity, those of its corners as well, which are none of its attributes."""
    corners = item.get_points() if item.dxftype() == "LWPOLYLINE" else ()
    if item.dxftype() == "POLYLINE":
        corners = [vertex.dxf.location for vertex in item.vertices]
    for value in (*item.dxfattribs().values(), *corners):
        numbers = value if hasattr(value, "__iter__") and not isinstance(value, str) else [value]
        yield from (number for number in numbers if isinstance(number, float))


@pytest.mark.parametrize("write", WRITERS)
@pytest.mark.parametrize("board", [boards.LINES, boards.HOLES, boards.INCH], ids=lambda b: b["title"])
def test_the_audit_finds_nothing_and_every_number_is_finite(write, board):
    unit = INCH if board["units"] == "inch" else MILLIMETRE
    content = write(boards.answered(board).drawing, unit=unit)
    document, auditor = recover.read(io.BytesIO(content))
    assert (auditor.errors, auditor.fixes) == ([], [])
    assert read(content).audit().fixes == []
    items: Iterable[Any] = document.modelspace()
    for item in items:
        assert all(math.isfinite(number) for number in coordinates(item)), item
    assert all(abs(value) < 1e4 for name in ("$EXTMIN", "$EXTMAX") for value in document.header[name])


@pytest.mark.parametrize("write", WRITERS)
def test_the_same_drawing_gives_the_same_bytes(write):
    """Times and GUIDs differ on every call unless ezdxf's option for fixed meta data holds: check at each upgrade."""
    assert write(drawing(), unit=MILLIMETRE) == write(drawing(), unit=MILLIMETRE)


def test_handles_are_unique_and_below_the_seed():
    whole = dxf(drawing(), unit=MILLIMETRE).decode("cp1252").split("\n")
    seed = int(whole[whole.index("$HANDSEED") + 2], 16)
    lines = whole[whole.index("TABLES") + 1 :]
    handles = [int(value, 16) for code, value in zip(lines[::2], lines[1::2], strict=False) if code.strip() == "5"]
    assert len(handles) == len(set(handles)) > 30
    assert max(handles) < seed


@pytest.mark.parametrize("write", WRITERS)
def test_shapes_come_back_at_their_places(write):
    model = read(write(drawing(), unit=INCH)).modelspace()
    circle = model.query("CIRCLE").first
    assert circle.dxf.layer == "holes"
    assert (circle.dxf.center.x, circle.dxf.center.y) == pytest.approx((0.02 / 0.0254, 0.03 / 0.0254), abs=1e-6)
    label = next(item for item in model.query("TEXT") if item.dxf.layer == "holes")
    assert (label.dxf.halign, label.dxf.align_point.x) == (1, pytest.approx(0.05 / 0.0254, abs=1e-6))
    line = model.query("LINE").first
    assert (line.dxf.end.x, line.dxf.end.y) == pytest.approx((0.1 / 0.0254, 0.05 / 0.0254), abs=1e-6)


@pytest.mark.parametrize("write", WRITERS)
@pytest.mark.parametrize("text", [*HOSTILE, "日本 \U0001f600", "%%d ^J \\P", "  0\nEOF"])
def test_hostile_text_stays_text(write, text):
    content = write(drawing(title=text, text=text), unit=MILLIMETRE)
    document, auditor = recover.read(io.BytesIO(content))
    assert auditor.errors == []
    assert len(document.modelspace()) == len(read(write(drawing(), unit=MILLIMETRE)).modelspace())


@pytest.mark.parametrize("write", WRITERS)
def test_what_is_not_finite_is_not_written(write):
    shapes = (
        Polyline(layer="a", points=np.array([(0.0, 0.0), (np.nan, 1.0)])),
        Circle(layer="a", center=(0, 0), radius=1),
    )
    with pytest.raises(ValueError, match="finite"):
        write(Drawing(title="", description="", layers=("a",), shapes=shapes), unit=MILLIMETRE)


def test_a_line_of_known_length_stands_on_a_layer_of_its_own():
    """100 mm in a metric file, 4 in in an inch file, so that a reader's scale can be measured."""
    for board, unit, length in ((boards.LINES, MILLIMETRE, 100.0), (boards.INCH, INCH, 4.0)):
        model = read(dxf(boards.answered(board).drawing, unit=unit)).modelspace()
        (line,) = [item for item in model if item.dxf.layer == "known_length"]
        assert line.dxf.start.distance(line.dxf.end) == pytest.approx(length, abs=1e-9)


def test_layer_names_keep_to_what_r12_takes():
    """R12 (from memory): at most 31 letters, digits, dollar, hyphen and underscore."""
    for board in (boards.LINES, boards.HOLES, boards.CROSSES):
        for layer in boards.answered(board).drawing.layers:
            assert layer.isascii()
            assert layer.replace("_", "").isalnum()
            assert len(layer) <= 31


def test_anchors_of_labels_are_kept():
    shapes = (
        Label(layer="a", at=(0.0, 0.0), text="t", height=0.005, anchor="start"),
        Label(layer="a", at=(0.0, 0.01), text="t", height=0.005, anchor="end"),
    )
    model = read(dxf(Drawing(title="", description="", layers=("a",), shapes=shapes), unit=MILLIMETRE)).modelspace()
    assert [item.dxf.halign for item in model.query("TEXT") if item.dxf.layer == "a"] == [0, 2]
