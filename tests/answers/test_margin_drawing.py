"""The picture of the margin says what the answer says. Its look is the project's own; only its meaning is checked."""

import re

import numpy as np
import pytest

from stillstock.answers.margin_drawing import motion_shapes
from stillstock.app import create_app
from stillstock.engine.drawing import Polyline
from stillstock.engine.mechanics.motion import Motion, let_go

CLIENT = create_app().test_client()
PLAN = np.array([(0.0, 0.0), (0.3, 0.0), (0.3, 0.1), (0.0, 0.1)])
BODY = np.array([(x, y, z) for z in (-0.02, 0.0) for x, y in PLAN])
BLOCK = {
    "stock": {"material": "mdf"},
    "bed": {"material": "mdf"},
    "holders": [{"kind": "vacuum", "pressure": "20 kPa"}],
}


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


@pytest.mark.parametrize(("units", "size", "thick", "said"), [("metric", 300, 18, "100 mm"), ("inch", 12, 0.7, "5 in")])
def test_the_scale_bar_is_in_the_callers_unit_and_true(units, size, thick, said):
    """One user unit of the drawing is 1 mm: the bar that says 5 in is 127 units long."""
    document = {
        **BLOCK,
        "units": units,
        "stock": {"material": "mdf", "size": [size, size / 2, thick]},
        "bed": {"material": "mdf", "thickness": thick},
        "loads": [{"name": "push", "at": [size / 3, size / 5, 0], "force": ["20 N", "5 N", "8 N"]}],
    }
    drawing = CLIENT.post("/v1/margin?format=svg", json=document).get_data(as_text=True)
    assert f">{said}</text>" in drawing
    lines = re.findall(r'<line x1="([0-9.]+)" y1="([0-9.]+)" x2="([0-9.]+)" y2="\2"/>', drawing)
    longest = max(float(x2) - float(x1) for x1, _, x2 in lines)
    assert longest == pytest.approx(100.0 if units == "metric" else 127.0, abs=2e-3)
