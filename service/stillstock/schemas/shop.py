"""What a recommendation is asked with: the set-up document without holders, and what stands in the shop."""

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from functools import cache
from typing import Any

import numpy as np
from marshmallow import Schema, ValidationError, post_load

from stillstock.answers.shop import MATTERS, PLACED, UNDERSIDES, Entry, Question, Shop
from stillstock.engine.holding.method import HoldingMethod
from stillstock.schemas.flaws import raise_flaws
from stillstock.schemas.holders import holder_field, method_named
from stillstock.schemas.places import ListOf, Outline, Point, Vector
from stillstock.schemas.quantity import Choice, Integer, Number, Quantity
from stillstock.schemas.set_up import Document, SetUpSchema, document_of
from stillstock.schemas.strict import Object, StrictField, StrictSchema, reading, system_of
from stillstock.settings import Limits
from stillstock.tables.load import Tables

__all__ = ["ENTRY_MEMBERS", "OWN", "Asking", "QuestionSchema", "load_question"]

#: Most that a time or cost of the shop's own may be: a day, and more money than any screw costs.
DAY, DEAREST = 86400.0, 1e6


def _time() -> Quantity:
    return Quantity("time", least=0.0, most=DAY)


#: What an entry of the shop says besides the members of its kind.
ENTRY_MEMBERS: Mapping[str, Any] = {
    "count": Integer(least=0, most=10_000),
    "set_up_time": _time(),
    "removal_time": _time(),
    "mounting_time": _time(),
    "cost": Number(least=0.0, most=DEAREST),
}


@cache
def entry_schema(method: type[HoldingMethod]) -> Schema:
    """Return the schema of one kind's entry: the method's members save those that say where a holder stands."""
    made: dict[str, Any] = {"kind": Choice((method.kind,), required=True), **ENTRY_MEMBERS}
    for item in fields(method):  # type: ignore[arg-type]
        if item.name not in PLACED:
            required = item.default is MISSING and item.default_factory is MISSING
            made[item.name] = holder_field(item, of=method, required=required)
    return StrictSchema.from_dict(made, name=f"shop_{method.kind}_schema")()


class EntryField(StrictField[Entry]):
    """Holders of one kind that the shop has; its place in the list is put in afterwards."""

    def read(self, value: Any) -> Entry:
        """Return the value as the question has it."""
        method = method_named(value, expected="what the shop has of one kind")
        stated = entry_schema(method).load(value)
        stated.pop("kind")
        own = {name: stated.pop(name) for name in ENTRY_MEMBERS if name in stated}
        return Entry(number=0, kind=method.kind, pattern=stated, **own)


class ShopSchema(StrictSchema):
    """What stands in the shop, and where things can be fixed to its table."""

    holders = ListOf(EntryField(), limit="shop_holders", required=True)
    inserts = ListOf(Point(2), limit="positions")
    tracks = ListOf(Vector(Point(2), 2), limit="holders")
    zones = ListOf(Outline(), limit="holders")
    table = Vector(Point(2), 2)
    locating_time = Quantity("time", least=0.0, most=DAY)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Shop:
        """Return the shop in SI."""
        stated = dict(data)
        entries = [Entry(**{**vars(entry), "number": n}) for n, entry in enumerate(stated.pop("holders"))]
        if "inserts" in stated:
            stated["inserts"] = np.array(stated["inserts"], dtype=float).reshape(-1, 2)
        if "tracks" in stated:
            stated["tracks"] = [np.array(track) for track in stated["tracks"]]
        if "table" in stated:
            corners = np.array(stated["table"])
            stated["table"] = np.array([corners.min(axis=0), corners.max(axis=0)])
        return Shop(entries=entries, **stated)


class QuestionSchema(SetUpSchema):
    """The set-up document without holders, with what a recommendation is asked besides."""

    class Meta(StrictSchema.Meta):
        """Members of the set-up that have no sense before anything holds."""

        exclude = ("holders", "spare", "detail", "doubt")

    shop = Object(ShopSchema(), required=True)
    batch = Integer(least=1, most=1_000_000)
    matters = ListOf(Choice(MATTERS), limit="matters")
    underside = Choice(UNDERSIDES)
    holes = ListOf(Point(2), limit="positions")


_SCHEMA = QuestionSchema()

#: Members of the question that are no members of a set-up.
OWN = ("shop", "batch", "matters", "underside", "holes")


@dataclass(frozen=True, kw_only=True)
class Asking:
    """The question in SI, beside the document that it came in.

    Attributes
    ----------
    question : Question
    document : Document
    stated : mapping
        The document as it came.
    """

    question: Question
    document: Document
    stated: Mapping[str, Any]


def load_question(document: Mapping[str, Any], tables: Tables, *, limits: Limits) -> Asking:
    """Return what is to be recommended.

    Raises
    ------
    InvalidDocument
        If it breaks the schema of the contract.
    ImpossibleSetUp
        If it keeps the schema, yet a quantity is out of its range or the parts do not fit each other.
    """
    system = system_of(document)
    with reading(system, limits=limits, tables=tables):
        try:
            members: dict[str, Any] = _SCHEMA.load(document)
        except ValidationError as error:
            raise_flaws(error.messages)
            raise
    own = {name: members.pop(name) for name in OWN if name in members}
    found = document_of(members, system=system, tables=tables)
    return Asking(question=Question(set_up=found.set_up, system=system, **own), document=found, stated=document)
