"""Sentences of answers and refusals in the units of the document that asks; 1 in = 25.4 mm (ISO 31-1, from memory)."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from tests.part_jobs import TAB_PLACES, outline_program, sheet

from stillstock.app import create_app

pytestmark = pytest.mark.usefixtures("no_remedies")

CLIENT = create_app().test_client()
METRIC_UNIT = re.compile(r"[0-9.]+ (mm|cm|m|N|N m|kPa|MPa|Pa|kW|W)\b(?!/)")
INCH: dict[str, Any] = {
    "units": "inch",
    "stock": {"material": "birch plywood", "size": [12, 8, 0.75]},
    "bed": {"material": "mdf", "thickness": 0.75},
    "loads": [{"at": [6, 4, 0.7], "force": [10, -3, 2]}],
}
TAPE = {"kind": "film_tape", "area": [[1, 1], [11, 7]]}
VACUUM = {"kind": "vacuum", "area": [[1, 1], [11, 7]], "pump": "regenerative_blower"}
CLAMP = {"kind": "strap_clamp", "at": [0.5, 4], "torque": "2 N m"}


def sentences(answer: object) -> Iterator[str]:
    """Give every text under a member ``detail`` or ``summary``."""
    if isinstance(answer, dict):
        for name, value in answer.items():
            if name in ("detail", "summary") and isinstance(value, str):
                yield value
            yield from sentences(value)
    elif isinstance(answer, list):
        for item in answer:
            yield from sentences(item)


@pytest.mark.parametrize("holders", [[TAPE], [VACUUM], [CLAMP, CLAMP | {"at": [11.5, 4], "angle": 180}]], ids=str)
def test_no_sentence_of_an_inch_answer_states_a_metric_quantity(holders):
    answer = CLIENT.post("/v1/margin", json=INCH | {"holders": holders}).get_json()
    said = list(sentences(answer))
    assert "checks" in answer, answer
    assert said
    assert [one for one in said if METRIC_UNIT.search(one)] == []


def test_what_the_tape_asks_of_the_arm_is_said_in_pounds_force():
    answer = CLIENT.post("/v1/margin", json=INCH | {"holders": [TAPE]}).get_json()
    (seating,) = (check for check in answer["checks"] if check["name"] == "seating")
    assert seating["unit"] == "lbf"
    assert re.search(r"\([0-9.]+ lbf for all of it at once\)", seating["detail"])


def refused(units: str, at: list[float]) -> dict[str, Any]:
    document = INCH | {"units": units, "holders": [CLAMP | {"at": at}]}
    if units == "metric":
        document |= {
            "stock": {"material": "birch plywood", "size": [304.8, 203.2, 19.05]},
            "bed": {"material": "mdf", "thickness": 19.05},
            "loads": [{"at": [150, 100, 17], "force": [10, -3, 2]}],
        }
    response = CLIENT.post("/v1/margin", json=document)
    assert response.status_code == 422
    first: dict[str, Any] = response.get_json()["errors"][0]
    return first


def test_a_clamp_beside_the_stock_is_refused_in_the_units_it_was_stated_in():
    """Worked by hand: half an inch beside the stock, 12.7 mm."""
    inch = refused("inch", [12.5, 4])
    assert inch["detail"].endswith("stands 0.5 in beside the stock")
    assert inch["seen"] == [12.5, 4]
    metric = refused("metric", [317.5, 101.6])
    assert metric["detail"].endswith("stands 12.7 mm beside the stock")
    assert metric["seen"] == [317.5, 101.6]


def test_limits_are_in_the_units_of_the_document():
    """A vacuum of 40 inHg is more than any air: 29.92 inHg at sea level (ISO 2533, 101.325 kPa, 14.70 psi)."""
    document = INCH | {"holders": [{"kind": "vacuum", "area": [[1, 1], [11, 7]], "pressure": "40 inHg"}]}
    problem = CLIENT.post("/v1/margin", json=document).get_json()
    first = problem["errors"][0]
    assert "kPa" not in problem["detail"]
    assert "14.7 psi" in first["detail"] or first["code"] == "range", first
    assert 14.0 < first["limit"] < 30.0


def test_a_check_on_the_sheet_says_its_force_in_the_units_of_the_document():
    """100 kPa (tape suppliers' rule) on 10 by 6 inches by hand: 0.03871 m2, 3.87 kN, 870 lbf; too much for thick stock.

    1 lbf = 4.4482 N (ISO 31-3, from memory).
    """
    thick = INCH | {"stock": INCH["stock"] | {"size": [12, 8, 2.4]}, "holders": [TAPE], "loads": []}
    thick["tools"] = {"1": {"kind": "end_mill", "diameter": 0.25, "stickout": 1.2}}
    thick["program"] = {"text": "G20 G90 G17\nT1 M6\nS18000 M3\nG0 X2 Y2 Z0.5\nG1 Z-0.1 F30\nX10 F60\nG0 Z0.5\nM30\n"}
    (line,) = (line for line in CLIENT.post("/v1/sheet", json=thick).get_json()["hold"] if "seating" in line)
    assert line.endswith("(870 lbf for all of it at once)")


@pytest.mark.parametrize("name", ["a{b}", "{", "{0.__class__}", "%s {0}"])
def test_braces_in_the_name_of_a_part_stand_for_no_number(name):
    """A name may hold anything; the check of its tabs names it, and says the two heights that it has to say."""
    tabs = [{"kind": "tab", "at": list(at), "angle": turn, "width": 6, "height": 3} for at, turn in TAB_PLACES]
    document = sheet(*tabs, program={"text": outline_program(tabs=3)})
    document["parts"][0]["name"] = name
    said = [one["detail"] for one in CLIENT.post("/v1/margin", json=document).get_json()["checks"]]
    lost = [one for one in said if "height that the tab loses" in one]
    assert len(lost) == len(TAB_PLACES)
    shown = re.escape(name.replace("{", "(").replace("}", ")"))
    assert all(re.fullmatch(rf"part {shown}: [a-z ]+; [0-9.]+ mm to [0-9.]+ mm of it are left", one) for one in lost)
