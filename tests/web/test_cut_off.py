"""Pieces that the job cuts off and that nobody stated: the margin of the whole stock says nothing of them."""

from typing import Any

import pytest

from stillstock.app import create_app

pytestmark = pytest.mark.usefixtures("no_remedies")

CLIENT = create_app().test_client()
SHEET: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "mdf", "size": [400, 300, 18], "origin": [0, 0, -18]},
    "bed": {"material": "mdf", "thickness": 18, "top": -18},
    "machine": {"park": [0, 0, 40]},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up"}},
    "holders": [
        {"kind": "strap_clamp", "at": [x, y], "torque": 1.2, "angle": angle}
        for x, angle in ((10, 0), (390, 180))
        for y in (60, 240)
    ],
}
CUT = {"kind": "profile", "tool": 1, "depth": 5, "feed": 2000, "speed": 18000, "name": "outline"}
TAPE = {"kind": "film_tape", "area": [[70, 70], [330, 230]]}
PART = {"name": "plate", "outline": [[60, 60], [340, 60], [340, 240], [60, 240]], "held_by": []}


def program(*depths: float, gap: float = 0.0) -> str:
    """Return passes round a plate of 280 x 180 mm at some depths, the last mm of each left out."""
    rounds = "".join(f"G0 Z5\nX57 Y57\nG1 Z{-depth} F600\nX343 F2000\nY243\nX57\nY{57 + gap}\n" for depth in depths)
    return f"G21 G90\nT1 M6\nS18000 M3\n{rounds}G0 Z10\nM30\n"


def round_cut(level: float) -> dict[str, Any]:
    return CUT | {"path": [[x, y, level] for x, y in ((57, 57), (343, 57), (343, 243), (57, 243), (57, 57))]}


def asked(**changes: Any) -> tuple[str, list[tuple[str, int | None]]]:
    answer = CLIENT.post("/v1/margin", json=SHEET | changes).get_json()
    assert "verdict" in answer, answer
    found = [one for one in answer["warnings"] if one["code"] == "piece_not_stated"]
    assert all(one["doubt"] for one in found)
    return answer["verdict"], [(one["detail"], one["line"]) for one in found]


def test_a_plate_that_a_program_cuts_out_and_nobody_stated_is_never_safe():
    """Line 31 is the last of the four rounds; the frame is what the clamps hold."""
    text = program(5, 10, 15, 18.3)
    verdict, found = asked(program={"text": text})
    assert verdict == "unknown"
    assert found == [("a piece comes free here that no part states: say in parts what holds it", 31)]
    assert text.split("\n")[30] == "Y57.0"


def test_what_stays_whole_or_is_stated_is_not_told():
    assert asked(program={"text": program(5, 10, 15)})[1] == []
    assert asked(program={"text": program(5, 10, 15, 18.3, gap=12.0)})[1] == []  # a bridge of 6 mm is left
    stated = [PART | {"held_by": [{"kind": "tab", "at": [60, 150], "width": 8, "height": 3, "kerf": 6}]}]
    assert asked(program={"text": program(18.3)}, parts=stated)[1] == []


def test_waste_round_the_plate_that_the_tape_holds_is_not_told_but_the_plate_beside_it_is():
    screws = [{"kind": "screw", "at": [x, y]} for x in (80, 320) for y in (80, 220)]
    assert asked(program={"text": program(18.3)}, holders=screws)[1] == []
    slug = round_cut(-18)
    assert asked(cuts=[slug], holders=[TAPE])[1] == []
    both = [
        TAPE,
        {"kind": "film_tape", "area": [[5, 5], [395, 45]]},
        {"kind": "film_tape", "area": [[5, 255], [395, 295]]},
    ]
    (told,) = asked(cuts=[slug], holders=both)[1]
    assert told[0] == "a piece comes free by outline that no part states: say in parts what holds it"


def test_described_cuts_that_go_all_round_or_across_are_told_by_name():
    for level, told in ((-18.0, 1), (-17.5, 0)):
        _, found = asked(cuts=[round_cut(level)])
        assert len(found) == told
    assert asked(cuts=[round_cut(-18)])[1][0][0].startswith("a piece comes free by outline that no part states")
    across = CUT | {"path": [[-5, 100, -18], [405, 100, -18]]}
    (held,) = asked(cuts=[across])[1]
    assert held[0].endswith(
        "with holders of its own on it, judged as one with the rest: ask for it as a set-up of its own"
    )


def test_many_pieces_are_told_together_with_the_first():
    corners = ((0, 100), (40, 100), (40, 140), (0, 140), (0, 100))
    cuts = [
        CUT | {"name": f"hole {k}", "path": [[left + x, y, -18] for x, y in corners]}
        for k, left in enumerate((60, 160, 260))
    ]
    (found,) = asked(cuts=cuts)[1]
    assert found[0] == "3 pieces come free, the first by hole 0, that no part states: say in parts what holds them"
