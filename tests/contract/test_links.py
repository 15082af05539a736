"""What the contract says of itself and where its links lead, followed over the service as a script would."""

import re
from typing import Any

import pytest
from tests.contract.documents import contract, resolved

from stillstock.app import create_app

CLIENT = create_app().test_client()
OPERATIONS = [
    (path, method, operation)
    for path, item in contract()["paths"].items()
    for method, operation in item.items()
    if method in ("get", "post")
]
LINKS = [
    (path, name, link)
    for path, method, operation in OPERATIONS
    for name, link in operation["responses"]["200"].get("links", {}).items()
]


@pytest.mark.parametrize(
    ("path", "method", "operation"), OPERATIONS, ids=lambda one: one if isinstance(one, str) else ""
)
def test_an_operation_says_what_it_is_for_and_how_it_refuses(path, method, operation):
    assert operation["summary"]
    assert operation["description"]
    assert operation["tags"]
    refusals = {status for status in operation["responses"] if status >= "400"}
    assert refusals >= {"400", "405", "406"} - ({"406"} if path in ("/healthz", "/readyz", "/metrics") else set())
    if method == "post":
        assert refusals >= {"401", "413", "415", "422", "503"}
        assert operation["requestBody"]["content"]["application/json"]["examples"]


def pointed(answer: Any, expression: str) -> Any:
    """Return what a runtime expression of the contract points to in an answer."""
    for token in expression.removeprefix("$response.body#/").split("/"):
        answer = answer[int(token) if isinstance(answer, list) else token]
    return answer


@pytest.mark.parametrize(("path", "name", "link"), LINKS, ids=lambda one: one if isinstance(one, str) else "")
def test_a_link_leads_to_an_answer(path, name, link):
    target = next(place for place, _, operation in OPERATIONS if operation["operationId"] == link["operationId"])
    body = contract()["paths"][path]["post"]["requestBody"]["content"]["application/json"]
    question = resolved(next(iter(body["examples"].values())))["value"]
    answer = CLIENT.post(path, json=question).get_json()
    again = CLIENT.post(target, json=pointed(answer, link["requestBody"]))
    assert (again.status_code, name) == (200, link["operationId"])


def test_the_way_from_a_recommendation_leads_on_to_its_margin():
    names = {(path, name) for path, name, _ in LINKS}
    assert ("/v1/recommendation", "margin") in names


def undated(operations: list[tuple[str, str, dict[str, Any]]]) -> list[str]:
    """Return the operations on their way out whose answers do not say since when, and until when they are served."""
    dates = {name: {"$ref": f"#/components/headers/{name}"} for name in ("Deprecation", "Sunset")}
    return [
        path
        for path, _, operation in operations
        if operation.get("deprecated")
        and {**operation["responses"]["200"].get("headers", {}), **dates}
        != operation["responses"]["200"].get("headers")
    ]


def test_an_operation_on_its_way_out_states_its_dates():
    """None is on its way out yet; the second part is what the first would find."""
    assert undated(OPERATIONS) == []
    leaving = [(path, method, {**operation, "deprecated": True}) for path, method, operation in OPERATIONS]
    assert undated(leaving) == [path for path, _, _ in OPERATIONS]


def test_headers_of_an_operation_on_its_way_out_are_defined():
    """RFC 9745, 2.1: a structured date, ``@`` and seconds."""
    headers = contract()["components"]["headers"]
    assert re.fullmatch(headers["Deprecation"]["schema"]["pattern"], "@1688169599")
    assert "RFC 8594" in headers["Sunset"]["description"]
