"""The contract as one plain page: rendered here, from nothing but the contract, readable without a network."""

import json
import re
from functools import cache
from typing import Any

import yaml
from flask import render_template
from markupsafe import Markup, escape

from stillstock.settings import Settings

__all__ = ["docs_page", "first_call", "first_example"]

HERE = f"http://127.0.0.1:{Settings().port}"

METHODS = ("get", "post", "put", "patch", "delete")
BOUNDS = {
    "minimum": "at least {}",
    "exclusiveMinimum": "more than {}",
    "maximum": "at most {}",
    "exclusiveMaximum": "less than {}",
    "minLength": "at least {} characters",
    "maxLength": "at most {} characters",
    "minItems": "at least {} items",
    "maxItems": "at most {} items",
    "minProperties": "at least {} members",
    "maxProperties": "at most {} members",
    "pattern": "pattern {}",
    "default": "default {}",
    "const": "always {}",
}


@cache
def docs_page(contract: bytes) -> str:
    """Return the page of a contract (YAML)."""
    document = _read(contract)
    return render_template(
        "docs.html",
        info=document.get("info", {}),
        marked=marked,
        groups=_groups(document),
        schemas=[_schema(name, schema) for name, schema in _components(document, "schemas").items()],
    )


#: The marks of CommonMark that the contract's descriptions use, outermost first.
_MARKS = (
    (re.compile(r"`([^`\n]+)`"), r"<code>\1</code>"),
    (re.compile(r"\*\*([^*\n]+)\*\*"), r"<strong>\1</strong>"),
    (re.compile(r"(?<![*\w])\*([^*\n]+)\*(?![*\w])"), r"<em>\1</em>"),
)


def marked(text: str) -> Markup:
    """Return a description as HTML: its code, strong and stressed words marked, all else escaped."""
    found = str(escape(text))
    for mark, element in _MARKS:
        found = mark.sub(element, found)
    return Markup(found)  # noqa: S704  escaped above, and only the three elements added


@cache
def first_call(contract: bytes) -> str:
    """Return a command line that gets an answer: the first example of the first POST operation, else the limits."""
    path, text = _first(contract)
    if not text:
        return f"curl -s {HERE}/v1/limits"
    compact = json.dumps(json.loads(text)).replace("'", "\\u0027")
    return f"curl -s {HERE}{path} -H 'Content-Type: application/json' -d '{compact}'"


@cache
def first_example(contract: bytes) -> str:
    """Return the first example of the first POST operation, as JSON on several lines; empty if there is none."""
    return _first(contract)[1]


def _first(contract: bytes) -> tuple[str, str]:
    document = _read(contract)
    for path, item in document.get("paths", {}).items():
        bodies = _contents(document, item.get("post", {}).get("requestBody", {}))
        for example in (example for body in bodies for example in body["examples"]):
            return path, example["text"]
    return "", ""


@cache
def _read(contract: bytes) -> dict[str, Any]:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    return yaml.load(contract, Loader=loader) or {}  # noqa: S506  both are safe loaders, one of them in C


def _components(document: dict[str, Any], kind: str) -> dict[str, Any]:
    found: dict[str, Any] = document.get("components", {}).get(kind, {})
    return found


def _resolved(document: dict[str, Any], item: dict[str, Any]) -> dict[str, Any]:
    """Return what a local ``$ref`` points at, the item itself if it is none."""
    if "$ref" not in item:
        return item
    found: Any = document
    for step in str(item["$ref"]).removeprefix("#/").split("/"):
        found = found[step.replace("~1", "/").replace("~0", "~")]
    return _resolved(document, found)


