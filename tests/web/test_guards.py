"""Bearer tokens and the cap on computations in flight."""

import hashlib
import threading
import time

import pytest
from tests.web.echo import PATH, echo_app

from stillstock.settings import Limits, Settings

TOKEN = "correct-horse-battery"
GUARDED = Settings(tokens=frozenset({hashlib.sha256(TOKEN.encode()).digest(), hashlib.sha256(b"other").digest()}))
CLIENT = echo_app(GUARDED).test_client()


@pytest.mark.parametrize(
    "authorization",
    [None, "", "Bearer", "Bearer ", "Bearer wrong", f"Basic {TOKEN}", TOKEN, f"Bearer {TOKEN}x", "Bearer \xff\xfe"],
)
def test_without_a_right_token_nothing_under_v1_answers(authorization):
    """RFC 6750, section 3: 401 with WWW-Authenticate: Bearer."""
    headers = {} if authorization is None else {"Authorization": authorization}
    for response in (
        CLIENT.post(PATH, json={}, headers=headers),
        CLIENT.get("/v1/limits", headers=headers),
        CLIENT.get("/v1/nope", headers=headers),
        CLIENT.get("/metrics", headers=headers),
    ):
        assert response.status_code == 401
        assert response.headers["WWW-Authenticate"].startswith("Bearer")
        assert response.get_json()["type"] == "/problems/unauthorized"


@pytest.mark.parametrize("authorization", [f"Bearer {TOKEN}", f"bearer {TOKEN}", f"Bearer  {TOKEN}", "Bearer other"])
def test_a_right_token_opens(authorization):
    assert CLIENT.post(PATH, json={}, headers={"Authorization": authorization}).status_code == 200


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/openapi.yaml", "/docs", "/problems/unauthorized", "/"])
def test_probes_and_the_contract_need_no_token(path):
    assert CLIENT.get(path).status_code == 200


def test_no_token_leaks_into_what_the_settings_print():
    assert TOKEN not in repr(GUARDED)


def test_beyond_the_cap_a_request_is_told_to_come_again_and_probes_still_answer():
    app = echo_app(Settings(limits=Limits(in_flight=1), wait_seconds=0))
    answers: list[int] = []

    def slow() -> None:
        answers.append(app.test_client().post(PATH, json={"seconds": 0.5}).status_code)

    thread = threading.Thread(target=slow)
    thread.start()
    time.sleep(0.15)
    busy = app.test_client().post(PATH, json={})
    alive = app.test_client().get("/healthz")
    thread.join()
    assert (busy.status_code, busy.headers["Retry-After"]) == (503, "1")
    assert busy.get_json()["type"] == "/problems/busy"
    assert alive.status_code == 200
    assert answers == [200]
    assert app.test_client().post(PATH, json={}).status_code == 200


def test_a_request_waits_a_moment_for_a_place():
    app = echo_app(Settings(limits=Limits(in_flight=1), wait_seconds=5))
    statuses: list[int] = []

    def ask() -> None:
        statuses.append(app.test_client().post(PATH, json={"seconds": 0.05}).status_code)

    threads = [threading.Thread(target=ask) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert statuses == [200] * 5


def test_a_place_is_given_back_after_a_refusal_and_after_a_fault():
    client = echo_app(Settings(limits=Limits(in_flight=1), wait_seconds=0)).test_client()
    statuses = [
        client.post(PATH, json=body).status_code for body in ({"x": 1}, {"weights": [-1]}, {"breaks": True}, {})
    ]
    assert statuses == [400, 422, 500, 200]
