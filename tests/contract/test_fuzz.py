"""A short run of the contract's fuzzer (`fuzz.py`): one seed through every phase, two without the systematic one."""

import pytest
from tests.contract.fuzz import EVERY_PHASE, fuzz
from tests.web.serving import served

RUNS = [(1, 3, EVERY_PHASE, 1000), (2, 10, "fuzzing,stateful", 100), (3, 10, "fuzzing,stateful", 100)]


@pytest.mark.parametrize(("seed", "examples", "phases", "least"), RUNS)
def test_nothing_that_the_contract_allows_or_forbids_surprises_the_service(tmp_path, seed, examples, phases, least):
    """Finds no status, header, body or media type that is not stated, nothing wrongly taken or refused, no 5xx."""
    with served(tmp_path, application="stillstock.wsgi:application", read_seconds=30, body_bytes=16_000_000) as service:
        run = fuzz(service, seed=seed, examples=examples, phases=phases)
    assert run.sound, run.report
    assert run.cases > least, run.report
