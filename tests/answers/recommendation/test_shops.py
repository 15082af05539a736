"""Eight shops and what an old hand would do in each: common practice, no source.

The kinds of job are those that guides to the trade describe; the data are our own. What is asked is the first choice,
and why some others are out: a number that was reckoned, or a fact of the table of suitability.
"""

import pytest
from tests.answers.recommendation import shops

from stillstock.answers.recommendation import RecommendationAnswer, answer_recommendation
from stillstock.schemas.shop import load_question
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.tables.suitability import facts

TABLES = load_tables()
FACTS = {fact.key for fact in facts()}


def advised(document: shops.Document) -> RecommendationAnswer:
    question = load_question(document, TABLES, limits=Limits()).question
    return answer_recommendation(question, TABLES, limits=Limits(), fingerprint="")


#: Shop, first choice, and what is out for which reason: the key of a fact, or the code of a number.
CASES = {
    # Clamps in the margin are right and force is no worry; the crown is what keeps it from being good (flatness).
    "SIGN": ("strap_clamp", {"foam_tape": "foam_gives", "tape_and_ca": "tape_bowed", "vise": "opening"}),
    "CABINET": ("vacuum", {"strap_clamp": "no_place", "vise": "vise_soft", "skin": "last_seconds_only"}),
    "BODY": (
        "screw+dowel_pin+tab",
        {"screw": "margin", "strap_clamp+tab": "z_travel", "polymer_nail": "nail_thick", "dowel_pin": "places_only"},
    ),
    "PLATE": ("fixture_plate", {"polymer_nail": "nail_metal", "screw": "impossible", "vise": "margin"}),
    "ACRYLIC": (
        "film_tape",
        {
            "strap_clamp": "no_place", "screw": "screw_acrylic", "vise": "vise_sheet",
            "polymer_nail": "nail_brittle_stock", "vacuum": "pod_cut_through",
        },
    ),
    "BOARDS": ("side_clamp+stop", {"strap_clamp": "no_place", "vise": "opening", "stop": "places_only"}),
    "INLAY": (
        "tape_and_ca",
        {"foam_tape": "foam_gives", "strap_clamp": "no_place", "vise": "vise_soft"},
    ),
    "NEST": (
        "screw+tab",
        {"screw": "margin", "film_tape": "tape_bowed", "vacuum": "vacuum_bowed", "vise": "vise_sheet"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(CASES))
def test_a_shop_gets_what_common_practice_says(name):
    """Common practice, no source."""
    first, out = CASES[name]
    answer = advised(getattr(shops, name))
    assert answer.ranked[0].placed.method.name == first, answer.summary
    reasons = {one.method.name: one.reason for one in answer.ruled_out}
    assert {method: reasons[method].fact or reasons[method].code for method in out} == out
    for reason in reasons.values():
        assert reason.fact in FACTS or reason.value is not None or reason.code == "impossible", reason
