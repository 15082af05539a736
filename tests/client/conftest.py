"""A stand-in for the service on a real socket, which can be told to misbehave."""

import gzip
import json
import socket
import ssl
import struct
import subprocess
import threading
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from types import SimpleNamespace

import pytest

HOLDS = {
    "summary": "holds 2.3 times the worst cut; lets go first by lifting, line 412",
    "verdict": "holds",
    "margin": {"typical": 2.3, "pessimistic": 1.2, "required": 2.0},
    "worst": {"cut": "outline", "line": 412, "at": [18, 44, -6], "force": [31, 12, 25]},
    "checks": [{"name": "bolt", "value": 0.4, "limit": 1.0, "ok": True}],
    "remedies": ["two more tabs"],
    "meetings": [],
    "cautions": [{"line": 7, "detail": "word B90 was not read"}],
    "fingerprint": "c0ffee",
}


class Handler(BaseHTTPRequestHandler):
    """Plays the next act; the last one goes on for ever."""

    def answer(self):
        stage: Service = getattr(self.server, "stage")  # noqa: B009 - set by Service
        body = b"" if stage.deaf else self.rfile.read(int(self.headers.get("Content-Length") or 0))
        stage.seen.append((self.command, self.path, self.headers, body))
        act = stage.acts.pop(0) if len(stage.acts) > 1 else stage.acts[0]
        self.close_connection = True
        act(self)

    do_GET = do_POST = do_CONNECT = answer  # noqa: N815 - names that http.server looks for

    def log_message(self, *_):
        pass


class Stage(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, *_):
        pass  # a client that hangs up is what some tests are about


class IPv6Stage(Stage):
    address_family = socket.AF_INET6


class Service:
    """One stand-in service."""

    def __init__(self, server, scheme="http"):
        self.server, self.acts, self.seen, self.deaf = server, [reply(HOLDS)], [], False
        server.stage = self
        host, port = server.server_address[:2]
        self.port = port
        self.url = f"{scheme}://[{host}]:{port}" if ":" in host else f"{scheme}://{host}:{port}"
        self.thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        self.thread.start()

    def document(self, number=-1):
        """Return the document of a request that came."""
        _, _, headers, body = self.seen[number]
        return json.loads(gzip.decompress(body) if headers.get("Content-Encoding") == "gzip" else body)

    def close(self):
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()


def reply(document, status=200, kind="application/json", headers=()):
    """Act: a whole answer."""
    body = document if isinstance(document, bytes) else json.dumps(document).encode()

    def act(handler):
        handler.send_response(status)
        for name, value in [("Content-Type", kind), ("Content-Length", str(len(body))), *headers]:
            handler.send_header(name, value)
        handler.end_headers()
        handler.wfile.write(body)

    return act


def problem(status, **members):
    return reply({"status": status, **members}, status, "application/problem+json")


def raw(*pieces, pause=0.0):
    """Act: these very bytes, with a pause after each."""

    def act(handler):
        for piece in pieces:
            handler.wfile.write(piece)
            handler.wfile.flush()
            time.sleep(pause)

    return act


def reset(*pieces):
    """Act: these bytes, then the connection is torn down (RST)."""

    def act(handler):
        for piece in pieces:
            handler.wfile.write(piece)
        handler.wfile.flush()
        handler.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        handler.connection.close()

    return act


@pytest.fixture
def act():
    """Acts that tests tell the service to play."""

    return SimpleNamespace(reply=reply, problem=problem, raw=raw, reset=reset, HOLDS=HOLDS)


@pytest.fixture
def serve():
    """Factory of services; each is closed at the end."""
    services = []

    def start(host="127.0.0.1", certificate=None):
        server = (IPv6Stage if ":" in host else Stage)((host, 0), Handler)
        if certificate is not None:
            context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            context.load_cert_chain(*certificate)
            server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
        services.append(Service(server, "http" if certificate is None else "https"))
        return services[-1]

    yield start
    for service in services:
        service.close()


@pytest.fixture
def service(serve):
    return serve()


@pytest.fixture(autouse=True)
def _no_settings_from_outside(monkeypatch, tmp_path_factory):
    """Keep the files and variables of whoever runs the tests out of them."""
    for name in ("STILLSTOCK_PROFILE", "STILLSTOCK_URL"):
        monkeypatch.delenv(name, raising=False)
    home = str(tmp_path_factory.mktemp("home"))
    monkeypatch.setenv("HOME", home)
    monkeypatch.setenv("USERPROFILE", home)


@pytest.fixture(scope="session")
def certificate_for(tmp_path_factory):
    """Factory of self-signed certificates."""

    def make(name):
        folder = tmp_path_factory.mktemp("certificate")
        files = (folder / "certificate.pem", folder / "key.pem")
        command = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=shop"]
        command += ["-addext", f"subjectAltName={name}", "-out", str(files[0]), "-keyout", str(files[1])]
        try:
            subprocess.run(command, check=True, capture_output=True)
        except FileNotFoundError:
            pytest.skip("the program openssl is not installed")
        return files

    return make


@pytest.fixture
def program(tmp_path):
    """A small program with a side-car, in a folder whose name has blanks and non-ASCII letters."""
    folder = tmp_path / "Fräsen für Möbel"
    folder.mkdir()
    path = folder / "Türgriff 3.nc"
    path.write_bytes("%\r\nO0012 (TÜRGRIFF)\r\nG21 G90\r\nG1 X10. F600.\r\nM30\r\n%\r\n".encode("cp1252"))
    side_car = {
        "units": "metric",
        "stock": {"material": "beech", "size": [180, 70, 21]},
        "bed": {"material": "mdf", "thickness": 18},
        "tools": {"3": {"kind": "end_mill", "diameter": 8}},
        "holders": [{"kind": "stop", "at": [0, 30], "faces": "+x"}],
    }
    Path(f"{path}.setup.json").write_text(json.dumps(side_car), encoding="utf-8")
    return path
