"""What has been promised within `/v1`: members of documents and answers, words that they take, queries, media types.

The file beside this one has a tree of names for each operation and for each schema of theirs: ``!`` stands behind
what a document must state and what an answer always has, ``=`` before a word that a member takes, ``&`` before the
schema that it follows. It is only ever added to::

    python -m tests.contract.promised_members

adds what is new in the contract and takes nothing away. What a member means, and what counts where one is left out,
is not seen here but by the stored answers of the examples (`example_answers.py`).
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.contract.documents import contract, resolved

STORED = Path(__file__).with_suffix(".json")
Tree = dict[str, Any]


def stated() -> Tree:
    """Return what the contract as it stands promises: operations by path, schemas by name."""
    operations = {
        f"{method.upper()} {path}": _operation(operation)
        for path, item in contract()["paths"].items()
        for method, operation in item.items()
    }
    schemas = contract()["components"]["schemas"]
    names = sorted(reach(operations, "document") | reach(operations, "answer"))
    return {"operations": operations, "schemas": {name: tree(schemas[name]) for name in names}}


def _operation(operation: dict[str, Any]) -> Tree:
    answers = operation["responses"]["200"]["content"]
    asked = [resolved(one) for one in operation.get("parameters", ())]
    return {
        "document": tree(_json(operation.get("requestBody", {}).get("content", {}))),
        "query": {one["name"]: tree(one["schema"]) for one in asked if one["in"] == "query"},
        "answer": tree(_json(answers)),
        "types": {f"={media}": {} for media in answers},
    }


def _json(content: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = content.get("application/json", {}).get("schema", {})
    return found


def tree(schema: dict[str, Any]) -> Tree:
    """Return the names that a value has in it; a list and a choice add no name of their own."""
    if "$ref" in schema:
        return {"&" + schema["$ref"].removeprefix("#/components/schemas/"): {}}
    always = schema.get("required", ())
    found: Tree = {f"={word}": {} for word in schema.get("enum", [schema["const"]] if "const" in schema else [])}
    found |= {f"{name}!" if name in always else name: tree(one) for name, one in schema.get("properties", {}).items()}
    found |= {f"*{pattern}": tree(one) for pattern, one in schema.get("patternProperties", {}).items()}
    items = [schema["items"]] if schema.get("items") else []
    for one in (*schema.get("oneOf", ()), *schema.get("anyOf", ()), *schema.get("prefixItems", ()), *items):
        merge(found, tree(one))
    return found


def merge(into: Tree, other: Tree) -> None:
    """Add to a tree what another has beside it."""
    for name, below in other.items():
        merge(into.setdefault(name, {}), below)


def reach(operations: Tree, side: str) -> set[str]:
    """Return the names of the schemas that documents or answers are made of."""
    found: set[str] = set()
    left = [name for operation in operations.values() for name in references(operation[side])]
    while left:
        name = left.pop()
        if name not in found:
            found.add(name)
            left += references(tree(contract()["components"]["schemas"][name]))
    return found


def references(names: Tree) -> list[str]:
    """Return the schemas that a tree names."""
    own = [name[1:].partition("/")[0] for name in names if name[0] == "&"]
    return own + [one for below in names.values() for one in references(below)]


def broken(promised: Tree, now: Tree, *, asked: bool, place: str = "") -> Iterator[str]:
    """Yield what was promised of a document that is asked with, or else of an answer, and is not so now."""
    for name, below in promised.items():
        plain = name.rstrip("!")
        # A document's member may cease to be required, an answer's may become one that is always there.
        kept = next((one for one in (name, plain if asked else f"{plain}!") if one in now), None)
        if kept is None:
            yield f"{place}/{name} is promised"
        else:
            yield from broken(below, now[kept], asked=asked, place=f"{place}/{plain}")
    if asked:
        known = {name.rstrip("!") for name in promised}
        yield from (f"{place}/{name} is newly required" for name in now if name[-1] == "!" and name[:-1] not in known)


def breaks(promised: Tree, now: Tree) -> list[str]:
    """Return every promise that is not kept; an answer that hands on a document keeps what a document promises."""
    operations, schemas = promised["operations"], promised["schemas"]
    found: list[str] = []
    for path, sides in operations.items():
        found += broken(sides, now["operations"].get(path, {}), asked=False, place=path)
    documents = reach(operations, "document")
    for name, members in schemas.items():
        found += broken(members, now["schemas"].get(name, {}), asked=name in documents, place=name)
    return found


def stored() -> Tree:
    """Return what has been promised so far."""
    found: Tree = json.loads(STORED.read_text(encoding="utf-8"))
    return found


def main() -> None:
    """Add to what has been promised what the contract has new."""
    promised: Tree = stored() if STORED.is_file() else {}
    merge(promised, stated())
    parts = []
    for part, trees in promised.items():
        lines = [f"  {json.dumps(name)}: {json.dumps(one, ensure_ascii=False)}" for name, one in trees.items()]
        parts.append(f"{json.dumps(part)}: {{\n" + ",\n".join(lines) + "\n}")
    STORED.write_text("{\n" + ",\n".join(parts) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
