"""Within `/v1` nothing that was promised goes away, and no document has to state more than before."""

import copy
from typing import Any

import pytest
from tests.contract.promised_members import breaks, merge, stated, stored


def test_what_was_promised_is_kept():
    assert breaks(stored(), stated()) == []


def test_what_the_contract_has_is_promised():
    """Or else what is new could go again unseen: the module's command adds it."""
    both = stored()
    merge(both, stated())
    assert both == stored()


@pytest.mark.parametrize(
    ("place", "name", "put", "told"),
    [
        (("schemas", "Stock"), "bow", {}, ["Stock/bow is promised"]),
        (("schemas", "Stock"), "bow", {"bow!": {}}, ["Stock/bow is promised"]),
        (("schemas", "Stock"), "", {"weight!": {}}, ["Stock/weight! is newly required"]),
        (("schemas", "Stock"), "size!", {"size": {"&Length": {}}}, []),
        (("schemas", "Margin"), "verdict!", {"verdict": {"&Verdict": {}}}, ["Margin/verdict! is promised"]),
        (("schemas", "Margin"), "", {"new": {}}, []),
        (("schemas", "Bed", "condition"), "=dusty", {}, ["Bed/condition/=dusty is promised"]),
        (
            ("operations", "POST /v1/grid", "types"),
            "=image/vnd.dxf",
            {},
            ["POST /v1/grid/types/=image/vnd.dxf is promised"],
        ),
        (("operations", "GET /v1/materials", "query"), "units", {}, ["GET /v1/materials/query/units is promised"]),
    ],
)
def test_a_broken_promise_is_told_and_what_is_added_is_none(
    place: tuple[str, ...], name: str, put: dict[str, Any], told: list[str]
):
    changed = copy.deepcopy(stated())
    at = changed
    for step in place:
        at = at[step]
    if name:
        del at[name]
    at.update(put)
    assert breaks(stated(), changed) == told
