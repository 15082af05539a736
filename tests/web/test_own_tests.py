"""Numbers carry their doubt: the answer asks for the shop's own test, takes it, and spreads a single number."""

import copy
from typing import Any

import pytest

from stillstock.app import create_app

CLIENT = create_app().test_client()
SET_UP: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "mdf", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 30},
    "loads": [{"at": [150, 90, 0], "force": [1, -0.4, 0.2]}],
    "required": {"factor": 1, "tolerance": 2},
}
AREA = [[20, 20], [280, 160]]
WEDGES = {"kind": "side_clamp", "at": [0, 90], "pushes": "+x", "drive": "folding_wedges"}
STOP = {"kind": "stop", "at": [300, 90], "faces": "-x"}
PULLS = ["410 N", "455 N", "390 N", "430 N", "440 N"]


def asked(*holders: dict[str, Any], **changes: Any) -> dict[str, Any]:
    document = copy.deepcopy(SET_UP) | {"holders": list(holders)} | changes
    response = CLIENT.post("/v1/margin", json=document)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    return answer


def wanted(answer: dict[str, Any]) -> list[dict[str, Any]]:
    return [one for one in answer["warnings"] if one["code"] == "own_test_wanted"]


@pytest.mark.parametrize("stock", ["mdf", "beech"])
@pytest.mark.parametrize(
    "holders",
    [
        ({"kind": "film_tape", "area": AREA},),
        ({"kind": "foam_tape", "area": AREA},),
        ({"kind": "tape_and_ca", "area": AREA},),
        ({"kind": "polymer_nail", "at": [30, 30]}, {"kind": "polymer_nail", "at": [250, 150]}),
        (WEDGES, STOP),
    ],
    ids=lambda holders: holders[0]["kind"],
)
def test_where_the_tables_range_is_wide_the_answer_asks_for_the_shops_own_test(stock, holders):
    answer = asked(*holders, stock={"material": stock, "size": [300, 200, 18]})
    (notice,) = wanted(answer)
    assert "own pull test" in notice["detail"]
    assert "should replace" in notice["detail"]
    assert notice["pointer"] == "/holders/0"
    kind = holders[0]["kind"]
    assert f"/v1/holders/{kind}" in notice["detail"]
    page = CLIENT.get(f"/v1/holders/{kind}").get_json()
    assert page["sections"]["pull_test"]
    assert "pull_test" in [member["name"] for member in page["members"]]


def test_where_the_tables_range_is_narrow_it_does_not():
    holders = [
        {"kind": "strap_clamp", "at": [20, 90], "torque": "2 N m"},
        {"kind": "strap_clamp", "at": [280, 100], "torque": "2 N m"},
        {"kind": "dowel_pin", "at": [40, 150]},
    ]
    assert wanted(asked(*holders)) == []


def test_a_pull_test_silences_the_wish_and_stands_among_the_assumptions():
    tests = [
        {"direction": d, "readings": PULLS, "area": 2500, "date": "12 May", "surface": "raw MDF"}
        for d in ("shear", "lift")
    ]
    tape = {"kind": "film_tape", "area": AREA}
    answer = asked(tape | {"pull_test": tests})
    assert wanted(answer) == []
    notes = [one["note"] for one in answer["assumptions"] if one["what"] == "shear strength, film tape"]
    assert len(notes) == 1
    assert "pull test of 12 May on raw MDF, 5 readings" in notes[0]
    half = asked(tape | {"pull_test": tests[:1]})
    assert len(wanted(half)) == 1  # the lift still comes from the tables


SINGLE = [
    ("bed", {"material": "mdf", "thickness": 30, "friction": 0.4}, "friction between stock and bed", 0.4),
    ("tensile_strength", "90 kPa", "tensile strength, film tape", 90.0),
    ("shear_strength", "120 kPa", "shear strength, film tape", 120.0),
    ("preload", "900 N", "push of a strap clamp's toe", None),
    ("pressure", "40 kPa", "vacuum under the stock while cutting", 40.0),
]
HOLDER_OF: dict[str, dict[str, Any]] = {
    "tensile_strength": {"kind": "film_tape", "area": AREA},
    "shear_strength": {"kind": "film_tape", "area": AREA},
    "preload": {"kind": "strap_clamp", "at": [20, 90]},
    "pressure": {"kind": "vacuum"},
}


def with_value(name: str, value: Any) -> dict[str, Any]:
    if name == "bed":
        return asked({"kind": "strap_clamp", "at": [20, 90], "torque": 2}, bed=value)
    return asked(HOLDER_OF[name] | {name: value})


@pytest.mark.parametrize(("name", "value", "what", "typical"), SINGLE, ids=[case[0] for case in SINGLE])
def test_a_single_value_gets_a_default_spread_that_the_assumptions_name(name, value, what, typical):
    """20 % either way is common practice without a source; the answer is that of the band stated in full."""
    answer = with_value(name, value)
    (found,) = [one for one in answer["assumptions"] if one["what"] == what]
    assert found["low"] == pytest.approx(0.8 * found["typical"])
    assert found["high"] == pytest.approx(1.2 * found["typical"])
    assert typical is None or found["typical"] == pytest.approx(typical)
    assert "one value stated" in found["note"]
    assert "20%" in found["note"]
    assert found["grade"] == "caller"


def test_a_single_value_reads_as_its_band_and_a_stated_band_as_itself():
    single, band, exact = (
        with_value("pressure", value)["margin"]
        for value in (40, {"low": 32, "typical": 40, "high": 48}, {"low": 40, "typical": 40, "high": 40})
    )
    assert single == pytest.approx(band)
    assert exact["typical"] == single["typical"]
    assert exact["pessimistic"] > single["pessimistic"]


def test_no_spread_carries_a_vacuum_beyond_the_air():
    """ISO 2533: 101.3 kPa at the sea. A reading of 90 kPa may be 72 at worst, and is never 108."""
    answer = with_value("pressure", 90)
    (found,) = [one for one in answer["assumptions"] if one["what"].startswith("vacuum")]
    assert found["low"] == pytest.approx(72.0)
    assert found["high"] == pytest.approx(101.325, rel=1e-3)
