"""What the trade knows of ways of holding before any number is reckoned: facts that rule one out, and pairs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from math import inf

from stillstock.tables.load import grade_of, load_tables, records_of
from stillstock.tables.scatter import Grade

__all__ = ["EFFECTS", "JOBS", "MEASURES", "STATES", "Fact", "Pair", "facts", "pairs", "read_facts", "read_pairs"]

FACT_COLUMNS = (
    *("key", "methods", "option", "stock", "state", "job", "measure", "least", "most"),
    *("effect", "words", "source", "grade"),
)
PAIR_COLUMNS = ("method", "companions", "words", "source", "grade")
EFFECTS = ("rules_out", "caution")

#: What a fact may ask of the faces that meet, of the job, and by which number.
STATES = ("dusty", "oily", "waxy", "rough", "raw_board")
JOBS = ("through", "engrave", "up_cut", "whole_piece", "alone", "finish", "both_faces", "no_marks")
MEASURES = ("thickness", "bow", "slenderness")


@dataclass(frozen=True, kw_only=True)
class Fact:
    """One fact: it applies where all that it asks for is so; what is empty asks for nothing.

    Attributes
    ----------
    key : str
    methods : tuple of str
        Kinds of holders that it is about.
    option : tuple of str
        Member of the holder and the word that it must have; empty for any.
    stock : tuple of str
        Families and keys of materials, any of them.
    state : tuple of str
        States of the faces, any of them; of `STATES`.
    job : tuple of str
        Of `JOBS`, all of them.
    measure : str
        Of `MEASURES`.
    least, most : float
        Between which the measure lies. [SI unit of the measure]
    rules_out : bool
        Whether the method is out, or only comes with a caution.
    words, source : str
    grade : Grade
    """

    key: str
    methods: tuple[str, ...]
    option: tuple[str, ...]
    stock: tuple[str, ...]
    state: tuple[str, ...]
    job: tuple[str, ...]
    measure: str
    least: float
    most: float
    rules_out: bool
    words: str
    source: str
    grade: Grade


@dataclass(frozen=True, kw_only=True)
class Pair:
    """Ways of holding that make sense together, the one that holds first, and why."""

    method: str
    companions: tuple[str, ...]
    words: str
    source: str
    grade: Grade


def _split(cell: str, known: Sequence[str], *, where: str, sign: str = "|") -> tuple[str, ...]:
    words = tuple(filter(None, cell.split(sign)))
    for word in words:
        if known and word not in known:
            raise ValueError(f"{where}: unknown word {word!r}; known here: {', '.join(known)}")
    return words


def _one(cell: str, known: Sequence[str], *, where: str) -> str:
    return next(iter(_split(cell, known, where=where)), "")


def _ground(record: Mapping[str, str], *, where: str) -> tuple[str, Grade]:
    if record["source"] not in load_tables().sources:
        raise ValueError(f"{where}: sources.csv has no {record['source']!r}")
    return record["source"], grade_of(record["grade"], where=where)


def _fact(record: Mapping[str, str], *, where: str) -> Fact:
    source, grade = _ground(record, where=where)
    effect = _one(record["effect"], EFFECTS, where=where)
    if not effect or not record["words"]:
        raise ValueError(f"{where}: a fact has an effect and words")
    return Fact(
        key=record["key"],
        methods=_split(record["methods"], (), where=where),
        option=_split(record["option"], (), where=where, sign="="),
        stock=_split(record["stock"], (), where=where),
        state=_split(record["state"], STATES, where=where),
        job=_split(record["job"], JOBS, where=where, sign="+"),
        measure=_one(record["measure"], MEASURES, where=where),
        least=float(record["least"] or -inf),
        most=float(record["most"] or inf),
        rules_out=effect == "rules_out",
        words=record["words"],
        source=source,
        grade=grade,
    )


def read_facts(folder: Traversable) -> tuple[Fact, ...]:
    """Return the facts of a folder's `suitability.csv`.

    Raises
    ------
    ValueError
        If a row is wrong in any way, or a key stands there twice; the message names file and line.
    """
    found: dict[str, Fact] = {}
    for where, record in records_of(folder, "suitability", FACT_COLUMNS):
        if record["key"] in found:
            raise ValueError(f"{where}: {record['key']} stands there twice")
        found[record["key"]] = _fact(record, where=where)
    return tuple(found.values())


def read_pairs(folder: Traversable) -> tuple[Pair, ...]:
    """Return the pairs of a folder's `pairs.csv`.

    Raises
    ------
    ValueError
        If a row is wrong in any way; the message names file and line.
    """
    found = []
    for where, record in records_of(folder, "pairs", PAIR_COLUMNS):
        source, grade = _ground(record, where=where)
        found.append(
            Pair(
                method=record["method"],
                companions=_split(record["companions"], (), where=where),
                words=record["words"],
                source=source,
                grade=grade,
            )
        )  # fmt: skip
    return tuple(found)


@cache
def facts() -> tuple[Fact, ...]:
    """Return the facts that come with the package, read once."""
    return read_facts(files("stillstock.tables") / "data")


@cache
def pairs() -> tuple[Pair, ...]:
    """Return the pairs that come with the package, read once."""
    return read_pairs(files("stillstock.tables") / "data")
