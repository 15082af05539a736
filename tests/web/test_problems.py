"""Every refusal is a problem document (RFC 9457), and every class of refusal has a status and a page."""

import ast
import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.contract.documents import contract
from tests.web.echo import PATH, echo_app

import stillstock
from stillstock import errors
from stillstock.app import create_app
from stillstock.errors import StillstockError
from stillstock.web.contract import REMEDIES
from stillstock.web.problems import STATUS, problem_classes

CLIENT = echo_app().test_client()


def raised_classes() -> list[type[StillstockError]]:
    """Return every class of errors.py that stands for one refusal, which is each without a class below it."""
    kinds = [kind for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, StillstockError)]
    return [kind for kind in kinds if not any(other is not kind and issubclass(other, kind) for other in kinds)]


@pytest.mark.parametrize("kind", raised_classes(), ids=lambda kind: kind.slug)
def test_every_class_has_a_status_a_remedy_and_a_page(kind):
    assert kind in STATUS
    assert kind.slug in REMEDIES
    page = CLIENT.get(f"/problems/{kind.slug}")
    assert page.get_json()["title"] == kind.title
    assert page.get_json()["status"] == STATUS[kind]
    html = CLIENT.get(f"/problems/{kind.slug}", headers={"Accept": "text/html"})
    assert kind.title in html.text


def test_slugs_are_unique():
    assert len(problem_classes()) == len(STATUS) == len(raised_classes()) == len(REMEDIES)


def test_all_faults_of_a_document_come_at_once_with_pointers():
    problem = CLIENT.post(PATH, json={"weights": [1, None, "2", True], "wieghts": 1, "nmae": ""}).get_json()
    pointers = [fault["pointer"] for fault in problem["errors"]]
    assert pointers == ["/nmae", "/wieghts", "/weights/1", "/weights/2", "/weights/3"]
    assert problem["errors_total"] == 5
    assert problem["errors"][3] == {"pointer": "/weights/2", "code": "type", "detail": "expected a number", "seen": "2"}


def test_at_most_fifty_faults_are_listed_and_all_are_counted():
    response = CLIENT.post(PATH, json={"weights": [None] * 100_000})
    assert len(response.get_json()["errors"]) == 50
    assert response.get_json()["errors_total"] == 100_001
    assert len(response.data) < 20_000


def test_a_fault_of_the_service_says_nothing_of_its_inside_and_is_logged(caplog):
    with caplog.at_level(logging.ERROR, "stillstock.problems"):
        response = CLIENT.post(PATH, json={"breaks": True, "name": "private"}, headers={"X-Request-Id": "job-4711-a"})
    assert response.status_code == 500
    assert response.get_json()["type"] == "about:blank"
    assert "secret" not in response.text
    assert "private" not in response.text
    assert response.headers["X-Request-Id"] == "job-4711-a"
    assert caplog.records[0].request_id == "job-4711-a"
    assert caplog.records[0].exc_info is not None


def test_a_wrong_method_is_told_the_right_ones():
    """RFC 9110, section 15.5.6: 405 must carry Allow."""
    response = CLIENT.get(PATH)
    assert response.status_code == 405
    assert response.headers["Allow"] == "OPTIONS, POST"
    assert CLIENT.options(PATH).headers["Allow"] == "OPTIONS, POST"


def test_the_names_that_would_do_are_all_told():
    """They are longer than what is kept of a caller's text."""
    document = {"units": "metric", "stock": {}, "bed": {}, "tools": {}, "holders": [{"kind": "glue"}]}
    answer = create_app().test_client().post("/v1/margin", json=document)
    fault = next(fault for fault in answer.get_json()["errors"] if fault["pointer"] == "/holders/0/kind")
    assert fault["limit"] == sorted(contract()["components"]["schemas"]["Holder"]["discriminator"]["mapping"])


def faults_of_range() -> Iterator[tuple[str, set[str | None]]]:
    """Yield each place of the package that makes a fault of the code ``range``, with what it states of it."""
    for file in sorted(Path(stillstock.__file__).parent.rglob("*.py")):
        for call in (
            node for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)
        ):
            stated = {word.arg: word.value for word in call.keywords}
            codes = [stated.get("code"), *call.args[:1]]
            if any(isinstance(code, ast.Constant) and code.value == "range" for code in codes):
                yield f"{file.name}:{call.lineno}", set(stated)


def test_what_lies_out_of_range_is_told_with_the_bound_and_what_came():
    found = list(faults_of_range())
    assert len(found) > 5
    assert [place for place, stated in found if not {"limit", "seen"} <= stated] == []


def test_what_came_is_cut_to_a_readable_length():
    problem = CLIENT.post(PATH, json={"weights": ["x" * 10_000, {"a": "y" * 10_000}, [1, 2]]}).get_json()
    seen = [fault["seen"] for fault in problem["errors"]]
    assert [len(seen[0]) < 600, len(seen[1]) < 200, seen[2]] == [True, True, [1, 2]]
