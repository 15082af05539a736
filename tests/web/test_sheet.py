"""The set-up sheet over HTTP: what it says is what the other operations answer, in the shop's units."""

import copy
from datetime import date

import pytest
from tests.writers.sheets import PLAIN

from stillstock.answers.sheet_consumables import months_later
from stillstock.answers.sheet_words import shortened
from stillstock.app import create_app
from stillstock.schemas.set_up import load_set_up
from stillstock.tables.load import load_tables
from stillstock.writers.text import markup

CLIENT = create_app().test_client()
SHEET = CLIENT.post("/v1/sheet", json=PLAIN).get_json()


def with_sheet(**members):
    return {**PLAIN, "sheet": {**PLAIN["sheet"], **members}}


def test_margin_and_heights_are_those_of_the_other_operations():
    margin = CLIENT.post("/v1/margin", json=PLAIN).get_json()
    heights = CLIENT.post("/v1/retract-height", json=PLAIN).get_json()
    assert SHEET["summary"] == margin["summary"]
    assert f"{margin['margin']['typical']:.1f} typical, {margin['margin']['pessimistic']:.1f} with" in SHEET["hold"][0]
    assert (margin["verdict"], heights["verdict"], SHEET["verdict"]) == ("holds", "clear", "holds")
    assert f"Z{heights['clearance']:.1f}".rstrip("0").rstrip(".") in SHEET["heights"]["Clearance"]
    at = " ".join(f"{axis}{value:g}" for axis, value in zip("XYZ", margin["worst"]["at"], strict=True))
    assert at in SHEET["hold"][1]


def test_the_graver_of_both_verdicts_counts_and_is_told():
    low = copy.deepcopy(PLAIN)
    low["cuts"][0]["path"] = [[-30, 30, -2], [250, 30, -2]]  # straight through two clamps
    response = CLIENT.post("/v1/sheet", json=low)
    heights = CLIENT.post("/v1/retract-height", json=low).get_json()
    assert heights["verdict"] == "meets"
    assert response.headers["Stillstock-Verdict"] == response.get_json()["verdict"] == "lets_go"
    shouted = CLIENT.post("/v1/sheet?format=html", json=low).text
    assert "DOES NOT HOLD, TOOL MEETS SOMETHING" in shouted  # it cuts away what two clamps press on, too


def test_holders_that_are_set_alike_share_a_row_with_their_numbers_torque_and_share():
    margin = CLIENT.post("/v1/margin", json=PLAIN).get_json()
    rows = SHEET["holders"]["rows"]
    assert [row[0] for row in rows] == ["1-2", "3-4"]
    assert "torque 1 N m" in rows[0][3]
    assert "torque 0.8 N m" in rows[1][3]
    shares = {one["holder"]: one["share"] for one in margin["holders"]}
    assert rows[0][5] == f"{100 * (shares[0] + shares[1]):.0f} %"


def test_every_holder_of_a_row_can_be_placed():
    """Four at the crossings of two lines by two; five that are not, each by its number; more than fit, below."""
    document = copy.deepcopy(PLAIN)
    for holder in document["holders"]:
        holder["torque"] = "1 N m"
    rows = CLIENT.post("/v1/sheet", json=document).get_json()["holders"]["rows"]
    assert [row[2] for row in rows] == ["X-30/X250 Y30/Y140"]
    document["holders"].append({"kind": "strap_clamp", "at": [100, 160], "torque": "1 N m", "angle": 270})
    told = CLIENT.post("/v1/sheet", json=document).get_json()
    each = "1: X-30 Y30; 2: X250 Y30; 3: X-30 Y140; 4: X250 Y140; 5: X100 Y160"
    assert (told["holders"]["rows"][0][2], told["places"]) == (each, [])
    document["holders"] += [{"kind": "polymer_nail", "at": [-30 + 17 * n, 165 - n]} for n in range(12)]
    told = CLIENT.post("/v1/sheet", json=document).get_json()
    assert told["holders"]["rows"][1][2] == "under Places of holders"
    assert told["places"][0].startswith("polymer nail 6-17: 6: X-30 Y165; 7: X-13 Y164; ")
    assert told["places"][0].endswith("; 17: X157 Y154")
    for form in ("html", "json"):
        assert "17: X157 Y154" in CLIENT.post(f"/v1/sheet?format={form}", json=document).text


