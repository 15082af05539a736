"""The same request gets the same bytes in every format from processes that share nothing.

Python orders a set of texts by a seed that differs from process to process, unless one is set: whatever follows from
such an order is the same within a process, and in its forks, and another after a restart.
"""

import json
import os
import subprocess
import sys

from tests.contract.documents import contract
from tests.contract.test_every_operation import GETS, POSTS, SERVED, example, media_types
from tests.web.serving import ROOT

ASK = """
import hashlib, json, sys
from stillstock.app import create_app
client = create_app().test_client()
for path, document, types in json.load(sys.stdin):
    for media in types:
        method = "GET" if document is None else "POST"
        answer = client.open(path, method=method, json=document, headers={"Accept": media})
        print(path, media, answer.status_code, hashlib.sha256(answer.data).hexdigest())
"""


def questions() -> list[tuple[str, object, list[str]]]:
    """Return each operation's shortest example and one with several sets of fasteners, and every look-up."""
    asked: list[tuple[str, object, list[str]]] = [(path, example(path), media_types(path)) for path in POSTS]
    clamps = contract()["components"]["examples"]["SignWithStrapClamps"]["value"]
    asked.append(("/v1/margin", clamps, media_types("/v1/margin")[:1]))
    for path in GETS:
        if path != "/metrics":  # counts what was asked
            found = contract()["paths"][path]["get"]["responses"]["200"]["content"]
            asked.append((SERVED.get(path, path), None, list(found)))
    return asked


def answers(seed: str) -> list[str]:
    """Return what a process of its own answers, one line each."""
    environ = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT / "service")}
    done = subprocess.run(
        [sys.executable, "-c", ASK],
        input=json.dumps(questions()),
        env=environ,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.splitlines()


def test_processes_with_other_seeds_answer_the_same_bytes():
    first, second = answers("1"), answers("2")
    assert [line for line in first if " 200 " not in line] == []
    assert len(first) >= 30
    assert first == second
