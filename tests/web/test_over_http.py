"""The service over real HTTP: gunicorn with two workers, as it is shipped."""

import gzip
import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing

import pytest
from tests.web.echo import PATH
from tests.web.serving import JSON, LIMIT, READ_SECONDS, ROOT, Service, port_of, served


@pytest.fixture(scope="module")
def service(tmp_path_factory) -> Iterator[Service]:
    with served(tmp_path_factory.mktemp("service")) as running:
        yield running


def chunks(*pieces: bytes) -> bytes:
    return b"".join(b"%x\r\n%s\r\n" % (len(piece), piece) for piece in pieces) + b"0\r\n\r\n"


def chunked(body: bytes) -> bytes:
    head = f"POST {PATH} HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n"
    return head.encode() + body


def status_of(sock: socket.socket) -> int:
    head = sock.recv(4096)
    return int(head.split()[1]) if head else 0


def test_a_document_goes_in_and_its_answer_comes_out(service):
    response, body = service.ask("POST", PATH, b'{"weights": [1, 2.5]}', JSON)
    assert (response.status, json.loads(body)["sum"]) == (200, 3.5)
    assert "/" not in response.headers["Server"]  # no version


def test_a_chunked_body_is_read(service):
    with closing(service.socket(chunked(chunks(b'{"wei', b'ghts": [1, 2', b".5]}")))) as sock:
        assert status_of(sock) == 200


def test_a_chunked_body_beyond_the_limit_is_refused_and_not_cut(service):
    """A valid document padded to just the limit, then junk: what is cut off there would pass as whole."""
    document = b'{"weights": [1]}'
    for junk in (b"x", b"x" * 50_000, b" "):
        with closing(service.socket(chunked(chunks(document, b" " * (LIMIT - len(document)), junk)))) as sock:
            assert status_of(sock) == 413
    with closing(service.socket(chunked(chunks(document, b" " * (LIMIT - len(document)))))) as sock:
        assert status_of(sock) == 200


def test_a_body_announced_beyond_the_limit_is_refused_before_it_is_sent(service):
    head = f"POST {PATH} HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: {10**9}\r\n\r\n"
    with closing(service.socket(head.encode())) as sock:
        assert status_of(sock) == 413


@pytest.mark.parametrize("body", [b"zz\r\nabc\r\n", b"-1\r\nabc\r\n", b"5\r\nabcdeXX", b"\r\n\r\n"])
def test_a_body_that_is_not_chunked_as_it_says_is_refused(service, body):
    with closing(service.socket(chunked(body))) as sock:
        assert status_of(sock) == 400


def test_a_half_sent_body_holds_up_nobody_and_ends_at_the_deadline(service):
    head = f"POST {PATH} HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n"
    with closing(service.socket(head.encode() + b'{"weights')) as slow:
        started = time.monotonic()
        response, _ = service.ask("POST", PATH, b"{}", JSON)
        assert response.status == 200
        assert time.monotonic() - started < 1.0
        assert status_of(slow) == 400
        assert READ_SECONDS - 0.5 < time.monotonic() - started < READ_SECONDS + 3


def test_half_open_and_slow_connections_in_hundreds_hold_up_nobody(service):
    """200 at once: some say nothing, some half a head, some half a body."""
    head = f"POST {PATH} HTTP/1.1\r\nHost: x\r\n".encode()
    starts = [b"", b"G", head, head + b"Content-Type: application/json\r\nContent-Length: 50\r\n\r\n{"]
    with ExitStack() as stack:
        for i in range(200):
            stack.enter_context(closing(service.socket(starts[i % len(starts)])))
        for _ in range(5):
            started = time.monotonic()
            response, _ = service.ask("POST", PATH, b"{}", JSON)
            assert response.status == 200
            assert time.monotonic() - started < 1.5
    response, _ = service.ask()
    assert response.status == 200


def test_silent_connections_take_no_thread(tmp_path):
    with served(tmp_path, workers=1, threads=2, read_seconds=10) as service, ExitStack() as stack:
        for _ in range(50):
            stack.enter_context(closing(service.socket()))
        started = time.monotonic()
        assert service.ask()[0].status == 200
        assert time.monotonic() - started < 2.0


