"""A shop that states no torque: the recommendation chooses one that the anchor bears, and says it."""

import copy
from typing import Any

import pytest
from tests.answers.recommendation.test_laws import INCH, QUESTION, asked

from stillstock.app import create_app

pytestmark = pytest.mark.usefixtures("no_remedies")

CLIENT = create_app().test_client()


def with_clamps(question: dict[str, Any], **stated: Any) -> dict[str, Any]:
    found = copy.deepcopy(question)
    found["shop"]["holders"] = [{"kind": "strap_clamp", "count": 4, **stated}]
    return found


@pytest.mark.parametrize("question", [QUESTION, INCH], ids=["metric", "inch"])
def test_a_torque_is_chosen_that_holds_and_that_the_anchor_bears(question):
    """At the 4 N m of a hand every bolt would tear its slot; what is chosen holds at the margin endpoint as well."""
    first, *_ = asked(with_clamps(question))["ranked"]
    torques = {holder["torque"] for holder in first["set_up"]["holders"]}
    assert len(torques) == 1
    answer = CLIENT.post("/v1/margin", json=first["set_up"]).get_json()
    assert answer["verdict"] == "holds"
    assert all(check["ok"] for check in answer["checks"])
    anchors = [check["ratio"] for check in answer["checks"] if check["name"] == "anchor"]
    assert all(0.97 < ratio <= 1.0 for ratio in anchors)  # the greatest that it bears, to two decimals


def test_a_torque_that_is_stated_stays():
    first, *_ = asked(with_clamps(QUESTION, torque=1))["ranked"]
    assert {holder["torque"] for holder in first["set_up"]["holders"]} == {1}


def test_where_the_hand_is_borne_it_is_what_the_hand_gives():
    """The table's 4 N m of a star knob; a through bolt has no lip to tear, and arm and toe are made for more."""
    stout = {"anchor": "through_bolt", "bolt": "M10", "arm": "steel", "arm_height": 20, "toe": [40, 40]}
    first, *_ = asked(with_clamps(QUESTION, **stout))["ranked"]
    assert {holder["torque"] for holder in first["set_up"]["holders"]} == {4.0}


def test_where_none_would_do_the_reason_names_the_torque():
    hard = with_clamps(QUESTION)
    hard["loads"] = [{"name": "tug", "at": [150, 100, -3], "force": [4000, 0, 2000]}]
    (out,) = asked(hard)["ruled_out"]
    assert out["reason"]["code"] == "margin"
    assert "with clamps at 1.3" in out["reason"]["detail"]
    assert "N m" in out["reason"]["detail"]
