"""Every hostile set-up gets its own refusal from every endpoint that judges a set-up, and says where the fault lies."""

from typing import Any

import pytest
from tests.web.hostile import CORPUS
from tests.web.hostile_set_ups import SET_UPS, SOUND, HostileSetUp, changed

from stillstock.app import create_app

CLIENT = create_app().test_client()
INSIDES = ("Traceback", "site-packages", ".py", "marshmallow", "pint", "object at 0x")


def test_the_set_up_they_are_made_from_is_sound():
    assert CLIENT.post("/v1/margin", json=SOUND).status_code == 200


def test_there_are_two_hundred_hostile_requests_of_different_names():
    names = [item.name for item in CORPUS] + [item.name for item in SET_UPS]
    assert len(set(names)) == len(names) >= 200


def leads(pointer: str, document: Any) -> bool:
    """Say whether a JSON pointer (RFC 6901) leads to something, or to where a member is missing from an object."""
    assert pointer[:1] in ("", "/")
    tokens = [token.replace("~1", "/").replace("~0", "~") for token in pointer.split("/")[1:]]
    for number, token in enumerate(tokens, start=1):
        if isinstance(document, dict) and token not in document:
            return number == len(tokens)
        try:
            document = document[int(token)] if isinstance(document, list) else document[token]
        except (IndexError, TypeError, ValueError):
            return False
    return True


@pytest.mark.parametrize("hostile", SET_UPS, ids=[item.name for item in SET_UPS])
def test_a_hostile_set_up_is_refused_for_what_it_is(hostile: HostileSetUp):
    document = changed(hostile.member, hostile.value)
    response = CLIENT.post("/v1/margin", json=document)
    problem = response.get_json()
    assert (response.status_code, problem["type"]) == (hostile.status, f"/problems/{hostile.slug}"), problem
    assert response.content_type == "application/problem+json"
    found = [fault["pointer"] for fault in problem["errors"]]
    assert any(pointer.startswith(hostile.pointer) for pointer in found), problem
    assert [pointer for pointer in found if not leads(pointer, document)] == []
    assert all(fault["detail"] and fault["code"] for fault in problem["errors"])
    assert all({"limit", "seen"} <= fault.keys() for fault in problem["errors"] if fault["code"] == "range")
    assert problem["errors_total"] >= len(found)
    assert len(response.data) < 20_000
    assert not any(word in response.text for word in INSIDES), problem


@pytest.mark.parametrize("hostile", [item for item in SET_UPS if item.status == 400][::5], ids=lambda item: item.name)
def test_other_questions_refuse_a_broken_set_up_alike(hostile: HostileSetUp):
    document = changed(hostile.member, hostile.value)
    there, here = (CLIENT.post(route, json=document) for route in ("/v1/retract-height", "/v1/margin"))
    assert there.status_code == here.status_code == 400
    assert there.data == here.data
