"""The set-up document in, the engine's set-up in SI out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from marshmallow import ValidationError

from stillstock.answers.one_more_holder import KINDS
from stillstock.answers.sheet_request import SheetWanted
from stillstock.engine.set_up import Bed, Clearances, Cut, Direction, FloatArray, Load, Machine, SetUp, Stock, Tool
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.schemas.cut_tests import CutTestSchema
from stillstock.schemas.flaws import raise_flaws
from stillstock.schemas.geometry import set_up_faults
from stillstock.schemas.holders import Holder
from stillstock.schemas.members import (
    BedSchema,
    ClearancesSchema,
    CutSchema,
    DetailSchema,
    DoubtSchema,
    LoadSchema,
    MachineSchema,
    PartSchema,
    ProgramSchema,
    RequiredSchema,
    StockSchema,
    Tools,
    ZeroSchema,
)
from stillstock.schemas.places import ListOf
from stillstock.schemas.quantity import Choice, Text
from stillstock.schemas.sheet import SheetSchema
from stillstock.schemas.strict import Object, StrictSchema, reading, system_of
from stillstock.settings import Limits
from stillstock.tables.load import Tables
from stillstock.units import SYSTEMS, System

__all__ = ["Document", "Options", "SetUpSchema", "check_schema", "document_of", "load_set_up"]

#: How far two statements of one height may differ. [m]
SAME_HEIGHT = 1e-5


@dataclass(frozen=True, kw_only=True)
class Options:
    """What the document says besides the set-up itself.

    Attributes
    ----------
    name, program_name : str
        Of the job, and of the program's file; empty if not stated.
    zero : str
        Where the height zero lies: ``"stock_top"`` or ``"bed"``.
    sheet : SheetWanted
        What the printed sheet says besides.
    """

    name: str = ""
    program_name: str = ""
    zero: str = "stock_top"
    sheet: SheetWanted = field(default_factory=SheetWanted)


@dataclass(frozen=True, kw_only=True)
class Document:
    """A set-up in SI, with what its answer needs: the caller's units, and the names given."""

    set_up: SetUp
    system: System
    options: Options


class SetUpSchema(StrictSchema):
    """The set-up document, as the contract has it."""

    units = Choice(SYSTEMS, required=True)
    name = Text()
    stock = Object(StockSchema(), required=True)
    bed = Object(BedSchema(), required=True)
    machine = Object(MachineSchema())
    zero = Object(ZeroSchema())
    tools = Tools()
    holders = ListOf(Holder(), limit="holders")
    cuts = ListOf(Object(CutSchema()), limit="cuts")
    cut_test = ListOf(Object(CutTestSchema()), limit="tools")
    stated_loads = ListOf(Object(LoadSchema()), limit="loads", data_key="loads")
    parts = ListOf(Object(PartSchema()), limit="parts")
    program = Object(ProgramSchema(), allow_none=True)
    required = Object(RequiredSchema())
    spare = ListOf(Choice(KINDS), limit="holders")
    clearances = Object(ClearancesSchema())
    detail = Object(DetailSchema())
    doubt = Object(DoubtSchema())
    sheet = Object(SheetSchema())


_SCHEMA = SetUpSchema()


def check_schema(document: object, *, tables: Tables, limits: Limits) -> dict[str, Any]:
    """Return the members of a document, each in SI.

    Raises
    ------
    InvalidDocument, ImpossibleSetUp
        With every finding, by whether any breaks the schema.
    """
    with reading(system_of(document), limits=limits, tables=tables):
        try:
            members: dict[str, Any] = _SCHEMA.load(document)  # type: ignore[arg-type]
        except ValidationError as error:
            raise_flaws(error.messages)
            raise
    return members


def load_set_up(document: Mapping[str, Any], tables: Tables, *, limits: Limits | None = None) -> Document:
    """Return the set-up that a document states.

    Parameters
    ----------
    document : mapping
        As parsed from JSON.
    tables : Tables
        Names the materials, and what the holding methods need.
    limits : Limits or None
        Longest lists; None takes the defaults, which the contract states.

    Raises
    ------
    InvalidDocument
        If it breaks the schema of the contract.
    ImpossibleSetUp
        If it keeps the schema, yet a quantity is out of its range or the parts do not fit each other.
    """
    members = check_schema(document, tables=tables, limits=limits or Limits())
    return document_of(members, system=system_of(document), tables=tables)