def test_all_that_forbids_the_start_is_listed():
    low = copy.deepcopy(PLAIN)
    low["cuts"][0]["path"] = [[-30, 30, -2], [250, 30, -2], [250, 140, -2], [-30, 140, -2]]
    heights = CLIENT.post("/v1/retract-height", json=low).get_json()
    assert " more)" in heights["summary"]
    told = CLIENT.post("/v1/sheet", json=low).get_json()
    met = {one["what"].partition(";")[0] for one in heights["meetings"]}
    assert len(met) >= 3
    assert [one for one in met if not any(one in line for line in told["clear_up"])] == []
    page = CLIENT.post("/v1/sheet?format=html", json=low).text
    assert [line for line in told["clear_up"] if markup(line) not in page] == []
    assert SHEET["clear_up"] == []


@pytest.mark.parametrize(("handle", "fits"), [("star_knob", False), ("lever_handle", False), ("hex_key", True)])
def test_a_torque_wrench_is_asked_for_only_where_one_fits(handle, fits):
    document = copy.deepcopy(PLAIN)
    for holder in document["holders"]:
        holder["handle"] = handle
    steps = CLIENT.post("/v1/sheet", json=document).get_json()["steps"]
    said = " ".join(next(group for group in steps if group["heading"] == "strap clamp 1-4")["lines"])
    assert ("torque wrench" in said, "hand is the gauge" in said) == (fits, not fits)


def test_an_inch_shop_gets_inches():
    """4 N m = 35.4 lbf in; 28 mm = 1.102 in (NIST SP 811, appendix B.8, from memory)."""
    inch = copy.deepcopy(PLAIN)
    inch["units"] = "inch"
    inch["stock"] |= {"size": ["300 mm", "200 mm", "18 mm"], "thickness": ["17.4 mm", "17.8 mm"]}
    inch["stock"]["origin"] = ["-40 mm", "-30 mm", "-18 mm"]
    inch["bed"]["thickness"] = "18 mm"
    inch["machine"]["park"] = [0, 0, "60 mm"]
    inch["tools"]["1"] |= {"diameter": "6 mm", "stickout": "28 mm", "collet": {"diameter": "32 mm", "length": "40 mm"}}
    for holder in inch["holders"]:
        holder["at"] = [f"{value} mm" for value in holder["at"]]
    inch["cuts"][0] |= {"width": "3 mm", "depth": "2 mm", "feed": "1200 mm/min"}
    inch["cuts"][0]["path"] = [[f"{value} mm" for value in place] for place in inch["cuts"][0]["path"]]
    told = CLIENT.post("/v1/sheet", json=inch).get_json()
    assert told["head"]["Units"] == "inch"
    assert "torque 8.85 lbf in" in told["holders"]["rows"][0][3]
    assert told["tools"]["rows"][0][2] == "1.102 in"
    assert told["hold"][0] == SHEET["hold"][0]


def test_zero_is_told_from_the_corner_of_the_stock():
    assert SHEET["heights"]["X0 Y0"] == "40 right of and 30 behind the front left corner of the stock"
    assert SHEET["heights"]["Z0"] == "top of the stock"


def test_steps_place_before_they_press_and_end_with_a_push_by_hand():
    document = copy.deepcopy(PLAIN)
    document["holders"].append({"kind": "stop", "at": [-40, 70], "faces": "+x"})
    headings = [group["heading"] for group in CLIENT.post("/v1/sheet", json=document).get_json()["steps"]]
    assert headings == ["Table and stock", "stop 5", "strap clamp 1-4", "Zero and tool", "Before the start"]


def test_cautions_begin_with_local_rules_and_trained_people():
    assert SHEET["cautions"][0].startswith("Local rules")
    assert "trained people come first" in SHEET["cautions"][0]


