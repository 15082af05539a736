"""Two replicas behind a real nginx: what dies, restarts or dawdles costs nobody an answer."""

import json
import re
import socket
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from tests.deploy.proxying import NGINX, SHIPPED, Proxy, free_port, proxied
from tests.web.echo import PATH
from tests.web.serving import JSON, Service, start

from stillstock.settings import Limits
from stillstock_client import Client, NoService

pytestmark = pytest.mark.skipif(NGINX is None, reason="nginx is not installed (Debian's package: nginx)")

ASKERS, PACE = 8, 0.1
DOCUMENT = {"weights": [1, 2.5], "seconds": 0.03}
SUM = 3.5


@dataclass
class Pair:
    """Two replicas that come back at their own ports, and the proxy before them."""

    folder: Path
    replicas: list[Service] = field(default_factory=list)
    proxy: Proxy = field(init=False)

    def start(self, number: int, port: int = 0) -> Service:
        folder = self.folder / f"replica-{number}-{time.monotonic_ns()}"
        folder.mkdir()
        return start(folder, port=port, read_seconds=4)

    def restart(self, number: int) -> None:
        """Start a stopped or killed replica anew at its port."""
        self.replicas[number] = self.start(number, self.replicas[number].port)

    def logs(self) -> str:
        return "".join(path.read_text() for path in self.folder.glob("replica-*/log"))


@pytest.fixture(scope="module")
def pair(tmp_path_factory) -> Iterator[Pair]:
    pair = Pair(tmp_path_factory.mktemp("pair"))
    with ThreadPoolExecutor(2) as pool:
        pair.replicas = list(pool.map(pair.start, range(2)))
    try:
        with proxied(tmp_path_factory.mktemp("proxy"), [each.port for each in pair.replicas]) as pair.proxy:
            yield pair
    finally:
        for replica in pair.replicas:
            replica.stop()


class Load:
    """Askers who ask on and on: half of them plainly, to whom the proxy alone must see, half by the client."""

    def __init__(self, proxy: Proxy) -> None:
        self.proxy, self.over = proxy, threading.Event()
        self.right, self.wrong = 0, list[str]()
        askers: list[Callable[[], object]] = [self.plainly, self.by_client]
        self.threads = [threading.Thread(target=self.ask, args=(askers[i % 2],)) for i in range(ASKERS)]

    def plainly(self) -> object:
        response, body = self.proxy.ask("POST", PATH, json.dumps(DOCUMENT), JSON)
        return json.loads(body)["sum"] if response.status == 200 else f"status {response.status}"

    def by_client(self) -> object:
        return Client(self.proxy.url)._post(PATH, DOCUMENT, None)["sum"]

    def ask(self, once: Callable[[], object]) -> None:
        while not self.over.wait(PACE):
            try:
                got = once()
            except Exception as fault:
                got = repr(fault)
            if got == SUM:
                self.right += 1
            else:
                self.wrong.append(f"{once.__name__}: {got}")

    def __enter__(self) -> "Load":
        for thread in self.threads:
            thread.start()
        time.sleep(0.8)
        return self

    def __exit__(self, *_: object) -> None:
        time.sleep(0.8)
        self.over.set()
        for thread in self.threads:
            thread.join()


HEAD = f"POST {PATH} HTTP/1.1\r\nHost: x\r\n".encode()
HALVES = [b"", b"G", HEAD, HEAD + b"Content-Type: application/json\r\nContent-Length: 50\r\n\r\n{"]


@dataclass
class Slow:
    """200 connections that say nothing, half a head or half a body, held for as long as the proxy lets them."""

    sockets: list[socket.socket]
    opened: float


@pytest.fixture(scope="module")
def slow(pair) -> Iterator[Slow]:
    with ExitStack() as stack:
        sockets = [stack.enter_context(closing(socket.create_connection(("127.0.0.1", pair.proxy.port), 20)))
                   for _ in range(200)]  # fmt: skip
        for i, sock in enumerate(sockets):
            sock.sendall(HALVES[i % len(HALVES)])
        yield Slow(sockets, time.monotonic())


@pytest.mark.usefixtures("slow")
def test_slow_and_half_open_connections_in_hundreds_hold_up_nobody(pair):
    for _ in range(10):
        started = time.monotonic()
        response, body = pair.proxy.ask("POST", PATH, json.dumps(DOCUMENT), JSON)
        assert (response.status, json.loads(body)["sum"]) == (200, SUM)
        assert time.monotonic() - started < 1.5


@pytest.mark.usefixtures("slow")
def test_a_killed_replica_costs_no_answer_and_takes_part_again(pair):
    with Load(pair.proxy) as load:
        pair.replicas[0].kill()
        time.sleep(0.8)
        pair.restart(0)
    assert load.wrong == []
    assert load.right > 50
    lines = [json.loads(line) for line in pair.proxy.passed_on.read_text().splitlines()]
    first, then = (f"127.0.0.1:{replica.port}" for replica in pair.replicas)
    assert f"{first}, {then}" in [line["tried"] for line in lines if line["status"] == 200]
    assert pair.replicas[0].log.read_text().count(PATH) > 5


