"""A slot test in the set-up, as a caller sees it: in the forces, in the margin, and where it cannot have been."""

import copy
from typing import Any

import pytest

from stillstock.app import create_app

CLIENT = create_app().test_client()
#: H. A. El-Hofy, "Fundamentals of Machining Processes", 2013, p. 189 (page seen): slot by an end mill of 30 mm with 8
#: teeth, 4 mm deep, 120 mm/min at 150 rev/min; printed 1019 N of mean tangential force and 0.24 kW.
SET_UP: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "aluminium_7075_t6", "size": [300, 200, 20]},
    "bed": {"material": "aluminium", "thickness": 20},
    "machine": {"spindle_power": 2.2},
    "tools": {"1": {"kind": "end_mill", "diameter": 30, "flutes": 8, "helix": "straight", "cutting_length": 40}},
    "cut_test": [{"tool": 1, "depth": 4, "feed": 120, "speed": 150, "net_power": ["240 W"], "date": "12 May"}],
    "holders": [{"kind": "vise", "at": [0, 100], "faces": "+x"}],
    "cuts": [{"kind": "slot", "tool": 1, "depth": 4, "feed": 120, "speed": 150, "path": [[50, 60, -4], [250, 70, -4]]}],
}


def asked(route: str, **changes: Any) -> tuple[int, dict[str, Any]]:
    document = copy.deepcopy(SET_UP)
    test = document["cut_test"][0]
    for name, value in changes.items():
        holder = test if name in test else document
        holder[name] = value
    response = CLIENT.post(route, json=document)
    answer: dict[str, Any] = response.get_json()
    return response.status_code, answer


def tangential(answer: dict[str, Any]) -> dict[str, Any]:
    (found,) = [one for one in answer["assumptions"] if one["what"].startswith("growth of the tangential")]
    return dict(found)


def test_the_printed_force_and_power_come_back_from_the_printed_slot():
    """Whatever part the edge's rubbing has, the same slot asks the same power: 0.24 kW, 1019 N x 15 mm.

    Tolerance: the printed digits, 0.24 kW is rounded.
    """
    status, answer = asked("/v1/cutting-force")
    assert status == 200
    (cut,) = answer["cuts"]
    assert cut["power"]["typical"] == pytest.approx(0.24, rel=5e-3)
    assert cut["torque"]["typical"] == pytest.approx(1019 * 0.015, rel=5e-3)
    assert cut["power"]["high"] == pytest.approx(0.24 * 1.15, rel=5e-3)


@pytest.mark.parametrize("route", ["/v1/cutting-force", "/v1/margin"])
def test_the_answer_names_the_test_among_its_assumptions(route):
    status, answer = asked(route)
    assert status == 200
    found = tangential(answer)
    assert (found["source"], found["grade"]) == ("caller", "caller")
    assert "slot test of 12 May" in found["note"]
    assert "15%" in found["note"]
    (radial,) = [one for one in answer["assumptions"] if one["what"].startswith("growth of the radial")]
    assert radial["source"] != "caller"


def test_half_the_power_is_half_the_force_and_twice_the_margin_at_most():
    """Radial forces stay with the table, so the margin grows by less than the tangential force falls."""
    margins = [asked("/v1/margin", net_power=[power])[1]["margin"]["typical"] for power in ("240 W", "120 W")]
    assert margins[0] < margins[1] < 2.0 * margins[0]
    torques = [asked("/v1/cutting-force", net_power=[power])[1]["cuts"][0]["torque"] for power in ("240 W", "120 W")]
    assert torques[1]["typical"] == pytest.approx(torques[0]["typical"] / 2, rel=1e-4)


def test_a_test_beside_the_tables_band_counts_and_is_told():
    _, answer = asked("/v1/cutting-force", net_power=["120 W"])
    assert [one["code"] for one in answer["warnings"]] == ["cut_test_beyond_table"]
    assert answer["warnings"][0]["pointer"] == "/cut_test/0/net_power"


@pytest.mark.parametrize("route", ["/v1/cutting-force", "/v1/margin"])
@pytest.mark.parametrize(
    ("changes", "status", "pointer", "code"),
    [
        ({"net_power": [0]}, 422, "/cut_test/0/net_power/0", "range"),
        ({"net_power": ["240 W", "-235 W"]}, 422, "/cut_test/0/net_power/1", "range"),
        ({"net_power": ["240 N"]}, 400, "/cut_test/0/net_power/0", "wrong_dimension"),
        ({"net_power": []}, 400, "/cut_test/0/net_power", "length"),
        ({"net_power": ["2.4 kW"]}, 422, "/cut_test/0/net_power", "cannot_have_been"),
        ({"net_power": ["24 W"]}, 422, "/cut_test/0/net_power", "cannot_have_been"),
        ({"tool": 2}, 422, "/cut_test/0/tool", "unknown_tool"),
        ({"depth": 45}, 422, "/cut_test/0/depth", "cannot_have_been"),
        ({"feed": "30 m/min"}, 422, "/cut_test/0/feed", "cannot_have_been"),
        ({"speed": 0}, 400, "/cut_test/0/speed", "range"),
        ({"cut_test": SET_UP["cut_test"] * 2}, 422, "/cut_test/1/tool", "stated_twice"),
        (
            {"tools": {"1": {"kind": "ball_nose", "diameter": 30, "flutes": 8}}},
            422,
            "/cut_test/0/tool",
            "wrong_tool",
        ),
    ],
)
def test_a_slot_that_cannot_have_been_is_refused_with_its_place(route, changes, status, pointer, code):
    got, problem = asked(route, **changes)
    assert got == status
    assert (pointer, code) in [(fault["pointer"], fault["code"]) for fault in problem["errors"]]


def test_a_negative_power_is_given_back_with_its_sign_turned():
    _, problem = asked("/v1/cutting-force", net_power=["-240 W"])
    assert problem["errors"][0]["corrected"] == pytest.approx(0.24)
