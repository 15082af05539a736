"""The recommendation's part of the contract: a JSON Schema validator on openapi.yaml against the code."""

from typing import Any

import jsonschema_rs
import pytest
from tests.contract.documents import MISSING, TEXTS, contract, nodes, probes, sample, schema_of
from tests.contract.two_judges import code_takes, difference

from stillstock.answers.shop import PLACED
from stillstock.app import create_app
from stillstock.engine.holding.register import methods
from stillstock.schemas.shop import ENTRY_MEMBERS, OWN, QuestionSchema
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

JUDGE = jsonschema_rs.Draft202012Validator(schema_of("RecommendationQuestion"))
ANSWER = jsonschema_rs.Draft202012Validator(schema_of("RecommendationAnswer"))
SCHEMAS = contract()["components"]["schemas"]
OPERATION = contract()["paths"]["/v1/recommendation"]["post"]
EXAMPLES = OPERATION["requestBody"]["content"]["application/json"]["examples"]
TABLES, LIMITS, SCHEMA = load_tables(), Limits(), QuestionSchema()
LEAST = {
    "units": "metric",
    "stock": {"material": "mdf", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
}


def question(kind: str = "stop") -> dict[str, Any]:
    """Return a question that states every member, with one entry of a kind."""
    document: dict[str, Any] = sample(schema_of("RecommendationQuestion"))
    document["shop"]["holders"] = [entry(kind)]
    return document


def entry(kind: str) -> dict[str, Any]:
    name = SCHEMAS["ShopEntry"]["discriminator"]["mapping"][kind].rpartition("/")[2]
    made: dict[str, Any] = sample(schema_of(name))
    return made


@pytest.mark.parametrize("kind", sorted(methods()))
def test_an_entry_of_each_kind_is_taken_by_both(kind):
    assert [str(error) for error in JUDGE.iter_errors(question(kind))] == []
    assert code_takes(SCHEMA, question(kind))


def test_every_kind_has_its_entry():
    assert sorted(SCHEMAS["ShopEntry"]["discriminator"]["mapping"]) == sorted(methods())


@pytest.mark.parametrize("kind", sorted(methods()))
def test_an_entry_has_the_members_of_its_kind_save_where_it_stands(kind):
    """The members are the set-up's own, by reference: what holds of them there holds here."""
    holder, shop = (
        SCHEMAS[SCHEMAS[union]["discriminator"]["mapping"][kind].rpartition("/")[2]]
        for union in ("Holder", "ShopEntry")
    )
    name = SCHEMAS["Holder"]["discriminator"]["mapping"][kind]
    own = {f"{one}": {"$ref": f"#/components/schemas/ShopOwn/properties/{one}"} for one in ENTRY_MEMBERS}
    kept = [member for member in holder["properties"] if member not in (*PLACED, "kind")]
    expected = {member: {"$ref": f"{name}/properties/{member}"} for member in kept}
    assert shop["properties"] == {"kind": holder["properties"]["kind"], **own, **expected}
    assert shop["required"] == [member for member in holder["required"] if member not in PLACED]
    assert shop["additionalProperties"] is False


def test_a_question_has_the_members_of_a_set_up_save_those_of_what_holds():
    members = {item.data_key or name for name, item in SCHEMA.fields.items()}
    assert set(SCHEMAS["RecommendationQuestion"]["properties"]) == members
    assert members == (set(SCHEMAS["SetUp"]["properties"]) - {"holders", "spare", "detail", "doubt"}) | set(OWN)


@pytest.mark.parametrize("kind", ["stop", "tab"])
def test_single_changes_of_an_entry_are_judged_alike(kind):
    document = {**LEAST, "shop": {"holders": [entry(kind)]}}
    every = nodes(document, schema_of("RecommendationQuestion"))
    found = [node for node in every if node.path[:2] == ("shop", "holders")]
    changes = [
        (node.path, value) for number, node in enumerate(found) for value in probes(node, TEXTS[number % 5 :: 5])
    ]
    changes += [(node.path, MISSING) for node in found if isinstance(node.path[-1], str)]
    wrong = [found_one for change in changes if (found_one := difference(JUDGE, SCHEMA, document, *change))]
    assert len(changes) > 300
    assert wrong[:20] == []


def test_single_changes_of_the_question_are_judged_alike():
    document = {**question(), **LEAST, "tools": {}, "cuts": [], "loads": [], "parts": []}
    found = [
        node
        for node in nodes(document, schema_of("RecommendationQuestion"))
        if (not node.path or node.path[0] in OWN) and node.path[:2] != ("shop", "holders")
    ]
    changes = [(node.path, value) for node in found for value in probes(node, TEXTS[::3])]
    changes += [(node.path, MISSING) for node in found if node.path and isinstance(node.path[-1], str)]
    changes += [((), {**document, name: []}) for name in ("holders", "spare", "doubt", "detail")]
    wrong = [found_one for change in changes if (found_one := difference(JUDGE, SCHEMA, document, *change))]
    assert len(changes) > 500
    assert wrong[:20] == []


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_an_example_runs_and_its_answer_keeps_the_contract(name):
    document, client = EXAMPLES[name]["value"], create_app().test_client()
    assert [str(error) for error in JUDGE.iter_errors(document)] == []
    answer = client.post("/v1/recommendation", json=document)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    assert [str(error)[:400] for error in ANSWER.iter_errors(answer.get_json())] == []
    assert answer.headers["Stillstock-Verdict"] == answer.get_json()["verdict"]


def test_the_summary_is_the_text():
    document, client = EXAMPLES["whole_face"]["value"], create_app().test_client()
    answer = client.post("/v1/recommendation", json=document).get_json()
    assert client.post("/v1/recommendation?format=text", json=document).text == answer["summary"] + "\n"


def test_every_list_is_as_long_as_the_limits_say():
    shop = SCHEMAS["Shop"]["properties"]
    assert shop["holders"]["maxItems"] == LIMITS.shop_holders
    assert shop["inserts"]["maxItems"] == LIMITS.positions
    assert shop["tracks"]["maxItems"] == shop["zones"]["maxItems"] == LIMITS.holders
    assert SCHEMAS["RecommendationQuestion"]["properties"]["matters"]["maxItems"] == LIMITS.matters