def test_a_drip_of_bytes_does_not_stretch_the_deadline(service):
    head = f"POST {PATH} HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n"
    started = time.monotonic()
    with closing(service.socket(head.encode())) as sock:
        sock.settimeout(0.2)
        status = None
        while status is None and time.monotonic() - started < 10:
            try:
                sock.sendall(b" ")
                status = status_of(sock)
            except TimeoutError:
                continue
    assert status == 400
    assert time.monotonic() - started < READ_SECONDS + 3


def test_a_connection_is_kept_for_the_next_request(service):
    with closing(service.connection()) as connection:
        ports = set()
        for path in ("/healthz", "/v1/limits", "/nope", "/healthz?x=1"):
            connection.request("GET", path)
            connection.getresponse().read()
            ports.add(connection.sock.getsockname())
        connection.request("POST", PATH, b"[", JSON)
        assert connection.getresponse().read()
        connection.request("POST", PATH, b"unread", {"Content-Type": "text/plain"})
        assert connection.getresponse().status == 415
    assert len(ports) == 1


def test_head_sends_no_body(service):
    with closing(service.socket(b"HEAD /v1/limits HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")) as sock:
        answer = b""
        while piece := sock.recv(4096):
            answer += piece
    assert answer.startswith(b"HTTP/1.1 200")
    assert answer.endswith(b"\r\n\r\n")
    length = re.search(rb"Content-Length: (\d+)", answer)
    assert length is not None
    assert int(length[1]) > 500


def test_an_answer_leaves_in_one_piece_so_that_no_kill_can_part_its_head_from_its_body(service):
    """What one call sent is there at once; two calls are seen apart in about half of the answers."""
    ask = b"GET /problems/busy HTTP/1.1\r\nHost: x\r\n\r\n"
    with closing(service.socket()) as sock:
        for _ in range(300):
            sock.sendall(ask)
            head, _, body = sock.recv(65536).partition(b"\r\n\r\n")
            length = re.search(rb"Content-Length: (\d+)", head)
            assert length is not None
            assert len(body) == int(length[1])


def test_gzip_goes_both_ways(service):
    headers = {**JSON, "Content-Encoding": "gzip", "Accept-Encoding": "gzip"}
    body = gzip.compress(json.dumps({"weights": [1] * 900, "name": "n" * 2000}).encode())
    response, answer = service.ask("POST", PATH, body, headers)
    assert response.headers["Content-Encoding"] == "gzip"
    assert json.loads(gzip.decompress(answer))["sum"] == 900


def test_the_same_request_gets_the_same_bytes_from_every_worker(service):
    bodies, tags = set(), set()
    for _ in range(12):
        response, body = service.ask("POST", PATH, b'{"weights": [1]}', JSON)
        bodies.add(body)
        tags.add(response.headers["ETag"])
        assert service.ask("OPTIONS", PATH)[0].headers["Allow"] == "OPTIONS, POST"
    assert len(bodies) == len(tags) == 1


def counted(service: Service, path: str) -> float:
    _, text = service.ask("GET", "/metrics")
    lines = [
        li for li in text.decode().splitlines() if li.startswith("stillstock_requests_total") and f'"{path}"' in li
    ]
    return sum(float(line.rpartition(" ")[2]) for line in lines)


def test_metrics_add_up_over_all_workers(service):
    before = counted(service, "/problems/{slug}")
    for _ in range(30):
        service.ask("GET", "/problems/busy")
    assert [counted(service, "/problems/{slug}") - before for _ in range(6)] == [30] * 6


def test_log_lines_are_json_and_hold_no_payload(service):
    secret = "word-of-the-caller"
    service.ask("POST", PATH, json.dumps({"name": secret}).encode(), {**JSON, "X-Request-Id": "job-4711-log"})
    service.ask("GET", f"/{secret}")
    service.ask("POST", PATH, json.dumps({"breaks": False, secret: 1}).encode(), JSON)
    text = service.log.read_text()
    lines = [json.loads(line) for line in text.splitlines()]
    mine = [line for line in lines if line.get("request_id") == "job-4711-log"]
    assert [(line["operation"], line["status"]) for line in mine] == [(PATH, 200)]
    assert secret not in text


