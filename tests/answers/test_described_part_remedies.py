"""A part that described cuts free and work on: gentler cuts that hold it, each sent again through the whole service."""

from functools import cache
from typing import Any

import pytest
from tests.answers.test_part_remedies import BOARD, OUTLINE
from tests.asking import asked, patched

from stillstock.answers import remedies

ROUND = {
    "name": "round the bracket", "kind": "slot", "tool": 1, "depth": 3, "layer": 9, "feed": 2400, "speed": 18000,
    "level": -9.1, "path": [[97, 57], [203, 57], [203, 143], [97, 143], [97, 57]],
}  # fmt: skip
POCKET = {
    "name": "pocket", "kind": "pocket", "tool": 1, "depth": 3, "width": 5, "feed": 3000, "speed": 18000, "level": -4,
    "path": [[120, 80], [180, 80], [180, 120]],
}  # fmt: skip
#: Beside the part, and before it is free.
GROOVE = {
    "name": "groove", "kind": "slot", "tool": 1, "depth": 1, "feed": 1200, "speed": 18000, "level": -1,
    "path": [[40, 30], [260, 30]],
}  # fmt: skip
CLAMPS = [holder | {"torque": 2.5} for holder in BOARD["holders"]]
CLAMPS += [{**CLAMPS[0], "at": [8, 150]}, {**CLAMPS[1], "at": [292, 50]}]
TABS = [{"kind": "tab", "at": at, "width": 6, "height": 3.1, "kerf": 6} for at in ([150, 57], [120, 143], [190, 143])]
HELD: dict[str, dict[str, Any]] = {
    "skin": {"held_by": [{"kind": "skin", "thickness": 0.5}]},
    "tabs": {"held_by": TABS},
    "tape": {"held_by": []},
}
TAPE = {"kind": "foam_tape", "area": [[115, 75], [185, 125]]}


def document(name: str) -> dict[str, Any]:
    found = {key: value for key, value in BOARD.items() if key != "program"}
    holders = [*CLAMPS, TAPE] if name == "tape" else CLAMPS
    part = {"name": "bracket", "outline": OUTLINE, **HELD[name]}
    return found | {"holders": holders, "parts": [part], "cuts": [GROOVE, ROUND, POCKET]}


@cache
def answer(name: str) -> dict[str, Any]:
    return asked(document(name))


def remedy(name: str, kind: str) -> dict[str, Any]:
    found: list[dict[str, Any]] = [one for one in answer(name)["remedies"] if one["kind"] == kind]
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize(("name", "kind"), [("skin", "feed"), ("skin", "depth"), ("tabs", "depth"), ("tape", "depth")])
def test_gentler_cuts_that_hold_a_part_give_what_they_promise(name, kind):
    """Two roads: the search's proof, and the changed document through the whole service; 1 %, and the pessimist's 2."""
    before, helps = answer(name), remedy(name, kind)
    (part,) = before["parts"]
    assert part["margin"]["typical"] == before["margin"]["typical"]
    assert before["verdict"] in ("doubtful", "lets_go")
    again = asked(patched(document(name), helps["changes"]))
    assert again["margin"]["typical"] == pytest.approx(helps["margin"], rel=0.01)
    assert again["margin"]["pessimistic"] == pytest.approx(helps["pessimistic"], rel=0.02)
    assert (again["verdict"] == "holds") == helps["holds"]
    assert helps["margin"] >= 2.0
    assert helps["pessimistic"] >= 1.0


def test_only_the_cuts_that_the_free_part_does_not_bear_are_changed():
    """The groove lies beside the part and is made before: nothing of it is touched."""
    paths = [change["path"] for change in remedy("skin", "depth")["changes"]]
    assert paths
    assert not [path for path in paths if path.startswith("/cuts/0/")]
    assert {path.split("/")[2] for path in paths} == {"1", "2"}


def test_a_tenth_deeper_than_is_proposed_is_too_deep(monkeypatch):
    """The border, judged anew: forces grow with the depth, and the greatest depth leaves the pessimist 3 %."""
    changes = [
        change | {"value": 1.1 * change["value"]} if change["path"].endswith("depth") else change
        for change in remedy("skin", "depth")["changes"]
    ]
    monkeypatch.setattr(remedies, "WORK", 0.0)
    assert asked(patched(document("skin"), changes))["margin"]["pessimistic"] < 1.0
