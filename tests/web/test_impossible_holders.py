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
    ({"kind": "tab", "at": [300, 90], "width": 6, "height": 19}, "height", "above_the_stock"),
    ({"kind": "skin", "thickness": 19}, "thickness", "above_the_stock"),
    ({"kind": "skin", "thickness": 1, "area": [[200, 50], [305, 150]]}, "area", "beside_the_stock"),
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


SCREW, CLAMP = {"kind": "screw", "at": [20, 20]}, {"kind": "strap_clamp", "at": [20, 20], "torque": 1}
TAPE = {"kind": "film_tape", "area": [[20, 20], [160, 160]]}
ONE_PLACE: list[tuple[list[dict[str, Any]], list[str]]] = [
    ([TAPE, TAPE], ["/holders/1"]),
    ([TAPE, {"kind": "foam_tape", "area": [[159, 20], [280, 160]]}], ["/holders/1"]),
    ([TAPE, {"kind": "foam_tape", "area": [[160, 20], [280, 160]]}], []),
    ([{"kind": "vacuum"}, {"kind": "vacuum", "area": [[20, 20], [160, 160]]}], ["/holders/1"]),
    (
        [SCREW, {"kind": "polymer_nail", "at": [20.4, 20]}, SCREW | {"at": [60, 20]}, SCREW],
        ["/holders/1", "/holders/3"],
    ),
    ([{"kind": "fixture_plate", "at": [20, 20]}] * 2, ["/holders/1"]),
    ([CLAMP, CLAMP | {"angle": 45}], ["/holders/1"]),
    ([CLAMP, SCREW], []),
    ([{"kind": "skin", "thickness": 1}, TAPE], []),
]


@pytest.mark.parametrize(("holders", "pointers"), ONE_PLACE, ids=range(len(ONE_PLACE)))
def test_two_of_a_sort_in_one_place_are_refused_and_not_counted_twice(holders, pointers):
    """The same tape stated twice held twice as much."""
    response = CLIENT.post("/v1/margin", json=SET_UP | {"holders": holders})
    assert response.status_code == (422 if pointers else 200), response.get_json()
    found = response.get_json().get("errors", [])
    assert [(fault["pointer"], fault["code"]) for fault in found] == [(pointer, "overlap") for pointer in pointers]
    assert all(fault["seen"] == "/holders/0" for fault in found)


def test_shared_ground_is_told_in_the_callers_units():
    """1 mm by 140 mm is 140 mm2."""
    response = CLIENT.post("/v1/margin", json=SET_UP | {"holders": ONE_PLACE[1][0]})
    assert "140 mm2 with the tape of holder 1" in response.get_json()["errors"][0]["detail"]


def test_two_tabs_of_a_part_in_one_place_are_refused():
    tab = {"kind": "tab", "at": [150, 50], "angle": 0, "width": 6, "height": 3}
    part = {"name": "rail", "outline": [[100, 50], [200, 150]], "held_by": [tab, tab | {"at": [150, 150]}, tab]}
    ring = [[97, 47], [203, 47], [203, 153], [97, 153], [97, 47]]
    cut = {"kind": "profile", "tool": 1, "depth": 18, "feed": 1000, "speed": 18000, "path": ring, "level": -18}
    document = SET_UP | {
        "tools": {"1": {"kind": "end_mill", "diameter": 6}},
        "cuts": [cut],
        "holders": [SCREW],
        "parts": [part],
    }
    (fault,) = CLIENT.post("/v1/margin", json=document).get_json()["errors"]
    assert (fault["pointer"], fault["code"], fault["seen"]) == ("/parts/0/held_by/2", "overlap", "/held_by/0")


def test_tape_that_lies_in_part_beside_the_stock_is_counted_and_told():
    """Half of it reaches beyond x = 300: the margin is that of the half."""
    half, whole = ({"kind": "film_tape", "area": [[240, 20], [x, 160]]} for x in (300, 360))
    answers = [CLIENT.post("/v1/margin", json=SET_UP | {"holders": [each]}).get_json() for each in (half, whole)]
    codes = [[one["code"] for one in answer["warnings"]] for answer in answers]
    assert answers[0]["margin"] == answers[1]["margin"]
    assert "partly_beside" not in codes[0]
    (told,) = [one for one in answers[1]["warnings"] if one["code"] == "partly_beside"]
    assert (told["pointer"], told["doubt"]) == ("/holders/0/area", False)
    assert "50%" in told["detail"]


@pytest.mark.parametrize(
    ("readings", "code"),
    [([400], "too_few"), ([400, -3, 420], "range"), ([400, 10], "scatter"), ([0, 0], "nothing_held")],
    ids=["one", "negative", "wild", "nought"],
)
@pytest.mark.parametrize("kind", ["film_tape", "foam_tape", "tape_and_ca", "screw", "polymer_nail"])
def test_a_pull_test_that_proves_nothing_is_refused(kind, readings, code):
    tape = kind not in ("screw", "polymer_nail")
    place = {"area": [[20, 20], [280, 160]]} if tape else {"at": [20, 20]}
    test = {"direction": "shear", "readings": readings} | ({"area": 2500} if tape else {})
    assert faults({"kind": kind, "pull_test": [test]} | place) == [("/holders/0/pull_test/0/readings", code)]
