"""The contract by itself: a valid OpenAPI document, tight, complete, with examples that load."""

import json
import re
from collections.abc import Callable, Iterator
from typing import Any

import jsonschema_rs
import pytest
import yaml
from openapi_spec_validator import validate
from tests.contract.documents import CONTRACT, contract, resolved, schema_of

from stillstock.app import create_app
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.units import DOCUMENT_UNITS, LONGEST, pattern
from stillstock.web.problems import STATUS, problem_type

EXAMPLES = contract()["components"]["examples"]
NAMES = {"angular_speed": "SpindleSpeed", "force_per_length": "ForcePerLength", "fraction": "Share"}


def asked(schema: Any, seen: frozenset[str] = frozenset(), where: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield every schema that a request can reach, with where it stands."""
    reference = schema.get("$ref", "")
    if reference in seen:
        return
    schema, seen = resolved(schema), seen | ({reference} - {""})
    yield where, schema
    for word in ("properties", "patternProperties"):
        for name, member in schema.get(word, {}).items():
            yield from asked(member, seen, f"{where}/{name}")
    for branch in (*schema.get("anyOf", ()), *schema.get("oneOf", ())):
        yield from asked(branch, seen, f"{where}|")
    for item in (*schema.get("prefixItems", ()), *([schema["items"]] if "items" in schema else [])):
        yield from asked(item, seen, f"{where}/*")


def bodies() -> list[tuple[str, dict[str, Any]]]:
    """Return the schema of each request body, by operation."""
    operations = [operation for item in contract()["paths"].values() for operation in item.values()]
    return [
        (operation["operationId"], operation["requestBody"]["content"]["application/json"])
        for operation in operations
        if "requestBody" in operation
    ]


def test_it_is_valid_openapi_3_1():
    """OpenAPI Initiative, "OpenAPI Specification" 3.1, by its published JSON Schema as the validator carries it."""
    validate(contract())
    assert contract()["openapi"].startswith("3.1")


def keys_twice(node: yaml.Node | None) -> Iterator[tuple[str, int]]:
    """Yield each key of a mapping that stands in it a second time, with its line: YAML 1.2, section 3.2.1.3."""
    if isinstance(node, yaml.MappingNode):
        seen: set[str] = set()
        for key, value in node.value:
            if key.value in seen:
                yield key.value, key.start_mark.line + 1
            seen.add(key.value)
            yield from keys_twice(value)
    elif isinstance(node, yaml.SequenceNode):
        for item in node.value:
            yield from keys_twice(item)


def test_nothing_is_stated_twice():
    """The readers that the other tests use keep the last of two equal keys and say nothing."""
    text = CONTRACT.read_text(encoding="utf-8")
    assert list(keys_twice(yaml.compose(text, Loader=yaml.SafeLoader))) == []


def test_nothing_is_fetched_from_elsewhere():
    text = json.dumps(contract())
    assert re.findall(r'"\$ref": "(?!#/)[^"]*"', text) == []


@pytest.mark.parametrize(("operation", "body"), bodies())
def test_a_request_is_bounded_everywhere(operation, body):
    """No object, list, text or number of a request is open at any end."""
    for where, schema in asked(body["schema"], where=operation):
        kinds = schema.get("type", [])
        kinds = kinds if isinstance(kinds, list) else [kinds]
        if "object" in kinds:
            assert schema.get("additionalProperties") is False, where
        if "array" in kinds:
            assert "maxItems" in schema, where
        if "string" in kinds and "enum" not in schema:
            assert "maxLength" in schema, where
        if {"number", "integer"} & set(kinds):
            # The kinds of quantities are bounded where they are used, which `where` ends with.
            assert "minimum" in schema, where
            assert "maximum" in schema, where


def test_patterns_mean_the_same_to_every_judge():
    """No class whose reach differs between regular expressions (Unicode digits, blanks), and both ends are fixed."""
    patterns = re.findall(r'"pattern": ("(?:[^"\\]|\\.)*")', json.dumps(contract(), ensure_ascii=False))
    for quoted in patterns:
        text = json.loads(quoted)
        assert not re.search(r"\\[dDwWsSbB]", text)
        assert (text[0], text[-1]) == ("^", "$")


@pytest.mark.parametrize("dimension", sorted(DOCUMENT_UNITS))
def test_the_units_of_the_contract_are_those_of_the_parser(dimension):
    name = NAMES.get(dimension, dimension.capitalize())
    schema = contract()["components"]["schemas"].get(name)
    if schema is not None:
        assert (schema["pattern"], schema["maxLength"]) == (pattern(dimension), LONGEST)
        for unit in DOCUMENT_UNITS[dimension]:
            assert unit in schema["description"]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_an_example_keeps_the_contract_and_loads(name):
    judge = jsonschema_rs.Draft202012Validator(schema_of("SetUp"))
    assert [str(error) for error in judge.iter_errors(EXAMPLES[name]["value"])] == []
    set_up = load_set_up(EXAMPLES[name]["value"], load_tables()).set_up
    assert set_up.cuts or set_up.loads or set_up.program


def test_every_list_of_a_request_is_as_long_as_the_limits_say():
    members = contract()["components"]["schemas"]["SetUp"]["properties"]
    limits = Limits()
    assert members["holders"]["maxItems"] == limits.holders
    assert members["cuts"]["maxItems"] == limits.cuts
    assert members["loads"]["maxItems"] == limits.loads
    assert contract()["components"]["schemas"]["Path"]["maxItems"] == limits.path_points
    assert contract()["components"]["schemas"]["Tools"]["maxProperties"] == limits.tools


def test_every_problem_type_is_stated_for_its_status():
    stated: dict[str, set[int]] = {}
    for response in contract()["components"]["responses"].values():
        media = response.get("content", {}).get("application/problem+json")
        if media is not None:
            own = media["schema"]["properties"]
            for kind in own["type"].get("enum", [own["type"].get("const")]):
                stated.setdefault(kind, set()).add(own["status"]["const"])
    for error, status in STATUS.items():
        assert stated.get(problem_type(error)) == {int(status)}, error


def test_served_routes_and_stated_paths_are_the_same():
    served = {
        (re.sub(r"<(?:[a-z]+:)?([a-z]+)>", r"{\1}", rule.rule), method.lower())
        for rule in create_app().url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    stated = {(path, method) for path, item in contract()["paths"].items() for method in item}
    assert served == stated


OPERATIONS = [(path, one) for path, item in contract()["paths"].items() for one in item.values()]


@pytest.mark.parametrize(("path", "operation"), OPERATIONS, ids=lambda one: one if isinstance(one, str) else "")
def test_the_top_of_every_json_answer_is_an_object(path, operation):
    """So that a member can be added to each answer without breaking who reads it."""
    for status, response in operation["responses"].items():
        for media, stated in resolved(response).get("content", {}).items():
            if media.endswith("json"):
                assert resolved(stated["schema"])["type"] == "object", (path, status)


@pytest.mark.parametrize(("path", "operation"), OPERATIONS, ids=lambda one: one if isinstance(one, str) else "")
def test_questions_and_look_ups_carry_the_major_version_and_pages_of_the_service_none(path, operation):
    assert path.startswith("/v1/") == (operation["tags"] != ["service"])


@pytest.mark.parametrize("path", [path for path, _ in OPERATIONS if "post" in contract()["paths"][path]])
def test_an_answer_that_has_numbers_names_their_units(path):
    """Names carry none: one member is in millimetres or inches as the document asked."""
    content = contract()["paths"][path]["post"]["responses"]["200"]["content"]
    schema = content["application/json"]["schema"]
    found = [where for where, one in asked(schema) if "number" in one.get("type", ())]
    assert bool(found) == ("units" in resolved(schema)["required"])


PATHS = {"/v1/holders/{kind}": "/v1/holders/strap_clamp", "/problems/{slug}": "/problems/invalid-document"}
LOOK_UPS = sorted(path for path, item in contract()["paths"].items() if "get" in item)


@pytest.mark.parametrize("path", LOOK_UPS)
def test_a_look_up_answers_every_stated_type_as_stated(path):
    client = create_app().test_client()
    for media_type, stated in contract()["paths"][path]["get"]["responses"]["200"]["content"].items():
        answer = client.get(PATHS.get(path, path), headers={"Accept": media_type})
        assert (answer.status_code, answer.mimetype) == (200, media_type)
        schema = {**stated["schema"], "components": {"schemas": contract()["components"]["schemas"]}}
        text = answer.get_data(as_text=True)
        read: dict[str, Callable[[str], object]] = {"application/json": json.loads, "application/yaml": yaml.safe_load}
        value = read[media_type](text) if media_type in read else text
        assert [str(error)[:300] for error in jsonschema_rs.Draft202012Validator(schema).iter_errors(value)] == []


@pytest.mark.parametrize(
    ("change", "status", "slug"),
    [
        ({"units": "metrik"}, 400, "invalid-document"),
        ({"unit": "metric"}, 400, "invalid-document"),
        ({"bed": {"material": "mdf", "thickness": "-18 mm"}}, 422, "impossible-set-up"),
        ({"bed": {"material": "no such board", "thickness": 18}}, 422, "impossible-set-up"),
    ],
)
def test_a_refusal_is_the_stated_problem(change, status, slug):
    document = {**EXAMPLES["StatedLoads"]["value"], **change}
    answer = create_app().test_client().post("/v1/margin", json=document)
    assert (answer.status_code, answer.mimetype) == (status, "application/problem+json")
    problem = json.loads(answer.get_data())
    assert problem["type"] == f"/problems/{slug}"
    reference = contract()["paths"]["/v1/margin"]["post"]["responses"][str(status)]
    stated = resolved(reference)["content"]["application/problem+json"]["schema"]
    schema = {**stated, "components": {"schemas": contract()["components"]["schemas"]}}
    assert [str(error)[:300] for error in jsonschema_rs.Draft202012Validator(schema).iter_errors(problem)] == []
    assert problem["errors_total"] == len(problem["errors"]) == 1
