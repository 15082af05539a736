"""The contract fuzzed over real HTTP: gunicorn with two workers, every check on, no exclusion.

Schemathesis is a general-purpose fuzzer for OpenAPI documents; the contract is its only source. The long form runs
seed after seed, every phase, one operation that computes after the other and then all together, until as many cases as
asked have been tried::

    python -m tests.contract.fuzz 100000
"""

import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import NamedTuple

from tests.contract.documents import contract
from tests.web.serving import Service, served

from stillstock.settings import Limits

ROOT = Path(__file__).parents[2]
ALONE, CHAINED = "examples,coverage,fuzzing", "stateful"
SECONDS = 3600


class Run(NamedTuple):
    """What one seed found."""

    sound: bool
    cases: int
    report: str


@contextmanager
def whole_service(folder: Path) -> Iterator[Service]:
    """Serve all there is, with the service's own limit of bodies: what the contract allows fits into that."""
    most = Limits().body_bytes
    with served(folder, application="stillstock.wsgi:application", read_seconds=30, body_bytes=most) as service:
        yield service


def fuzz(
    service: Service, *, seed: int, examples: int, phases: str = f"{ALONE},{CHAINED}", only: str = "", without: str = ""
) -> Run:
    """Send a running service what the contract allows and forbids; `only` and `without` are patterns of paths."""
    chosen = (("--include-path-regex", only), ("--exclude-path-regex", without))
    command = [
        *(sys.executable, "-c", "from schemathesis.cli import schemathesis; schemathesis()"),
        *("--config-file", "tests/contract/schemathesis.toml", "run", "openapi.yaml", "--phases", phases),
        *("--url", f"http://127.0.0.1:{service.port}", "--max-examples", str(examples), "--seed", str(seed)),
    ]
    command += [word for option, paths in chosen if paths for word in (option, paths)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=SECONDS, check=False)
    generated = re.search(r"([0-9]+) generated", done.stdout)
    report = done.stdout[-6000:] + done.stderr[-2000:]
    return Run(done.returncode == 0 and generated is not None, int(generated[1]) if generated else 0, report)


def turns() -> Iterator[dict[str, str]]:
    """Give the runs of one seed: each operation that computes by itself, what only looks up, and chains over all."""
    computing = [f"^{re.escape(path)}$" for path, item in contract()["paths"].items() if "post" in item]
    for path in computing:
        yield {"phases": ALONE, "only": path}
    yield {"phases": ALONE, "without": "|".join(computing)}
    yield {"phases": CHAINED}


def main(wanted: int) -> int:
    """Fuzz seed after seed until `wanted` cases have been tried, or one finds something."""
    cases = 0
    with (
        tempfile.TemporaryDirectory() as scratch,
        whole_service(Path(scratch)) as service,
    ):
        for seed, turn in ((seed, turn) for seed in count(1) for turn in turns()):
            run = fuzz(service, seed=seed, examples=25, **turn)
            cases += run.cases
            what = turn.get("only") or turn.get("without") or "all"
            print(
                f"seed {seed}, {what}: {run.cases} cases, {cases} in all, {'sound' if run.sound else 'FOUND'}",
                flush=True,
            )
            if not run.sound:
                print(run.report)
                return 1
            if cases >= wanted:
                break
    return 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000))