def _groups(document: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the operations under their first tag, in the contract's order of tags."""
    stated = {tag["name"]: tag.get("description", "") for tag in document.get("tags", [])}
    groups: dict[str, list[dict[str, Any]]] = {name: [] for name in stated}
    for path, item in document.get("paths", {}).items():
        for method in (method for method in METHODS if method in item):
            tag = next(iter(item[method].get("tags", [])), "operations")
            groups.setdefault(tag, []).append(_operation(document, path, method))
    return [{"name": n, "description": stated.get(n, ""), "operations": ops} for n, ops in groups.items() if ops]


def _operation(document: dict[str, Any], path: str, method: str) -> dict[str, Any]:
    item = document["paths"][path]
    stated = item[method]
    parameters = [_resolved(document, one) for one in (*item.get("parameters", []), *stated.get("parameters", []))]
    return {
        "id": stated.get("operationId", f"{method}{path}".replace("/", "-")),
        "method": method.upper(),
        "path": path,
        "summary": stated.get("summary", ""),
        "description": stated.get("description", ""),
        "deprecated": stated.get("deprecated", False),
        "parameters": [_parameter(one) for one in parameters],
        "bodies": _contents(document, stated.get("requestBody", {})),
        "answers": [_answer(document, status, one) for status, one in stated.get("responses", {}).items()],
    }


def _parameter(stated: dict[str, Any]) -> dict[str, Any]:
    schema = stated.get("schema", {})
    return {
        "name": stated["name"],
        "where": stated.get("in", ""),
        "required": stated.get("required", False),
        "says": stated.get("description", ""),
        "kind": _kind(schema),
        "bounds": _bounds(schema),
    }


def _answer(document: dict[str, Any], status: object, stated: dict[str, Any]) -> dict[str, Any]:
    answer = _resolved(document, stated)
    contents = _contents(document, answer)
    return {"status": str(status), "says": answer.get("description", ""), "contents": contents}


def _contents(document: dict[str, Any], stated: dict[str, Any]) -> list[dict[str, Any]]:
    body = _resolved(document, stated)
    return [_content(document, media_type, one) for media_type, one in body.get("content", {}).items()]


def _content(document: dict[str, Any], media_type: str, stated: dict[str, Any]) -> dict[str, Any]:
    named = {name: _resolved(document, one) for name, one in stated.get("examples", {}).items()}
    if "example" in stated:
        named["example"] = {"value": stated["example"]}
    examples = [
        {"title": one.get("summary", name), "text": _text(one["value"])}
        for name, one in named.items()
        if "value" in one
    ]
    return {"media_type": media_type, "kind": _kind(stated.get("schema", {})), "examples": examples}


def _text(value: object) -> str:
    return value if isinstance(value, str) else json.dumps(value, indent=2, ensure_ascii=False, default=str)


def _schema(name: str, stated: dict[str, Any]) -> dict[str, Any]:
    required = set(stated.get("required", ()))
    members = [
        {
            "name": key,
            "required": key in required,
            "says": one.get("description", ""),
            "kind": _kind(one),
            "bounds": _bounds(one),
        }
        for key, one in stated.get("properties", {}).items()
    ]
    says = stated.get("description", "")
    return {"name": name, "says": says, "kind": _kind(stated), "bounds": _bounds(stated), "members": members}


def _kind(schema: Any) -> list[dict[str, str]]:
    """Return a schema's type as words, those that name another schema with their anchor."""
    if not isinstance(schema, dict):
        return [_word("anything")]
    if "$ref" in schema:
        name, *member = str(schema["$ref"]).removeprefix("#/components/schemas/").split("/properties/")
        return [{"text": ".".join([name, *member]), "anchor": f"schema-{name}"}]
    for key, joint in (("oneOf", " or "), ("anyOf", " or "), ("allOf", " and ")):
        if key in schema:
            return _joined([_kind(one) for one in schema[key]], joint)
    if "enum" in schema:
        return [_word(" | ".join(json.dumps(value) for value in schema["enum"]))]
    stated = schema.get("type", "anything")
    types = stated if isinstance(stated, list) else [stated]
    return _joined([_array(schema) if one == "array" else [_word(str(one))] for one in types], " or ")


def _array(schema: dict[str, Any]) -> list[dict[str, str]]:
    if "prefixItems" in schema:
        return [_word("["), *_joined([_kind(one) for one in schema["prefixItems"]], ", "), _word("]")]
    return [_word("list of "), *_kind(schema.get("items"))]


def _word(text: str) -> dict[str, str]:
    return {"text": text, "anchor": ""}


def _joined(kinds: list[list[dict[str, str]]], joint: str) -> list[dict[str, str]]:
    words: list[dict[str, str]] = []
    for position, kind in enumerate(kinds):
        words += ([_word(joint)] if position else []) + kind
    return words


def _bounds(schema: dict[str, Any]) -> str:
    stated = [says.format(json.dumps(schema[key])) for key, says in BOUNDS.items() if key in schema]
    return "; ".join(stated)
