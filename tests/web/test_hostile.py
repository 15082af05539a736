"""Every hostile request gets its own refusal, as a problem that says nothing about the inside, and quickly."""

import json
import time

import pytest
from tests.web.echo import PATH, echo_app
from tests.web.hostile import CORPUS, Hostile

from stillstock.settings import Settings

CLIENT = echo_app(Settings()).test_client()
#: What must stand in no refusal: a trace, a path or a library's name.
INSIDES = (b"Traceback", b"site-packages", b".py", b"werkzeug", b"flask", b"marshmallow", b"/usr/", b"object at 0x")


@pytest.mark.parametrize("hostile", CORPUS, ids=[item.name for item in CORPUS])
def test_a_hostile_request_is_refused_for_what_it_is(hostile: Hostile):
    path = hostile.path.replace("{post}", PATH)
    start = time.perf_counter()
    response = CLIENT.open(path, method=hostile.method, data=hostile.body, headers=hostile.headers)
    took = time.perf_counter() - start
    problem = json.loads(response.data)
    assert (response.status_code, problem["type"]) == (hostile.status, f"/problems/{hostile.slug}"), problem
    assert response.content_type == "application/problem+json"
    assert problem["status"] == response.status_code
    assert problem["title"]
    assert problem["detail"]
    assert len(response.data) < 20_000
    assert not any(word in response.data for word in INSIDES)
    assert took < 3.0  # linear in the body: the longest are of 16 MiB


def test_names_of_the_corpus_are_unique():
    names = [item.name for item in CORPUS]
    assert len(set(names)) == len(names) >= 150


def test_a_refusal_does_not_depend_on_what_came_before():
    hostile = CORPUS[0]
    first, second = (CLIENT.post(PATH, data=hostile.body, headers=hostile.headers).data for _ in range(2))
    assert first == second
