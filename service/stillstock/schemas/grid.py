"""The grid document in: a spoilboard's pattern, holes, cut and skim."""

from collections.abc import Mapping
from math import pi
from typing import Any

from marshmallow import ValidationError, post_load

from stillstock.answers.grid_request import EndMill, GridRequest, Program
from stillstock.engine.grid.request import (
    Bit,
    Board,
    Circle2D,
    DowelKind,
    Dowels,
    ExistingPattern,
    HoleKind,
    HoleWanted,
    KeepOut,
    Labels,
    LabelStyle,
    Mark,
    Order,
    Pattern,
    PatternPlace,
    Rates,
    SkimWanted,
    Strip,
    Table,
)
from stillstock.engine.grid.v_groove import depth_of_width
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.schemas.flaws import Flaw, flawed, raise_flaws
from stillstock.schemas.places import ListOf, Point, Vector
from stillstock.schemas.quantity import Choice, Integer, Number, Quantity, Text
from stillstock.schemas.strict import Object, StrictField, StrictSchema, reading, system_of
from stillstock.settings import Limits
from stillstock.tables.load import Tables
from stillstock.units import SYSTEMS, parse

__all__ = ["GridSchema", "load_grid"]

_RPM = pi / 30.0


def length(least: float, most: float, **more: Any) -> Quantity:
    """Return the field of a length. [m]"""
    return Quantity("length", least=least, most=most, **more)


class Pair(StrictField[tuple[float, float]]):
    """One length for both directions, or one along x and one along y."""

    def __init__(self, *, least: float, most: float, **more: Any) -> None:
        super().__init__(**more)
        self.one = length(least, most)
        self.two = Vector(self.one, 2)

    def read(self, value: Any) -> tuple[float, float]:
        """Return both in SI."""
        if isinstance(value, list):
            first, second = self.two.read(value)
            return first, second
        single = self.one.read(value)
        return single, single


class TableSchema(StrictSchema):
    """The spoilboard."""

    size = Vector(length(0.02, 10.0), 2, required=True)
    origin = Point(2)
    thickness = length(1e-3, 0.2, required=True)
    board = Choice(tuple(Board))
    least_thickness = length(0.0, 0.2)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Table:
        """Return the table in SI."""
        return Table(**{"origin": (0.0, 0.0), **data})


class ExistingSchema(StrictSchema):
    """Holes that are in the board already."""

    first = Point(2, required=True)
    pitch = Pair(least=1e-3, most=5.0, required=True)
    columns = Integer(least=1, most=500, required=True)
    rows = Integer(least=1, most=500, required=True)
    diameter = length(1e-4, 0.1, required=True)
    place = Choice(tuple(PatternPlace))
    clearance = length(0.0, 0.1, allow_none=True)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> ExistingPattern:
        """Return the pattern in SI."""
        count = (data.pop("columns"), data.pop("rows"))
        return ExistingPattern(count=count, **data)


class RectangleSchema(StrictSchema):
    """A rectangle by two opposite corners."""

    kind = Choice(("rectangle",), required=True)
    name = Text(longest=60)
    corners = Vector(Point(2), 2, required=True)
    clearance = length(0.0, 0.5)


class CircleSchema(StrictSchema):
    """A round place."""

    kind = Choice(("circle",), required=True)
    name = Text(longest=60)
    at = Point(2, required=True)
    diameter = length(1e-4, 5.0, required=True)
    clearance = length(0.0, 0.5)


class TrackSchema(StrictSchema):
    """A straight strip by its middle line and width."""

    kind = Choice(("track",), required=True)
    name = Text(longest=60)
    start = Point(2, required=True, data_key="from")
    end = Point(2, required=True, data_key="to")
    width = length(1e-4, 1.0, required=True)
    clearance = length(0.0, 0.5)


class OneKeepOut(StrictField[KeepOut]):
    """One place to keep out of; its member `kind` says of which form."""

    forms: Mapping[str, StrictSchema] = {
        "rectangle": RectangleSchema(),
        "circle": CircleSchema(),
        "track": TrackSchema(),
    }

    def read(self, value: Any) -> KeepOut:
        """Return it in SI."""
        if not isinstance(value, dict):
            raise flawed("type", "expected a place to keep out of, {...}", seen=value)
        if "kind" not in value:
            raise ValidationError({"kind": [Flaw(code="missing", detail=f"one of {', '.join(self.forms)}")]})
        try:
            kind = Choice(tuple(self.forms)).read(value["kind"])
        except ValidationError as error:
            raise ValidationError({"kind": error.messages}) from None
        data = self.forms[kind].load(value)
        return KeepOut(name=data.get("name", ""), shape=_SHAPES[kind](data), clearance=data.get("clearance", 0.0))


def _rectangle(data: dict[str, Any]) -> Strip:
    (xa, ya), (xb, yb) = data["corners"]
    if abs(xb - xa) < 1e-6 or abs(yb - ya) < 1e-6:
        raise ValidationError({"corners": [Flaw(code="no_area", detail="two opposite corners are wanted", late=True)]})
    middle = (ya + yb) / 2.0
    return Strip(start=(min(xa, xb), middle), end=(max(xa, xb), middle), width=abs(yb - ya))


