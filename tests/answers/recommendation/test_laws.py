"""What must hold of every recommendation, whatever the numbers."""

import copy
from typing import Any

import pytest

from stillstock.answers.placing.kinds import PLACING
from stillstock.app import create_app
from stillstock.settings import Limits, Settings

pytestmark = pytest.mark.usefixtures("no_remedies")

CLIENT = create_app().test_client()

#: Forces that are known from elsewhere, as a measured cut would give them: a margin of them costs little.
QUESTION: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
    "loads": [
        {"name": "corner", "at": [240, 150, -3], "force": [70, 30, 25]},
        {"name": "middle", "at": [120, 90, -3], "force": [-60, 45, 10]},
    ],
    "batch": 4,
    "shop": {
        "holders": [
            {"kind": "strap_clamp", "count": 3, "torque": 0.6},
            {"kind": "stop", "count": 3},
            {"kind": "side_clamp", "count": 2, "force": 900, "stiff_sideways": True},
        ]
    },
}
INCH: dict[str, Any] = {
    **QUESTION,
    "units": "inch",
    "stock": {"material": "birch plywood", "size": [11.7, 7.9, "3/4 in"]},
    "bed": {"material": "mdf", "thickness": "3/4 in"},
    "loads": [{"at": [9.3, 5.7, -0.1], "force": [16, 7, 5]}],
    "shop": {
        "holders": [
            {"kind": "strap_clamp", "count": 3, "torque": "0.6 N m"},
            {"kind": "screw", "count": 9},
            {"kind": "foam_tape"},
        ],
        "tracks": [[[-0.6, -5], [-0.6, 15]], [[12.3, -5], [12.3, 15]]],
    },
}


SHEET: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "mdf", "size": [300, 200, 12], "origin": [0, 0, 0]},
    "bed": {"material": "mdf", "thickness": 18, "top": 0},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "stickout": 30}},
    "cuts": [
        {"name": "outline", "kind": "profile", "tool": 1, "depth": 4, "feed": 2000, "speed": 18000,
         "path": [[97, 57, 0], [203, 57, 0], [203, 143, 0], [97, 143, 0], [97, 57, 0]]}
    ],
    "parts": [{"name": "plate", "outline": [[100, 60], [200, 140]]}],
    "shop": {
        "holders": [
            {"kind": "vacuum", "pressure": 70},
            {"kind": "tab", "width": 10, "height": 5},
        ]
    },
}  # fmt: skip


def asked(document: dict[str, Any]) -> dict[str, Any]:
    response = CLIENT.post("/v1/recommendation", json=document)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    return answer


def key(one: dict[str, Any]) -> tuple[float, ...]:
    """Return what ranks a choice, by the contract: in full before doubtful, then the time per piece."""
    order = ["holds", "doubtful", "unknown"].index(one["verdict"])
    return order, one["effort"]["time_per_piece"]["typical"] if order == 0 else 0.0


@pytest.mark.parametrize("document", [QUESTION, INCH, SHEET], ids=["metric", "inch", "parts"])
def test_a_recommended_set_up_has_at_margin_just_what_was_stated(document):
    answer = asked(document)
    assert len(answer["ranked"]) >= 2
    for one in answer["ranked"]:
        margin = CLIENT.post("/v1/margin", json=one["set_up"]).get_json()
        assert margin["margin"] == one["margin"], one["method"]
        assert margin["verdict"] == one["verdict"]
        worst = max(margin["checks"], key=lambda check: check["ratio"] or 0.0, default=None)
        assert (one["worst_check"] or {}).get("ratio") == (worst or {}).get("ratio")
        heights = CLIENT.post("/v1/retract-height", json=one["set_up"]).get_json()
        assert (heights["clearance"], heights["retract"]) == (one["heights"]["clearance"], one["heights"]["retract"])


