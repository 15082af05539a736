"""The page of one way of holding: what it is for, what a holder of the kind states, the numbers that it rests on."""

import inspect
from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, fields
from types import MappingProxyType
from typing import Any

from stillstock.engine.holding.method import HoldingMethod
from stillstock.engine.holding.register import methods
from stillstock.tables.catalogue import Entry, Statement, holder_entries
from stillstock.tables.load import Row

__all__ = ["HolderPage", "Parameter", "holder_page"]

#: Dimensions of the fields that are made of lengths.
PLACES = {"point": "length", "outline": "length"}


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """What a caller may state about a holder.

    Attributes
    ----------
    name, takes, says : str
        The member's name, the kind of value that it takes, and what it means.
    dimension : str
        Of its numbers; ``"number"`` where it has none.
    required, optional : bool
        Whether it must be stated, and whether null is allowed.
    default : object
        Value where nothing is stated; `dataclasses.MISSING` if it must be. [SI]
    least, most : float or None
        Bounds. [SI]
    more : mapping of str to object
        Options of a choice, greatest length of a text, size of a point, directions of a pull test.
    """

    name: str
    takes: str
    says: str
    dimension: str
    required: bool
    optional: bool
    default: Any
    least: float | None
    most: float | None
    more: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True, eq=False)
class HolderPage:
    """All that the catalogue says of one kind.

    Attributes
    ----------
    kind, title, says : str
        The word in the document, the trade's name, one sentence.
    sections : mapping of str to tuple of Statement
        What it is for, needs, what weakens it, how it is put on and taken off, what can hurt, how to test it.
    facts : mapping of str to bool
        Yes or no, for a program that chooses.
    parameters : tuple of Parameter
    numbers : tuple of Row
        What it rests on, low to high, with source and grade. [SI]
    """

    kind: str
    title: str
    says: str
    sections: Mapping[str, tuple[Statement, ...]]
    facts: Mapping[str, bool]
    parameters: tuple[Parameter, ...]
    numbers: tuple[Row, ...]


def holder_page(kind: str) -> HolderPage:
    """Return the page of one kind.

    Raises
    ------
    KeyError
        If there is none of that kind.
    """
    method: type[HoldingMethod] = methods()[kind]
    entry = holder_entries().get(kind) or _silent(kind)
    return HolderPage(
        kind=kind,
        title=method.title,
        says=inspect.cleandoc(method.__doc__ or "").partition("\n")[0],
        sections=entry.sections,
        facts=entry.facts,
        parameters=tuple(
            _parameter(item)
            for item in fields(method)  # type: ignore[arg-type]
            if "kind" in item.metadata
        ),
        numbers=entry.rows,
    )


def _silent(kind: str) -> Entry:
    """Return the entry of a kind of which the catalogue says nothing yet."""
    return Entry(kind=kind, sections=MappingProxyType({}), facts=MappingProxyType({}), rows=())


def _parameter(item: "Field[Any]") -> Parameter:
    meta = item.metadata
    known = ("kind", "dimension", "doc", "least", "most", "optional")
    return Parameter(
        name=item.name,
        takes=meta["kind"],
        says=meta["doc"],
        dimension=str(meta.get("dimension") or PLACES.get(meta["kind"], "number")),
        required=item.default is MISSING and item.default_factory is MISSING,
        optional=bool(meta.get("optional", False)),
        default=item.default,
        least=meta.get("least"),
        most=meta.get("most"),
        more=MappingProxyType({name: value for name, value in meta.items() if name not in known}),
    )
