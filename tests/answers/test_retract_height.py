"""The retract answer as a whole: trade cases, bad input, and what rules which height."""

import copy
from typing import Any

import pytest

from stillstock.answers.retract_height import RetractAnswer, answer_retract_height
from stillstock.answers.retract_words import Speaker
from stillstock.errors import ImpossibleSetUp, InvalidDocument
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

HEAD = "G21 G90 G17 G94\nT1 M6\nS18000 M3\n"
PROGRAM = (
    HEAD + "G0 X60 Y60\nG0 Z8\nG1 Z-3 F500\nG1 X240 F2000\nG0 Z8\nG0 X60 Y140\nG1 Z-3 F500\nG1 X240 F2000\nG0 Z60\n"
)
SCREWS = [{"kind": "screw", "at": [x, y], "proud": -3} for x in (10, 290) for y in (10, 190)]
DOCUMENT: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18], "origin": [0, 0, -18]},
    "bed": {"material": "mdf", "thickness": 18, "top": -18},
    "machine": {"park": [0, 0, 60]},
    "tools": {
        "1": {"kind": "end_mill", "diameter": 6, "stickout": 40, "collet": {"diameter": 32, "length": 20}},
    },
    "holders": SCREWS,
    "program": {"text": PROGRAM},
}


def asked(**changes: Any) -> RetractAnswer:
    document = {**copy.deepcopy(DOCUMENT), **changes}
    document = {name: value for name, value in document.items() if value is not None}
    tables = load_tables()
    stated = load_set_up(document, tables)
    return answer_retract_height(stated.set_up, tables, limits=Limits(), fingerprint="", system=stated.system)


def codes(answer: RetractAnswer) -> list[str]:
    return [notice.code for notice in answer.warnings]


def clamp(**more: Any) -> dict[str, Any]:
    return {"kind": "strap_clamp", "at": [10, 100], **more}


def test_a_clean_job_is_clear():
    answer = asked()
    assert answer.verdict == "clear"
    assert answer.meetings == ()
    assert answer.summary == "clear: clearance 5 mm, retract 5 mm"


def test_screws_sunk_below_the_surface_need_nothing():
    """Common practice, no source: heads sunk below the face need no height; those that stand do."""
    proud = [{**screw, "proud": 4} for screw in SCREWS]
    bare = asked(holders=[{"kind": "film_tape", "area": [[20, 20], [280, 180]]}])
    assert asked().clearance == pytest.approx(bare.clearance) == pytest.approx(0.005)
    assert asked(holders=proud).clearance == pytest.approx(0.009)


def test_tall_levered_clamps_need_more_than_the_low_shop_made_one():
    """Common practice, no source: a lever handle stands some 45 mm above its arm, a nut on a wooden arm hardly any."""
    tall = asked(holders=[clamp(handle="lever_handle")], program=None)
    low = asked(holders=[clamp(handle="hex_key", arm="plywood", arm_height=9, bolt_end=6)], program=None)
    # Heights above the stock: 12 + 45 and 9 + 6, and 10 above what a hand has set.
    assert tall.clearance == pytest.approx(0.067)
    assert low.clearance == pytest.approx(0.025)
    assert "the lever handle of strap clamp 1" in tall.advice[0]


def test_a_vise_on_a_plate_does_not_fit_a_small_machine():
    """Common practice, no source: a vise eats the travel. Worked by hand: 155 from bed to nose.

    80 of vise and plate, 30 of stock, 5 above it; the tool hangs 60 down; 0.75 is kept: 155 - 175.75 = -20.75.
    """
    answer = asked(
        stock={"material": "aluminium", "size": [80, 60, 30], "origin": [0, 0, -30]},
        bed={"material": "aluminium", "thickness": 20, "top": -110},
        machine={"park": [0, 0, 60], "nose_to_bed": 155, "z_travel": 100},
        holders=[{"kind": "vise", "at": [40, 60], "faces": "-y", "grip": 12}],
        program=None,
    )
    assert answer.verdict == "meets"
    assert answer.budget is not None
    assert answer.budget.left == pytest.approx(-0.02075, abs=1e-9)
    assert [(found.meeting.against, found.meeting.part) for found in answer.meetings] == [("limit", "z_end")]
    assert any("stick out" in change or "retract no higher" in change for change in answer.changes)


