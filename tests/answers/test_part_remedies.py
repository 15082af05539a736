"""What helps a part that comes free: each remedy, put into the document and sent again, gives what it promised."""

from functools import cache
from typing import Any

import pytest
from tests.asking import asked, patched

from stillstock.answers import remedies

LAPS = "".join(f"G1 Z{z} F400\nX203 F2400\nY143\nX97\nY57\n" for z in (-3.0, -6.0, -9.1))
LIGHT = (
    "G21 G90 G94\nT1 M6\nS18000 M3\nG0 X97 Y57 Z5\n"
    + "".join(f"G1 Z{-0.7 * k:.1f} F300\nX203 F1500\nY143\nX97\nY57\n" for k in range(1, 13))
    + "G1 Z-9.1 F300\nX203 F1500\nY143\nX97\nY57\nG0 Z5\nM30\n"
)
OVER = "Z-8\nX{1} F2400\nG1 Z-9.1 F400\nX{2} F2400\nG1 Z-8\nX{3} F2400\nG1 Z-9.1 F400\n"
#: The last lap leaves four tabs of 4 mm and the cutter's 6 mm, 1 mm high, where the tabs are said to be.
TABBED = (
    LAPS[: LAPS.index("G1 Z-9.1")]
    + "G1 Z-9.1 F400\nX115 F2400\nG1 "
    + OVER.format(0, 125, 175, 185)
    + "X203 F2400\nY143\nX185\nG1 "
    + OVER.format(0, 175, 125, 115)
    + "X97 F2400\nY57\n"
)
BOARD: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 9], "thickness": [8.9, 9.0]},
    "bed": {"material": "mdf", "thickness": 18},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up"}},
    "holders": [
        {"kind": "strap_clamp", "at": [8, 50], "torque": 1.5, "anchor": "through_bolt"},
        {"kind": "strap_clamp", "at": [292, 150], "angle": 180, "torque": 1.5, "anchor": "through_bolt"},
    ],
    "program": {"text": f"G21 G90 G94\nT1 M6\nS18000 M3\nG0 X97 Y57 Z5\n{LAPS}G0 Z5\nM30\n"},
}
OUTLINE = [[100, 60], [200, 60], [200, 140], [100, 140]]
TABS = [{"kind": "tab", "at": [x, y], "width": 4, "height": 1.0, "kerf": 6} for x in (120, 180) for y in (57, 143)]
CASES: dict[str, dict[str, Any]] = {
    "tabs": BOARD
    | {
        "parts": [{"name": "bracket {0}", "outline": OUTLINE, "held_by": TABS}],
        "program": {"text": f"G21 G90 G94\nT1 M6\nS18000 M3\nG0 X97 Y57 Z5\n{TABBED}G0 Z5\nM30\n"},
    },
    "skin": BOARD
    | {"parts": [{"name": "bracket", "outline": OUTLINE, "held_by": [{"kind": "skin", "thickness": 0.4}]}]},
    "suction": BOARD
    | {
        "parts": [{"name": "bracket", "outline": OUTLINE}],
        "holders": [{"kind": "vacuum", "pressure": "12 kPa"}],
        "program": {"text": LIGHT},
    },
}


@cache
def answer(name: str) -> dict[str, Any]:
    return asked(CASES[name])


@pytest.mark.parametrize(("name", "kind"), [("tabs", "bridge"), ("skin", "bridge"), ("suction", "vacuum")])
def test_what_helps_a_part_sent_again_gives_what_it_promised(name, kind):
    """Two roads: the search's proof, and the changed document through the whole service; 1 %, and the pessimist's 2."""
    before = answer(name)
    (part,) = before["parts"]
    assert part["margin"]["typical"] == before["margin"]["typical"]
    assert before["verdict"] in ("doubtful", "lets_go")
    (remedy,) = [one for one in before["remedies"] if one["kind"] == kind]
    again = asked(patched(CASES[name], remedy["changes"]))
    assert again["margin"]["typical"] == pytest.approx(remedy["margin"], rel=0.01)
    assert again["margin"]["pessimistic"] == pytest.approx(remedy["pessimistic"], rel=0.02)
    assert (again["verdict"] == "holds") == remedy["holds"]
    assert remedy["holds"]


def test_a_little_less_of_the_tabs_is_too_little(monkeypatch):
    """The border, judged anew: strength grows with the square of both sizes, so 5 % less of both is 14 % less hold."""
    (remedy,) = [one for one in answer("tabs")["remedies"] if one["kind"] == "bridge"]
    less = [change | {"value": 0.95 * change["value"]} for change in remedy["changes"]]
    monkeypatch.setattr(remedies, "WORK", 0.0)
    assert asked(patched(CASES["tabs"], less))["margin"]["pessimistic"] < 1.0
    assert "{" not in remedy["detail"]
    assert "bracket (0)" in remedy["detail"]


def test_tightening_clamps_beside_a_free_part_is_not_proposed():
    """No clamp stands in the part: nothing that it presses holds the part once it is free."""
    kinds = {one["kind"] for one in answer("tabs")["remedies"]}
    assert "bridge" in kinds
    assert not kinds & {"tighten", "one_more_holder"}


def test_a_part_is_judged_where_the_tool_stands_at_its_corners_too():
    """Every move of the last lap ends at a corner, off it by a radius times the square root of 2, beyond the radius."""
    (part,) = answer("skin")["parts"]
    assert part["line"] == 19
    assert part["worst"]["line"] == 19
