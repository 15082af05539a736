"""Repeat parts over HTTP: places, offsets that a reader reads back, tolerances met or not, and what is refused."""

import copy
import json

import pytest

from stillstock.app import create_app
from stillstock.engine.program.read import read_program

CLIENT = create_app().test_client()
OFFSETS = {"machine": [10, 20, -80], "z": "stock_top"}
BOARDS = {
    "units": "metric",
    "part": {"size": [400, 260, 36], "tolerance": 0.5, "thickness_tolerance": 0.3},
    "table": {"size": [1300, 1250], "reach": [[-10, -10], [1280, 1240]]},
    "pattern": {"first": [50, 50], "pitch": 50},
    "locate": {"kind": "stops", "diameter": 20, "error": 0.1},
    "gap": 60,
    "overrun": 8,
    "offsets": OFFSETS,
}
FLIP = {
    "units": "metric",
    "part": {"size": [520, 380, 45]},
    "table": {"size": [1200, 900]},
    "locate": {"kind": "flip_dowels", "axis": "x", "axis_at": 150, "inset": 15, "diameter": 10, "second": 8},
    "offsets": {"machine": [100, 50, -70]},
}


def changed(document, pointer, value):
    copied = copy.deepcopy(document)
    *path, last = pointer.strip("/").split("/")
    place = copied
    for name in path:
        place = place[int(name) if isinstance(place, list) else name]
    place[int(last) if isinstance(place, list) else last] = value
    return copied


def answer(document):
    response = CLIENT.post("/v1/positions", json=document)
    assert response.status_code == 200, response.text
    return response.get_json()


def refusal(document):
    response = CLIENT.post("/v1/positions", json=document)
    assert response.status_code in (400, 422), response.text
    return response.status_code, [(item["pointer"], item["code"]) for item in response.get_json()["errors"]]


def read_zeros(text, words, first):
    """Return where each work offset's zero lies, as the project's reader has it, from the first of them on. [m]"""
    moves = "\n".join(f"{word} G1 X0 Y0 Z0 F100" for word in words)
    program = text.replace("M30\n", f"{moves}\nM30\n")
    reading = read_program(program, max_moves=1000, offsets={words[0]: first})
    assert [finding.code for finding in reading.findings if finding.code in ("unread_word", "words", "number")] == []
    return [tuple(float(x) for x in end) for end in reading.moves.end]


@pytest.mark.parametrize("units", ["metric", "inch"])
@pytest.mark.parametrize("document", [BOARDS, FLIP], ids=["stops", "flip"])
def test_offsets_are_read_back_by_the_reader(document, units):
    """Every G10 L2 line, read by the reader of programs, puts its zero where the answer says it lies."""
    stated = json.loads(json.dumps(document))
    if units == "inch":
        stated = {**changed(stated, "/offsets/machine", ["3.25 in", "1 1/2 in", "-4 in"]), "units": "inch"}
        stated["part"]["size"] = ["15.75 in", "10.25 in", "1.4 in"]
        stated["table"] = {"size": ["50 in", "48 in"]}
        for name in ("gap", "overrun"):
            stated.pop(name, None)
        stated.pop("pattern", None)
        if stated["locate"]["kind"] == "stops":
            stated["locate"] = {"kind": "stops", "diameter": "3/4 in"}
        else:
            stated["locate"] |= {"axis_at": "5 in", "inset": "5/8 in", "diameter": "3/8 in", "second": "1/4 in"}
    size = 1e-3 if units == "metric" else 0.0254
    places = [place for place in answer(stated)["places"] if place["loading"] == 1]
    offsets = [one for place in places for one in (place["front"], place["back"]) if one]
    assert len(offsets) >= 2
    text = CLIENT.post("/v1/positions?format=rs274", json=stated).text
    first = tuple(value * size for value in offsets[0]["machine"])
    zeros = read_zeros(text, [one["word"] for one in offsets], first)
    for one, zero in zip(offsets, zeros, strict=True):
        # The program has three decimals of a millimetre, or four of an inch.
        assert zero == pytest.approx([value * size for value in one["machine"]], abs=3e-6)


@pytest.mark.parametrize("offsets", [None, {}, {"count": 4, "z": "stock_top"}])
def test_without_the_machine_position_of_the_tables_zero_no_offset_is_overwritten(offsets):
    """G10 L2 takes a machine position: a place on the table in its stead would send the tool astray."""
    document = {name: value for name, value in BOARDS.items() if name != "offsets"}
    document |= {} if offsets is None else {"offsets": offsets}
    program = CLIENT.post("/v1/positions?format=rs274", json=document).text
    active = [line for line in program.splitlines() if not line.startswith("(")]
    assert active == ["G21 G90", "M30"]
    assert "(NOT SET: G10 L2 P1 X60.0 Y60.0 Z" in program
    assert "(Caution: /offsets/machine is not stated" in program
    assert answer(document)["cautions"][0].startswith("/offsets/machine is not stated")
    assert "DO NOT LOAD THEM" in CLIENT.post("/v1/positions?format=text", json=document).text
    stated = changed(BOARDS, "/offsets", OFFSETS)
    assert not any("/offsets/machine" in caution for caution in answer(stated)["cautions"])