def test_a_rapid_across_a_clamp_is_met_and_named():
    """Worked by hand: the arm is 12 mm high and 30 wide about Y100; a rapid at Z8 crosses it 4 mm too low."""
    program = PROGRAM.replace("G0 X60 Y140", "G0 X12 Y140\nG0 Y60\nG0 X60 Y140")
    answer = asked(holders=[clamp(handle="hex_key")], program={"text": program})
    assert answer.verdict == "meets"
    arm = next(
        found for found in answer.meetings if found.meeting.part == "arm" and found.meeting.tool_part == "cutter"
    )
    assert (arm.line, arm.meeting.rapid, arm.meeting.holder) == (10, True, 0)
    assert arm.meeting.rise == pytest.approx(0.004)
    assert arm.what == "rapid: cutter meets the arm of strap clamp 1, 4 mm deep"


def test_the_stickout_that_clears_is_told():
    """Worked by hand. The toe stands at (10, 100), the bolt behind it; knob of 50 mm up to 42, nut of 32 mm.

    Bolt at (-30, 100): the cut up to (16, 80) stays 50 mm from it, and 16 + 25 is less. Bolt at (-10, 100): 33 mm, and
    the nut is at 23 - 3 = 20 there, 22 too low.
    """
    tool = {**DOCUMENT["tools"]["1"], "stickout": 23}
    program = HEAD + "G0 X16 Y60\nG0 Z8\nG1 Z-3 F500\nG1 Y80\nG1 Y60\nG0 Z60\n"
    holders = [clamp(arm_width=20, toe_reach=40)]
    answer = asked(tools={"1": tool}, holders=holders, program={"text": program})
    nut = [found.meeting for found in answer.meetings if found.meeting.tool_part == "collet_nut"]
    assert nut == []
    nearer = asked(tools={"1": tool}, holders=[clamp(arm_width=20, toe_reach=20)], program={"text": program})
    (found,) = nearer.stickouts
    assert found.tool == 1
    assert found.now == pytest.approx(0.023)
    assert found.needed == pytest.approx(0.023 + 0.022)


def test_described_cuts_are_judged_like_a_program():
    """Worked by hand: a cut along X20 runs under the arm's edge: the cut is named, no line."""
    cut = {
        "name": "edge", "kind": "profile", "tool": 1, "depth": 3, "feed": 2000, "speed": 18000,
        "path": [[16, 20, -3], [16, 180, -3]],
    }  # fmt: skip
    answer = asked(program=None, cuts=[cut], holders=[clamp()])
    assert answer.verdict == "meets"
    assert {(found.cut, found.line) for found in answer.meetings} == {("edge", 0)}
    beside = {**cut, "path": [[150, 20, -3], [150, 180, -3]]}
    assert asked(program=None, cuts=[beside], holders=[clamp()]).verdict == "clear"


def test_the_shops_own_margins_rule():
    answer = asked(clearances={"over": 8, "over_hand_set": 3}, holders=[clamp(handle="hex_key"), *SCREWS], program=None)
    assert answer.clearance == pytest.approx(0.012 + 0.010 + 0.003)
    own = [one for one in answer.assumptions if one.source == "caller"]
    assert sorted(one.typical for one in own) == [pytest.approx(0.003), pytest.approx(0.008)]


def test_no_holders_leave_the_answer_open():
    answer = asked(holders=[])
    assert (answer.verdict, "no_holders" in codes(answer)) == ("unknown", True)


def test_a_program_that_never_retracts_is_told():
    text = HEAD + "G0 X60 Y60 Z8\nG1 Z-3 F500\nG1 X240 F2000\nG1 Y140\n"
    answer = asked(program={"text": text})
    assert "never_retracts" in codes(answer)
    assert answer.verdict == "doubtful"