@pytest.mark.parametrize(
    ("stated", "row"),
    [
        # Opened glue: 1 month, then 6 (table, common practice); unopened 9 and 12 (12 is read). The sooner counts.
        ({"opened": "2026-11-01"}, ["2026-12-01", "2027-05-01", "in date"]),
        ({"opened": "2026-09-30"}, ["2026-10-30", "2027-03-30", "test first"]),
        ({"opened": "2026-08-31", "made": "2025-06-01"}, ["2026-03-01", "2026-06-01", "REPLACE"]),
        ({"made": "2026-02-28"}, ["2026-11-28", "2027-02-28", "in date"]),
    ],
)
def test_consumables_keep_as_long_as_the_table_says(stated, row):
    told = CLIENT.post("/v1/sheet", json=with_sheet(consumables=[{"kind": "cyanoacrylate", **stated}])).get_json()
    assert told["consumables"]["rows"][0][3:] == row


def test_what_holders_use_up_is_left_to_be_filled_in():
    document = {**with_sheet(consumables=[]), "holders": [{"kind": "tape_and_ca", "area": [[-20, -10], [240, 150]]}]}
    rows = CLIENT.post("/v1/sheet", json=document).get_json()["consumables"]["rows"]
    assert [row[0] for row in rows] == ["cyanoacrylate", "masking tape"]
    assert set(rows[0][1]) == {"_"}


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [("2026-08-31", 6, "2027-02-28"), ("2028-01-31", 1, "2028-02-29"), ("2026-12-15", 1, "2027-01-15")],
)
def test_months_end_where_the_calendar_ends_them(day, months, later):
    assert months_later(date.fromisoformat(day), months).isoformat() == later


def test_shortened_takes_the_first_of_each_before_the_second_of_any_and_counts_the_rest():
    groups = [("a", ("one", "two", "three")), ("b", ("four", "x" * 30))]
    kept, out = shortened(groups, lines=5, width=10)
    assert kept == (("a", ("one", "two")), ("b", ("four",)))
    assert out == 2


@pytest.mark.parametrize(
    ("members", "status", "pointer", "code"),
    [
        ({"paper": "a3"}, 400, "/sheet/paper", "choice"),
        ({"pieces": 0}, 400, "/sheet/pieces", "range"),
        ({"date": "25.11.2026"}, 422, "/sheet/date", "day"),
        ({"date": "2026-02-30"}, 422, "/sheet/date", "day"),
        ({"date": "0001-01-01"}, 422, "/sheet/date", "range"),
        ({"date": "tomorrow, or later"}, 400, "/sheet/date", "length"),
        ({"consumables": [{"kind": "honey"}]}, 400, "/sheet/consumables/0/kind", "choice"),
        (
            {"consumables": [{"kind": "film_tape", "opened": "2026-11-26"}]},
            422,
            "/sheet/consumables/0/opened",
            "order",
        ),
        ({"notes": ["a\nb"]}, 400, "/sheet/notes/0", "character"),
        ({"oven": 3}, 400, "/sheet/oven", "unknown_field"),
    ],
)
def test_what_cannot_be_is_refused_by_name(members, status, pointer, code):
    response = CLIENT.post("/v1/sheet", json=with_sheet(**members))
    fault = response.get_json()["errors"][0]
    assert (response.status_code, fault["pointer"], fault["code"]) == (status, pointer, code)


def test_what_cannot_be_judged_gets_no_sheet():
    nothing = {name: value for name, value in PLAIN.items() if name != "cuts"}
    assert CLIENT.post("/v1/sheet", json=nothing).get_json()["type"] == "/problems/nothing-to-judge"
    assert CLIENT.post("/v1/sheet?format=docx", json=PLAIN).status_code == 400


def test_the_sheet_changes_no_number():
    plain = load_set_up({name: value for name, value in PLAIN.items() if name != "sheet"}, load_tables())
    assert plain.set_up.holders == load_set_up(PLAIN, load_tables()).set_up.holders
    without = CLIENT.post("/v1/margin", json={name: value for name, value in PLAIN.items() if name != "sheet"})
    assert without.get_json()["margin"] == CLIENT.post("/v1/margin", json=PLAIN).get_json()["margin"]