def _track(data: dict[str, Any]) -> Strip:
    start, end = data["start"], data["end"]
    if abs(start[0] - end[0]) < 1e-6 and abs(start[1] - end[1]) < 1e-6:
        raise ValidationError({"to": [Flaw(code="no_length", detail="a track ends elsewhere", late=True)]})
    return Strip(start=start, end=end, width=data["width"])


_SHAPES: Mapping[str, Any] = {
    "rectangle": _rectangle,
    "circle": lambda data: Circle2D(at=data["at"], radius=data["diameter"] / 2.0),
    "track": _track,
}


class LabelsSchema(StrictSchema):
    """Text along the edges."""

    x = Choice(tuple(LabelStyle))
    y = Choice(tuple(LabelStyle))
    height = length(1e-3, 0.1, required=True)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Labels:
        """Return the labels in SI."""
        stated = {"x": LabelStyle.NONE, "y": LabelStyle.NONE, **data}
        return Labels(x=stated["x"], y=stated["y"], height=stated["height"])


class DowelsSchema(StrictSchema):
    """Holes for locating dowels."""

    kind = Choice(tuple(DowelKind), required=True)
    at = Point(2, required=True)
    to = Point(2, required=True)
    diameter = length(5e-4, 0.05, required=True)
    second = length(5e-4, 0.05)
    depth = length(5e-4, 0.2, required=True)
    count = Integer(least=2, most=200)
    inset = length(0.0, 1.0)
    fit = length(0.0, 1e-3)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Dowels:
        """Return the dowels in SI."""
        return Dowels(**data)


class BitSchema(StrictSchema):
    """A V-bit."""

    angle = Quantity("angle", least=pi / 36.0, most=pi * 17.0 / 18.0, required=True)
    diameter = length(5e-4, 0.1, required=True)
    tip = length(0.0, 0.01)
    flutes = Integer(least=1, most=12)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Bit:
        """Return the bit in SI."""
        return Bit(**data)


class LineSchema(StrictSchema):
    """Depth of the lines, or the width from which it follows."""

    depth = length(1e-5, 0.05)
    width = length(1e-5, 0.1)
    major_depth = length(1e-5, 0.05)


class HoleSchema(StrictSchema):
    """What goes into a hole."""

    kind = Choice(tuple(HoleKind), required=True)
    diameter = length(5e-4, 0.1, required=True)
    core = length(5e-4, 0.1)
    length_ = length(5e-4, 0.2, required=True, data_key="length", attribute="length")
    flange_diameter = length(0.0, 0.2)
    flange_thickness = length(0.0, 0.05)
    sunk = length(0.0, 0.1)
    fit = length(0.0, 1e-3)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> HoleWanted:
        """Return the hole in SI."""
        flange = (data.pop("flange_diameter", 0.0), data.pop("flange_thickness", 0.0))
        if data["kind"] == HoleKind.INSERT and "core" not in data:
            detail = "an insert's hole follows from the diameter under its thread too"
            raise ValidationError({"core": [Flaw(code="missing", detail=detail, late=True)]})
        return HoleWanted(flange=flange, **data)


class EndMillSchema(StrictSchema):
    """The cutter that bores the holes."""

    diameter = length(5e-4, 0.05, required=True)
    flutes = Integer(least=1, most=12)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> EndMill:
        """Return the cutter in SI."""
        return EndMill(**data)


class RatesSchema(StrictSchema):
    """Spindle speed and feeds of one tool."""

    speed = Quantity("angular_speed", least=100.0 * _RPM, most=1e5 * _RPM)
    feed = Quantity("speed", least=1e-4, most=2.0)
    plunge = Quantity("speed", least=1e-4, most=2.0)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Rates:
        """Return the rates in SI."""
        return Rates(**data)


class AxesSchema(StrictSchema):
    """How fast the machine moves."""

    rapid = Quantity("speed", least=1e-4, most=5.0)
    rapid_z = Quantity("speed", least=1e-4, most=5.0)
    acceleration = Number(least=0.1, most=1e5)


class SkimSchema(StrictSchema):
    """Facing the board."""

    cutter = length(1e-3, 0.2, required=True)
    depth = length(1e-5, 0.02, required=True)
    passes = Integer(least=1, most=50)
    stepover = Quantity("fraction", least=0.05, most=0.95)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> SkimWanted:
        """Return the skim in SI."""
        return SkimWanted(**data)


