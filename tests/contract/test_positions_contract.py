"""The positions' part of the contract against the code."""

from typing import Any

import jsonschema_rs
import pytest
from tests.contract.documents import contract, resolved, sample, schema_of
from tests.contract.two_judges import code_takes, disagreements, example_faults

from stillstock.schemas.positions import PositionsSchema

FORMS = contract()["components"]["schemas"]["Locate"]["oneOf"]
BODY = contract()["paths"]["/v1/positions"]["post"]["requestBody"]["content"]["application/json"]
EXAMPLES = BODY["examples"]


def full(form: dict[str, Any]) -> dict[str, Any]:
    document: dict[str, Any] = sample(schema_of("Positions"))
    document["locate"] = sample(form)
    return document


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form["$ref"].rpartition("/")[2])
def test_single_changes_are_judged_alike(form):
    document = full(form)
    assert list(jsonschema_rs.Draft202012Validator(schema_of("Positions")).iter_errors(document)) == []
    assert code_takes(PositionsSchema(), document)
    count, wrong = disagreements(document, "Positions", PositionsSchema())
    assert count >= 700
    assert wrong[:20] == []


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_an_example_runs_in_every_format_and_its_answer_keeps_the_contract(name):
    forms = resolved(contract()["components"]["parameters"]["PositionsFormat"])["schema"]["enum"]
    document = EXAMPLES[name]["value"]
    assert example_faults("/v1/positions", document, request="Positions", answer="PositionsAnswer", forms=forms) == []
