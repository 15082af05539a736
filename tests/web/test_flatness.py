"""What uneven height does to V-lines and inlays, as a caller reads it; all numbers by hand from tan."""

import pytest

from stillstock.app import create_app

pytestmark = pytest.mark.usefixtures("no_remedies")

CLIENT = create_app().test_client()

#: 0.4 mm of bed and 0.3 mm of thickness, so 0.7 mm; tan 30 degrees is 0.57735, tan 15 degrees 0.26795.
PLAQUE = {
    "units": "metric",
    "stock": {"material": "black walnut", "size": [200, 150, 12], "thickness": [11.9, 12.2], "origin": [0, 0, 0]},
    "bed": {"material": "mdf", "thickness": 18, "error": 0.4},
    "tools": {
        "1": {"kind": "end_mill", "diameter": 6},
        "2": {"kind": "v_bit", "diameter": 20, "tip_angle": 60},
        "3": {"kind": "v_bit", "diameter": 20, "tip_angle": 30},
    },
    "holders": [
        {"kind": "strap_clamp", "at": [8, 75], "torque": 4},
        {"kind": "strap_clamp", "at": [192, 75], "angle": 180, "torque": 4},
    ],
}

CARVE = "\n".join(
    (
        "G21 G90 G94",
        "T2 M6 S18000 M3",
        "G0 X40 Y30 Z17",
        "G1 Z10 F300",
        "X160 F600",
        "G0 Z17",
        "X40 Y90",
        "G1 Z10 F300",
        "X160 F600",
        "G0 Z17",
        "M30",
    )
)


def flat(document):
    answer = CLIENT.post("/v1/margin", json=document).get_json()
    assert "checks" in answer, answer
    return [check for check in answer["checks"] if check["name"] == "flatness"]


def effects(check):
    return {effect["name"]: (effect["value"], effect["unit"]) for effect in check["effects"]}


def test_a_program_is_told_at_its_line_nearest_to_the_middle():
    """Stock lies from 0 to 200 and 0 to 150; of the lines along y = 30 and y = 90 the second, line 9, passes it."""
    (check,) = flat(PLAQUE | {"program": {"text": CARVE}})
    assert effects(check) == {
        "height_error": (pytest.approx(0.7, rel=1e-4), "mm"),
        "line_width": (pytest.approx(0.80829, rel=1e-4), "mm"),
        "inlay_gap": (pytest.approx(0.40415, rel=1e-4), "mm"),
    }
    assert check["value"] == effects(check)["line_width"][0]
    assert check["at"] == [100.0, 90.0, 10.0]
    assert "line 9" in check["detail"]
    assert "0.808 mm wider or narrower" in check["detail"]


def test_described_cuts_are_told_by_name_and_each_bit_by_its_angle():
    letters = {"kind": "engrave", "depth": 2, "feed": 600, "speed": 18000, "path": [[40, 20, 10], [160, 20, 10]]}
    cuts = [letters | {"name": "{letters}", "tool": 2}, letters | {"name": "plug", "tool": 3, "path": [[120, 60, 9]]}]
    wide, narrow = flat(PLAQUE | {"cuts": cuts})
    assert wide["at"] == [100.0, 20.0, 10.0]
    assert "(letters)" in wide["detail"]
    assert narrow["at"] == [120.0, 60.0, 9.0]
    assert effects(narrow)["inlay_gap"] == (pytest.approx(0.18757, rel=1e-4), "mm")


def test_a_bit_that_cuts_nothing_is_not_told():
    assert flat(PLAQUE | {"program": {"text": CARVE.replace("T2", "T1")}}) == []


def test_inches_are_answered_in_inches():
    """0.03 in by hand: 2 x 0.03 x 0.57735 is 0.034641 in, half of it at each wall."""
    inch = {
        "units": "inch",
        "stock": {"material": "black walnut", "size": [8, 6, 0.5], "origin": [0, 0, 0]},
        "bed": {"material": "mdf", "thickness": 0.75, "error": 0.03},
        "tools": {"2": {"kind": "v_bit", "diameter": 0.75, "tip_angle": 60}},
        "holders": [{"kind": "film_tape", "area": [[1, 1], [7, 5]]}],
        "program": {"text": "G20 G90 G94\nT2 M6 S18000 M3\nG0 X2 Y3 Z0.8\nG1 Z0.4 F12\nX6 F24\nG0 Z0.8\nM30"},
    }
    (check,) = flat(inch)
    tape = effects(check)["height_error"][0] - 0.03
    assert 0.0 <= tape < 0.003
    assert effects(check)["line_width"] == (pytest.approx(2.0 * (0.03 + tape) * 0.57735, rel=1e-3), "in")
    assert effects(check)["inlay_gap"] == (pytest.approx((0.03 + tape) * 0.57735, rel=1e-3), "in")
