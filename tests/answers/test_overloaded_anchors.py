"""Clamps that overload their anchors: no help is to tighten them more, and more clamps, each looser, mend all."""

import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from tests.asking import asked, patched

README = Path(__file__).parents[2] / "README.md"
#: At 2 N m and typical numbers a bolt pulls 2 / (0.2 * 6 mm) = 1.7 kN or more; a lip of the table yields at 1.5 kN.
TIGHT = [
    {"kind": "strap_clamp", "at": [15, 150], "torque": "2 N m"},
    {"kind": "strap_clamp", "at": [385, 150], "torque": "2 N m", "angle": 180},
]


@cache
def first_example() -> dict[str, Any]:
    """Return the set-up of the README's first curl line, as a reader would paste it."""
    found = re.search(r"/v1/margin\?format=text .*? -d '(\{.*?\})'\n", README.read_text("utf-8"), re.DOTALL)
    assert found is not None
    document: dict[str, Any] = json.loads(found[1])
    return document


@cache
def overloaded() -> dict[str, Any]:
    answer = asked(first_example() | {"holders": TIGHT})
    assert {check["name"] for check in answer["checks"] if not check["ok"]} >= {"anchor"}
    assert answer["margin"]["pessimistic"] < 1.0
    return answer


def test_the_first_example_of_the_readme_holds():
    assert asked(first_example())["verdict"] == "holds"


def test_no_remedy_tightens_clamps_whose_anchors_bear_no_more():
    """The hold falls short, so more preload would help it; the anchor, over its limit already, would only suffer."""
    remedies = overloaded()["remedies"]
    assert remedies
    torques = [change["value"] for one in remedies for change in one["changes"] if change["path"].endswith("torque")]
    assert all(torque < 2.0 for torque in torques)


def test_the_first_remedy_sent_again_holds():
    """Two roads: the search's proof, and the changed document through the whole service; 1 %, and the pessimist's 2."""
    first = overloaded()["remedies"][0]
    assert first["holds"]
    assert "add two more strap clamps" in first["detail"]
    again = asked(patched(first_example() | {"holders": TIGHT}, first["changes"]))
    assert again["verdict"] == "holds"
    assert again["margin"]["typical"] == pytest.approx(first["margin"], rel=0.01)
    assert again["margin"]["pessimistic"] == pytest.approx(first["pessimistic"], rel=0.02)
