"""Reads what the trade knows of each way of holding: what it is for, how it is put on and taken off, what can hurt."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

import yaml

from stillstock.tables.load import Row, Tables, load_tables

__all__ = ["FACTS", "SECTIONS", "Entry", "Statement", "holder_entries", "read_entries"]

#: Sections of an entry, in the order in which a person reads them; each has at least one sentence.
SECTIONS = ("use", "not_for", "needs", "weakens", "put_on", "take_off", "hurts", "pull_test")

#: What a program may ask of a way of holding before it looks at any number.
FACTS = (
    "leaves_face_free",
    "holds_down",
    "holds_sideways",
    "places",
    "cutter_safe",
    "marks_stock",
    "in_program",
)
COMMON_PRACTICE = "common_practice"


@dataclass(frozen=True, kw_only=True)
class Statement:
    """One sentence and the key of its source."""

    text: str
    source: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Entry:
    """All that the catalogue says of one kind.

    Attributes
    ----------
    kind : str
    sections : mapping of str to tuple of Statement
        By the names in `SECTIONS`; the cautions that hold for every kind come last among ``hurts``.
    facts : mapping of str to bool
        By the names in `FACTS`.
    rows : tuple of Row
        What its numbers rest on. [SI]
    """

    kind: str
    sections: Mapping[str, tuple[Statement, ...]]
    facts: Mapping[str, bool]
    rows: tuple[Row, ...]


@cache
def holder_entries() -> Mapping[str, Entry]:
    """Return the entry of each kind, read once."""
    text = (files("stillstock.tables") / "data" / "catalogue.yaml").read_text(encoding="utf-8")
    return read_entries(text, tables=load_tables())


def read_entries(text: str, *, tables: Tables) -> Mapping[str, Entry]:
    """Read a catalogue.

    Parameters
    ----------
    text : str
        YAML, as `data/catalogue.yaml` explains it.
    tables : Tables
        In which its rows and sources must stand.

    Raises
    ------
    ValueError
        If a section is missing or unknown, or a source, row or fact is not known; the message names kind and place.
    """
    document = yaml.safe_load(text)
    common = _statements(document["every"]["hurts"], where="every/hurts", tables=tables)
    return MappingProxyType(
        {kind: _entry(kind, stated, common, tables) for kind, stated in sorted(document["kinds"].items())}
    )


def _entry(kind: str, stated: Mapping[str, Any], common: tuple[Statement, ...], tables: Tables) -> Entry:
    wanted = {*SECTIONS, "facts", "rows"}
    if set(stated) != wanted:
        raise ValueError(f"catalogue.yaml, {kind}: missing or unknown: {', '.join(sorted(wanted ^ set(stated)))}")
    sections = {name: _statements(stated[name], where=f"{kind}/{name}", tables=tables) for name in SECTIONS}
    sections["hurts"] += common
    facts = stated["facts"]
    if tuple(sorted(facts)) != tuple(sorted(FACTS)) or not all(isinstance(value, bool) for value in facts.values()):
        raise ValueError(f"catalogue.yaml, {kind}/facts: must be yes or no for each of {', '.join(FACTS)}")
    rows = [row for path in stated["rows"] for row in _rows(path, where=f"{kind}/rows", tables=tables)]
    return Entry(
        kind=kind,
        sections=MappingProxyType(sections),
        facts=MappingProxyType({name: facts[name] for name in FACTS}),
        rows=tuple(rows),
    )


def _statements(stated: Sequence[Any], *, where: str, tables: Tables) -> tuple[Statement, ...]:
    if not stated:
        raise ValueError(f"catalogue.yaml, {where}: says nothing")
    found = []
    for item in stated:
        text, source = (item, COMMON_PRACTICE) if isinstance(item, str) else item
        if source not in tables.sources:
            raise ValueError(f"catalogue.yaml, {where}: sources.csv has no {source!r}")
        found.append(Statement(text=text, source=source))
    return tuple(found)


def _rows(path: str, *, where: str, tables: Tables) -> tuple[Row, ...]:
    """Return the rows that a path means: all of a subject, or one property of it."""
    parts = path.split("/")
    found = tuple(row for row in tables.rows(parts[0]) if [row.subject, row.property][: len(parts) - 1] == parts[1:])
    if len(parts) not in (2, 3) or not found:
        raise ValueError(f"catalogue.yaml, {where}: the tables have no {path!r}")
    return found
