"""What is offered as the corrected value: one spelling plainly meant, or the place where a member belongs."""

from typing import Any

import pytest

from stillstock.app import create_app
from stillstock.schemas.spelling import plainly_meant

CLIENT = create_app().test_client()
KINDS = ("strap_clamp", "side_clamp", "stop", "vise", "screw", "film_tape", "foam_tape", "dowel_pin")


@pytest.mark.parametrize(
    ("word", "known", "meant"),
    [
        ("strap-clamp", KINDS, "strap_clamp"),
        ("Strap Clmap", KINDS, "strap_clamp"),
        ("vice", KINDS, "vise"),
        ("screws", KINDS, "screw"),
        ("toggle_clamp", KINDS, None),
        ("clamp", KINDS, None),
        ("tape", KINDS, None),
        # One letter from either: not plain.
        ("fim_tape", KINDS, "film_tape"),
        ("fotm_tape", KINDS, "foam_tape"),
        ("foim_tape", ("film_tape", "foam_tape", "form_tape"), None),
        ("pins", ("lines", "stops"), None),
        ("k", ("ktc",), None),
        ("", KINDS, None),
        ("birch plywod", {"birch plywood": "birch_plywood", "birch ply": "birch_plywood"}, "birch_plywood"),
    ],
)
def test_a_word_is_corrected_only_where_one_spelling_is_plainly_meant(word, known, meant):
    """A slip is a letter added, dropped, replaced, or swapped with the next: counted by hand."""
    assert plainly_meant(word, known) == meant


SET_UP: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [240, 160, 12]},
    "bed": {"material": "mdf", "thickness": 18},
    "loads": [{"at": [10, 10, 0], "force": [1, 0, 0]}],
}


def faults(path, document):
    response = CLIENT.post(path, json=document)
    assert response.status_code in (400, 422), response.text
    return {one["pointer"]: one for one in response.get_json()["errors"]}


def test_holders_of_a_question_how_to_hold_are_sent_where_they_belong():
    found = faults("/v1/recommendation", {**SET_UP, "holders": [], "shop": {"holders": [{"kind": "film_tape"}]}})
    assert found["/holders"]["corrected"] == "shop.holders"
    assert "it belongs in shop.holders" in found["/holders"]["detail"]


def test_a_member_that_several_places_have_is_not_corrected_to_one():
    one = faults("/v1/margin", {**SET_UP, "thickness": 18, "grain": "x", "holders": []})
    assert "corrected" not in one["/thickness"]
    assert "it belongs in stock.thickness or bed.thickness" in one["/thickness"]["detail"]
    assert one["/grain"]["corrected"] == "stock.grain"


@pytest.mark.parametrize(
    ("place", "value", "pointer"),
    [
        (("stock", "material"), "unobtainium", "/stock/material"),
        (("holders",), [{"kind": "toggle_clamp"}], "/holders/0/kind"),
    ],
)
def test_what_is_no_slip_of_the_pen_is_not_corrected(place, value, pointer):
    document = {**SET_UP, "stock": dict(SET_UP["stock"]), "holders": [{"kind": "screw", "at": [20, 20]}]}
    below = document
    for name in place[:-1]:
        below = below[name]
    below[place[-1]] = value
    assert "corrected" not in faults("/v1/margin", document)[pointer]
