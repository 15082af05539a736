"""Asking the served application for a margin, and sending the document again with what a remedy changes."""

import copy
from typing import Any

from stillstock.app import create_app

CLIENT = create_app().test_client()


def asked(document: dict[str, Any]) -> dict[str, Any]:
    """Return the answer of ``/v1/margin``."""
    response = CLIENT.post("/v1/margin", json=document)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    return answer


def patched(document: dict[str, Any], operations: list[dict[str, Any]]) -> dict[str, Any]:
    """Apply ``add`` and ``copy`` of RFC 6902, sections 4.1 and 4.5."""
    found = copy.deepcopy(document)

    def at(steps: list[str]) -> Any:
        target: Any = found
        for step in steps:
            target = target[int(step)] if isinstance(target, list) else target[step]
        return target

    for operation in operations:
        *parents, last = operation["path"].split("/")[1:]
        value = copy.deepcopy(at(operation["from"].split("/")[1:]) if "from" in operation else operation["value"])
        target = at(parents)
        if isinstance(target, list):
            target.insert(len(target) if last == "-" else int(last), value)
        else:
            target[last] = value
    return found
