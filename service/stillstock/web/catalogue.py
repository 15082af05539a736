"""Materials, sources and holding methods as documents, with numbers in shop units."""

import inspect
from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, fields
from functools import cache
from math import pi
from typing import Any

from stillstock.engine.holding.method import HoldingMethod
from stillstock.engine.holding.register import methods
from stillstock.tables.load import load_tables
from stillstock.tables.material import Material
from stillstock.tables.scatter import Triple

__all__ = ["SHOP_UNITS", "ShopUnit", "holder", "holders", "materials", "sources"]

INCH = 0.0254
POUND = 0.45359237
POUND_FORCE = POUND * 9.80665


@dataclass(frozen=True)
class ShopUnit:
    """A unit in which the catalogue shows numbers: its name, what one of it is in SI, and where its scale begins."""

    name: str
    factor: float
    zero: float = 0.0

    def shown(self, value: float) -> float:
        """Return an SI value in this unit, to six digits: no number of the tables has more."""
        return float(f"{(value - self.zero) / self.factor:.6g}")


_BOTH = {
    "number": ShopUnit("", 1.0),
    "angle": ShopUnit("deg", pi / 180.0),
    "angular_speed": ShopUnit("rev/min", pi / 30.0),
    "conductivity": ShopUnit("W/(m K)", 1.0),
    "permeability": ShopUnit("1e-13 m2", 1e-13),
    "power": ShopUnit("kW", 1e3),
    "time": ShopUnit("s", 1.0),
}
#: By system and dimension. The inch and the pound are exact (international yard and pound agreement of 1959).
SHOP_UNITS: Mapping[str, Mapping[str, ShopUnit]] = {
    "metric": {
        **_BOTH,
        "area": ShopUnit("mm2", 1e-6),
        "density": ShopUnit("kg/m3", 1.0),
        "energy_per_volume": ShopUnit("J/mm3", 1e9),
        "expansion": ShopUnit("1e-6/K", 1e-6),
        "flow": ShopUnit("L/min", 1e-3 / 60.0),
        "force": ShopUnit("N", 1.0),
        "force_per_length": ShopUnit("N/mm", 1e3),
        "length": ShopUnit("mm", 1e-3),
        "mass": ShopUnit("kg", 1.0),
        "pressure": ShopUnit("MPa", 1e6),
        "speed": ShopUnit("mm/min", 1e-3 / 60.0),
        "temperature": ShopUnit("degC", 1.0, 273.15),
        "torque": ShopUnit("N m", 1.0),
    },
    "inch": {
        **_BOTH,
        "area": ShopUnit("in2", INCH**2),
        "density": ShopUnit("lb/ft3", POUND / (12.0 * INCH) ** 3),
        "energy_per_volume": ShopUnit("in lbf/in3", POUND_FORCE / INCH**2),
        "expansion": ShopUnit("1e-6/degF", 1.8e-6),
        "flow": ShopUnit("ft3/min", (12.0 * INCH) ** 3 / 60.0),
        "force": ShopUnit("lbf", POUND_FORCE),
        "force_per_length": ShopUnit("lbf/in", POUND_FORCE / INCH),
        "length": ShopUnit("in", INCH),
        "mass": ShopUnit("lb", POUND),
        "pressure": ShopUnit("psi", POUND_FORCE / INCH**2),
        "speed": ShopUnit("in/min", INCH / 60.0),
        "temperature": ShopUnit("degF", 1.0 / 1.8, 459.67 / 1.8),
        "torque": ShopUnit("in lbf", POUND_FORCE * INCH),
    },
}


@cache
def materials(system: str) -> dict[str, Any]:
    """Return every material with what is known of it, in ``metric`` or ``inch`` units."""
    tables = load_tables()
    aliases: dict[str, list[str]] = {}
    for word, key in tables.words.items():
        aliases.setdefault(key, []).append(word)
    listed = [_material(one, aliases.get(one.key, []), system) for one in tables.materials.values()]
    return {"units": system, "materials": listed}


def _material(material: Material, aliases: list[str], system: str) -> dict[str, Any]:
    return {
        "key": material.key,
        "title": material.title,
        "family": material.family,
        "aliases": aliases,
        "properties": {name: _triple(value, system) for name, value in material.properties.items()},
        "cutting": {name: _triple(value, system) for name, value in material.cutting.items()},
    }


def _triple(value: Triple, system: str) -> dict[str, Any]:
    unit = SHOP_UNITS[system][value.dimension]
    return {
        "low": unit.shown(value.low),
        "typical": unit.shown(value.typical),
        "high": unit.shown(value.high),
        "unit": unit.name,
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


def holders(system: str) -> dict[str, Any]:
    """Return every holding method with what a set-up may state about a holder of its kind."""
    return {"units": system, "holders": [holder(kind, system) for kind in methods()]}


def holder(kind: str, system: str) -> dict[str, Any]:
    """Return one holding method; KeyError if there is none of that kind."""
    method: type[HoldingMethod] = methods()[kind]
    says = inspect.cleandoc(method.__doc__ or "").partition("\n")[0]
    stated = [_member(item, system) for item in fields(method) if "kind" in item.metadata]  # type: ignore[arg-type]
    return {"kind": kind, "title": method.title, "says": says, "members": stated}


def _member(item: "Field[Any]", system: str) -> dict[str, Any]:
    meta = item.metadata
    member: dict[str, Any] = {
        "name": item.name,
        "takes": meta["kind"],
        "says": meta["doc"],
        "required": item.default is MISSING and item.default_factory is MISSING,
    }
    unit = SHOP_UNITS[system][_dimension(meta)]
    if unit.name:
        member |= {"dimension": _dimension(meta), "unit": unit.name}
    member |= {bound: _in_unit(meta[bound], unit) for bound in ("least", "most") if bound in meta}
    member |= {key: meta[key] for key in ("longest", "size") if key in meta}
    if "options" in meta:
        member["options"] = list(meta["options"])
    if item.default is not MISSING:
        member["default"] = _in_unit(item.default, unit)
    return member


def _dimension(meta: Mapping[str, Any]) -> str:
    places = {"point": "length", "outline": "length"}
    return str(meta.get("dimension") or places.get(meta["kind"], "number"))


def _in_unit(value: Any, unit: ShopUnit) -> Any:
    if isinstance(value, tuple | list):
        return [_in_unit(one, unit) for one in value]
    if isinstance(value, Triple):
        return [unit.shown(value.low), unit.shown(value.typical), unit.shown(value.high)]
    return unit.shown(value) if isinstance(value, float) else value