def test_each_part_lies_on_the_table_within_reach_apart_from_the_others_and_on_the_pattern():
    """By hand: stops of 20 mm on inserts 50 + 50 n put the edges at 60 + 50 n; 460 and 320 round up to 500 and 350."""
    found = answer(BOARDS)
    assert (found["fits"]["count"], found["fits"]["step"]) == (6, [500.0, 350.0])
    corners = [tuple(place["corner"]) for place in found["places"]]
    assert corners == [(60 + 500 * i, 60 + 350 * j) for j in range(3) for i in range(2)]
    for place in found["places"]:
        x, y = place["corner"]
        (xa, ya), (xb, yb), (xc, yc) = place["locators"]
        assert ya == yb == y - 10
        assert xc == x - 10
        assert all(value % 50 == 0 for at in place["locators"] for value in at)
        assert x + 10 <= xa < xb <= x + 390
        assert y + 10 <= yc <= y + 250
        assert place["front"]["machine"] == pytest.approx([x + 10, y + 20, -80 + 36])


def test_without_a_pattern_as_many_fit_as_division_says():
    """From 20 to 1272 and to 1232, at 460 and 320 a part, the last gap not needed: 2 and 3."""
    free = changed(BOARDS, "/pattern", None)
    assert answer(free)["fits"]["count"] == 2 * 3
    wide = {**changed(free, "/gap", 20), "table": {"size": [1300, 1250]}}
    # From 20 to 1292 and to 1242: (1272 + 20) / 420 = 3.08 and (1222 + 20) / 280 = 4.4; turned 4.6 and 2.96.
    assert (answer(wide)["fits"]["count"], answer(wide)["fits"]["turned"]) == (3 * 4, 4 * 2)


def test_a_batch_takes_whole_tables_and_offsets_are_set_again():
    found = answer({**BOARDS, "count": 40, "offsets": {"count": 4}})
    assert (found["fills"], found["loadings"]) == (7, 2)
    assert [place["loading"] for place in found["places"]] == [1, 1, 1, 1, 2, 2]
    assert found["places"][4]["front"]["word"] == "G54"
    of_four = {**BOARDS, "offsets": {**OFFSETS, "count": 4}, "loading": 2}
    second = CLIENT.post("/v1/positions?format=rs274", json=of_four).text
    assert second.count("G10 L2") == 2


def test_the_tolerance_is_met_always_usually_or_not():
    found = answer(BOARDS)
    rss, worst = found["re_seat"]["rss"], found["re_seat"]["worst"]
    assert 0.1 < rss < worst
    low_flat = changed(BOARDS, "/part/thickness_tolerance", 0)
    for asked, word in ((worst * 1.001, "always"), ((rss + worst) / 2.0, "usually"), (rss * 0.999, "no")):
        said = answer({**low_flat, "tolerance": asked})
        assert said["re_seat"]["meets"] == word
        assert said["summary"].isascii()
        assert len(said["summary"]) <= 120


def test_blanks_of_different_size_matter_to_a_middle_and_not_to_a_located_edge():
    edges, middle = (answer({**BOARDS, "refer": refer})["re_seat"] for refer in ("locators", "centre"))
    assert len(middle["terms"]) == len(edges["terms"]) + 2
    # Root of the sum of squares: 0.25 along x and along y come on top of what the stops do.
    at_same = [term for term in middle["terms"] if term["what"].startswith("size")]
    assert [term["amount"] for term in at_same] == [0.25, 0.25]
    assert middle["worst"] > edges["worst"]


def test_turned_over_the_part_lies_beside_its_place_and_goes_on_no_other_way():
    """By hand: about y = 150 of 380 the front edge goes to 2 x 150 - 380 = -80 of where it was."""
    found = answer(FLIP)
    place = found["places"][0]
    assert [(way["over"], way["on_dowels"]) for way in found["ways"]] == [(False, [1, 2]), (True, [1, 2])]
    front, back = place["front"]["machine"], place["back"]["machine"]
    assert [b - f for f, b in zip(front, back, strict=True)] == pytest.approx([0.0, -80.0, 0.0])
    # Both seats are off, each by itself: root two and twice.
    seat = found["re_seat"]
    assert seat["sides"]["rss"] == pytest.approx(2**0.5 * seat["rss"], rel=1e-4)
    assert seat["sides"]["worst"] == pytest.approx(2 * seat["worst"], rel=1e-4)