@pytest.mark.usefixtures("slow")
def test_a_rolling_restart_costs_no_answer(pair):
    before = pair.logs().count("Shutting down")
    with Load(pair.proxy) as load:
        for number in range(2):
            pair.replicas[number].stop()
            pair.restart(number)
            time.sleep(0.3)
    assert load.wrong == []
    assert load.right > 50
    assert pair.logs().count("Shutting down") == before + 2
    assert all(replica.log.read_text().count(PATH) > 2 for replica in pair.replicas)


def test_the_proxy_frees_itself_of_slow_senders_and_no_replica_heard_of_them(pair, slow):
    """It gives 10 s for a head, and 10 s of silence within a body."""
    for sock in slow.sockets:
        sock.settimeout(max(0.1, slow.opened + 13.0 - time.monotonic()))
        try:
            rest = sock.recv(4096)
        except ConnectionResetError:
            continue
        assert rest == b"" or rest.startswith(b"HTTP/1.1 408")
    assert '"status": 400' not in pair.logs()  # what a replica would have said to half a body


def test_a_large_body_is_kept_in_a_file_and_passed_on_whole(pair):
    body = json.dumps({"name": "n" * 3_000_000}).encode()
    response, answer = pair.proxy.ask("POST", PATH, body, JSON)
    assert response.status == 200
    assert len(json.loads(answer)["name"]) == 3_000_000


def problem_of(response, body, *, status: int) -> dict[str, object]:
    problem: dict[str, object] = json.loads(body)
    assert response.headers["Content-Type"] == "application/problem+json"
    assert response.status == problem["status"] == status
    return problem


def test_the_proxy_s_own_refusals_are_problem_documents_too(pair):
    with closing(pair.proxy.connection()) as connection:
        connection.putrequest("POST", PATH)
        connection.putheader("Content-Type", "application/json")
        connection.putheader("Content-Length", str(Limits().body_bytes + 1))
        connection.putheader("X-Request-Id", "job-4711-proxy")
        connection.endheaders()
        response = connection.getresponse()
        assert problem_of(response, response.read(), status=413)["type"] == "/problems/too-large"
        assert response.headers["X-Request-Id"] == "job-4711-proxy"
    assert problem_of(*pair.proxy.ask(path="/metrics"), status=404)["type"] == "/problems/not-found"


def test_one_id_stands_in_the_answer_and_in_the_replica_s_log(pair):
    response, _ = pair.proxy.ask("POST", PATH, json.dumps(DOCUMENT), {**JSON, "X-Request-Id": "job-4711-both"})
    made, _ = pair.proxy.ask("POST", PATH, json.dumps(DOCUMENT), JSON)
    assert response.headers["X-Request-Id"] == "job-4711-both"
    assert re.fullmatch("[0-9a-f]{32}", made.headers["X-Request-Id"])
    assert all(f'"request_id": "{each.headers["X-Request-Id"]}"' in pair.logs() for each in (response, made))


def test_one_address_is_held_to_a_rate_and_others_are_not(pair):
    """600 requests at once, from an address of its own on loopback, where 200 and then 100 a second are let through."""
    request = b"GET /problems/busy HTTP/1.1\r\nHost: x\r\n\r\n"

    def greedy(_: int) -> str:
        with closing(socket.create_connection(("127.0.0.1", pair.proxy.port), 20, ("127.0.0.9", 0))) as sock:
            sock.sendall(request * 149 + request.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n"))
            return b"".join(iter(lambda: sock.recv(65536), b"")).decode()

    with ThreadPoolExecutor(4) as pool:
        answers = "".join(pool.map(greedy, range(4)))
        assert pair.proxy.ask("GET", "/problems/busy")[0].status == 200
    assert answers.count("HTTP/1.1 200 ") >= 200
    assert answers.count("HTTP/1.1 429 ") == answers.count("Retry-After: 1\r\n") > 20


def test_where_no_replica_answers_the_reason_says_what_to_do(tmp_path):
    with proxied(tmp_path, [free_port(), free_port()]) as proxy:
        response, body = proxy.ask("POST", PATH, json.dumps(DOCUMENT), JSON)
        problem_of(response, body, status=502)
        assert response.headers["Retry-After"] == "1"
        with pytest.raises(NoService, match=r"busy or restarting .status 502.; try again later"):
            Client(proxy.url, retries=0).health()


def test_the_files_as_shipped_are_a_whole_configuration(tmp_path):
    command = [str(NGINX), "-t", "-p", str(tmp_path), "-c", str(SHIPPED / "nginx.conf")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=20, check=False)
    assert done.returncode == 0, done.stderr
    text = (SHIPPED / "nginx.conf").read_text()
    assert f"client_max_body_size {Limits().body_bytes // 2**20}m;" in text
