"""Holders that cannot stand where they are said to: a clear problem with its place, and all of them at once."""

from typing import Any

import pytest

from stillstock.app import create_app

CLIENT = create_app().test_client()
SET_UP: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "mdf", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 30},
    "loads": [{"at": [150, 90, 0], "force": [1, -0.4, 0.2]}],
}
STOP = {"kind": "stop", "at": [300, 50], "faces": "-x", "height": 30}
AWAY: list[tuple[dict[str, Any], str, str]] = [
    ({"kind": "strap_clamp", "at": [-40, 50]}, "at", "beside_the_stock"),
    ({"kind": "screw", "at": [320, 50]}, "at", "beside_the_stock"),
    ({"kind": "polymer_nail", "at": [320, 50]}, "at", "beside_the_stock"),
    ({"kind": "dowel_pin", "at": [320, 50]}, "at", "beside_the_stock"),
    ({"kind": "fixture_plate", "at": [320, 50]}, "at", "beside_the_stock"),
    ({"kind": "film_tape", "area": [[320, 50], [380, 100]]}, "area", "beside_the_stock"),
    ({"kind": "foam_tape", "area": [[320, 50], [380, 100]]}, "area", "beside_the_stock"),
    ({"kind": "tape_and_ca", "area": [[320, 50], [380, 100]]}, "area", "beside_the_stock"),
    ({"kind": "vacuum", "area": [[320, 50], [380, 100]]}, "area", "beside_the_stock"),
    ({"kind": "stop", "at": [-10, 50], "faces": "+x"}, "at", "not_touching"),
    ({"kind": "vise", "at": [-10, 50], "faces": "+x"}, "at", "not_touching"),
    ({"kind": "side_clamp", "at": [100, 50], "pushes": "+x"}, "at", "not_touching"),
    ({"kind": "side_clamp", "at": [0, 50], "pushes": "+x", "height": 19}, "height", "above_the_stock"),
    ({"kind": "tab", "at": [150, 90], "width": 6, "height": 2}, "at", "not_touching"),
]


def faults(*holders: dict[str, Any]) -> list[tuple[str, str]]:
    response = CLIENT.post("/v1/margin", json=SET_UP | {"holders": list(holders)})
    assert response.status_code == 422
    return [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]


@pytest.mark.parametrize(("holder", "member", "code"), AWAY, ids=[f"{case[0]['kind']} {case[2]}" for case in AWAY])
def test_a_holder_outside_or_above_the_stock_is_refused_with_its_place(holder, member, code):
    assert faults(STOP, holder) == [(f"/holders/1/{member}", code)]


def test_all_that_cannot_be_is_told_at_once():
    assert faults(*(case[0] for case in AWAY)) == [
        (f"/holders/{index}/{member}", code) for index, (_, member, code) in enumerate(AWAY)
    ]


def test_the_height_of_a_tip_above_the_stock_is_told_in_the_callers_units():
    inch = SET_UP | {
        "units": "inch",
        "stock": {"material": "mdf", "size": [12, 8, 0.75]},
        "bed": {"material": "mdf", "thickness": 1},
        "holders": [{"kind": "side_clamp", "at": [0, 2], "pushes": "+x", "height": 0.8}],
        "loads": [{"at": [6, 4, 0], "force": [1, 0, 0]}],
    }
    (fault,) = CLIENT.post("/v1/margin", json=inch).get_json()["errors"]
    assert "0.8 in" in fault["detail"]
    assert "0.75 in" in fault["detail"]


@pytest.mark.parametrize(
    ("readings", "code"),
    [([400], "too_few"), ([400, -3, 420], "range"), ([400, 10], "scatter")],
    ids=["one", "negative", "wild"],
)
@pytest.mark.parametrize("kind", ["film_tape", "foam_tape", "tape_and_ca", "screw", "polymer_nail"])
def test_a_pull_test_that_proves_nothing_is_refused(kind, readings, code):
    tape = kind not in ("screw", "polymer_nail")
    place = {"area": [[20, 20], [280, 160]]} if tape else {"at": [20, 20]}
    test = {"direction": "shear", "readings": readings} | ({"area": 2500} if tape else {})
    assert faults({"kind": kind, "pull_test": [test]} | place) == [("/holders/0/pull_test/0/readings", code)]
