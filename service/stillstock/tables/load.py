"""Reads the tables once, checks every row, converts it to SI, and answers by name.

How to find a value
-------------------
`load_tables()` gives the one `Tables` of the process::

    tables = load_tables()
    tables.value("clamps", "dry_steel_thread", "nut_factor")       # Triple in SI, KeyError that names what is missing
    tables.get("bolts", "m8_10_9", "ultimate_load")                # Triple or None
    tables.subjects("vacuum")                                      # what a table speaks of
    tables.rows("tape")                                            # the rows as printed, with unit, and in SI
    tables.material("birch plywood").properties["density"]         # key, title or alias; None if unknown
    tables.sources["iso_898_1"].citation
    tables.resting_on("iso_898_1")                                 # every row that rests on it

Each file `data/<table>.csv` is a table: friction, materials, cutting_coefficients, tape, clamps, bolts, screws,
vacuum, side_clamps, vise, tabs, tolerances, practice, shop. Its rows are ``subject, property`` in snake case; a number
stands there as its source prints it, in the unit that the source prints, so that anyone can hold the page beside it.
`data/material_names.csv` names the materials, their families, aliases and the row of cutting coefficients that each
takes. Pairs of faces are found by `stillstock.tables.friction.friction`.
"""

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from types import MappingProxyType

from stillstock.tables.material import Material
from stillstock.tables.materials import MaterialName, assemble, names_by_word, near, plain
from stillstock.tables.printed_units import PRINTED_UNITS
from stillstock.tables.scatter import Grade, Triple
from stillstock.tables.words import in_words

__all__ = ["Row", "Source", "Tables", "grade_of", "load_tables", "read_tables", "records_of"]

COLUMNS = ("subject", "property", "unit", "low", "typical", "high", "source", "grade", "note")
SOURCE_COLUMNS = ("key", "citation", "detail", "grade")
NAME_COLUMNS = ("key", "title", "family", "cutting_row", "adjusted_by", "aliases")
NOT_TABLES = ("sources", "material_names", "suitability", "pairs")
GRADES = {"S": Grade.SEEN, "M": Grade.MEMORY, "P": Grade.PRACTICE}


@dataclass(frozen=True, kw_only=True)
class Source:
    """Where numbers come from.

    Attributes
    ----------
    key, citation, detail : str
        Key used by the rows, the full citation, and page, table or how it was read.
    grade : Grade
        How the source itself is known; a row's own grade stands at the row.
    """

    key: str
    citation: str
    detail: str
    grade: Grade


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row of a table, as printed and in SI.

    Attributes
    ----------
    table, subject, property : str
        Where it is found.
    unit : str
        The unit as printed.
    printed : (3,) tuple
        Low, typical and high as printed. [`unit`]
    value : Triple
        The same in SI.
    """

    table: str
    subject: str
    property: str
    unit: str
    printed: tuple[float, float, float]
    value: Triple


@dataclass(frozen=True, kw_only=True, eq=False)
class Tables:
    """All tables, checked and in SI.

    Attributes
    ----------
    cells : mapping of (table, subject, property) to Row
    materials : mapping of key to Material
    sources : mapping of key to Source
    words : mapping of str to str
        Every word for a material, in plain form, and the key that it means.
    """

    cells: Mapping[tuple[str, str, str], Row]
    materials: Mapping[str, Material]
    sources: Mapping[str, Source]
    words: Mapping[str, str]

    def get(self, table: str, subject: str, property: str) -> Triple | None:  # noqa: A002 - the column's name
        """Return one number in SI, or None if the tables do not have it."""
        row = self.cells.get((table, subject, property))
        return None if row is None else row.value

    def value(self, table: str, subject: str, property: str) -> Triple:  # noqa: A002 - the column's name
        """Return one number in SI.

        Raises
        ------
        KeyError
            If it is not there; the message says which of table, subject and property is unknown.
        """
        found = self.get(table, subject, property)
        if found is None:
            raise KeyError(self._what_is_missing(table, subject, property))
        return found

    def subjects(self, table: str) -> tuple[str, ...]:
        """Return the subjects of a table, in its order."""
        return tuple(dict.fromkeys(row.subject for row in self.rows(table)))

    def rows(self, table: str) -> tuple[Row, ...]:
        """Return the rows of a table, in its order."""
        return tuple(row for row in self.cells.values() if row.table == table)

    def resting_on(self, source: str) -> tuple[Row, ...]:
        """Return the rows of all tables that rest on a source."""
        return tuple(row for row in self.cells.values() if row.value.source == source)

    def material(self, name: str) -> Material | None:
        """Return the material that a key, title or alias means, whatever its case, or None."""
        key = self.words.get(plain(name))
        return None if key is None else self.materials[key]

    def near_materials(self, name: str) -> tuple[str, ...]:
        """Return the keys of materials whose names come close to `name`, the closest first."""
        return near(name, words=self.words)

    def _what_is_missing(self, table: str, subject: str, prop: str) -> str:
        subjects = self.subjects(table)
        if not subjects:
            return f"no table {table!r}"
        if subject not in subjects:
            return f"table {table!r} has no subject {subject!r}"
        known = ", ".join(row.property for row in self.rows(table) if row.subject == subject)
        return f"table {table!r} has no {prop!r} of {subject!r}; it has {known}"


@cache
def load_tables() -> Tables:
    """Return the tables that come with the package, read once."""
    return read_tables(files("stillstock.tables") / "data")


def read_tables(folder: Traversable) -> Tables:
    """Read every CSV file of a folder.

    Parameters
    ----------
    folder : Traversable
        Holds the tables, `sources.csv` and `material_names.csv`.

    Returns
    -------
    Tables

    Raises
    ------
    ValueError
        If a row is wrong in any way; the message names file and line.
    """
    sources = _sources(folder)
    names = _material_names(folder)
    titles = {name.key: name.title for name in names}
    cells: dict[tuple[str, str, str], Row] = {}
    for table in sorted(_table_names(folder)):
        for where, record in records_of(folder, table, COLUMNS):
            row = _row(table, record, where=where, sources=sources, titles=titles)
            key = (row.table, row.subject, row.property)
            if key in cells:
                raise ValueError(f"{where}: {row.subject}, {row.property} stands there twice")
            cells[key] = row
    _check_dimensions(cells)
    values = {key: row.value for key, row in cells.items()}
    return Tables(
        cells=MappingProxyType(cells),
        materials=MappingProxyType(assemble(names, values=values)),
        sources=MappingProxyType(sources),
        words=MappingProxyType(names_by_word(names)),
    )


def _table_names(folder: Traversable) -> Iterator[str]:
    for entry in folder.iterdir():
        name, dot, ending = entry.name.rpartition(".")
        if dot and ending == "csv" and name not in NOT_TABLES:
            yield name


def records_of(folder: Traversable, name: str, columns: Sequence[str]) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield each line of a file with its place, after checking that it has just the columns it should."""
    with (folder / f"{name}.csv").open(encoding="utf-8") as lines:
        reader = csv.reader(lines)
        if tuple(next(reader, ())) != tuple(columns):
            raise ValueError(f"{name}.csv: the columns must be {', '.join(columns)}")
        for record in reader:
            where = f"{name}.csv, line {reader.line_num}"
            if len(record) != len(columns):
                raise ValueError(f"{where}: {len(record)} cells instead of {len(columns)}")
            yield where, dict(zip(columns, record, strict=True))


