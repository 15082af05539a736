"""SVG: true size, well-formed whatever the text, no transform."""

import numpy as np
import pytest
from defusedxml import ElementTree
from tests.writers import boards

from stillstock.engine.drawing import Circle, Drawing, Label, Polyline
from stillstock.writers.svg import Pen, svg

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = [
    "</text><script>alert(1)</script>",
    "a\x00b\x1b\ufffe",
    "\ud800 half",
    "\u202egnirts",
    "\"&'<",
    "two\nlines\t",
]


def drawing(title="A", text="B"):
    shapes = (
        Polyline(layer="edge", points=np.array([(0.0, 0.0), (0.1, 0.0), (0.1, 0.05)]), closed=True),
        Polyline(layer="edge", points=np.array([(0.0, 0.0), (0.1, 0.05)])),
        Circle(layer="holes", center=(0.02, 0.03), radius=0.004),
        Label(layer="holes", at=(0.05, 0.01), text=text, height=0.005, anchor="middle"),
    )
    return Drawing(title=title, description=title, layers=("edge", "holes", "unused"), shapes=shapes)


def test_width_height_and_view_box_are_the_same_numbers_in_millimetres():
    """By hand: shapes of 100 x 50 mm and a border of 2 mm all round."""
    root = ElementTree.fromstring(svg(drawing()))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("104mm", "54mm", "0 0 104 54")
    assert root.find(f"{SVG}title").text == "A"
    assert root.find(f"{SVG}desc").text == "A"


def test_y_is_measured_from_the_upper_edge():
    circle = ElementTree.fromstring(svg(drawing())).find(f"{SVG}g[@id='holes']/{SVG}circle")
    assert (circle.get("cx"), circle.get("cy"), circle.get("r")) == ("22", "22", "4")


def test_there_is_a_group_a_layer_and_no_transform_script_or_reference():
    content = svg(drawing(), pens={"holes": Pen(width=0.001, colour="#b00", dash=(0.002, 0.001))}).decode()
    root = ElementTree.fromstring(content)
    assert [group.get("id") for group in root.iter(f"{SVG}g")] == ["edge", "holes"]
    assert {item.tag.removeprefix(SVG) for item in root.iter()} <= {
        *("svg", "g", "title", "desc", "line", "polyline", "polygon", "circle", "text")
    }
    for word in ("transform", "href", "script", "url(", "px", "vector-effect"):
        assert word not in content
    assert 'stroke-dasharray="2 1"' in content


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_text(text):
    root = ElementTree.fromstring(svg(drawing(title=text, text=text)))
    assert len(list(root.iter())) == len(list(ElementTree.fromstring(svg(drawing())).iter()))
    assert root.find(f"{SVG}title").text


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_what_is_not_finite_is_not_written(bad):
    shapes = (Polyline(layer="a", points=np.array([(0.0, 0.0), (bad, 1.0), (0.5, 0.5)])),)
    with pytest.raises(ValueError, match="finite"):
        svg(Drawing(title="", description="", layers=("a",), shapes=shapes))
    with pytest.raises(ValueError, match="finite"):
        svg(Drawing(title="", description="", layers=("a",), shapes=(Circle(layer="a", center=(0, 0), radius=bad),)))


def test_an_empty_drawing_and_an_unknown_layer_are_our_mistakes():
    with pytest.raises(ValueError, match="empty"):
        svg(Drawing(title="", description="", layers=(), shapes=()))
    with pytest.raises(ValueError, match="layers"):
        svg(Drawing(title="", description="", layers=("b",), shapes=(Circle(layer="a", center=(0, 0), radius=1.0),)))


def test_inch_fractions_keep_their_last_digit():
    """Closed form: 1/64 in is 0.396875 mm exactly, so a line there differs from one at 0.397 mm."""
    content = svg(boards.answered(boards.INCH).drawing, decimals=6).decode()
    root = ElementTree.fromstring(content)
    lines = root.findall(f"{SVG}g[@id='lines_fine']/{SVG}line")
    upright = {line.get("x1") for line in lines if line.get("x1") == line.get("x2")}
    assert f"{2 + 3 * 25.4 + 0.396875:.6f}" in upright


def test_the_same_board_gives_the_same_bytes():
    assert svg(boards.answered(boards.LINES).drawing) == svg(boards.answered(boards.LINES).drawing)
