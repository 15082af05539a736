"""POST /v1/margin as a caller sees it; what the numbers are is tested with the answers."""

import copy
import json
from typing import Any

import pytest
from tests.web.hostile import CORPUS, PATH, Hostile

from stillstock.app import create_app

CLIENT = create_app().test_client()
ROUTE = "/v1/margin"
SET_UP: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18], "origin": [0, 0, -18]},
    "bed": {"material": "mdf", "thickness": 18, "top": -18},
    "holders": [
        {"kind": "strap_clamp", "at": [10, 50], "bolt": "M6", "torque": 4},
        {"kind": "strap_clamp", "at": [290, 150], "bolt": "M6", "torque": 4},
    ],
    "loads": [{"at": [150, 90, 0], "force": [40, -10, 15]}],
}


def without(member: str) -> dict[str, Any]:
    document = copy.deepcopy(SET_UP)
    del document[member]
    return document


def test_an_answer_has_its_verdict_in_body_and_header_and_its_summary_as_text():
    response = CLIENT.post(ROUTE, json=SET_UP)
    answer = response.get_json()
    assert response.status_code == 200
    assert response.headers["Stillstock-Verdict"] == answer["verdict"]
    assert next(iter(answer)) == "summary"
    text = CLIENT.post(f"{ROUTE}?format=text", json=SET_UP)
    assert text.text == answer["summary"] + "\n"
    assert text.headers["Stillstock-Verdict"] == answer["verdict"]
    assert text.text.isascii()
    assert len(text.text) <= 121


def test_the_fingerprint_follows_the_content_and_not_the_order_of_members():
    turned = json.dumps(dict(reversed(SET_UP.items())), indent=2)
    prints = [
        CLIENT.post(ROUTE, data=data, content_type="application/json").get_json()["fingerprint"]
        for data in (json.dumps(SET_UP), turned, json.dumps(SET_UP | {"name": "other"}))
    ]
    assert prints[0] == prints[1] != prints[2]


def test_the_same_request_gets_the_same_bytes():
    assert len({CLIENT.post(ROUTE, json=SET_UP).data for _ in range(3)}) == 1


def test_more_load_lowers_the_margin_in_proportion():
    """The load factor of a load twice as great is half: it is the factor by which the load may grow."""
    doubled = SET_UP | {"loads": [{"at": [150, 90, 0], "force": [80, -20, 30]}]}
    one, two = (CLIENT.post(ROUTE, json=document).get_json()["margin"]["typical"] for document in (SET_UP, doubled))
    assert two == pytest.approx(one / 2, rel=1e-4)


def test_a_whole_face_on_tape_is_answered_with_every_check():
    """The check of peel once came out as a number that is none of JSON's."""
    taped = SET_UP | {"holders": [{"kind": "film_tape", "area": [[3, 3], [297, 197]]}]}
    response = CLIENT.post(ROUTE, json=taped)
    assert response.status_code == 200
    assert "peel" in [check["name"] for check in response.get_json()["checks"]]


@pytest.mark.parametrize(
    ("document", "status", "slug", "pointer"),
    [
        (without("stock"), 400, "invalid-document", "/stock"),
        (SET_UP | {"unit": "inch"}, 400, "invalid-document", "/unit"),
        (SET_UP | {"units": "furlong"}, 400, "invalid-document", "/units"),
        (without("loads"), 422, "nothing-to-judge", None),
    ],
)
def test_a_document_that_cannot_be_judged_is_refused_with_its_place(document, status, slug, pointer):
    response = CLIENT.post(ROUTE, json=document)
    problem = response.get_json()
    assert (response.status_code, problem["type"]) == (status, f"/problems/{slug}")
    assert pointer is None or pointer in [fault["pointer"] for fault in problem["errors"]]


@pytest.mark.parametrize("hostile", [h for h in CORPUS if h.path.startswith(PATH)], ids=lambda h: h.name)
def test_the_hostile_corpus_is_refused_here_too(hostile: Hostile):
    path = hostile.path.replace(PATH, ROUTE)
    response = CLIENT.open(path, method=hostile.method, data=hostile.body, headers=hostile.headers)
    assert (response.status_code, response.get_json()["type"]) == (hostile.status, f"/problems/{hostile.slug}")
