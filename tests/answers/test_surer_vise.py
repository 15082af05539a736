"""A vise with plain jaws: what seats the stock is proposed and proved, and its force is told as stated."""

from functools import cache
from typing import Any

import pytest
from tests.answers.test_remedies import applied, asked

VISE = {"kind": "vise", "at": [40, 80], "faces": "-y", "force": "3000 N"}


def block(**stated: Any) -> dict[str, Any]:
    """Return an ordinary block of aluminium in a vise, pulled along its jaws and up."""
    return {
        "units": "metric",
        "stock": {"material": "aluminium 6061-T6", "size": [80, 80, 30]},
        "bed": {"material": "steel", "thickness": 30},
        "holders": [VISE | stated],
        "loads": [{"name": "slot", "at": [60, 30, 0], "force": [40, 10, 20]}],
    }


@cache
def plain() -> dict[str, Any]:
    answer: dict[str, Any] = asked(block())
    return answer


@pytest.mark.parametrize(("kind", "value"), [("seated", True), ("jaw", "serrated")])
def test_plain_jaws_that_let_go_upward_are_told_what_would_hold_and_it_does(kind, value):
    """Two roads: the proof of the search, and the changed document sent again, within 1 %."""
    assert plain()["margin"]["typical"] < 1.0
    (remedy,) = [one for one in plain()["remedies"] if one["kind"] == kind]
    assert remedy["changes"] == [{"op": "add", "path": f"/holders/0/{kind}", "value": value}]
    again = asked(applied(block(), remedy["changes"]))
    assert again["margin"]["typical"] == pytest.approx(remedy["margin"], rel=0.01)
    assert again["margin"]["typical"] >= 2.0
    assert (again["verdict"] == "holds") == remedy["holds"]


def test_a_vise_that_holds_down_already_is_not_told_to():
    weak = block(seated=True, force="30 N")
    answer = asked(weak)
    assert answer["verdict"] != "holds"
    assert {"seated", "jaw"}.isdisjoint(one["kind"] for one in answer["remedies"])


def test_the_force_of_a_vise_is_told_whole_among_the_assumptions():
    """Stated as one value it gets the default spread of a fifth either way."""
    forces = [one for one in plain()["assumptions"] if one["unit"] == "N" and "vise" in one["what"]]
    assert [[one[end] for end in ("low", "typical", "high")] for one in forces] == [[2400, 3000, 3600]]
    assert forces[0]["source"] == "caller"
