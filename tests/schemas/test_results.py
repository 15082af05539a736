"""Answers as documents: in the caller's units, as the contract has it, without a number that is none."""

import copy
import json
import math
from dataclasses import replace
from functools import cache
from typing import Any

import jsonschema_rs
from numpy.testing import assert_allclose
from tests.contract.documents import contract, schema_of

from stillstock.answers.cutting_force import answer_cutting_force
from stillstock.answers.margin import MarginAnswer, WorstPlace, answer_plain_margin
from stillstock.answers.notices import Notice
from stillstock.engine.checks.check import Check
from stillstock.schemas.results import cutting_force_document, margin_document
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

JUDGE = jsonschema_rs.Draft202012Validator(schema_of("Margin"))


@cache
def answered() -> MarginAnswer:
    document = copy.deepcopy(contract()["components"]["examples"]["StatedLoads"]["value"])
    set_up = load_set_up(document, load_tables()).set_up
    return answer_plain_margin(set_up, load_tables(), limits=Limits(), fingerprint="f" * 16)


def check(**stated: Any) -> Check:
    whole: dict[str, Any] = {
        "name": "bow",
        "holder": None,
        "value": 0.0254,
        "limit": 0.0508,
        "typical_ratio": 0.4,
        "breaks": False,
        "detail": "rise of the middle",
        "source": "own_derivation",
        "dimension": "length",
        "at": (0.0254, 0.0, -0.0127),
    }
    return Check(**whole | stated)


def kept(document: dict[str, Any]) -> dict[str, Any]:
    """Return a document after asking whether it keeps the contract and is JSON."""
    json.dumps(document, allow_nan=False)
    assert [str(error) for error in JUDGE.iter_errors(document)] == []
    return document


def test_an_answer_keeps_the_contract_in_both_systems():
    for system in ("metric", "inch"):
        document = kept(margin_document(answered(), system))
        assert document["holders"]
        assert document["checks"]
        assert document["assumptions"]


def test_both_systems_say_the_same():
    """25.4 mm and 4.4482216152605 N to the inch and the pound-force, exact by definition; six digits are answered."""
    metric, inch = margin_document(answered(), "metric"), margin_document(answered(), "inch")
    assert metric["units"]["length"] == "mm"
    assert inch["units"]["force"] == "lbf"
    assert_allclose(inch["worst"]["at"], [x / 25.4 for x in metric["worst"]["at"]], rtol=2e-5, atol=1e-9)
    assert_allclose(
        inch["worst"]["force"], [f / 4.4482216152605 for f in metric["worst"]["force"]], rtol=2e-5, atol=1e-9
    )
    assert metric["margin"] == inch["margin"]


def test_a_check_is_in_the_unit_of_what_it_checks():
    document = kept(margin_document(replace(answered(), checks=(check(),)), "inch"))
    (one,) = document["checks"]
    assert (one["value"], one["limit"], one["unit"], one["ratio"], one["ok"]) == (1.0, 2.0, "in", 0.5, True)
    assert one["at"] == [1.0, 0.0, -0.5]


def test_what_is_no_number_is_null():
    wild = check(value=math.nan, limit=math.inf, judged=False, dimension="force")
    nothing = replace(answered(), typical=math.inf, pessimistic=math.inf, let_go=None, checks=(wild,))
    document = kept(margin_document(nothing, "metric"))
    assert document["margin"] == {"typical": None, "pessimistic": None, "required": 2.0, "unlimited": True}
    assert document["let_go"] is None
    assert document["checks"][0]["value"] is None
    half = margin_document(replace(nothing, pessimistic=3.25), "metric")
    assert (half["margin"]["typical"], half["margin"]["pessimistic"], half["margin"]["unlimited"]) == (
        None,
        3.25,
        False,
    )


def test_a_worst_place_that_is_none_is_null():
    nowhere = WorstPlace(cut="", line=0, at=(0.0, 0.0, 0.0), force=(0.0, 0.0, 0.0))
    noticed = Notice(code="no_feed", detail="no feed rate", line=12, doubt=True)
    document = kept(margin_document(replace(answered(), worst=nowhere, warnings=(noticed,)), "metric"))
    assert document["worst"] is None
    assert document["warnings"] == [
        {"code": "no_feed", "detail": "no feed rate", "pointer": "", "line": 12, "doubt": True}
    ]


def test_cutting_forces_keep_the_contract_and_say_the_same_in_both_systems():
    """One mechanical horsepower is 745.69987 W (NIST SP 811, B.8, from memory), one lbf in 0.11298483 N m."""
    judge = jsonschema_rs.Draft202012Validator(schema_of("CuttingForce"))
    example = contract()["components"]["examples"]["SignWithStrapClamps"]["value"]
    answer = answer_cutting_force(load_set_up(example, load_tables()).set_up, fingerprint="f", system="inch")
    metric, inch = cutting_force_document(answer, "metric"), cutting_force_document(answer, "inch")
    for document in (metric, inch):
        json.dumps(document, allow_nan=False)
        assert [str(error) for error in judge.iter_errors(document)] == []
    letters, outline = metric["cuts"]
    assert (letters["cut"], outline["tool"]) == ("letters", 1)
    power = letters["power"]
    assert 0.0 < power["low"] < power["typical"] < power["high"]
    assert_allclose(inch["cuts"][0]["power"]["high"], power["high"] * 1000.0 / 745.69987, rtol=2e-5)
    assert_allclose(inch["cuts"][1]["torque"]["typical"], outline["torque"]["typical"] / 0.11298483, rtol=2e-5)
    assert letters["spindle"]["enough"] is True
    assert_allclose(letters["spindle"]["share"]["typical"], power["typical"] / (2.2 * 0.8), rtol=2e-5)