def document_of(members: Mapping[str, Any], *, system: System, tables: Tables) -> Document:
    """Return the set-up that the members of a document make together.

    Raises
    ------
    ImpossibleSetUp
        If they do not fit each other.
    """
    zero = members.get("zero", {}).get("z", "stock_top")
    faults: list[Fault] = []
    set_up = _set_up(members, zero, faults)
    if faults:
        raise ImpossibleSetUp(faults)
    faults = [*_zero_faults(members, set_up), *set_up_faults(set_up, system=system, tables=tables)]
    if faults:
        raise ImpossibleSetUp(faults)
    options = Options(
        name=members.get("name", ""),
        program_name=(members.get("program") or {}).get("name", ""),
        zero=zero,
        sheet=members.get("sheet", SheetWanted()),
    )
    return Document(set_up=set_up, system=system, options=options)


def _set_up(members: Mapping[str, Any], zero: str, faults: list[Fault]) -> SetUp:
    tools = members.get("tools", {})
    stock = _stock(members["stock"], zero)
    bed = dict(members["bed"])
    if bed.get("top") is None:
        bed["top"] = stock.origin[2]
    if "voids" in bed:
        bed["voids"] = tuple(bed["voids"])
    return SetUp(
        stock=stock,
        bed=Bed(**bed),
        machine=members.get("machine", Machine()),
        tools=tools,
        holders=tuple(members.get("holders", ())),
        cuts=tuple(_cut(index, cut, tools, faults) for index, cut in enumerate(members.get("cuts", ()))),
        loads=tuple(
            Load(**{"name": f"load {index + 1}", **load}) for index, load in enumerate(members.get("stated_loads", ()))
        ),
        parts=tuple(members.get("parts", ())),
        cut_tests=tuple(members.get("cut_test", ())),
        program=(members.get("program") or {}).get("text"),
        feed_override=(members.get("program") or {}).get("feed_override", 1.0),
        required=members.get("required", {}).get("factor", 2.0),
        clearances=members.get("clearances", Clearances()),
        tolerance=members.get("required", {}).get("tolerance"),
        doubt=members.get("doubt", {}).get("samples", 0),
        spare=tuple(members.get("spare", ())),
        each_move=members.get("detail", {}).get("moves", False),
    )


def _stock(members: Mapping[str, Any], zero: str) -> Stock:
    """Return the stock; where no origin is stated its corner is at X0 Y0, and zero says at which height."""
    height = members["size"][2]
    origin = members.get("origin") or (0.0, 0.0, 0.0 if zero == "bed" else -height)
    thickness = members.get("thickness") or (height, height)
    return Stock(**{**members, "origin": origin, "thickness": thickness})


def _cut(index: int, members: Mapping[str, Any], tools: Mapping[int, Tool], faults: list[Fault]) -> Cut:
    """Return the cut; where no width is stated the tool cuts with its whole diameter, which is the most it can."""
    stated = dict(members)
    level = stated.pop("level", None)
    tool = tools.get(stated["tool"])
    if stated.get("width") is None:
        stated["width"] = tool.diameter if tool is not None else 0.0
    stated["path"] = _path(stated["path"], level, f"/cuts/{index}", faults)
    return Cut(**{"name": f"cut {index + 1}", "direction": Direction.CLIMB, **stated})


def _path(path: FloatArray, level: float | None, pointer: str, faults: list[Fault]) -> FloatArray:
    if path.shape[1] == 3:
        if level is not None:
            faults.append(Fault(pointer=f"{pointer}/level", code="mismatch", detail="the path states its own heights"))
        return path
    if level is None:
        detail = "a path of points without a height needs level"
        faults.append(Fault(pointer=f"{pointer}/level", code="missing", detail=detail))
        level = 0.0
    return np.column_stack([path, np.full(len(path), level)])


def _zero_faults(members: Mapping[str, Any], set_up: SetUp) -> list[Fault]:
    """Return the fault of a zero that contradicts the stated heights."""
    if "zero" not in members or members["stock"].get("origin") is None:
        return []
    on_top = members["zero"]["z"] == "stock_top"
    height = set_up.stock.top if on_top else set_up.bed.top
    if abs(height) <= SAME_HEIGHT:
        return []
    what = "the top of the stock" if on_top else "the face of the bed"
    return [Fault(pointer="/zero/z", code="mismatch", detail=f"origin and size put {what} at another height than 0")]
