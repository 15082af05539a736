"""The grid's part of the contract: one judge is a JSON Schema validator on openapi.yaml, the other the code."""

import random
from typing import Any

import jsonschema_rs
import pytest
from tests.contract.documents import MISSING, TEXTS, contract, nodes, probes, put, resolved, sample, schema_of
from tests.contract.two_judges import code_takes, difference

from stillstock.app import create_app
from stillstock.schemas.grid import GridSchema
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

JUDGE = jsonschema_rs.Draft202012Validator(schema_of("Grid"))
ANSWER = jsonschema_rs.Draft202012Validator(schema_of("GridAnswer"))
OPERATION = contract()["paths"]["/v1/grid"]["post"]
EXAMPLES = OPERATION["requestBody"]["content"]["application/json"]["examples"]
TABLES, LIMITS, SCHEMA = load_tables(), Limits(), GridSchema()


def full() -> dict[str, Any]:
    """Return a document with every member, and a keep-out of each kind."""
    document: dict[str, Any] = sample(schema_of("Grid"))
    forms = resolved(contract()["components"]["schemas"]["KeepOut"])["oneOf"]
    document["keep_outs"] = [sample(form) for form in forms]
    return document


def test_the_full_document_is_taken_by_both():
    assert [str(error) for error in JUDGE.iter_errors(full())] == []
    assert code_takes(SCHEMA, full())


def test_single_changes_are_judged_alike():
    found = list(nodes(full(), schema_of("Grid")))
    changes = [
        (node.path, value) for number, node in enumerate(found) for value in probes(node, TEXTS[number % 3 :: 3])
    ]
    changes += [(node.path, MISSING) for node in found if node.path and isinstance(node.path[-1], str)]
    wrong = [found_one for change in changes if (found_one := difference(JUDGE, SCHEMA, full(), *change))]
    print(f"{len(changes)} documents, {len(wrong)} disagreements")
    assert len(changes) >= 1500
    assert wrong[:20] == []


def test_pairs_of_changes_are_judged_alike():
    """Two changes at once, drawn with a fixed seed: a fault must not hide another."""
    single = [
        (node.path, value)
        for node in nodes(full(), schema_of("Grid"))
        if node.path
        for value in probes(node, TEXTS[::5])
    ]
    drawn = random.Random(20261125).sample(single, 1000)
    for (one, value), (other, another) in zip(drawn[:500], drawn[500:], strict=True):
        if one[: len(other)] == other or other[: len(one)] == one:
            continue
        changed = put(put(full(), one, value), other, another)
        assert JUDGE.is_valid(changed) == code_takes(SCHEMA, changed), (one, value, other, another)


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_an_example_runs_in_every_format_and_its_answer_keeps_the_contract(name):
    document, client = EXAMPLES[name]["value"], create_app().test_client()
    assert [str(error) for error in JUDGE.iter_errors(document)] == []
    answer = client.post("/v1/grid", json=document)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    assert [str(error) for error in ANSWER.iter_errors(answer.get_json())] == []
    forms = resolved(contract()["components"]["parameters"]["GridFormat"])["schema"]["enum"]
    for form in forms:
        made = client.post(f"/v1/grid?format={form}", json=document)
        assert made.status_code == 200
        assert made.content_type.partition(";")[0] in OPERATION["responses"]["200"]["content"]


def test_every_list_is_as_long_as_the_limits_say():
    members = contract()["components"]["schemas"]["Grid"]["properties"]
    assert members["keep_outs"]["maxItems"] == members["dowels"]["maxItems"] == LIMITS.holders
