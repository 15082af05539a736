"""What holds of every operation of the contract that takes a document, whatever it answers.

Negotiation, determinism, refusals, hostile text, unknown query parameters, and restated units: faults of these kinds
hide from a fuzzer that follows the contract alone.
"""

import copy
import json
from typing import Any

import pytest
from tests.contract.documents import contract, nodes, put, resolved

from stillstock.app import create_app
from stillstock.schemas.strict import system_of
from stillstock.units import unit_name
from stillstock.units.dimensions import DIMENSIONS
from stillstock.units.grammar import pattern

CLIENT = create_app().test_client()
GETS = sorted(path for path, item in contract()["paths"].items() if "get" in item)
SERVED = {"/v1/holders/{kind}": "/v1/holders/strap_clamp", "/problems/{slug}": "/problems/busy"}
POSTS = {path: resolved(item["post"]) for path, item in contract()["paths"].items() if "post" in item}
BROKEN = (
    *("", " ", "[]", "null", "1", '"x"', "{", "}", "{]", "{'units': 1}", "{units: 1}", '{"units": "metric",}'),
    *('{"units": NaN}', '{"units": 1e999}', '{"units": 01}', '{"units": "metric"} x', '{"units": "\\ud800"}'),
    *('{"units": "a", "units": "b"}', '{"units": "a\nb"}', "{" * 40, "/* */ {}"),
)


def body(path: str) -> dict[str, Any]:
    found: dict[str, Any] = POSTS[path]["requestBody"]["content"]["application/json"]
    return found


def example(path: str) -> dict[str, Any]:
    """Return the shortest example of an operation: what is judged here is not the answer's depth."""
    values = [resolved(one)["value"] for one in body(path)["examples"].values()]
    return copy.deepcopy(min(values, key=lambda value: len(json.dumps(value))))


@pytest.fixture(scope="module", params=sorted(POSTS))
def path(request):
    return request.param


@pytest.fixture(scope="module")
def answered(path):
    """Return the answer to the example in the operation's first media type."""
    return CLIENT.post(path, json=example(path))


def media_types(path: str) -> list[str]:
    return list(POSTS[path]["responses"]["200"]["content"])


def test_every_offered_type_is_produced_by_its_name_and_without_one_the_first(path, answered):
    offered = media_types(path)
    assert (answered.status_code, answered.mimetype) == (200, offered[0])
    assert "Accept" in answered.headers["Vary"]
    assert answered.headers["X-Content-Type-Options"] == "nosniff"
    for media in offered[1:]:
        answer = CLIENT.post(path, json=example(path), headers={"Accept": f"image/tiff, {media};q=0.5"})
        assert (answer.status_code, answer.mimetype) == (200, media)


def test_what_is_not_offered_is_refused_before_it_is_computed(path):
    refused = CLIENT.post(path, json={"nonsense": 1}, headers={"Accept": "image/tiff"})
    assert (refused.status_code, refused.mimetype) == (406, "application/problem+json")
    assert "Accept" in refused.headers["Vary"]
    wrong = CLIENT.post(path, data=json.dumps(example(path)), content_type="text/plain")
    assert (wrong.status_code, wrong.headers["Accept"]) == (415, "application/json")


def test_another_process_answers_the_same_bytes_after_other_questions(path, answered):
    other = create_app().test_client()
    other.post(path, json={"units": "inch"})
    again = other.post(path, json=dict(reversed(example(path).items())))
    assert again.data == answered.data
    assert again.headers["ETag"] == answered.headers["ETag"]


def test_an_unknown_query_parameter_is_refused(path):
    refused = CLIENT.post(f"{path}?unheard=1", json=example(path))
    assert (refused.status_code, refused.get_json()["type"]) == (400, "/problems/unknown-parameter")


def test_every_broken_form_of_a_body_is_refused(path):
    for text in BROKEN:
        refused = CLIENT.post(path, data=text.encode("utf-8", "surrogatepass"), content_type="application/json")
        assert (refused.status_code, refused.get_json()["type"]) == (400, "/problems/not-json"), text


def test_a_refusal_is_consistent_and_explained_by_the_service_itself(path):
    refused = CLIENT.post(path, json={**example(path), "nonsense": 1})
    problem = refused.get_json()
    assert refused.mimetype == "application/problem+json"
    assert problem["status"] == refused.status_code == 400
    assert "/nonsense" in [fault["pointer"] for fault in problem["errors"]]
    assert CLIENT.get(problem["type"]).status_code == 200


@pytest.mark.parametrize("stated", sorted(contract()["paths"]))
def test_the_methods_that_options_tells_are_those_of_the_contract(stated):
    """HEAD goes with GET (RFC 9110, section 9.1); any other method is refused and told the same."""
    methods = {method.upper() for method in contract()["paths"][stated]}
    known = methods | {"OPTIONS"} | ({"HEAD"} if "GET" in methods else set())
    at = SERVED.get(stated, stated)
    told = CLIENT.options(at)
    assert (told.status_code, set(told.headers["Allow"].split(", "))) == (200, known)
    for method in {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "TRACE", "QUERY"} - known:
        refused = CLIENT.open(at, method=method)
        assert (refused.status_code, refused.headers["Allow"]) == (405, told.headers["Allow"]), method
    if "GET" in methods:
        got, head = CLIENT.get(at), CLIENT.head(at)
        assert (head.status_code, head.data, head.content_type) == (got.status_code, b"", got.content_type)


@pytest.mark.parametrize("stated", GETS)
def test_a_look_up_refuses_what_it_does_not_know(stated):
    at = SERVED.get(stated, stated)
    refused = CLIENT.get(at, query_string={"unheard": "1"})
    assert (refused.status_code, refused.get_json()["type"]) == (400, "/problems/unknown-parameter")
    if "406" in contract()["paths"][stated]["get"]["responses"]:
        refused = CLIENT.get(at, headers={"Accept": "image/tiff"})
        assert (refused.status_code, "Accept" in refused.headers["Vary"]) == (406, True)


def restated(document: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    """Return a document with every bare quantity written as text with its unit; of lists only the first elements."""
    dimensions = {pattern(name): name for name in DIMENSIONS}
    for node in list(nodes(document, schema)):
        known = [dimensions[one["pattern"]] for one in node.schemas if one.get("pattern") in dimensions]
        value: Any = document
        for step in node.path:
            value = value[step]
        if known and isinstance(value, int | float):
            document = put(document, node.path, f"{value} {unit_name(known[0], system_of(document))}")
    return document


def test_a_quantity_means_the_same_bare_and_with_its_unit(path):
    document = example(path)
    stated = restated(document, body(path)["schema"])
    assert stated != document
    bare, text = (CLIENT.post(path, json=one) for one in (document, stated))
    assert text.status_code == bare.status_code == 200, text.text[:500]
    first, second = bare.get_json(), text.get_json()
    for answer in (first, second):
        answer.pop("fingerprint", None)
    assert first == second
