"""Documents made from the contract alone: one that states every member, and its neighbours beside each rule."""

import copy
import math
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import yaml

CONTRACT = Path(__file__).parents[2] / "openapi.yaml"
Step = str | int
#: Stands for a member that is taken out.
MISSING = object()


@cache
def contract() -> dict[str, Any]:
    document: dict[str, Any] = yaml.safe_load(CONTRACT.read_text(encoding="utf-8"))
    return document


def schema_of(name: str) -> dict[str, Any]:
    """Return a component as a schema that a judge can take by itself."""
    return {"$ref": f"#/components/schemas/{name}", "components": {"schemas": contract()["components"]["schemas"]}}


def resolved(schema: dict[str, Any]) -> dict[str, Any]:
    """Return a schema with its reference put in place; what stands beside the reference counts as well."""
    while "$ref" in schema:
        target: Any = contract()
        for name in schema["$ref"].removeprefix("#/").split("/"):
            target = target[name]
        schema = {**target, **{key: value for key, value in schema.items() if key != "$ref"}}
    return schema


def alternatives(schema: dict[str, Any]) -> list[dict[str, Any]]:
    """Return every schema that a value may follow."""
    schema = resolved(schema)
    branches = schema.get("anyOf") or schema.get("oneOf")
    if not branches:
        return [schema]
    return [one for branch in branches for one in alternatives(branch)]


def types_of(schema: dict[str, Any]) -> list[str]:
    stated = schema.get("type", "object" if "properties" in schema else "")
    return stated if isinstance(stated, list) else [stated]


def sample(schema: dict[str, Any]) -> Any:
    """Return a value that keeps the schema and states every member."""
    schema = alternatives(schema)[0]
    if "const" in schema:
        return schema["const"]
    if "enum" in schema:
        return schema["enum"][0]
    return next((_SAMPLES[kind](schema) for kind in types_of(schema) if kind in _SAMPLES), "mdf")


def item_of(schema: dict[str, Any], index: int) -> dict[str, Any]:
    """Return the schema of one element of a list."""
    own = schema.get("prefixItems", ())
    found: dict[str, Any] = own[index] if index < len(own) else schema.get("items", {})
    return found


def _sample_array(schema: dict[str, Any]) -> list[Any]:
    return [sample(item_of(schema, index)) for index in range(max(schema.get("minItems", 0), 1))]


def _sample_object(schema: dict[str, Any]) -> dict[str, Any]:
    made = {name: sample(member) for name, member in schema.get("properties", {}).items()}
    for member in schema.get("patternProperties", {}).values():
        made["7"] = sample(member)
    return made


def _sample_number(schema: dict[str, Any]) -> Any:
    """Return a number inside the bounds of either system: nearer to the least, where the bounds are wide."""
    least, most = schema["minimum"], schema["maximum"]
    if "integer" in types_of(schema):
        return least
    return 0 if least < 0 < most else min(max(50 * least, 0.5), most)


_SAMPLES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "object": _sample_object,
    "array": _sample_array,
    "integer": _sample_number,
    "number": _sample_number,
    "boolean": lambda _: True,
}


@cache
def full_set_up() -> dict[str, Any]:
    """Return a set-up that states every member of the contract, with one holder of each kind."""
    document: dict[str, Any] = sample(schema_of("SetUp"))
    document["holders"] = [sample(branch) for branch in contract()["components"]["schemas"]["Holder"]["oneOf"]]
    return document


class Node(NamedTuple):
    """A place in a document and every schema that its value may follow."""

    path: tuple[Step, ...]
    schemas: tuple[dict[str, Any], ...]


def nodes(value: Any, schema: dict[str, Any], path: tuple[Step, ...] = ()) -> Iterator[Node]:
    """Yield each place of a document, first elements of lists only, except for holders."""
    options = alternatives(schema)
    if isinstance(value, dict) and "kind" in value and len(options) > 1:
        options = [one for one in options if one.get("properties", {}).get("kind", {}).get("const") == value["kind"]]
    yield Node(path, tuple(options))
    for one in options:
        if isinstance(value, dict) and "object" in types_of(one):
            yield from _members(value, one, path)
        if isinstance(value, list) and "array" in types_of(one):
            every = path == ("holders",) or "prefixItems" in one
            for index in range(len(value) if every else min(len(value), 1)):
                yield from nodes(value[index], item_of(one, index), (*path, index))


def _members(value: dict[str, Any], schema: dict[str, Any], path: tuple[Step, ...]) -> Iterator[Node]:
    patterned = next(iter(schema.get("patternProperties", {}).values()), None)
    for name, member in value.items():
        known = schema.get("properties", {}).get(name, patterned)
        if known is not None:
            yield from nodes(member, known, (*path, name))