def test_a_program_in_inches_is_told_from_its_extent():
    """25.4 mm to the inch: the same figures after G20 are as much too large."""
    answer = asked(program={"text": PROGRAM.replace("G21", "G20")})
    assert "unit_mismatch" in codes(answer)
    assert answer.verdict in ("unknown", "meets")


def test_a_holders_height_in_the_wrong_unit_is_refused():
    """12 in an inch document are 305 mm of arm: more than any clamp has."""
    inch = {
        "units": "inch",
        "stock": {"material": "birch plywood", "size": [12, 8, 0.75]},
        "bed": {"material": "mdf", "thickness": 0.75},
        "machine": {},
        "tools": {},
        "holders": [{"kind": "strap_clamp", "at": [0.4, 4], "arm_height": 12}],
        "program": None,
    }
    with pytest.raises((ImpossibleSetUp, InvalidDocument)) as refusal:
        asked(**inch)
    assert [fault.pointer for fault in refusal.value.faults] == ["/holders/0/arm_height"]


def test_holders_inside_each_other_leave_the_answer_open():
    answer = asked(holders=[clamp(), clamp(at=[12, 104])])
    assert "holders_overlap" in codes(answer)
    assert answer.verdict == "unknown"


def test_a_stickout_that_is_not_stated_is_assumed_and_named():
    """Three diameters, the least that shops use; common practice, no source."""
    tool = {"kind": "end_mill", "diameter": 6}
    answer = asked(tools={"1": tool})
    (notice,) = [one for one in answer.warnings if one.code == "stickout_assumed"]
    assert notice.pointer == "/tools/1/stickout"
    assert any("stickout" in one.what for one in answer.assumptions)


def test_a_machine_without_a_park_position_keeps_the_way_in_open():
    answer = asked(machine={})
    assert answer.verdict == "doubtful"
    assert codes(answer) == ["park_unknown"]


def test_a_rapid_into_stock_is_met():
    """Worked by hand: down to Z-4 at the rapid rate where nothing was cut: 4 mm deep."""
    answer = asked(program={"text": PROGRAM.replace("G1 Z-3 F500", "G0 Z-4\nG1 Z-5 F500", 1)})
    (found,) = [one for one in answer.meetings if one.meeting.against == "stock"]
    assert found.line == 6
    assert found.meeting.depth == pytest.approx(0.004, abs=1e-6)


def test_the_nut_comes_down_on_the_stock_where_the_cut_is_deeper_than_the_stickout():
    """Worked by hand: 17 mm deep in one plunge with 15 mm sticking out: 2 mm too deep."""
    tool = {**DOCUMENT["tools"]["1"], "stickout": 15}
    program = HEAD + "G0 X60 Y60\nG0 Z8\nG1 Z-17 F500\nG0 Z60\n"
    answer = asked(tools={"1": tool}, program={"text": program})
    (found,) = answer.meetings
    assert (found.meeting.tool_part, found.line) == ("collet_nut", 6)
    assert found.meeting.depth == pytest.approx(0.002, abs=1e-6)
    assert answer.stickouts[0].needed == pytest.approx(0.017, abs=1e-6)


SLOT = HEAD + "G0 X60 Y60\nG0 Z8\nG1 Z-8 F500\nG1 X240 F2000\nG1 Z-16 F500\nG1 X60 F2000\nG0 Z60\n"


def upper(answer: RetractAnswer) -> list[tuple[int, str]]:
    return [(one.line, one.meeting.tool_part) for one in answer.meetings if one.meeting.against == "stock"]


def test_a_shank_that_does_not_follow_into_the_slot_is_told_with_the_edge_that_would_clear():
    """Worked by hand: 10 mm of edge below a shank of 8; at 16 deep it is 6 mm deep in both walls, 1 mm beyond each."""
    tool = {**DOCUMENT["tools"]["1"], "cutting_length": 10, "shank": 8}
    answer = asked(tools={"1": tool}, program={"text": SLOT})
    assert upper(answer) == [(8, "shank"), (9, "shank")]
    (needed,) = answer.stickouts
    assert (needed.tool, needed.measure) == (1, "cutting_length")
    assert [needed.now, needed.needed] == pytest.approx([0.010, 0.016], abs=1e-6)
    assert (
        answer.summary == "MEETS: line 8: shank meets the stock, 6 mm deep (and 1 more); clearance 5 mm, retract 5 mm"
    )


