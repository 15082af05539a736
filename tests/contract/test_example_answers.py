"""Every example of the contract is asked, and the numbers that matter are those that were stored."""

from typing import Any

import pytest
from tests.contract.example_answers import answered, examples, leaves, stored

EXAMPLES = list(examples())


def test_every_example_has_a_stored_answer():
    assert set(stored()) == {f"{path} {name}" for path, name, _ in EXAMPLES}


@pytest.mark.parametrize(("path", "name", "document"), EXAMPLES, ids=lambda one: one if isinstance(one, str) else "")
def test_an_example_is_answered_as_it_was(path: str, name: str, document: dict[str, Any]):
    """A snapshot: it sees what changed and knows nothing of what is true.

    Tolerance: a thousandth, so that another release of the solver may end in other last digits; a change that a person
    would act on is greater. Near nought a ten-thousandth of the document's unit.
    """
    now, then = (leaves(kept) for kept in (answered(path, document), stored()[f"{path} {name}"]))
    places = [*then, *(now.keys() - then.keys())]
    pairs = {place: (now.get(place), then.get(place)) for place in places}
    assert {place: pair for place, pair in pairs.items() if not alike(*pair)} == {}


def alike(now: Any, then: Any) -> bool:
    if isinstance(then, int | float) and not isinstance(then, bool):
        return isinstance(now, int | float) and now == pytest.approx(then, rel=1e-3, abs=1e-4)
    return type(now) is type(then) and now == then
