"""One judge is a JSON Schema validator on openapi.yaml, the other the schema that the service loads with."""

from collections.abc import Iterator
from typing import Any

import jsonschema_rs
from marshmallow import Schema, ValidationError
from tests.contract.documents import MISSING, TEXTS, contract, nodes, probes, put, schema_of

from stillstock.app import create_app
from stillstock.errors import ImpossibleSetUp, InvalidDocument
from stillstock.schemas.flaws import raise_flaws
from stillstock.schemas.strict import reading, system_of
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TABLES, LIMITS = load_tables(), Limits()


def code_takes(schema: Schema, document: Any) -> bool:
    with reading(system_of(document), limits=LIMITS, tables=TABLES):
        try:
            schema.load(document)
        except ValidationError as error:
            try:
                raise_flaws(error.messages)
            except ImpossibleSetUp:
                return True
            except InvalidDocument:
                return False
    return True


def single_changes(document: Any, name: str) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Yield each place of a document with what to put there; of the texts, each place in turn a third."""
    for number, node in enumerate(nodes(document, schema_of(name))):
        yield from ((node.path, value) for value in probes(node, TEXTS[number % 3 :: 3]))
        if node.path and isinstance(node.path[-1], str):
            yield node.path, MISSING


def disagreements(document: Any, name: str, schema: Schema) -> tuple[int, list[str]]:
    """Return how many changed documents were judged, and those on which contract and code differ."""
    judge = jsonschema_rs.Draft202012Validator(schema_of(name))
    count, wrong = 0, []
    for path, value in single_changes(document, name):
        count += 1
        if found := difference(judge, schema, document, path, value):
            wrong.append(found)
    return count, wrong


def difference(judge: Any, schema: Schema, document: Any, path: tuple[Any, ...], value: Any) -> str | None:
    """Return on what contract and code differ, with one place of a document changed; None where they agree."""
    changed = put(document, path, value)
    says, takes = judge.is_valid(changed), code_takes(schema, changed)
    if says == takes:
        return None
    shown = "missing" if value is MISSING else ascii(value)[:80]
    return f"/{'/'.join(map(str, path))} = {shown}: contract {says}, code {takes}"


def example_faults(path: str, example: dict[str, Any], *, request: str, answer: str, forms: list[str]) -> list[str]:
    """Return what is wrong with an example of an operation: not taken, or an answer that is not as stated."""
    operation = contract()["paths"][path]["post"]
    client = create_app().test_client()
    faults = [str(error) for error in jsonschema_rs.Draft202012Validator(schema_of(request)).iter_errors(example)]
    made = client.post(path, json=example)
    if made.status_code != 200:
        return [*faults, made.get_data(as_text=True)]
    judge = jsonschema_rs.Draft202012Validator(schema_of(answer))
    faults += [str(error)[:300] for error in judge.iter_errors(made.get_json())]
    for form in (form for form in forms if form != "json"):
        made = client.post(f"{path}?format={form}", json=example)
        kind = made.content_type.partition(";")[0]
        if made.status_code != 200 or kind not in operation["responses"]["200"]["content"]:
            faults.append(f"{form}: {made.status_code} {kind}")
    return faults