def test_a_nut_in_the_stock_of_a_tool_whose_stickout_nobody_stated_leaves_the_answer_in_doubt():
    """Worked by hand: 3 diameters of 4 mm are 12, common practice, no source; the slot is 16 deep."""
    answer = asked(tools={"1": {"kind": "end_mill", "diameter": 4}}, program={"text": SLOT})
    assert (answer.verdict, upper(answer)) == ("doubtful", [])
    (notice,) = [one for one in answer.warnings if one.code == "stickout_needed"]
    assert notice.detail.startswith("tool 1 has to stick out 16 mm")


def test_the_first_move_from_where_it_is_parked_is_told_with_what_it_meets():
    """Worked by hand: parked 8 mm up beside the arm of 12 mm, across to the first cut: 4 mm too low."""
    answer = asked(machine={"park": [20, 20, 8]}, holders=[clamp(handle="hex_key")], program={
        "text": PROGRAM.replace("G0 X60 Y60", "G0 X12 Y140\nG0 X60 Y60")})  # fmt: skip
    found = answer.meetings[0]
    assert (found.line, found.leg, found.meeting.part) == (4, "way_in", "arm")
    assert found.what == "way in: cutter meets the arm of strap clamp 1, 4 mm deep"
    assert answer.summary.startswith("MEETS: line 4: way in: cutter meets the arm of strap clamp 1, 4 mm deep")


def test_the_way_back_after_the_last_line_is_judged_up_first_then_across():
    """Worked by hand: the program ends 8 mm up; parked at Z10 it goes back at 10, 2 mm into the arm; at Z60 over it."""
    holders, text = [clamp(handle="hex_key")], PROGRAM.replace("G0 Z60\n", "G0 Z8\n")
    low = asked(machine={"park": [-60, 80, 10]}, holders=holders, program={
        "text": text.replace("G0 X60 Y60", "G0 Z60\nG0 X60 Y60")})  # fmt: skip
    arm = [one for one in low.meetings if one.leg == "way_back" and one.meeting.tool_part == "cutter"]
    assert arm[0].what.startswith("way back: cutter meets the arm of strap clamp 1, 2 mm deep")
    assert arm[0].line == text.count("\n") + 1
    back = [rapid for rapid in low.rapids if rapid.leg == "way_back"]
    assert [rapid.programmed for rapid in back] == [pytest.approx(0.010)]
    high = asked(machine={"park": [-60, 80, 60]}, holders=holders, program={"text": text})
    assert [one for one in high.meetings if one.leg == "way_back"] == []
    assert "ends_low" not in codes(high)
    assert "ends_low" in codes(asked(machine={}, holders=holders, program={"text": text}))


def test_the_way_to_a_tool_change_and_back_is_judged():
    """Worked by hand: over to the change place at Z10 it passes the arm of 12 mm, 2 mm too low."""
    machine = {"park": [0, 0, 60], "tool_change": [-60, 120, 10]}
    tools = {**DOCUMENT["tools"], "2": {**DOCUMENT["tools"]["1"], "diameter": 4}}
    text = PROGRAM.replace("G0 X60 Y140", "T2 M6\nS18000 M3\nG0 X60 Y140").replace("G0 X60 Y60", "G0 X60 Y60 Z60")
    answer = asked(machine=machine, tools=tools, holders=[clamp(handle="hex_key")], program={"text": text})
    met = [one for one in answer.meetings if one.leg == "tool_change" and one.meeting.tool_part == "cutter"]
    assert {(one.line, one.meeting.tool, one.meeting.part) for one in met} >= {(9, 1, "arm")}
    assert met[0].what.startswith("tool change: cutter meets the arm of strap clamp 1, 2 mm deep")


