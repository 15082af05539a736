"""Materials, sources and holding methods as documents, with numbers in the units of set-up documents."""

import inspect
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields
from functools import cache
from typing import Any

from stillstock.engine.holding.method import HoldingMethod
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
    """Return the full citation of every source that a number may name."""
    listed = [
        {"key": one.key, "citation": one.citation, "detail": one.detail, "grade": str(one.grade)}
        for one in load_tables().sources.values()
    ]
    return {"sources": listed}


def holders(system: System) -> dict[str, Any]:
    """Return every holding method with what a set-up may state about a holder of its kind."""
    return {"units": system, "holders": [holder(kind, system) for kind in methods()]}


def holder(kind: str, system: System) -> dict[str, Any]:
    """Return one holding method; KeyError if there is none of that kind."""
    method: type[HoldingMethod] = methods()[kind]
    says = inspect.cleandoc(method.__doc__ or "").partition("\n")[0]
    stated = [_member(item, system) for item in fields(method) if "kind" in item.metadata]  # type: ignore[arg-type]
    return {"kind": kind, "title": method.title, "says": says, "members": stated}


def _member(item: "Field[Any]", system: System) -> dict[str, Any]:
    meta = item.metadata
    member: dict[str, Any] = {
        "name": item.name,
        "takes": meta["kind"],
        "says": meta["doc"],
        "required": item.default is MISSING and item.default_factory is MISSING,
    }
    dimension = _dimension(meta)
    if unit := unit_name(dimension, system):
        member |= {"dimension": dimension, "unit": unit}
    member |= {bound: _in_unit(meta[bound], dimension, system) for bound in ("least", "most") if bound in meta}
    member |= {key: meta[key] for key in ("longest", "size") if key in meta}
    if "options" in meta:
        member["options"] = list(meta["options"])
    if item.default is not MISSING:
        member["default"] = _in_unit(item.default, dimension, system)
    return member


def _dimension(meta: Mapping[str, Any]) -> str:
    places = {"point": "length", "outline": "length"}
    return str(meta.get("dimension") or places.get(meta["kind"], "number"))


def _in_unit(value: Any, dimension: str, system: System) -> Any:
    if isinstance(value, tuple | list):
        return [_in_unit(one, dimension, system) for one in value]
    return present(value, dimension, system) if isinstance(value, float) else value
