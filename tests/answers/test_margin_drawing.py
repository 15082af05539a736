"""The picture of the margin says what the answer says. Its look is the project's own; only its meaning is checked."""

import json
import re
from functools import cache
from typing import Any

import numpy as np
import pytest
from defusedxml import ElementTree

from stillstock.answers.let_go_drawing import motion_shapes
from stillstock.app import create_app
from stillstock.engine.drawing import Polyline
from stillstock.engine.mechanics.motion import Motion, let_go

CLIENT = create_app().test_client()
SVG = "{http://www.w3.org/2000/svg}"
PLAN = np.array([(0.0, 0.0), (0.3, 0.0), (0.3, 0.1), (0.0, 0.1)])
BODY = np.array([(x, y, z) for z in (-0.02, 0.0) for x, y in PLAN])
BLOCK: dict[str, Any] = {
    "stock": {"material": "mdf", "size": [300, 150, 18]},
    "bed": {"material": "mdf", "thickness": 18},
    "holders": [{"kind": "vacuum", "pressure": "20 kPa"}],
}
TOOLS = {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up"}}
LOADS: dict[str, Any] = {"loads": [{"name": f"push {n}", "at": [40 + 40 * n, 60, 0], "force": [f * 1.0, 0, 0]}
                   for n, f in enumerate((5, 150, 30, 200))]}  # fmt: skip
CUTS: dict[str, Any] = {
    "tools": TOOLS,
    "cuts": [
        {"name": "groove <1>", "kind": "slot", "tool": 1, "width": 6, "depth": 3, "feed": 2400, "speed": 18000,
         "level": -3, "path": [[40, 40], [260, 40], [260, 120]]},
        {"name": "hole", "kind": "plunge", "tool": 1, "width": 6, "depth": 6, "feed": 600, "speed": 18000,
         "level": -6, "path": [[60, 100]]},
    ],
}  # fmt: skip
HALVES = "".join(f"X{40 + 2 * k} Y{40 + (k % 2)}\n" for k in range(100))
PROGRAM: dict[str, Any] = {
    "tools": TOOLS,
    "program": {"text": f"G21 G90\nT1 M6\nS18000 M3\nG0 X40 Y40 Z5\nG1 Z-4 F600\nF3000\n{HALVES}G0 Z5\nM30\n"},
    "required": {"factor": 10},
}


def drawn(document: dict[str, Any], query: str = "format=svg") -> bytes:
    response = CLIENT.post(f"/v1/margin?{query}", json={"units": "metric", **document})
    assert response.status_code == 200, response.text
    return response.get_data()


@cache
def root_of(text: str) -> Any:
    return ElementTree.fromstring(drawn(json.loads(text)))


def groups(document: dict[str, Any]) -> dict[str, list[Any]]:
    """Return the elements of each layer."""
    return {group.get("id"): list(group) for group in root_of(json.dumps(document)).iter(f"{SVG}g")}


def texts(document: dict[str, Any]) -> list[str]:
    return [item.text for item in root_of(json.dumps(document)).iter(f"{SVG}text")]


def arrow(motion):
    shaft = next(s for s in motion_shapes(motion, PLAN, size=0.005) if isinstance(s, Polyline) and s.layer == "motion")
    return shaft.points[-1] - shaft.points[0]


def test_the_arrow_of_a_tip_points_to_the_side_that_the_stock_falls_over():
    """Turning about +y (right-hand rule) lowers what lies at greater x: the stock falls over to +x."""
    edge, turning = np.array([0.3, 0.0, -0.02]), np.array([0.0, 1.0, 0.0])
    motion = let_go(np.concatenate([-np.cross(turning, edge), turning]), corners=BODY)
    assert motion.kind is Motion.TIP
    assert arrow(motion)[0] > 0.0
    assert arrow(motion)[1] == pytest.approx(0.0, abs=1e-12)


def test_the_arrow_of_a_slide_points_where_it_slides():
    motion = let_go(np.array([-1.0, 0.5, 0.2, 0.0, 0.0, 0.0]), corners=BODY)
    assert motion.kind is Motion.SLIDE
    assert arrow(motion) @ (-1.0, 0.5) > 0.0


@pytest.mark.parametrize(("units", "size", "thick", "said"), [("metric", 300, 18, "100 mm"), ("inch", 12, 0.7, "2 in")])
def test_the_scale_bar_is_in_the_callers_unit_and_true(units, size, thick, said):
    """One user unit of the drawing is 1 mm: the bar that says 2 in is 50.8 units long."""
    document = {
        **BLOCK,
        "units": units,
        "stock": {"material": "mdf", "size": [size, size / 2, thick]},
        "bed": {"material": "mdf", "thickness": thick},
        "loads": [{"name": "push", "at": [size / 3, size / 5, 0], "force": ["20 N", "5 N", "8 N"]}],
    }
    assert said in texts(document)
    level = [line for line in groups(document)["text"] if line.tag == f"{SVG}line" and line.get("y1") == line.get("y2")]
    longest = max(float(line.get("x2")) - float(line.get("x1")) for line in level)
    assert longest == pytest.approx(100.0 if units == "metric" else 50.8, abs=2e-3)


def factors(document: dict[str, Any]) -> list[float]:
    """Return what each load's margin is where it is the only one: a road of its own to the same numbers."""
    alone = [document | {"loads": [load]} for load in document["loads"]]
    return [json.loads(drawn(each, "format=json"))["margin"]["typical"] for each in alone]


def test_each_load_is_coloured_by_its_own_margin_and_what_falls_short_is_named():
    """The class of a factor m is the number of borders 1, R, 1.5 R, 2.5 R, 5 R, 10 R that it reaches."""
    document = BLOCK | LOADS
    required, found = 2.0, factors(document)
    borders = [1.0, *(step * required for step in (1.0, 1.5, 2.5, 5.0, 10.0))]
    wanted = sorted(sum(factor >= border for border in borders) for factor in found)
    rings = {layer: [s for s in shapes if s.tag == f"{SVG}circle"] for layer, shapes in groups(document).items()}
    got = sorted(k for k in range(7) for _ in rings.get(f"margin-{k}", []))
    assert got == wanted
    assert len(set(wanted)) > 1
    short = [f"push {n}" for n, factor in enumerate(found) if factor < required]
    assert 0 < len(short) < len(found)
    said = texts(document)
    assert any(f"{len(short)} of 4 fall short of 2" in text for text in said)
    # Each name stands at the foot of the chart, once more where it falls short, and once more at the worst place.
    for n in range(4):
        name = f"push {n}"
        assert said.count(name) == 1 + (name in short) + (name == f"push {int(np.argmin(found))}")


def test_described_cuts_are_coloured_stretch_by_stretch():
    """Two stretches of the groove, and the hole as large as its tool: 3 mm of radius in true millimetres."""
    found = groups(BLOCK | CUTS)
    strokes = [s for k in range(7) for s in found.get(f"margin-{k}", [])]
    (hole,) = [s for s in strokes if s.tag == f"{SVG}circle"]
    assert hole.get("r") == "3"
    assert "groove <1>" in texts(BLOCK | CUTS)


def test_lines_of_a_program_that_fall_short_are_marked_with_their_numbers():
    """The lines as the answer lists them, move by move, against what the picture counts and names."""
    stated = BLOCK | PROGRAM | {"holders": [{"kind": "vacuum", "pressure": "3 kPa"}]}
    answer = json.loads(drawn(stated | {"detail": {"moves": True}}, "format=json"))
    lower: dict[int, float] = {}
    for move in answer["moves"]:
        lower[move["line"]] = min(lower.get(move["line"], np.inf), np.inf if move["lower"] is None else move["lower"])
    short = sorted(line for line, factor in lower.items() if factor < 10.0)
    assert short
    said = texts(stated)
    assert any(f"{len(short)} of {len(lower)} fall short of 10" in text for text in said)
    runs = [tuple(map(int, text.split("-"))) for text in said if re.fullmatch(r"\d+(-\d+)?", text)]
    hardest = min(lower, key=lambda line: lower[line])
    assert any(run[0] <= hardest <= run[-1] for run in runs if run[0] in short)


def boxes(root: Any) -> list[tuple[str, float, float, float, float]]:
    """Return the box of each text, letters being 0.6 of the size wide on average (common practice, no source)."""
    found = []
    for item in root.iter(f"{SVG}text"):
        size, wide = float(item.get("font-size")), 0.6 * float(item.get("font-size")) * len(item.text)
        left = float(item.get("x")) - {"start": 0.0, "middle": wide / 2, "end": wide}[item.get("text-anchor")]
        found.append((item.text, left, float(item.get("y")) - 0.72 * size, left + wide, float(item.get("y"))))
    return found


CROWDED = BLOCK | {
    "holders": [
        {"kind": "strap_clamp", "at": [10, 20 + 3 * k], "torque": 2, "anchor": "through_bolt"} for k in range(8)
    ],
    "loads": [
        {"name": f"a rather long name {n}", "at": [30 + 25 * n, 60, 0], "force": [100 + n, 0, 0]} for n in range(9)
    ],
}


@pytest.mark.parametrize("document", [BLOCK | LOADS, BLOCK | CUTS, BLOCK | PROGRAM, CROWDED])
def test_no_text_covers_another_nothing_is_off_the_page_and_all_is_large_enough(document):
    """On A4, 190 mm of it, no text is smaller than 6 points of 0.353 mm (own choice)."""
    root = root_of(json.dumps(document))
    _, _, width, height = (float(value) for value in root.get("viewBox").split())
    found = boxes(root)
    for text, x0, y0, x1, y1 in found:
        assert 0.0 <= x0 <= x1 <= width, text
        assert 0.0 <= y0 <= y1 <= height, text
    pairs = [(a, b) for k, a in enumerate(found) for b in found[:k]]
    assert [(a[0], b[0]) for a, b in pairs if a[1] < b[3] and b[1] < a[3] and a[2] < b[4] and b[2] < a[4]] == []
    least = min(float(item.get("font-size")) for item in root.iter(f"{SVG}text"))
    assert least * 190.0 / width >= 6.0 * 0.353
    assert height / width <= 297.0 / 210.0


def test_what_could_not_be_judged_is_drawn_without_colours():
    unknown = BLOCK | PROGRAM | {"program": {"text": PROGRAM["program"]["text"].replace("T1", "T9")}}
    assert json.loads(drawn(unknown, "format=json"))["verdict"] == "unknown"
    found = groups(unknown)
    assert not [layer for layer in found if layer.startswith(("margin", "scale"))]
    assert "stock" in found
