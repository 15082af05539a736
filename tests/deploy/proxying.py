"""The shipped proxy configuration in a real nginx: byte for byte, with a port and replicas of one's own beside it."""

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

SHIPPED = Path(__file__).parents[2] / "service/deploy/nginx"
#: Debian keeps it where only root's path leads.
NGINX = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")


@dataclass
class Proxy:
    """A running nginx."""

    process: subprocess.Popen[bytes]
    port: int
    passed_on: Path

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def connection(self, source: str = "127.0.0.1") -> HTTPConnection:
        return HTTPConnection("127.0.0.1", self.port, timeout=20, source_address=(source, 0))

    def ask(self, method="GET", path="/healthz", body=None, headers=None):
        with closing(self.connection()) as connection:
            connection.request(method, path, body, headers or {})
            response = connection.getresponse()
            return response, response.read()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def proxied(folder: Path, replicas: Sequence[int]) -> Iterator[Proxy]:
    """Start nginx before replicas at these ports, and stop it at the end."""
    assert NGINX is not None
    port, log = free_port(), folder / "log"
    shutil.copy(SHIPPED / "nginx.conf", folder)
    (folder / "listen.conf").write_text(f"listen 127.0.0.1:{port};\naccess_log access.log line if=$logged;\n")
    (folder / "replicas.conf").write_text("".join(f"server 127.0.0.1:{each} max_fails=0;\n" for each in replicas))
    # The folder is the test's alone, so that nginx's workers must be who the test is.
    user = " user root;" if os.geteuid() == 0 else ""
    command = [NGINX, "-p", str(folder), "-c", str(folder / "nginx.conf"), "-g", f"daemon off;{user}"]
    with log.open("wb") as lines:
        process = subprocess.Popen(command, stdout=lines, stderr=subprocess.STDOUT)
    try:
        _wait(process, port, log)
        yield Proxy(process, port, folder / "access.log")
    finally:
        process.terminate()
        process.wait(timeout=20)


def _wait(process: subprocess.Popen[bytes], port: int, log: Path) -> None:
    for _ in range(200):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        assert process.poll() is None, log.read_text()
        time.sleep(0.02)
    raise TimeoutError(log.read_text())