def test_the_play_of_dowels_is_that_of_their_fit():
    """ANSI B4.2, table 2 (from memory): H7/g6 at 10 mm has 0.005 to 0.029 mm, at 8 mm likewise (one range of sizes)."""
    fits = answer(changed(FLIP, "/locate/fit", "H7/g6"))["fit"]
    assert [one["play"] for one in fits] == [[0.005, 0.029], [0.005, 0.029]]
    assert {one["grade"] for one in fits} == {"from memory"}
    assert CLIENT.get("/v1/sources").text.count(fits[0]["source"]) >= 1


@pytest.mark.parametrize(
    ("document", "pointer", "value", "status", "fault"),
    [
        (BOARDS, "/part/size/0", 1400, 422, ("/part/size/0", "does_not_fit")),
        (BOARDS, "/part/size/1", "5 ft", 422, ("/part/size/1", "does_not_fit")),
        (BOARDS, "/count", 0, 400, ("/count", "range")),
        (BOARDS, "/tolerance", -0.1, 400, ("/tolerance", "range")),
        (BOARDS, "/tolerance", "-0.1 mm", 422, ("/tolerance", "range")),
        (BOARDS, "/part/tolerance", -0.5, 400, ("/part/tolerance", "range")),
        (BOARDS, "/part/tolerance", 80, 200, None),
        (BOARDS, "/gap", 10, 422, ("/gap", "too_close")),
        (BOARDS, "/pattern", {"first": [1000, 50], "pitch": 2000}, 422, ("/part/size/0", "does_not_fit")),
        (BOARDS, "/pattern/pitch", 300, 422, ("/pattern/pitch", "too_coarse")),
        (BOARDS, "/loading", 2, 422, ("/loading", "range")),
        (FLIP, "/locate/fit", "H7/q6", 422, ("/locate/fit", "fit")),
        (FLIP, "/locate/fit", "snug", 422, ("/locate/fit", "fit")),
        (FLIP, "/locate/fit", "H7/p6", 422, ("/locate/fit", "press_fit")),
        (FLIP, "/locate/second", 10, 422, ("/locate/second", "alike")),
        (FLIP, "/locate/inset", 3, 422, ("/locate/inset", "outside")),
        (FLIP, "/locate/axis_at", 379, 422, ("/locate/inset", "outside")),
        (FLIP, "/locate/diameter", 40, 422, ("/locate/inset", "outside")),
        (FLIP, "/offsets/count", 1, 422, ("/offsets", "range")),
        (FLIP, "/locate/kind", "glue", 400, ("/locate/kind", "choice")),
    ],
)
def test_what_cannot_be_is_refused_by_name(document, pointer, value, status, fault):
    stated = changed(document, pointer, value)
    if status == 200:
        answer(stated)
        return
    got, faults = refusal(stated)
    assert (got, faults[0]) == (status, fault)


def test_a_fit_in_the_wrong_case_is_corrected():
    response = CLIENT.post("/v1/positions", json=changed(FLIP, "/locate/fit", "h7/G6"))
    assert response.get_json()["errors"][0]["corrected"] == "H7/g6"


def test_too_many_places_are_too_much_work():
    dust = {
        "units": "metric",
        "part": {"size": [10, 10, 5]},
        "table": {"size": [5000, 5000]},
        "locate": {"kind": "lines"},
        "gap": 0,
    }
    response = CLIENT.post("/v1/positions", json=dust)
    assert (response.status_code, response.get_json()["type"]) == (422, "/problems/too-much-work")
    assert answer({**dust, "count": 900})["fits"]["count"] == 250_000


def test_same_request_same_bytes():
    assert CLIENT.post("/v1/positions", json=FLIP).data == CLIENT.post("/v1/positions", json=FLIP).data


def test_a_long_summary_keeps_its_point_and_is_shortened_by_whole_words():
    document = {
        "units": "metric",
        "part": {"size": [21.123, 22.456, 10], "tolerance": 0.3},
        "table": {"size": [1300, 1250]},
        "locate": {"kind": "lines", "error": 0.1234},
        "gap": 3,
        "count": 10,
        "tolerance": 0.2512,
    }
    summary = CLIENT.post("/v1/positions", json=document).get_json()["summary"]
    assert len(summary) <= 120
    assert "; asked 0.2512 mm: met usually, not at worst; come back within" in summary
    assert summary.endswith((" mm...", " at..."))
