"""The gate's one line in every kind of bad weather: it names the place, and its end says what to do about it."""

import gzip
import socket
from contextlib import closing

import pytest

from stillstock_client import Client, gate

OK = b"HTTP/1.1 200 OK\r\nContent-Type: application/json\r\n"
#: A service under a long path of a proxy: the line must keep what comes after it.
PREFIX = "/departments/joinery/machining-centre-two/stillstock/production"
SOONER = {"timeout": 0.3, "deadline": 1.5, "retries": 1}


def weathers(act):
    slow = "raise the deadline, or send a smaller program"
    cut = gzip.compress(b'{"verdict": "holds"}' * 50)[:-9]
    return {
        "silent": (act.raw(b"", pause=2.0), slow),
        "dripping": (act.raw(OK + b"X-Slow: ", *[b" "] * 60, pause=0.05), slow),
        "reset": (act.reset(OK + b'Content-Length: 500\r\n\r\n{"verdict"'), "start it, or check the URL"),
        "cut short": (act.raw(OK + b"Content-Length: 90\r\n\r\n{}"), "start it, or check the URL"),
        "too often": (act.reply(b"", 429), "try again later"),
        "bad gateway": (act.reply(b"", 502), "try again later"),
        "busy": (act.problem(503, detail="busy"), "try again later"),
        "failed": (act.problem(500, detail="oh"), "see its log"),
        "other protocol": (act.raw(b"SSH-2.0-shop\r\n"), "check the URL and port"),
        "other page": (act.reply(b"<h1>it works</h1>", kind="text/html"), "check the URL and port"),
        "not found": (act.reply(b"<h1>no</h1>", 404, "text/html"), "check URL, and any proxy between"),
        "moved": (act.reply(b"", 307, headers=[("Location", "http://elsewhere.invalid/")]), "use that URL"),
        "damaged": (act.reply(cut, headers=[("Content-Encoding", "gzip")]), "is there a faulty proxy between?"),
    }  # fmt: skip


NAMES = ["silent", "dripping", "reset", "cut short", "too often", "bad gateway", "busy", "failed", "other protocol",
         "other page", "not found", "moved", "damaged"]  # fmt: skip


def line_of(program, url, **settings):
    before = program.read_bytes()
    result = gate(str(program), client=Client(url, **{**SOONER, **settings}))
    assert (result.code, result.verdict) == (3, "unknown")
    assert program.read_bytes() == before
    assert len(result.summary) <= 120
    assert result.summary.isascii()
    assert result.summary.startswith("no service at http")
    return result.summary


@pytest.mark.parametrize("weather", NAMES)
@pytest.mark.parametrize("prefix", ["", PREFIX], ids=["short", "long"])
def test_the_line_says_what_to_do(weather, prefix, service, act, program):
    played, advice = weathers(act)[weather]
    service.acts = [played]
    line = line_of(program, service.url + prefix)
    assert line.endswith(advice)
    assert f"127.0.0.1:{service.port}" in line


@pytest.mark.parametrize("host", ["127.0.0.1", "[::1]"])
def test_an_absent_service_is_to_be_started(host, program):
    with closing(socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)) as probe:
        probe.bind((host.strip("[]"), 0))
        port = probe.getsockname()[1]
    assert line_of(program, f"http://{host}:{port}").endswith("connection refused; start it, or check the URL")


def test_a_certificate_that_is_not_trusted_is_to_be_given(serve, certificate_for, program):
    service = serve(certificate=certificate_for("IP:127.0.0.1"))
    assert line_of(program, service.url, deadline=10.0, timeout=5.0).endswith("with --ca-file (ca_file)")


def test_a_proxy_that_refuses_is_to_be_looked_at(service, act, program):
    service.acts = [act.reply(b"", 403)]
    line = line_of(program, "https://shop.invalid", proxy=service.url)
    assert line.endswith("the proxy will not connect to shop.invalid:443 (status 403); check the proxy")
