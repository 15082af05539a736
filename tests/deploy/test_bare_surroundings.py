"""The service needs no home, no network and no place to write to but the one for temporary files.

The interpreter itself refuses what a read-only root and a container without network would, by an audit hook (PEP 578);
C code that opens files behind Python's back is not seen.
"""

import json
import os
import subprocess
import sys

from tests.contract.documents import contract
from tests.web.serving import JSON, ROOT, Service, port_of

HOOK = """
import errno, os, sys

MAY_WRITE = (os.environ["TMPDIR"], "/dev/")
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def refuse(event, arguments):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.sendto"):
        raise OSError(errno.ENETUNREACH, "no network here")
    if event == "open":
        writes = arguments[2] & WRITES
    else:  # by a name of its own and not by one within an open folder
        writes = event in ("os.mkdir", "os.remove", "os.rename", "os.rmdir") and arguments[-1] == -1
    if writes and isinstance(arguments[0], (str, bytes, os.PathLike)):
        path = os.path.abspath(os.fsdecode(arguments[0]))
        if not path.startswith(MAY_WRITE):
            raise OSError(errno.EROFS, "nothing is written here", path)


sys.addaudithook(refuse)
"""
EXAMPLES = contract()["components"]["examples"]


def test_it_serves_without_home_network_and_any_place_to_write_to_but_one(tmp_path):
    hook, temporary, log = tmp_path / "hook", tmp_path / "temporary", tmp_path / "log"
    hook.mkdir()
    temporary.mkdir()
    (hook / "sitecustomize.py").write_text(HOOK)
    environ = {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": os.pathsep.join([str(hook), str(ROOT / "service")]),
        "PYTHONDONTWRITEBYTECODE": "1",
        "TMPDIR": str(temporary),
    }
    command = [sys.executable, "-m", "stillstock.cli", "serve", "--port", "0", "--workers", "1"]
    with log.open("wb") as lines:
        process = subprocess.Popen(command, cwd=tmp_path, env=environ, stderr=lines)
    try:
        service = Service(process, port_of(process, log), log, timeout=60.0)
        assert all(service.ask("GET", path)[0].status == 200 for path in ("/", "/docs", "/readyz", "/metrics"))
        body = json.dumps(EXAMPLES["StatedLoads"]["value"])
        for path in ("/v1/margin", "/v1/margin?format=svg", "/v1/retract-height?format=dxf", "/v1/sheet?format=pdf"):
            response, said = service.ask("POST", path, body, JSON)
            assert (response.status, len(said) > 200) == (200, True), said
    finally:
        process.terminate()
        assert process.wait(timeout=30) == 0
    assert {json.loads(line)["level"] for line in log.read_text().splitlines()} == {"info"}
    assert list(temporary.iterdir()) == []
