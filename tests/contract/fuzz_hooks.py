"""Possible documents for the contract's fuzzer, beside those made at random, most of which cannot be (422).

Of four random bodies that keep the schema one is sent as it is; of the others a single member goes into a document
that is known to be possible, so that what lies behind the first refusal is fuzzed as well. An operation that refuses
all that keeps the schema, and so the possible document too, is a warning, and that fails the run.
"""

import hashlib
import json
from functools import cache
from typing import Any

import schemathesis
from tests.contract.documents import contract, resolved

#: An example for each operation, the one that costs least to answer.
_POSSIBLE = {
    "/v1/margin": "stated_loads",
    "/v1/sheet": "film_tape",
    "/v1/cutting-force": "slot_test",
    "/v1/retract-height": "stated_loads",
    "/v1/grid": "inch_grid",
    "/v1/positions": "inch_lines",
    "/v1/recommendation": "whole_face",
}


@cache
def _possible(path: str) -> dict[str, Any]:
    examples = contract()["paths"][path]["post"]["requestBody"]["content"]["application/json"]["examples"]
    document: dict[str, Any] = resolved(examples[_POSSIBLE[path]])["value"]
    return document


def grafted(path: str, body: dict[str, Any]) -> dict[str, Any]:
    """Return the possible document of an operation with one member of a random body in place of its own."""
    members = sorted(body)
    chosen = members[_digest(body) // 4 % len(members)] if members else ""
    return {**_possible(path), **{name: value for name, value in body.items() if name == chosen}}


def _digest(body: dict[str, Any]) -> int:
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).digest()[0]


_begun: set[tuple[str, str]] = set()


@schemathesis.hook
def map_case(context: schemathesis.HookContext, case: schemathesis.Case[Any]) -> schemathesis.Case[Any]:  # noqa: ARG001  # by name
    """Send the possible document first in each phase, and graft three in four random bodies that keep the schema."""
    meta, path = case.meta, case.operation.path
    if meta is None or path not in _POSSIBLE or not isinstance(case.body, dict):
        return case
    phase = meta.phase.name.value
    if not meta.generation.mode.is_positive or phase == "examples":
        return case
    if (path, phase) not in _begun:
        _begun.add((path, phase))
        case.body = dict(_possible(path))
    elif phase != "coverage" and _digest(case.body) % 4:
        case.body = grafted(path, case.body)
    return case
