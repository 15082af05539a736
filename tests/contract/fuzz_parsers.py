"""Lets a coverage-guided fuzzer loose on the readers of what callers write: quantities, programs, JSON bodies.

Run from the project's root, with the extra ``fuzz`` installed (Linux)::

    python tests/contract/fuzz_parsers.py quantities -max_total_time=60
    python tests/contract/fuzz_parsers.py programs -max_total_time=60
    python tests/contract/fuzz_parsers.py bodies -max_total_time=60

Whatever the text, a reader answers, or refuses with an error of its own; any other exception, a number that is not
finite, or a text that takes over five seconds ends the run, and the text is kept in the working directory.
"""

import math
import sys
from collections.abc import Callable

import atheris

with atheris.instrument_imports(include=["stillstock"]):
    from stillstock.engine.program.read import read_program
    from stillstock.errors import StillstockError
    from stillstock.settings import Limits
    from stillstock.units import SYSTEMS, UnitError, parse
    from stillstock.units.dimensions import DIMENSIONS
    from stillstock.web.body import json_document

LIMITS = Limits()
NAMES = sorted(DIMENSIONS)


def quantities(data: bytes) -> None:
    """Read a text as a quantity of a dimension that the first byte chooses."""
    provider = atheris.FuzzedDataProvider(data)
    dimension, system = provider.PickValueInList(NAMES), provider.PickValueInList(list(SYSTEMS))
    try:
        value = parse(provider.ConsumeUnicode(60), dimension, system)
    except UnitError:
        return
    if not math.isfinite(value):
        raise AssertionError("a quantity that is not finite was taken")


def programs(data: bytes) -> None:
    """Read a text as a program."""
    try:
        reading = read_program(data.decode("utf-8", "replace"), max_moves=10_000)
    except StillstockError:
        return
    moves = reading.moves
    if len(moves.line) and not bool((abs(moves.end) < math.inf).all()):
        raise AssertionError("a move ends nowhere")


def bodies(data: bytes) -> None:
    """Read bytes as the body of a request."""
    try:
        document = json_document(data, LIMITS)
    except StillstockError:
        return
    if not isinstance(document, dict):
        raise AssertionError("a body that is no object was taken")


TARGETS: dict[str, Callable[[bytes], None]] = {"quantities": quantities, "programs": programs, "bodies": bodies}

if __name__ == "__main__":
    target = TARGETS[sys.argv.pop(1)]
    atheris.Setup([*sys.argv, "-timeout=5"], target)
    atheris.Fuzz()
