"""Small words that a person stumbles over: minus nought, a bound without its unit, all of two, too wide a pitch."""

import copy
import re
from typing import Any

import pytest
from tests.writers import boards

from stillstock.answers.tightening import _all_of
from stillstock.app import create_app

CLIENT = create_app().test_client()
BOARD = copy.deepcopy(boards.LINES)
STOCK: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
    "loads": [{"at": [100, 100, 0], "force": [50, 0, 0]}],
    "holders": [{"kind": "screw", "at": [20, 20]}],
}


def described(**table):
    document = BOARD | {"table": BOARD["table"] | table}
    response = CLIENT.post("/v1/grid?format=svg", json=document)
    assert response.status_code == 200, response.text
    return response.text


def test_the_zero_of_a_board_is_told_without_a_minus():
    assert "-0 mm" not in described(origin=[0, 0])
    assert "Work zero: 0 mm right of and 0 mm above the lower left corner" in described(origin=[0, 0])
    assert "Work zero: 25 mm right of and 10 mm above the lower left corner" in described(origin=[-25, -10])
    assert "Work zero: 5 mm left of and 3 mm below the lower left corner" in described(origin=[5, 3])


def test_the_check_line_of_a_board_says_how_long_it_is():
    group = re.search(r'<g id="known_length".*?</g>', described(), re.DOTALL)
    assert group is not None
    assert ">100 mm</text>" in group.group()


def test_a_pitch_larger_than_the_table_is_told():
    for pitch, told in ((5000, True), (50, False)):
        response = CLIENT.post("/v1/grid", json=BOARD | {"pitch": pitch})
        assert response.status_code == 200, response.text
        assert ("larger than the table" in " ".join(response.get_json()["cautions"])) is told


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.001, "must be at least 0.1 mm"), (0.05, "must be at least 0.1 mm"), (1e6, "must be at most 20 m")],
)
def test_a_bound_is_told_in_the_documents_unit(value, words):
    """The contract's bound of a bare number is the wider of two units'; what counts is that of the document's."""
    document = copy.deepcopy(STOCK)
    document["stock"]["size"][2] = value
    (fault,) = CLIENT.post("/v1/margin", json=document).get_json()["errors"]
    assert fault["detail"] == words


def test_a_plain_hole_that_is_too_deep_is_called_a_hole():
    hole = {"kind": "plain", "diameter": 8, "length": 30}
    document = boards.HOLES | {"hole": hole}
    details = [one["detail"] for one in CLIENT.post("/v1/grid", json=document).get_json()["errors"]]
    assert [one for one in details if one.startswith("the plain hole takes 30 mm of a board of")]


def test_all_of_two_are_both():
    assert [_all_of(count) for count in (2, 3)] == ["both clamps", "all 3 clamps"]


def test_tape_that_reaches_beyond_the_stock_is_told_on_the_sheet():
    document = STOCK | {"holders": [{"kind": "film_tape", "area": [[200, 20], [400, 180]]}]}
    hold = CLIENT.post("/v1/sheet", json=document).get_json()["hold"]
    assert [line for line in hold if "the stock lies on 50% of this" in line and "(holder 1)" in line]