def grade_of(letter: str, *, where: str) -> Grade:
    """Return the grade that a letter stands for."""
    if letter not in GRADES:
        raise ValueError(f"{where}: unknown grade {letter!r}; it must be one of {', '.join(GRADES)}")
    return GRADES[letter]


def _sources(folder: Traversable) -> dict[str, Source]:
    sources: dict[str, Source] = {}
    for where, record in records_of(folder, "sources", SOURCE_COLUMNS):
        key = record["key"]
        if key in sources:
            raise ValueError(f"{where}: source {key!r} stands there twice")
        if not record["citation"]:
            raise ValueError(f"{where}: source {key!r} has no citation")
        grade = grade_of(record["grade"], where=where)
        sources[key] = Source(key=key, citation=record["citation"], detail=record["detail"], grade=grade)
    return sources


def _material_names(folder: Traversable) -> tuple[MaterialName, ...]:
    return tuple(
        MaterialName(
            key=record["key"],
            title=record["title"],
            family=record["family"],
            cutting_row=record["cutting_row"],
            adjusted_by=record["adjusted_by"],
            aliases=tuple(filter(None, record["aliases"].split("|"))),
        )
        for _, record in records_of(folder, "material_names", NAME_COLUMNS)
    )


def _row(
    table: str, record: Mapping[str, str], *, where: str, sources: Mapping[str, Source], titles: Mapping[str, str]
) -> Row:
    if record["source"] not in sources:
        raise ValueError(f"{where}: sources.csv has no {record['source']!r}")
    unit = PRINTED_UNITS.get(record["unit"])
    if unit is None:
        raise ValueError(f"{where}: unknown unit {record['unit']!r}")
    printed = _printed(record, where=where)
    low, typical, high = (unit.to_si(number) for number in printed)
    value = Triple(
        low=low,
        typical=typical,
        high=high,
        what=in_words(record["subject"], property_key=record["property"], titles=titles),
        source=record["source"],
        grade=grade_of(record["grade"], where=where),
        dimension=unit.dimension,
        note=record["note"],
    )
    return Row(
        table=table,
        subject=record["subject"],
        property=record["property"],
        unit=record["unit"],
        printed=printed,
        value=value,
    )


def _printed(record: Mapping[str, str], *, where: str) -> tuple[float, float, float]:
    try:
        low, typical, high = (float(record[column]) for column in ("low", "typical", "high"))
    except ValueError as error:
        raise ValueError(f"{where}: {error}") from None
    if not low <= typical <= high:
        raise ValueError(f"{where}: {low}, {typical}, {high} are not in order")
    return low, typical, high


def _check_dimensions(cells: Mapping[tuple[str, str, str], Row]) -> None:
    """Refuse a property that means a force in one row of a table and a pressure in the next."""
    first: dict[tuple[str, str], Row] = {}
    for (table, _, prop), row in cells.items():
        before = first.setdefault((table, prop), row)
        if before.value.dimension != row.value.dimension:
            raise ValueError(
                f"{table}.csv: {prop} is a {before.value.dimension} of {before.subject} "
                f"and a {row.value.dimension} of {row.subject}"
            )
