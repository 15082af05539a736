"""The contract fuzzed over real HTTP: gunicorn with two workers, every check and phase on, no exclusion.

Schemathesis is a general-purpose fuzzer for OpenAPI documents; the contract is its only source.
"""

import re
import subprocess
import sys
from pathlib import Path

from tests.web.serving import served

ROOT = Path(__file__).parents[2]
EXAMPLES = 3


def test_nothing_that_the_contract_allows_or_forbids_surprises_the_service(tmp_path):
    """Finds no status, header, body or media type that is not stated, nothing wrongly taken or refused, no 5xx."""
    with served(tmp_path, application="stillstock.wsgi:application", read_seconds=30, body_bytes=16_000_000) as service:
        command = [
            *(sys.executable, "-c", "from schemathesis.cli import schemathesis; schemathesis()"),
            *("--config-file", "tests/contract/schemathesis.toml", "run", "openapi.yaml"),
            *("--url", f"http://127.0.0.1:{service.port}", "--max-examples", str(EXAMPLES), "--seed", "1"),
        ]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=900, check=False)
    report = done.stdout[-6000:] + done.stderr[-2000:]
    assert done.returncode == 0, report
    generated = re.search(r"([0-9]+) generated", done.stdout)
    assert generated, report
    assert int(generated[1]) > 1000, report
