"""ETag, conditional requests, gzip, request id, security headers, CORS."""

import gzip

import pytest
from tests.web.echo import PATH, echo_app

from stillstock.settings import Settings

CLIENT = echo_app().test_client()
GETS = ["/", "/docs", "/openapi.yaml", "/problems", "/problems/busy", "/v1/limits", "/v1/materials", "/v1/sources"]


@pytest.mark.parametrize("path", GETS)
def test_a_get_has_a_strong_tag_and_answers_304_to_it(path):
    """RFC 9110, section 13.1.2 (If-None-Match) and 15.4.5 (the headers a 304 must carry)."""
    first = CLIENT.get(path)
    tag = first.headers["ETag"]
    assert first.status_code == 200
    assert tag.startswith('"')
    for header in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        again = CLIENT.get(path, headers={"If-None-Match": header})
        assert again.status_code == 304
        assert again.data == b""
        assert again.headers["ETag"] == tag
        assert again.headers["Vary"] == first.headers["Vary"]
        assert "Content-Type" not in again.headers
    assert CLIENT.get(path, headers={"If-None-Match": '"other"'}).data == first.data


@pytest.mark.parametrize("path", GETS)
def test_head_is_get_without_the_body(path):
    get, head = CLIENT.get(path), CLIENT.head(path)
    assert head.status_code == 200
    assert head.data == b""
    for name in ("ETag", "Content-Length", "Content-Type", "Vary"):
        assert head.headers[name] == get.headers[name]


def test_a_post_whose_answer_is_known_gets_412():
    """RFC 9110, section 13.1.2: 304 is for GET and HEAD, any other method gets 412."""
    tag = CLIENT.post(PATH, json={"weights": [1]}).headers["ETag"]
    known = CLIENT.post(PATH, json={"weights": [1]}, headers={"If-None-Match": tag})
    assert known.status_code == 412
    assert known.content_type == "application/problem+json"
    assert known.headers["X-Request-Id"]
    assert CLIENT.post(PATH, json={"weights": [2]}, headers={"If-None-Match": tag}).status_code == 200


def test_each_representation_has_a_tag_of_its_own():
    answers = [CLIENT.post(f"{PATH}?format={name}", json={"weights": [1]}) for name in ("json", "svg", "dxf", "text")]
    plain, coded = (CLIENT.get("/v1/limits", headers=headers) for headers in ({}, {"Accept-Encoding": "gzip"}))
    tags = [answer.headers["ETag"] for answer in (*answers, plain, coded)]
    assert len(set(tags)) == len(tags)
    assert CLIENT.get("/v1/limits", headers={"If-None-Match": tags[-1], "Accept-Encoding": "gzip"}).status_code == 304


def test_gzip_out_is_the_same_body_and_the_same_bytes_each_time():
    plain = CLIENT.get("/v1/materials")
    first, second = (CLIENT.get("/v1/materials", headers={"Accept-Encoding": "gzip"}) for _ in range(2))
    assert first.headers["Content-Encoding"] == "gzip"
    assert first.data == second.data
    assert gzip.decompress(first.data) == plain.data
    assert len(first.data) < len(plain.data) / 3
    assert "Accept-Encoding" in plain.vary


def test_gzip_in_is_read():
    body = gzip.compress(b'{"weights": [1, 2.5]}')
    headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
    assert CLIENT.post(PATH, data=body, headers=headers).get_json()["sum"] == 3.5


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("job-4711-a", True),
        ("4bf92f35-77b3-4da6-a3ce-929d0e0e4736", True),
        ("short", False),
        ("x" * 65, False),
        ("has blank in it", False),
        ('quote"quote"', False),
        ("", False),
    ],
)
def test_a_sane_request_id_is_kept_and_any_other_replaced(given, kept):
    got = CLIENT.get("/healthz", headers={"X-Request-Id": given}).headers["X-Request-Id"]
    assert (got == given) is kept
    assert 8 <= len(got) <= 64


@pytest.mark.parametrize(
    ("traceparent", "taken"),
    [
        ("00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01", True),  # W3C Trace Context, the example
        ("00-00000000000000000000000000000000-00f067aa0ba902b7-01", False),
        ("00-4bf92f3577b34da6a3ce929d0e0e4736-0000000000000000-01", False),
        ("ff-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01", False),
        ("00-4BF92F3577B34DA6A3CE929D0E0E4736-00f067aa0ba902b7-01", False),
        ("nonsense", False),
    ],
)
def test_a_trace_is_taken_over_if_it_has_the_right_form(traceparent, taken):
    response = CLIENT.get("/healthz", headers={"traceparent": traceparent})
    assert response.status_code == 200
    assert (response.headers["X-Request-Id"] == "4bf92f3577b34da6a3ce929d0e0e4736") is taken


def test_the_request_id_is_not_in_the_body():
    bodies = {CLIENT.get("/nope", headers={"X-Request-Id": f"request-{i}"}).data for i in range(3)}
    assert len(bodies) == 1


@pytest.mark.parametrize("name", ["svg", "html"])
def test_what_a_browser_draws_may_load_and_run_nothing(name):
    response = CLIENT.post(f"{PATH}?format={name}", json={})
    policy = response.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'")
    assert "script" not in policy
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_every_answer_under_v1_names_the_model_and_an_answer_its_verdict():
    response = CLIENT.post(PATH, json={})
    assert response.headers["Stillstock-Verdict"] == "holds"
    assert response.headers["Stillstock-Model"]
    assert "Stillstock-Verdict" not in CLIENT.get("/v1/limits").headers
    assert "Stillstock-Model" in CLIENT.get("/v1/nope").headers


def test_other_origins_are_let_in_only_if_the_operator_says_so():
    asks = {"Origin": "https://cam.example", "Access-Control-Request-Method": "POST"}
    closed = CLIENT.options(PATH, headers=asks)
    assert not [name for name in closed.headers.keys() if name.startswith("Access-Control")]  # noqa: SIM118  headers repeat
    client = echo_app(Settings(cors_origin="https://cam.example")).test_client()
    preflight, answer = client.options(PATH, headers=asks), client.post(PATH, json={}, headers=asks)
    assert preflight.headers["Access-Control-Allow-Methods"] == "OPTIONS, POST"
    assert "Content-Type" in preflight.headers["Access-Control-Allow-Headers"]
    assert answer.headers["Access-Control-Allow-Origin"] == "https://cam.example"
    assert "Origin" in answer.vary
