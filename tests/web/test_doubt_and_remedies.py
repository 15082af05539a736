"""What a margin answer says beyond the verdict, as a caller sees it: doubt, remedies, and the summary's last words."""

import copy
from typing import Any

import jsonschema_rs
import pytest
from tests.contract.documents import schema_of

from stillstock.answers.margin_words import with_help
from stillstock.app import create_app

CLIENT = create_app().test_client()
JUDGE = jsonschema_rs.Draft202012Validator(schema_of("Margin"))
SET_UP: dict[str, Any] = {
    "units": "inch",
    "stock": {"material": "mdf", "size": [9, 5.5, 0.75]},
    "bed": {"material": "mdf", "thickness": 1},
    "holders": [{"kind": "strap_clamp", "at": [0.6, 2], "torque": "3 in lbf", "anchor": "through_bolt"}],
    "loads": [{"at": [3, 2, 0], "force": [6, -3, 1]}],
    "doubt": {"samples": 32},
}


def asked(document: dict[str, Any]) -> dict[str, Any]:
    response = CLIENT.post("/v1/margin", json=document)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    assert [str(error) for error in JUDGE.iter_errors(answer)] == []
    return answer


def test_doubt_is_answered_where_it_is_asked_for():
    answer = asked(SET_UP)
    doubt = answer["doubt"]
    assert doubt["samples"] == 64
    margins = [quantile["margin"] for quantile in doubt["quantiles"]]
    assert margins == sorted(margins)
    assert 0.0 <= doubt["lets_go"] <= doubt["short"] <= 1.0
    totals = [one["total"] for one in doubt["inputs"]]
    assert totals == sorted(totals, reverse=True)
    assert {one["name"] for one in doubt["inputs"]} == {"friction under the stock", "clamping force"}
    assert asked(SET_UP) == answer
    assert asked({name: value for name, value in SET_UP.items() if name != "doubt"})["doubt"] is None


@pytest.mark.parametrize(("samples", "status"), [(33, 400), (2048, 400), (0, 400), ("32", 400), (512, 422)])
def test_samples_are_a_power_of_two_within_the_limit(samples, status):
    response = CLIENT.post("/v1/margin", json=SET_UP | {"doubt": {"samples": samples}})
    assert response.status_code == status
    assert [fault["pointer"] for fault in response.get_json()["errors"]] == ["/doubt/samples"]


def test_remedies_speak_in_the_units_of_the_document():
    answer = asked(SET_UP)
    assert answer["verdict"] != "holds"
    first = answer["remedies"][0]
    assert first["kind"] == "tighten"
    assert "lbf" in first["detail"]
    (change,) = first["changes"]
    again = copy.deepcopy(SET_UP)
    again["holders"][0]["torque"] = change["value"]
    assert asked(again)["margin"]["typical"] == pytest.approx(first["margin"], rel=0.01)


def test_the_summary_ends_with_the_first_remedy_where_there_is_room():
    line = "DOES NOT HOLD: lets go at 0.5 times the worst load, line 12"
    assert with_help(line, "climb cutting") == f"{line}; would hold with climb cutting"
    assert with_help(line, "") == line
    assert with_help("x" * 90, "one more strap clamp") == "x" * 90
