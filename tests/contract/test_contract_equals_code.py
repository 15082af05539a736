"""Contract and code agree on what a document is: documents made from the contract, two judges, no disagreement.

One judge is a JSON Schema validator on openapi.yaml, the other the schemas that the service loads documents with, in
their first stage. What JSON Schema cannot say (ranges of quantities in text, parts that do not fit) is not asked here.
"""

import random
from typing import Any

import jsonschema_rs
import pytest
from tests.contract.documents import MISSING, TEXTS, contract, full_set_up, nodes, probes, put, schema_of

from stillstock.engine.holding.register import methods
from stillstock.errors import ImpossibleSetUp, InvalidDocument
from stillstock.schemas.set_up import check_schema
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

JUDGE = jsonschema_rs.Draft202012Validator(schema_of("SetUp"))
TABLES, LIMITS = load_tables(), Limits()


def code_takes(document: Any) -> bool:
    try:
        check_schema(document, tables=TABLES, limits=LIMITS)
    except InvalidDocument:
        return False
    except ImpossibleSetUp:
        return True
    return True


def small() -> dict[str, Any]:
    """Return the full document without its holders."""
    return {**full_set_up(), "holders": []}


def least(member: str = "", value: Any = None) -> dict[str, Any]:
    """Return the least document, with one member beside what is required: a probe costs what the rest does."""
    full = full_set_up()
    found = {name: full[name] for name in contract()["components"]["schemas"]["SetUp"]["required"]}
    found["stock"] = {name: full["stock"][name] for name in contract()["components"]["schemas"]["Stock"]["required"]}
    return {**found, **({member: value} if member else {})}


def changes() -> list[tuple[dict[str, Any], tuple[Any, ...], Any]]:
    """Return every single change: a document, a place in it, and what to put there."""
    full = full_set_up()
    members = [(name, small()[name]) for name in full]
    members += [("holders", [holder]) for holder in full["holders"]]
    found = changes_below("", small())
    for name, value in members:
        found += changes_below(name, least(name, value))
    return found


def changes_below(member: str, document: dict[str, Any]) -> list[tuple[dict[str, Any], tuple[Any, ...], Any]]:
    """Return the changes of one member of a document and of all below it; without one, those of the whole."""
    found: list[tuple[dict[str, Any], tuple[Any, ...], Any]] = []
    of_holder = bool(document.get("holders"))
    for node in nodes(document, schema_of("SetUp")):
        if node.path[:1] != ((member,) if member else ()) or (of_holder and len(node.path) == 1):
            continue
        # Every text is tried at every place of the set-up; at a holder's, each in turn a third of them.
        texts = TEXTS[len(found) % 3 :: 3] if of_holder else TEXTS
        found += [(document, node.path, value) for value in probes(node, texts)]
        if node.path and isinstance(node.path[-1], str):
            found.append((document, node.path, MISSING))
    return found


def disagreement(document: Any, path: tuple[Any, ...], value: Any) -> str | None:
    changed = put(document, path, value)
    says, takes = JUDGE.is_valid(changed), code_takes(changed)
    if says == takes:
        return None
    shown = "missing" if value is MISSING else ascii(value)[:80]
    return f"/{'/'.join(map(str, path))} = {shown}: contract {says}, code {takes}"


def test_the_full_document_is_taken_by_both():
    assert [str(error) for error in JUDGE.iter_errors(full_set_up())] == []
    assert code_takes(full_set_up())


def test_every_holding_method_has_its_branch():
    branches = contract()["components"]["schemas"]["Holder"]
    kinds = [holder["kind"] for holder in full_set_up()["holders"]]
    assert sorted(kinds) == sorted(methods())
    assert sorted(branches["discriminator"]["mapping"]) == sorted(methods())


def test_single_changes_are_judged_alike():
    """Every rule of the contract, with its neighbours on both sides."""
    asked = changes()
    wrong = [found for change in asked if (found := disagreement(*change))]
    print(f"{len(asked)} documents, {len(wrong)} disagreements")
    assert len(asked) >= 3000
    assert wrong[:20] == []


def test_pairs_of_changes_are_judged_alike():
    """Two changes at once, drawn with a fixed seed: a fault must not hide another."""
    chosen = random.Random(20261125)
    document = {**small(), "holders": full_set_up()["holders"][:1]}
    single = [(node.path, value) for node in nodes(document, schema_of("SetUp")) if node.path for value in probes(node)]
    wrong = []
    drawn = chosen.sample(single, 4000)
    for (one, value), (other, another) in zip(drawn[:2000], drawn[2000:], strict=True):
        if one[: len(other)] == other or other[: len(one)] == one:
            continue
        changed = put(put(document, one, value), other, another)
        if JUDGE.is_valid(changed) != code_takes(changed):
            wrong.append((one, value, other, another))
    assert wrong[:10] == []


@pytest.mark.parametrize("points", [1, 2, 10_000, 10_001])
def test_the_longest_lists_are_judged_alike(points):
    path = [[1.5, 2.5]] * points
    for place in (("cuts", 0, "path"), ("stock", "outline")):
        assert disagreement(small(), place, path) is None
