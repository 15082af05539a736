"""What a one-line answer must still say: power that is not there, and the point of a sentence that is too long."""

import copy
from typing import Any

import pytest

from stillstock.app import create_app

CLIENT = create_app().test_client()
JOB: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
    "machine": {"spindle_power": "0.05 kW"},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2}},
    "holders": [{"kind": "screw", "at": [20, 20]}, {"kind": "screw", "at": [280, 180]}],
    "cuts": [
        {
            "name": "outline of the sign",
            "kind": "slot",
            "tool": 1,
            "depth": 6,
            "feed": 2000,
            "speed": 18000,
            "path": [[60, 60, -6], [200, 60, -6]],
        }
    ],
}


def asked(path, document, form):
    response = CLIENT.post(f"/v1/{path}?format={form}", json=document)
    assert response.status_code == 200, response.text
    return response.text if form == "text" else response.get_json()


def test_a_spindle_that_is_too_weak_is_told_in_the_line_and_in_full_below():
    answer = asked("cutting-force", JOB, "json")
    assert answer["summary"].startswith("SPINDLE MAY BE TOO WEAK")
    (warning,) = [one["detail"] for one in answer["warnings"] if one["code"] == "spindle_power"]
    assert asked("cutting-force", JOB, "text") == f"{answer['summary']}\n{warning}\n"
    strong = {**JOB, "machine": {"spindle_power": "2.2 kW"}}
    assert "WEAK" not in asked("cutting-force", strong, "text")
    assert asked("cutting-force", strong, "text").count("\n") == 1


@pytest.mark.parametrize("path", ["margin", "retract-height"])
@pytest.mark.parametrize("text", ["G20 G90\n", "G21 G90\n"])
def test_swapped_units_are_told_before_the_line_ends(path, text):
    """300 mm of stock: 250 in is 21 times as much, 10 mm a 30th; either way the units are swapped."""
    across = 250 if "G20" in text else 10
    program = f"{text}T1 M6\nM3 S18000\nG0 Z5\nG0 X0 Y0\nG1 Z-0.1 F500\nG1 X{across} F1000\nG0 Z5\nM30\n"
    document = copy.deepcopy(JOB)
    del document["cuts"]
    document["program"] = {"text": program}
    answer = asked(path, document, "json")
    (warning,) = [one["detail"] for one in answer["warnings"] if one["code"] == "unit_mismatch"]
    assert warning.startswith("inch and mm may be swapped")
    assert len(answer["summary"]) <= 120
    told = asked(path, document, "text")
    if path == "margin":
        assert "inch and mm may be swapped" in answer["summary"]
        assert warning in told
    assert told.startswith(answer["summary"] + "\n")


def test_a_reason_that_is_cut_stands_in_full_on_a_second_line():
    """The names of two clamps in one place take more than the line has."""
    document = copy.deepcopy(JOB)
    clamp = {"kind": "strap_clamp", "torque": "1 N m", "at": [100, 10], "angle": 90}
    document["holders"] = [clamp, clamp | {"at": [112, 10]}, clamp | {"at": [250, 190], "angle": 270}]
    answer, told = asked("retract-height", document, "json"), asked("retract-height", document, "text")
    whole = next(one["detail"] for one in answer["warnings"] if one["doubt"])
    assert whole not in answer["summary"]
    assert told == f"{answer['summary']}\n{whole}\n"
