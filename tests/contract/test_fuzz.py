"""A short run of the contract's fuzzer (`fuzz.py`): one seed through every phase.

Of the five operations that read the same set-up document one has the systematic phase, the one that answers soonest;
the other seeds have them all (`test_fuzz_seeds.py`), and the long form leaves nothing out.
"""

from tests.contract.fuzz import fuzz, whole_service

DEAR = "^/v1/(margin|sheet|recommendation|retract-height)$"


def test_nothing_that_the_contract_allows_or_forbids_surprises_the_service(tmp_path):
    """Finds no status, header, body or media type that is not stated, nothing wrongly taken or refused, no 5xx."""
    with whole_service(tmp_path) as service:
        run = fuzz(service, seed=1, examples=3, without=DEAR)
    assert run.sound, run.report
    assert run.cases > 1000, run.report
