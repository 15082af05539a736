"""Materials, sources and holding methods as documents, with numbers in the units of set-up documents."""

from dataclasses import MISSING
from functools import cache
from typing import Any

from stillstock.answers.catalogue import Parameter, holder_page
from stillstock.engine.holding.register import methods
from stillstock.tables.load import load_tables
from stillstock.tables.material import Material
from stillstock.tables.scatter import Triple
from stillstock.units import System, present, unit_name

__all__ = ["holder", "holders", "materials", "sources"]


@cache
def materials(system: System) -> dict[str, Any]:
    """Return every material with what is known of it, in ``metric`` or ``inch`` units."""
    tables = load_tables()
    aliases: dict[str, list[str]] = {}
    for word, key in tables.words.items():
        aliases.setdefault(key, []).append(word)
    listed = [_material(one, aliases.get(one.key, []), system) for one in tables.materials.values()]
    return {"units": system, "materials": listed}


def _material(material: Material, aliases: list[str], system: System) -> dict[str, Any]:
    return {
        "key": material.key,
        "title": material.title,
        "family": material.family,
        "aliases": aliases,
        "properties": {name: _triple(value, system) for name, value in material.properties.items()},
        "cutting": {name: _triple(value, system) for name, value in material.cutting.items()},
    }


def _triple(value: Triple, system: System) -> dict[str, Any]:
    return {
        "low": present(value.low, value.dimension, system),
        "typical": present(value.typical, value.dimension, system),
        "high": present(value.high, value.dimension, system),
        "unit": unit_name(value.dimension, system),
        "what": value.what,
        "source": value.source,
        "grade": str(value.grade),
        "note": value.note,
    }


@cache
def sources() -> dict[str, Any]:
    """Return the full citation of every source that a number may name, with the numbers that rest on it."""
    tables = load_tables()
    rests: dict[str, list[str]] = {key: [] for key in tables.sources}
    for row in tables.cells.values():
        rests[row.value.source].append(f"{row.table}/{row.subject}/{row.property}")
    listed = [
        {
            "key": one.key,
            "citation": one.citation,
            "detail": one.detail,
            "grade": str(one.grade),
            "rests_on_it": rests[one.key],
        }
        for one in tables.sources.values()
    ]
    return {"sources": listed}


def holders(system: System) -> dict[str, Any]:
    """Return every holding method with what a set-up may state about a holder of its kind."""
    return {"units": system, "holders": [holder(kind, system) for kind in methods()]}


@cache
def holder(kind: str, system: System) -> dict[str, Any]:
    """Return one holding method; KeyError if there is none of that kind."""
    page = holder_page(kind)
    return {
        "kind": page.kind,
        "title": page.title,
        "says": page.says,
        "facts": dict(page.facts),
        "sections": {
            name: [{"text": one.text, "source": one.source} for one in said] for name, said in page.sections.items()
        },
        "members": [_member(one, system) for one in page.parameters],
        "numbers": [
            {"table": row.table, "subject": row.subject, "property": row.property, **_triple(row.value, system)}
            for row in page.numbers
        ],
    }


def _member(one: Parameter, system: System) -> dict[str, Any]:
    member: dict[str, Any] = {"name": one.name, "takes": one.takes, "says": one.says, "required": one.required}
    if unit := unit_name(one.dimension, system):
        member |= {"dimension": one.dimension, "unit": unit}
    for bound, value in (("least", one.least), ("most", one.most)):
        if value is not None:
            member[bound] = _in_unit(value, one.dimension, system)
    member |= {key: one.more[key] for key in ("longest", "size") if key in one.more}
    member |= {key: list(one.more[key]) for key in ("options", "directions") if key in one.more}
    if one.default is not MISSING:
        member["default"] = _in_unit(one.default, one.dimension, system)
    return member


def _in_unit(value: Any, dimension: str, system: System) -> Any:
    if isinstance(value, tuple | list):
        return [_in_unit(one, dimension, system) for one in value]
    return present(value, dimension, system) if isinstance(value, float) else value
