"""Plants faults one at a time in a copy of the project and counts how many the tests catch.

Run from the project's root, with the environment of the tests::

    python -m tests.contract.seeded_faults

The faults stand in `seeded_faults.csv`: kind, file in the package, the text that is replaced (``\\n`` for the end of a
line), what takes its place, and what is then wrong. The gate is every quick test, the quickest first, then those that
lie beside the fault; laws, fuzzer, pictures and benches are left out. A planted fault is caught if a test fails. The
last line tells the score; the exit code is 0 from nine in ten on.
"""

import csv
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
PACKAGE = Path("service/stillstock")
QUICK = ("tests/engine/mechanics/test_motion.py", "tests/units", "tests/schemas", "tests/web/test_problems.py")
GATE = (
    *("tests/web/test_headers.py", "tests/web/test_body.py", "tests/web/test_hostile.py"),
    *("tests/engine/mechanics", "tests/engine/program", "tests/engine/holding"),
    *("tests/engine/cutting/test_milling.py", "tests/contract/test_every_operation.py", "tests/answers/test_margin.py"),
    *("tests/web", "tests/contract/test_contract.py", "tests/contract/test_contract_equals_code.py"),
)
CAUGHT_AT_LEAST = 0.9
SECONDS = 900


class Fault(NamedTuple):
    kind: str
    file: Path
    old: str
    new: str
    words: str


def seeded() -> list[Fault]:
    """Return the faults of the table."""
    with (Path(__file__).with_suffix(".csv")).open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table, delimiter=";", quoting=csv.QUOTE_NONE))

    def text(cell: str) -> str:
        return cell.replace("\\n", "\n")

    return [
        Fault(row["kind"], PACKAGE / row["file"], text(row["old"]), text(row["new"]), row["fault"].strip())
        for row in rows
    ]


def beside(file: Path) -> tuple[str, ...]:
    """Return the tests that lie where a file of the package does, if any: they are asked first."""
    tests = Path("tests") / file.relative_to(PACKAGE).parent
    return (str(tests),) if (ROOT / tests).is_dir() else ()


def gate(root: Path, first: Sequence[str] = ()) -> int:
    """Run the gate in a copy; return pytest's exit code. A gate that hangs has seen something."""
    path = os.pathsep.join(str(root / part) for part in ("service", "client", "."))
    command = [sys.executable, "-m", "pytest", "-q", "-x", "--no-cov", "-p", "no:cacheprovider", *QUICK, *first, *GATE]
    environment = os.environ | {"PYTHONPATH": path, "PYTHONDONTWRITEBYTECODE": "1", "OPENBLAS_NUM_THREADS": "1"}
    try:
        done = subprocess.run(command, cwd=root, env=environment, capture_output=True, timeout=SECONDS, check=False)
    except subprocess.TimeoutExpired:
        return 1
    return done.returncode


def planted(fault: Fault, source: str) -> str:
    """Return a file's text with the fault in it.

    Raises
    ------
    ValueError
        If the text that it replaces is not there exactly once.
    """
    count = source.count(fault.old)
    if count != 1:
        raise ValueError(f"{fault.file}: {fault.old!r} stands there {count} times")
    return source.replace(fault.old, fault.new)


def caught(root: Path, fault: Fault) -> bool:
    """Plant one fault, run the gate, mend it again."""
    file = root / fault.file
    sound = file.read_text(encoding="utf-8")
    file.write_text(planted(fault, sound), encoding="utf-8")
    try:
        return gate(root, beside(fault.file)) in (1, 2)
    finally:
        file.write_text(sound, encoding="utf-8")


def main(arguments: Sequence[str]) -> int:
    """Plant every fault, or those of the kinds named."""
    faults = [fault for fault in seeded() if not arguments or fault.kind in arguments]
    with tempfile.TemporaryDirectory() as scratch:
        root = Path(scratch) / "copy"
        shutil.copytree(ROOT, root, ignore=shutil.ignore_patterns(".git", ".venv*", "__pycache__", ".*_cache"))
        if gate(root) != 0:
            print("the gate does not pass on the sound project: nothing can be told")
            return 2
        missed = []
        for number, fault in enumerate(faults, start=1):
            start = time.monotonic()
            found = caught(root, fault)
            missed += [] if found else [fault]
            word = "caught" if found else "MISSED"
            print(f"{number:3} {word} {fault.kind}: {fault.words} ({time.monotonic() - start:.0f} s)", flush=True)
    for fault in missed:
        print(f"missed: {fault.kind}: {fault.words} ({fault.file})")
    print(f"caught {len(faults) - len(missed)} of {len(faults)}")
    return 0 if len(faults) - len(missed) >= CAUGHT_AT_LEAST * len(faults) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