def test_what_holds_in_full_comes_before_what_is_quicker_and_doubtful():
    """Clamps at 2 N m may tear their slot: quicker than tape, yet only doubtful."""
    shop = {"holders": [{"kind": "strap_clamp", "count": 2, "torque": 2}, {"kind": "film_tape"}]}
    ranked = asked({**QUESTION, "shop": shop})["ranked"]
    assert [(one["method"], one["verdict"]) for one in ranked] == [("film_tape", "holds"), ("strap_clamp", "doubtful")]
    times = [one["effort"]["time_per_piece"]["typical"] for one in ranked]
    assert times[0] > times[1]
    assert ranked[1]["worst_check"]["ok"] is False


def test_the_same_question_gets_the_same_bytes():
    assert len({CLIENT.post("/v1/recommendation", json=QUESTION).data for _ in range(2)}) == 1


SCREWS: dict[str, Any] = {
    **QUESTION,
    "shop": {
        "holders": [{"kind": "screw", "count": 9, "pull_out": 60, "lateral": 60}, {"kind": "vacuum", "pressure": 8}]
    },
}


def fewer(question: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the question with one holder less of a kind, or with a kind gone, for each kind."""
    found = []
    for number, entry in enumerate(question["shop"]["holders"]):
        gone = copy.deepcopy(question)
        del gone["shop"]["holders"][number]
        found.append(gone)
        if "count" in entry:
            less = copy.deepcopy(question)
            less["shop"]["holders"][number]["count"] = entry["count"] - 1
            found.append(less)
    return found


@pytest.mark.parametrize("question", [QUESTION, SCREWS], ids=["clamps", "screws"])
def test_taking_a_holder_out_of_the_shop_never_brings_a_better_first_choice(question):
    """A shop that has more can do whatever one can that has less: what is tried of less is tried of more."""
    best = key(asked(question)["ranked"][0])
    for less in fewer(question):
        ranked = asked(less)["ranked"]
        assert not ranked or key(ranked[0]) >= best, less["shop"]


def test_a_bigger_batch_never_makes_the_quickest_change_rank_lower():
    """What is mounted once is shared out: the least loading and unloading gains on all others with each piece."""
    before = None
    for batch in (1, 4, 40):
        ranked = [one for one in asked({**QUESTION, "batch": batch})["ranked"] if one["verdict"] == "holds"]
        change = [sum(one["effort"][name]["typical"] for name in ("loading", "unloading")) for one in ranked]
        place = change.index(min(change))
        assert before is None or place <= before
        before = place
    assert before == 0


def test_marks_rule_out_what_leaves_holes_where_no_waste_is_stated():
    """Common practice, no source."""
    shop = {"holders": [{"kind": "screw"}, {"kind": "polymer_nail"}, {"kind": "vacuum", "pressure": 30}]}
    answer = asked({**QUESTION, "shop": shop, "matters": ["no_marks"]})
    assert [one["method"] for one in answer["ranked"]] == ["vacuum"]
    assert {one["reason"]["fact"] for one in answer["ruled_out"]} == {"screw_marks", "nail_marks"}


def test_kinds_without_a_way_of_their_own_are_placed_by_their_fields(monkeypatch):
    """Stops and side clamps say on which side they stand, tape on which area it lies; nothing else has to be told."""
    before = asked(QUESTION)
    for kind in ("stop", "side_clamp", "film_tape"):
        monkeypatch.delitem(PLACING, kind)
    assert asked(QUESTION) == before


def test_what_was_taken_of_places_is_said():
    codes = [one["code"] for one in asked(QUESTION)["warnings"]]
    assert codes == ["bolts_anywhere", "own_bolts_not_judged"]
    assert not any(one["doubt"] for one in asked(INCH)["warnings"])


def test_the_shops_own_times_and_cost_replace_the_tables():
    own = copy.deepcopy(QUESTION)
    own["shop"] = {"holders": [{"kind": "film_tape", "set_up_time": "90 s", "removal_time": 30, "cost": 7}]}
    own["shop"]["locating_time"] = "1 min"
    effort = asked(own)["ranked"][0]["effort"]
    assert effort["time_per_piece"] == {"low": 180.0, "typical": 180.0, "high": 180.0}
    area = (0.300 - 0.006) * (0.200 - 0.006)  # the whole face less an inset all round
    assert effort["cost_per_piece"]["typical"] == pytest.approx(7 * area, rel=1e-4)
    assert {ground["source"] for ground in effort["grounds"]} >= {"caller"}


def test_places_on_tracks_are_on_the_tracks():
    answer = asked(INCH)
    clamps = next(one for one in answer["ranked"] if one["method"] == "strap_clamp")["set_up"]["holders"]
    reach = 30 / 25.4  # of such an arm from bolt to toe, if the shop does not say
    for clamp in clamps:
        sign = {0.0: -1, 180.0: 1}[abs(clamp["angle"])]
        assert clamp["at"][0] + sign * reach in (pytest.approx(-0.6, abs=2e-3), pytest.approx(12.3, abs=2e-3))


def refused(**change: Any) -> tuple[int, str, str, str]:
    response = CLIENT.post("/v1/recommendation", json={**QUESTION, **change})
    fault = response.get_json()["errors"][0]
    return response.status_code, fault["pointer"], fault["code"], fault["detail"]


def test_an_empty_shop_is_told_so():
    status, pointer, code, detail = refused(shop={"holders": []})
    assert (status, pointer, code) == (422, "/shop/holders", "empty")
    assert "at least one kind" in detail


def test_a_batch_of_nought_is_told_so():
    assert refused(batch=0)[:3] == (400, "/batch", "range")


def test_a_stock_larger_than_the_table_is_told_so():
    shop = {**QUESTION["shop"], "table": [[0, 0], [250, 400]]}
    status, pointer, code, detail = refused(shop=shop)
    assert (status, pointer, code) == (422, "/stock/size", "larger_than_table")
    assert "300 mm by 200 mm" in detail
    assert "250 mm by 400 mm" in detail


def test_a_stock_whose_every_place_the_tool_takes_is_told_what_is_missing():
    tool = {"1": {"kind": "surfacing", "diameter": 30, "flutes": 2, "stickout": 30}}
    path = [[x, y] for i, y in enumerate(range(0, 201, 20)) for x in ((-10, 310) if i % 2 else (310, -10))]
    face = {"kind": "face", "tool": 1, "width": 20, "depth": 1, "feed": 2000, "speed": 12000, "path": path, "level": -1}
    shop = {"holders": [{"kind": "strap_clamp", "count": 6}, {"kind": "screw", "count": 20}]}
    answer = asked({**QUESTION, "loads": [], "tools": tool, "cuts": [face], "shop": shop})
    assert (answer["ranked"], answer["verdict"]) == ([], "lets_go")
    assert {one["reason"]["code"] for one in answer["ruled_out"]} == {"no_place"}
    assert any("stock beyond the cuts" in sentence for sentence in answer["missing"])
    assert any("thin double-sided tape" in sentence for sentence in answer["missing"])


def test_a_question_with_nothing_to_cut_is_refused():
    response = CLIENT.post("/v1/recommendation", json={**QUESTION, "loads": []})
    assert (response.status_code, response.get_json()["type"]) == (422, "/problems/nothing-to-judge")


def test_where_the_work_is_spent_the_ways_that_were_not_judged_are_named():
    """The first choice is the one that all the work finds; and where nothing was found yet, nothing is said."""
    tapes = {
        **QUESTION,
        "shop": {"holders": [{"kind": kind} for kind in ("foam_tape", "vacuum", "film_tape", "screw", "tape_and_ca")]},
    }
    answer = asked(tapes)
    assert all(one["reason"]["code"] != "work" for one in answer["ruled_out"])
    some, few = (create_app(Settings(limits=Limits(work=work))).test_client() for work in (400, 100))
    short = some.post("/v1/recommendation", json=tapes).get_json()
    assert short["ranked"][0]["method"] == answer["ranked"][0]["method"]
    left = [one["method"] for one in short["ruled_out"] if one["reason"]["code"] == "work"]
    assert left
    refused = few.post("/v1/recommendation", json={**tapes, "shop": {"holders": [{"kind": "screw"}]}})
    assert (refused.status_code, refused.get_json()["errors"][0]["limit"]) == (422, 100)
    assert set(left) <= {one["method"] for one in answer["ranked"]}