@pytest.mark.parametrize(
    ("request_", "status"),
    [
        (b"GET /" + b"a" * 5000 + b" HTTP/1.1\r\nHost: x\r\n\r\n", 414),
        (b"GET /healthz HTTP/1.1\r\nHost: x\r\nX-Long: " + b"a" * 9000 + b"\r\n\r\n", 431),
        (b"GET /healthz HTTP/1.1\r\nHost: x\r\n" + b"X-A: b\r\n" * 101 + b"\r\n", 431),
        (b"nonsense\r\n\r\n", 400),
    ],
)
def test_what_gunicorn_refuses_itself_is_still_refused(service, request_, status):
    """Over-long lines and heads never reach the application; the server answers with a page of its own, as stated."""
    with closing(service.socket(request_)) as sock:
        assert status_of(sock) == status


def test_a_stopping_service_finishes_what_is_in_flight_and_takes_no_new_calls(tmp_path):
    """A call that the kernel went on taking would hang until the last answer is out, and then be torn down."""
    with served(tmp_path) as service:
        answers: list[int] = []

        def slow() -> None:
            response, body = service.ask("POST", PATH, b'{"weights": [7], "seconds": 3}', JSON)
            answers.extend([response.status, json.loads(body)["sum"]])

        thread = threading.Thread(target=slow)
        thread.start()
        time.sleep(0.5)
        service.process.send_signal(signal.SIGTERM)
        time.sleep(1.0)
        with pytest.raises(ConnectionRefusedError):
            service.ask()
        assert thread.is_alive()
        thread.join()
        assert answers == [200, 7]
        assert service.process.wait(timeout=20) == 0


def test_recycled_workers_lose_no_request_and_no_count_and_litter_nothing(tmp_path):
    folder = tmp_path / "metrics"
    with served(tmp_path, recycle_after=20, metrics_dir=folder) as service, ThreadPoolExecutor(4) as askers:
        statuses = list(askers.map(lambda _: service.ask("GET", "/problems/busy")[0].status, range(150)))
        assert statuses == [200] * 150
        assert service.log.read_text().count("Booting worker") >= 5
        assert counted(service, "/problems/{slug}") == 150
        assert len(list(folder.glob("counter_*.db"))) <= 5  # the parent, two workers, two of their successors


def test_a_killed_worker_is_replaced_and_its_counts_stay(tmp_path):
    with served(tmp_path) as service:
        for _ in range(20):
            service.ask("GET", "/problems/busy")
        workers = re.findall(r"Booting worker with pid: (\d+)", service.log.read_text())
        os.kill(int(workers[0]), signal.SIGKILL)
        time.sleep(1.5)
        assert service.ask("GET", "/problems/busy")[0].status == 200
        assert counted(service, "/problems/{slug}") == 21


def test_the_command_line_starts_the_shipped_service(tmp_path):
    log = tmp_path / "log"
    command = [sys.executable, "-m", "stillstock.cli", "serve", "--port", "0", "--workers", "1"]
    environ = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "service")}
    with log.open("wb") as lines:
        process = subprocess.Popen(command, cwd=tmp_path, env=environ, stderr=lines)
    try:
        service = Service(process, port_of(process, log), log)
        response, body = service.ask("GET", "/readyz")
        assert (response.status, json.loads(body)["status"]) == (200, "ready")
        assert service.ask("GET", "/docs")[0].status == 200
    finally:
        process.terminate()
        assert process.wait(timeout=30) == 0


HELD = """
import os, signal
from stillstock.web.gunicorn_worker import STOPPING, hold_signals_over_forks
signal.signal(signal.SIGTERM, lambda *_: None)  # the master's own, which a new worker inherits
hold_signals_over_forks()
worker = os.fork()
if worker == 0:
    os.kill(os.getpid(), signal.SIGTERM)
    signal.signal(signal.SIGTERM, lambda *_: os._exit(7))
    signal.pthread_sigmask(signal.SIG_UNBLOCK, STOPPING)
    os._exit(1)
assert not signal.pthread_sigmask(signal.SIG_BLOCK, ()) & STOPPING
print(os.waitstatus_to_exitcode(os.waitpid(worker, 0)[1]))
"""


def test_a_worker_that_is_told_to_stop_while_it_is_made_stops():
    done = subprocess.run([sys.executable, "-c", HELD], capture_output=True, timeout=60, check=True)
    assert done.stdout == b"7\n"
