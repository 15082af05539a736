"""More seeds of the contract's fuzzer, without its systematic phase."""

import pytest
from tests.contract.fuzz import fuzz, whole_service
from tests.contract.test_fuzz import DEAR

RUNS = [(1, 5, "examples,fuzzing", DEAR), (2, 5, "fuzzing,stateful", ""), (3, 5, "fuzzing,stateful", "")]


@pytest.mark.parametrize(("seed", "examples", "phases", "only"), RUNS)
def test_another_seed_finds_nothing(tmp_path, seed, examples, phases, only):
    """Finds no status, header, body or media type that is not stated, nothing wrongly taken or refused, no 5xx."""
    with whole_service(tmp_path) as service:
        run = fuzz(service, seed=seed, examples=examples, phases=phases, only=only)
    assert run.sound, run.report
    assert run.cases > 10, run.report
