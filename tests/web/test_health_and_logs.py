"""Probes, metrics and log lines over the test client."""

import json
import logging
import time

from tests.contract.documents import CONTRACT
from tests.web.echo import PATH, echo_app

from stillstock.app import create_app
from stillstock.web.contract import contract_version
from stillstock.web.logs import JsonFormatter

CLIENT = echo_app().test_client()


def test_alive_is_constant_and_uncached():
    first, second = CLIENT.get("/healthz"), CLIENT.get("/healthz")
    assert first.data == second.data == b'{"status": "alive"}\n'
    assert first.headers["Cache-Control"] == "no-store"
    assert "ETag" not in first.headers


def test_ready_remembers_one_computation_of_a_known_answer():
    calls: list[int] = []

    def right() -> bool:
        calls.append(1)
        return True

    client = create_app(known_answer=right).test_client()
    bodies = [client.get("/readyz").get_json() for _ in range(3)]
    assert calls == [1]
    assert bodies[0]["status"] == "ready"
    assert set(bodies[0]) == {"status", "service", "model", "contract"}


def test_a_wrong_or_broken_known_answer_makes_the_service_alive_but_not_ready(caplog):
    def broken() -> bool:
        raise ZeroDivisionError

    for known_answer in (broken, lambda: False):
        with caplog.at_level(logging.ERROR, "stillstock.health"):
            client = create_app(known_answer=known_answer).test_client()
        assert client.get("/readyz").status_code == 503
        assert client.get("/readyz").content_type == "application/problem+json"
        assert client.get("/healthz").status_code == 200
    assert len(caplog.records) == 2


def lines_of(caplog, *requests):
    with caplog.at_level(logging.INFO, "stillstock.request"):
        for method, path, options in requests:
            CLIENT.open(path, method=method, **options)
    return [json.loads(JsonFormatter().format(r)) for r in caplog.records if r.name == "stillstock.request"]


def test_a_request_leaves_one_line_with_its_figures_and_nothing_the_caller_wrote(caplog):
    secret = "secret-of-the-caller"
    body = json.dumps({"weights": [1], "name": secret}).encode()
    headers = {"Content-Type": "application/json", "X-Request-Id": "job-4711-a", "User-Agent": secret}
    lines = lines_of(
        caplog,
        ("POST", PATH, {"data": body, "headers": headers}),
        ("GET", f"/v1/holders/{secret}", {}),
        ("GET", f"/{secret}?{secret}=1", {}),
        (secret.upper(), PATH, {}),
    )
    assert [(line["operation"], line["status"]) for line in lines] == [
        (PATH, 200),
        ("/v1/holders/{kind}", 404),
        ("(none)", 404),
        ("(none)", 405),
    ]
    first = lines[0]
    assert first["request_id"] == "job-4711-a"
    assert first["bytes_in"] == len(body)
    assert first["bytes_out"] > 0
    assert first["ms"] >= 0
    assert first["model"]
    assert time.strptime(first["time"][:19], "%Y-%m-%dT%H:%M:%S")
    assert secret not in json.dumps(lines).lower()


def test_a_caller_s_trace_stands_in_the_line(caplog):
    """W3C Trace Context, section 3.2: the second field is the trace's id; the value is the text's own example."""
    headers = {"traceparent": "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01", "X-Request-Id": "job-4711-t"}
    (line,) = lines_of(caplog, ("GET", "/v1/limits", {"headers": headers}))
    assert (line["trace_id"], line["request_id"]) == ("4bf92f3577b34da6a3ce929d0e0e4736", "job-4711-t")


def test_a_trace_stands_in_the_log_as_one_line():
    fault = ZeroDivisionError("by\nzero")
    record = logging.LogRecord("x", logging.ERROR, "f", 1, "said\ntwice", None, (type(fault), fault, None))
    text = JsonFormatter().format(record)
    assert "\n" not in text
    assert "ZeroDivisionError" in json.loads(text)["trace"]


def test_metrics_count_by_operation_and_status_and_never_by_what_a_caller_wrote():
    def series() -> set[str]:
        text = CLIENT.get("/metrics").text
        return {line.rpartition(" ")[0] for line in text.splitlines() if line.startswith("stillstock_")}

    for path in ("/v1/holders/a", "/nope-a", "/v1/limits"):
        CLIENT.get(path)
    CLIENT.post(PATH, json={})
    CLIENT.open(PATH, method="BREW")
    series()
    before = series()
    for i in range(20):
        CLIENT.get(f"/v1/holders/b{i}")
        CLIENT.get(f"/nope-{i}?x={i}")
        CLIENT.open(PATH, method=f"BREW{i}")
    assert series() == before
    assert 'stillstock_requests_total{method="GET",operation="/v1/holders/{kind}",status="404"}' in before
    assert 'stillstock_verdicts_total{verdict="holds"}' in before


def test_the_contract_is_served_byte_for_byte():
    response = CLIENT.get("/openapi.yaml")
    assert response.data == CONTRACT.read_bytes()
    assert response.content_type == "application/yaml"
    assert CLIENT.get("/readyz").get_json()["contract"] == contract_version()
