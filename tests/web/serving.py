"""A service of one's own on loopback: gunicorn started as it is shipped, stopped in good order, or killed."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

ROOT = Path(__file__).parents[2]
ECHO = "tests.web.echo_wsgi:application"
READ_SECONDS = 2
LIMIT = 100_000
JSON = {"Content-Type": "application/json"}


@dataclass
class Service:
    """A running service."""

    process: subprocess.Popen[bytes]
    port: int
    log: Path
    #: How long an answer is waited for. [s]
    timeout: float = 20.0

    def connection(self) -> HTTPConnection:
        return HTTPConnection("127.0.0.1", self.port, timeout=self.timeout)

    def ask(self, method="GET", path="/healthz", body=None, headers=None):
        with closing(self.connection()) as connection:
            connection.request(method, path, body, headers or {})
            response = connection.getresponse()
            return response, response.read()

    def socket(self, data: bytes = b"") -> socket.socket:
        sock = socket.create_connection(("127.0.0.1", self.port), timeout=20)
        sock.sendall(data)
        return sock

    def stop(self) -> None:
        """End it as a shop does; if that does not help, as a power cut does."""
        self.process.terminate()
        try:
            self.process.wait(timeout=30)
        finally:
            self.kill()

    def workers(self) -> list[int]:
        """Return the process ids of its workers."""
        command = ["pgrep", "-P", str(self.process.pid)]
        return [int(number) for number in subprocess.run(command, capture_output=True, check=False).stdout.split()]

    def kill(self) -> None:
        """Kill it with all its workers (SIGKILL), which nothing can answer to."""
        workers = self.workers()
        self.process.kill()
        for worker in workers:
            with suppress(ProcessLookupError):
                os.kill(worker, signal.SIGKILL)
        self.process.wait(timeout=10)


def start(folder: Path, *, application: str = ECHO, **settings: object) -> Service:
    """Start gunicorn, on a free port unless one is stated."""
    log = folder / "log"
    environ = {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": os.pathsep.join([str(ROOT / "service"), str(ROOT)]),
        "OPENBLAS_NUM_THREADS": "1",
        "STILLSTOCK_PORT": "0",
        **{f"STILLSTOCK_{name.upper()}": str(value) for name, value in settings.items()},
    }
    command = [sys.executable, "-m", "gunicorn", "-c", "service/deploy/gunicorn.conf.py", application]
    with log.open("wb") as lines:
        process = subprocess.Popen(command, cwd=ROOT, env=environ, stderr=lines)
    return Service(process, port_of(process, log), log)


@contextmanager
def served(
    folder: Path,
    *,
    application: str = ECHO,
    read_seconds: int = READ_SECONDS,
    body_bytes: int = LIMIT,
    **settings: object,
) -> Iterator[Service]:
    """Start gunicorn with a short read deadline and a low limit, and stop it at the end."""
    service = start(folder, application=application, read_seconds=read_seconds, body_bytes=body_bytes, **settings)
    try:
        yield service
    finally:
        service.stop()


def port_of(process: subprocess.Popen[bytes], log: Path) -> int:
    """Wait until a service listens and return its port."""
    for _ in range(3000):
        if found := re.search(r"(?:Listening at:|Serving on) http://127\.0\.0\.1:(\d+)", log.read_text()):
            return int(found[1])
        if process.poll() is not None:
            raise ChildProcessError(log.read_text())
        time.sleep(0.02)
    process.kill()
    raise TimeoutError(log.read_text())
