"""Holders in a document: each method's schema is made from the fields of its dataclass, and from nothing else."""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from dataclasses import Field as DataclassField
from functools import cache
from typing import Any

from marshmallow import Schema, ValidationError

from stillstock.engine.holding.method import HoldingMethod
from stillstock.engine.holding.register import methods
from stillstock.schemas.curves import Curve
from stillstock.schemas.flaws import Flaw, flawed
from stillstock.schemas.places import Outline, Point
from stillstock.schemas.pull_tests import PullTests
from stillstock.schemas.quantity import Choice, Flag, Integer, Number, Quantity, Scatter, Text
from stillstock.schemas.strict import StrictField, StrictSchema

__all__ = ["Holder", "holder_field", "holder_schema", "method_named"]

Metadata = Mapping[str, Any]


def _dimension(meta: Metadata) -> str:
    """Return the dimension whose grammar a field takes; a plain number may also come in per cent."""
    dimension = str(meta["dimension"])
    return "fraction" if dimension == "number" else dimension


_FIELDS: Mapping[str, Callable[..., StrictField[Any]]] = {
    "quantity": lambda meta, **more: Quantity(_dimension(meta), least=meta["least"], most=meta["most"], **more),
    "scatter": lambda meta, *, what, **more: Scatter(
        _dimension(meta), least=meta["least"], most=meta["most"], what=what, **more
    ),
    "number": lambda meta, **more: Number(least=meta["least"], most=meta["most"], **more),
    "integer": lambda meta, **more: Integer(least=meta["least"], most=meta["most"], **more),
    "choice": lambda meta, **more: Choice(meta["options"], **more),
    "flag": lambda _meta, **more: Flag(**more),
    "text": lambda meta, **more: Text(longest=meta["longest"], **more),
    "point": lambda meta, **more: Point(meta["size"], **more),
    "outline": lambda _meta, **more: Outline(**more),
    "curve": lambda meta, **more: Curve(meta["dimensions"], most=meta["most_points"], **more),
    "pull_test": lambda meta, **more: PullTests(meta["directions"], per_area=meta["per_area"], **more),
}


def holder_field(item: DataclassField[Any], *, of: type[HoldingMethod], required: bool) -> StrictField[Any]:
    """Return the field of a document for one field of a method's dataclass."""
    more: dict[str, Any] = {"required": required, "allow_none": bool(item.metadata.get("optional", False))}
    if item.metadata["kind"] == "scatter":
        more["what"] = f"{item.name.replace('_', ' ')} of the {of.title}"
    return _FIELDS[item.metadata["kind"]](item.metadata, **more)


@cache
def holder_schema(method: type[HoldingMethod]) -> Schema:
    """Return the schema of one method's holders, without the member `kind`."""
    made: dict[str, Any] = {"kind": Choice((method.kind,), required=True)}
    for item in fields(method):  # type: ignore[arg-type]
        required = item.default is MISSING and item.default_factory is MISSING
        made[item.name] = holder_field(item, of=method, required=required)
    return StrictSchema.from_dict(made, name=f"{method.kind}_schema")()


def method_named(value: Any, *, expected: str) -> type[HoldingMethod]:
    """Return the method that the member `kind` of an object names."""
    if not isinstance(value, dict):
        raise flawed("type", f"expected {expected}, {{...}}", seen=value)
    if "kind" not in value:
        raise ValidationError({"kind": [Flaw(code="missing", detail=f"one of {', '.join(methods())}")]})
    try:
        return methods()[Choice(tuple(methods())).read(value["kind"])]
    except ValidationError as error:
        raise ValidationError({"kind": error.messages}) from None


class Holder(StrictField[HoldingMethod]):
    """One holder; its member `kind` says by which method."""

    def read(self, value: Any) -> HoldingMethod:
        """Return the value as the set-up has it."""
        method = method_named(value, expected="a holder")
        stated = holder_schema(method).load(value)
        stated.pop("kind")
        return method(**stated)