@pytest.mark.parametrize(("x", "meets"), [(60, False), (12, True)])
def test_probing_is_judged_and_ends_where_it_touches(x, meets):
    """Worked by hand: down on the stock beside the clamp it is clear; on the arm it meets the arm, 12 mm up."""
    probe = {"kind": "probe", "diameter": 2, "stickout": 40, "collet": {"diameter": 20, "length": 20}}
    text = ("G21 G90 G17 G94\nT9 M6\nG0 Z60\nG0 X{x} Y100\nG38.2 Z-30 F100\nG10 L20 P1 Z0\nG0 Z60\n" + PROGRAM).format(
        x=x
    )
    tools = {**DOCUMENT["tools"], "9": probe}
    answer = asked(tools=tools, holders=[clamp(handle="hex_key")], program={"text": text})
    met = [one for one in answer.meetings if one.leg == "probing"]
    assert bool(met) == meets
    assert "unread_word" not in codes(answer)
    if meets:
        assert met[0].what == "probing: the tool touches the arm of strap clamp 1 before what it is to probe"
        assert met[0].line == 5
    else:
        assert answer.verdict == "clear"


def test_a_spindle_that_turns_with_a_probe_in_it_is_told():
    probe = {"kind": "probe", "diameter": 2, "stickout": 40, "collet": {"diameter": 20, "length": 20}}
    text = "G21 G90 G17 G94\nT9 M6\nS500 M3\nG0 Z61\n" + PROGRAM
    answer = asked(tools={**DOCUMENT["tools"], "9": probe}, program={"text": text})
    assert answer.verdict == "unknown"
    assert [one.line for one in answer.warnings if one.code == "probe_turns"] == [4]
    still = asked(tools={**DOCUMENT["tools"], "9": probe}, program={"text": text.replace(" M3", "", 1)})
    assert "probe_turns" not in codes(still)


def test_the_touch_puck_stands_in_the_way_too():
    """Worked by hand: a puck 20 mm high at (150, 100): the way between the cuts at Z8 is 12 mm too low."""
    machine = {"park": [0, 0, 60], "puck": {"at": [60, 100, 20], "diameter": 20}}
    program = {"text": PROGRAM.replace("G0 X60 Y140", "G0 X60\nG0 Y140")}
    answer = asked(machine=machine, program=program)
    (found,) = [one for one in answer.meetings if one.meeting.tool_part == "cutter"]
    assert (found.meeting.against, found.line) == ("puck", 10)
    assert found.what == "rapid: cutter meets the touch puck, 12 mm deep"
    assert answer.clearance == pytest.approx(0.025)


@pytest.mark.parametrize(
    ("lines", "verdict"), [("G53 G0 Z0\nG53 G0 X0 Y0\n", "clear"), ("G28 G91 Z0\nG28 X0 Y0\n", "clear")]
)
def test_a_program_that_goes_home_in_the_machines_own_frame_is_judged_to_the_end(lines, verdict):
    text = PROGRAM.replace("G0 Z60\n", lines)
    home = {"zero": [-40, -30, 70], "reference": [-40, -30, 65]}
    answer = asked(machine={"park": [0, 0, 60], **home}, program={"text": text})
    assert answer.verdict == verdict
    assert "place_unknown" not in codes(answer)
    assert "place_unknown" in codes(asked(program={"text": text}))


@pytest.mark.parametrize("more", [0, 41, 12_345])
@pytest.mark.parametrize(
    "first",
    [
        "line 10: way back: collet nut meets the star knob of strap clamp 12, 12.5 mm deep",
        "no holder is stated: the heights are those over the stock alone, and what holds it may stand higher",
        "word " * 60,
        "x" * 300,
    ],
)
def test_a_summary_is_shortened_by_whole_clauses_or_words(first, more):
    """What must be known stands first; the limit of 120 characters is the contract's."""
    line = Speaker("metric", []).summary("meets", clearance=0.0524, retract=0.024, first=first, more=more)
    assert len(line) <= 120
    assert "..." not in line
    assert line.endswith("clearance 52.4 mm")
    said = line.removeprefix("MEETS: ").partition(f" (and {more} more)" if more else ";")[0]
    assert first.startswith(said)
    assert " " not in first or first[len(said) :][:1] in ("", " ", ",", ";", ":")
