"""The server for a single desk (waitress, as on Windows), started by the shipped command."""

import gzip
import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing

import pytest
from tests.bench.bench_load import examples
from tests.web.serving import JSON, ROOT, Service, port_of

LIMIT = 100_000


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    log = tmp_path_factory.mktemp("desk") / "log"
    command = [sys.executable, "-m", "stillstock.cli", "serve", "--server", "waitress", "--port", "0"]
    environ = {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT / "service"),
        "STILLSTOCK_BODY_BYTES": str(LIMIT),
        "OPENBLAS_NUM_THREADS": "1",
    }
    with log.open("wb") as lines:
        process = subprocess.Popen(command, cwd=log.parent, env=environ, stderr=lines)
    try:
        yield Service(process, port_of(process, log), log)
    finally:
        process.kill()
        process.wait(timeout=20)


def test_it_is_ready_counts_and_answers_packed_both_ways(desk):
    assert json.loads(desk.ask(path="/readyz")[1])["status"] == "ready"
    body = gzip.compress(json.dumps(examples()["/v1/cutting-force"][0]).encode())
    headers = {**JSON, "Content-Encoding": "gzip", "Accept-Encoding": "gzip", "X-Request-Id": "job-4711-desk"}
    response, answer = desk.ask("POST", "/v1/cutting-force", body, headers)
    assert (response.status, response.headers["Content-Encoding"]) == (200, "gzip")
    assert json.loads(gzip.decompress(answer))["cuts"]
    assert not response.headers.get("Server")
    counts = 'stillstock_requests_total{method="POST",operation="/v1/cutting-force",status="200"} 1.0'
    assert counts in desk.ask(path="/metrics")[1].decode()
    lines = [json.loads(line) for line in desk.log.read_text().splitlines()]
    assert "job-4711-desk" in [line.get("request_id") for line in lines]


def test_a_look_up_is_not_sent_twice(desk):
    tag = desk.ask(path="/v1/limits")[0].headers["ETag"]
    response, body = desk.ask(path="/v1/limits", headers={"If-None-Match": tag})
    assert (response.status, body) == (304, b"")


def test_slow_senders_take_no_thread(desk):
    """A body is read in full before a thread hears of it."""
    half = (
        b"POST /v1/cutting-force HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 50\r\n\r\n{"
    )
    with ExitStack() as stack:
        for _ in range(60):
            stack.enter_context(closing(desk.socket(half)))
        started = time.monotonic()
        assert desk.ask(path="/v1/limits")[0].status == 200
        assert time.monotonic() - started < 2.0


def test_a_body_beyond_the_limit_is_refused(desk):
    response, body = desk.ask("POST", "/v1/cutting-force", b" " * (LIMIT + 50_000), JSON)
    assert (response.status, json.loads(body)["type"]) == (413, "/problems/too-large")
