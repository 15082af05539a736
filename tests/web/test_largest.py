"""The largest documents that the limits allow are answered, or refused for their work, within what is promised.

Over real HTTP, against a service of one worker as it is shipped. The time is the worker's own of the processor, for a
machine that tests may be busy; what is promised has room besides (`settings.PROMISED`). The handful here are the
dearest of their kind; `python -m tests.web.largest` sends all.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.contract.documents import contract
from tests.web.largest import LIMITS, ask, one_worker
from tests.web.largest_documents import CASES
from tests.web.serving import Service

from stillstock.app import create_app
from stillstock.settings import PROMISED, Limits, Settings, promised

pytestmark = pytest.mark.skipif(not Path("/proc/self/clear_refs").exists(), reason="memory is read from Linux' /proc")

#: What is answered, with the least share of the limit of work that it takes: the promise is not kept by refusing alone.
ANSWERED = {
    "positions": 0.0,
    "forces of cuts": 0.0,
    "grid": 0.0,
    "vacuum zones": 0.3,
    "heights over 30 clamps": 0.35,
    "shop of clamps": 0.1,
    "sheet of mixed": 0.1,
}
REFUSED = ["stops", "strokes", "heights over strokes"]


@pytest.fixture(scope="module")
def service(tmp_path_factory) -> Iterator[Service]:
    with one_worker(tmp_path_factory.mktemp("largest")) as running:
        yield running


@pytest.mark.parametrize("name", ANSWERED)
def test_the_largest_documents_are_answered_as_promised(service, name):
    case = CASES[name]
    taken = ask(service, case)
    assert (taken.status, taken.limit) == (200, None)
    assert taken.work >= ANSWERED[name]
    assert taken.seconds <= PROMISED[case.operation].seconds
    assert taken.megabytes <= PROMISED[case.operation].megabytes


@pytest.mark.parametrize("name", REFUSED)
def test_what_would_cost_too_much_is_refused_early_with_the_limit(service, name):
    taken = ask(service, CASES[name])
    assert (taken.status, taken.limit) == (422, LIMITS["work"])
    assert taken.seconds <= PROMISED[CASES[name].operation].seconds / 2
    assert taken.megabytes <= PROMISED[CASES[name].operation].megabytes


def test_every_operation_that_computes_has_a_promise_and_its_largest_documents():
    computing = {path["post"]["operationId"] for path in contract()["paths"].values() if "post" in path}
    assert set(PROMISED) == computing == {CASES[name].operation for name in ANSWERED}


def test_the_limits_are_served_with_what_is_promised():
    served_limits = create_app().test_client().get("/v1/limits").get_json()
    assert served_limits["promised"]["margin"] == {"seconds": 80, "megabytes": 1200}
    assert set(served_limits["promised"]) == set(PROMISED)


def test_nothing_is_promised_beyond_the_usual_limits():
    higher, lower = (Settings(limits=Limits(holders=LIMITS["holders"] + by)) for by in (1, -1))
    assert promised(lower.limits) == PROMISED
    document, text = (create_app(higher).test_client().get(f"/v1/limits?format={name}") for name in ("json", "text"))
    assert document.get_json()["promised"] is None
    assert "takes" not in text.text
    kept = create_app(lower).test_client().get("/v1/limits?format=text").text
    assert "margin takes 80 s and 1200 MB at the most\n" in kept
