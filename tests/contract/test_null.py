"""Where the contract takes null, it means what a member left out means."""

from collections.abc import Iterator
from typing import Any

import pytest
from tests.contract.documents import Step, alternatives, contract, nodes, put, schema_of, types_of

from stillstock.schemas.set_up import load_set_up
from stillstock.tables.load import load_tables

EXAMPLES = contract()["components"]["examples"]


def with_null(document: dict[str, Any]) -> Iterator[tuple[tuple[Step, ...], dict[str, Any]]]:
    """Yield each place of a set-up where a member may be null and is not stated, and the set-up with null there."""
    for node in nodes(document, schema_of("SetUp")):
        value: Any = document
        for step in node.path:
            value = value[step]
        for schema in node.schemas if isinstance(value, dict) else ():
            for name, member in schema.get("properties", {}).items():
                if name not in value and any("null" in types_of(one) for one in alternatives(member)):
                    yield (*node.path, name), put(document, node.path, {**value, name: None})


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_null_means_what_a_member_left_out_means(name):
    document = EXAMPLES[name]["value"]
    changed = list(with_null(document))
    assert len(changed) > 10
    stated = repr(load_set_up(document, load_tables()))
    assert [place for place, one in changed if repr(load_set_up(one, load_tables())) != stated] == []