ANY: tuple[Any, ...] = (
    *(None, True, False, 0, 1, -1, 2.0, 0.5, 1e30, -1e30),
    *("", "x", "5", "18 mm", "4 N m", [], {}, [1], [[0, 0]], {"low": 1}),
)
TEXTS = (
    *("18mm", " 18 mm", "18 mm ", "18 mm\n", "18  mm", "18\tmm", "1,5 mm", "1.5.2 mm", "--5 mm", "+5 mm"),
    *("-5 mm", ".5 in", "5. in", ". in", "3/4 in", '1-1/2"', "1 1/2 in", "1-1-1/2 in", "1/0 in", "3/04 in"),
    *("5'", "5' 3 1/2\"", "5'-3\"", "5'3", "5\" 3'", "\u0663 mm", "18 \xb5m", "18 \u03bcm", "18 MM", "18 Mm"),
    *("18 inch", "18 inchs", "10 mil", "10 thou", "1e3 mm", "1e+3 mm", "1e100 mm", "1e mm", "0x10 mm"),
    *("1_0 mm", "9**9 mm", "NaN mm", "inf mm", "mm", "5 5", "5 mm 3 mm", "18 \u339c", "10 N", "10 lbf"),
    *("10 lb", "10 kgf", "10 kg", "10 Nm", "10 N\xb7m", "10 in-lb", "10 N-m", "10 kPa", "20 inHg", "20 in Hg"),
    *("5 N/mm^2", "5 N/mm\xb2", "5 N/mm2", "100 psi", "2.2 kW", "1/2 hp", "3 HP", "3 PS", "0.8 m/min"),
    *("120 ipm", "600 sfm", "100 mm / min", "18000 rpm", "18000/min", "18000 1/min", "18 000 rpm", "400 Hz"),
    *("30 deg", "30\xb0", "30 \xb0", "1 rad", "80 %", "80%", "%", "x", "y", "X", "z", "\xe4", "a\x00b", "a\nb"),
    *("a\x7fb", "a\x85b", "10 mm2", "10 mm\xb2", "sq in", "4 sq in", "20 degC", "5 s", "2 h", "5 m3/h"),
    *("10 cfm", "3 N/25 mm", "3 lbf/in"),
    *("1" * 37 + " mm", "1" * 38 + " mm"),
)


def probes(node: Node, texts: Sequence[str] = TEXTS) -> Iterator[Any]:
    """Yield values on both sides of every rule that the contract states for a place, and texts where it takes any."""
    yield from ANY
    if any("string" in types_of(schema) for schema in node.schemas):
        yield from texts
    for schema in node.schemas:
        for kind in types_of(schema):
            yield from _PROBES.get(kind, lambda _: iter(()))(schema)
        for word in schema.get("enum", ()):
            yield from (word, f"{word}".upper(), f"{word} ", f"{word}s")
        if "const" in schema:
            yield schema["const"]


def _numbers(schema: dict[str, Any]) -> Iterator[Any]:
    for bound in (schema.get("minimum"), schema.get("maximum")):
        if bound is not None:
            exact = float(bound)
            yield from (bound, exact, math.nextafter(exact, math.inf), math.nextafter(exact, -math.inf))
            yield from (exact * 1.001 + 1e-9, exact * 0.999 - 1e-9)
            if float(bound).is_integer():
                yield from (int(bound) + 1, int(bound) - 1)


def _strings(schema: dict[str, Any]) -> Iterator[Any]:
    if schema.get("maxLength", 10**9) < 10**6:
        yield from ("a" * schema["maxLength"], "a" * (schema["maxLength"] + 1), "\U0001f600" * schema["maxLength"])


def _arrays(schema: dict[str, Any]) -> Iterator[Any]:
    item = sample(item_of(schema, 0))
    yield from ([item] * count for count in range(5))
    if schema["maxItems"] <= 1000:
        yield from ([item] * schema["maxItems"], [item] * (schema["maxItems"] + 1))
    yield [item, "x"]


def _objects(schema: dict[str, Any]) -> Iterator[Any]:
    made = _sample_object(schema)
    yield made
    yield {**made, "unknown_member": 1}
    yield {**made, "": 1}
    for name in made:
        yield {key: value for key, value in made.items() if key != name}
        yield {**{key: value for key, value in made.items() if key != name}, name.upper(): made[name]}
        yield {name: made[name]}
    if "patternProperties" in schema:
        tool = made["7"]
        yield from (
            {name: tool} for name in ("1", "99999", "100000", "0", "07", "-1", "1.0", "1 ", "1\n", "\u0663", "T1")
        )
        most = schema["maxProperties"]
        yield from ({str(n + 1): tool for n in range(count)} for count in (most, most + 1))


_PROBES = {"number": _numbers, "integer": _numbers, "string": _strings, "array": _arrays, "object": _objects}


def put(document: Any, path: tuple[Step, ...], value: Any) -> Any:
    """Return a copy of a document with one place changed; the rest is shared."""
    if not path:
        return value
    copied = copy.copy(document)
    if value is MISSING and len(path) == 1:
        del copied[path[0]]
    else:
        copied[path[0]] = put(document[path[0]], path[1:], value)
    return copied