class GridSchema(StrictSchema):
    """The grid document, as the contract has it."""

    units = Choice(SYSTEMS, required=True)
    title = Text(shortest=1)
    table = Object(TableSchema(), required=True)
    mark = Choice(tuple(Mark), required=True)
    pitch = Pair(least=1e-4, most=10.0)
    offset = Point(2)
    margin = length(0.0, 2.0)
    area = Vector(Point(2), 2)
    major_every = Integer(least=0, most=1000)
    cross_size = length(5e-4, 1.0)
    existing = Object(ExistingSchema(), allow_none=True)
    keep_outs = ListOf(OneKeepOut(), limit="holders")
    labels = Object(LabelsSchema(), allow_none=True)
    zero_mark = length(0.0, 0.5)
    dowels = ListOf(Object(DowelsSchema()), limit="holders")
    bit = Object(BitSchema())
    line = Object(LineSchema())
    hole = Object(HoleSchema())
    end_mill = Object(EndMillSchema())
    engraving = Object(RatesSchema())
    boring = Object(RatesSchema())
    facing = Object(RatesSchema())
    machine = Object(AxesSchema())
    clearance = length(5e-4, 0.5)
    skim = Object(SkimSchema(), allow_none=True)
    skim_depth = length(1e-5, 0.02)
    order = Choice(tuple(Order))
    program = Choice(tuple(Program))


_SCHEMA = GridSchema()
# What stands where a tool is not used at all; `_missing` refuses a request that would use it.
_NO_BIT = Bit(angle=pi / 3.0, diameter=0.006)
_NO_MILL = EndMill(diameter=0.006)


def load_grid(document: Mapping[str, Any], tables: Tables, *, limits: Limits) -> GridRequest:
    """Return what a grid document asks for.

    Raises
    ------
    InvalidDocument
        If it breaks the schema of the contract.
    ImpossibleSetUp
        If it keeps the schema, yet a quantity is out of its range or a member is missing that others call for.
    """
    system = system_of(document)
    with reading(system, limits=limits, tables=tables):
        try:
            members: dict[str, Any] = _SCHEMA.load(document)
        except ValidationError as error:
            raise_flaws(error.messages)
            raise
    bit = members.get("bit", _NO_BIT)
    depth, major_depth = _depths(members.get("line", {}), bit)
    axes = dict(members.get("machine", {}))
    if "acceleration" in axes:
        axes["acceleration"] *= parse(1.0, "length", system)
    asked = GridRequest(
        title=members.get("title", "Spoilboard grid"),
        system=system,
        table=members["table"],
        pattern=_pattern(members),
        bit=bit,
        depth=depth,
        major_depth=major_depth,
        end_mill=members.get("end_mill", _NO_MILL),
        most_marks=limits.grid_marks,
        keep_outs=_named(members.get("keep_outs", [])),
        dowels=tuple(members.get("dowels", [])),
        **{name: members[name] for name in _TAKEN_OVER if name in members},
        **axes,
    )
    faults = [*_missing(asked, members), *_line_faults(members.get("line", {}))]
    if faults:
        raise ImpossibleSetUp(faults)
    return asked


_TAKEN_OVER = (
    "labels",
    "zero_mark",
    "hole",
    "engraving",
    "boring",
    "facing",
    "clearance",
    "skim",
    "skim_depth",
    "order",
    "program",
)


def _pattern(members: Mapping[str, Any]) -> Pattern:
    table: Table = members["table"]
    margin = members.get("margin", 0.0)
    x0, y0, x1, y1 = table.box
    area = (x0 + margin, y0 + margin, x1 - margin, y1 - margin)
    if "area" in members:
        (xa, ya), (xb, yb) = members["area"]
        area = (min(xa, xb), min(ya, yb), max(xa, xb), max(ya, yb))
    stated = {name: members[name] for name in ("offset", "major_every", "cross_size", "existing") if name in members}
    return Pattern(mark=members["mark"], pitch=members.get("pitch", table.size), area=area, **stated)


def _named(keep_outs: list[KeepOut]) -> tuple[KeepOut, ...]:
    return tuple(
        KeepOut(name=item.name or f"keep-out {number + 1}", shape=item.shape, clearance=item.clearance)
        for number, item in enumerate(keep_outs)
    )


def _depths(line: Mapping[str, float], bit: Bit) -> tuple[float, float]:
    depth = line.get("depth")
    if depth is None:
        width = line.get("width")
        depth = 0.0003 if width is None else depth_of_width(width, angle=bit.angle, tip=bit.tip)
    return depth, line.get("major_depth", depth)


def _missing(asked: GridRequest, members: Mapping[str, Any]) -> list[Fault]:
    needed = {
        "pitch": (asked.pattern.mark is not Mark.NONE or asked.labels is not None, "the distance from mark to mark"),
        "bit": (asked.engraves, "the V-bit that cuts lines and text"),
        "line": (asked.engraves, "how deep or how wide the lines are"),
        "end_mill": (asked.bores, "the end mill that bores the holes"),
        "hole": (asked.pattern.mark is Mark.HOLES, "what the holes are for"),
    }
    return [
        Fault(pointer=f"/{name}", code="missing", detail=f"this request needs {what}")
        for name, (wanted, what) in needed.items()
        if wanted and name not in members
    ]


def _line_faults(line: Mapping[str, float]) -> list[Fault]:
    if not line or ("depth" in line) != ("width" in line):
        return []
    return [Fault(pointer="/line", code="one_of", detail="state either the depth of the lines or their width")]
