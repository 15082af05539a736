"""The positions document in: blank, table, what locates it, offsets."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, post_load

from stillstock.answers.positions_request import PositionsRequest
from stillstock.engine.positions.fit import GRADES, HOLES, SHAFTS, FitName, fit_name
from stillstock.engine.positions.request import (
    Dowels,
    Flip,
    Height,
    Lines,
    Locating,
    Offsets,
    Part,
    Pattern,
    Refer,
    Stops,
    Table,
)
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.schemas.flaws import Flaw, flawed, raise_flaws
from stillstock.schemas.grid import Pair, length
from stillstock.schemas.places import Point, Vector
from stillstock.schemas.quantity import Choice, Integer, Text
from stillstock.schemas.strict import Object, StrictField, StrictSchema, reading, system_of
from stillstock.settings import Limits
from stillstock.tables.load import Tables
from stillstock.units import SYSTEMS

__all__ = ["PositionsSchema", "load_positions"]


class PartSchema(StrictSchema):
    """The blank."""

    size = Vector(length(1e-3, 10.0), 3, required=True)
    tolerance = Pair(least=0.0, most=0.1)
    thickness_tolerance = length(0.0, 0.1)
    edge = length(0.0, 0.02)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Part:
        """Return the blank in SI."""
        return Part(**data)


class PositionsTableSchema(StrictSchema):
    """The table."""

    size = Vector(length(0.02, 20.0), 2, required=True)
    origin = Point(2)
    reach = Vector(Point(2), 2)
    flatness = length(0.0, 0.02)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Table:
        """Return the table in SI."""
        if "reach" in data:
            (xa, ya), (xb, yb) = data["reach"]
            data["reach"] = (min(xa, xb), min(ya, yb), max(xa, xb), max(ya, yb))
        return Table(**data)


class PatternSchema(StrictSchema):
    """Where stops, lines or dowels stand."""

    first = Point(2, required=True)
    pitch = Pair(least=1e-3, most=5.0, required=True)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Pattern:
        """Return the pattern in SI."""
        return Pattern(**data)


class OffsetsSchema(StrictSchema):
    """The machine's work offsets."""

    count = Integer(least=1, most=9)
    machine = Point(3)
    z = Choice(tuple(Height))

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Offsets:
        """Return the offsets in SI."""
        height = Height(data.pop("z", Height.BED))
        return Offsets(height=height, **data)


class FitField(Text):
    """A fit by the ISO code system, such as H7/g6."""

    def read(self, value: Any) -> Any:
        """Return the fit."""
        text = super().read(value)
        found = fit_name(text)
        if found is None:
            hole, _, shaft = text.partition("/")
            near = f"{hole.strip().upper()}/{shaft.strip().lower()}"
            detail = (
                f"no such fit is known here: expected hole and shaft such as H7/g6, holes {', '.join(HOLES)}, shafts "
                f"{', '.join(SHAFTS)}, grades {GRADES[0]} to {GRADES[-1]}"
            )
            raise flawed("fit", detail, late=True, seen=text, corrected=near if fit_name(near) else None)
        return found


class StopsSchema(StrictSchema):
    """Three round stops."""

    kind = Choice(("stops",), required=True)
    diameter = length(1e-3, 0.2, required=True)
    error = length(0.0, 0.02)


class LinesSchema(StrictSchema):
    """Two lines of a grid."""

    kind = Choice(("lines",), required=True)
    error = length(0.0, 0.02)


class DowelsSchema(StrictSchema):
    """Two dowels."""

    kind = Choice(("dowels",), required=True)
    at = Vector(Point(2), 2, required=True)
    diameter = length(1e-3, 0.05, required=True)
    second = length(1e-3, 0.05)
    fit = FitField(longest=12)
    play = length(0.0, 5e-3)
    hole_error = length(0.0, 0.02)


class FlipDowelsSchema(StrictSchema):
    """Two dowels on the axis about which the part is turned over."""

    kind = Choice(("flip_dowels",), required=True)
    axis = Choice(("x", "y"), required=True)
    axis_at = length(0.0, 10.0)
    inset = length(0.0, 10.0, required=True)
    diameter = length(1e-3, 0.05, required=True)
    second = length(1e-3, 0.05, required=True)
    fit = FitField(longest=12)
    play = length(0.0, 5e-3)
    hole_error = length(0.0, 0.02)


class OneWayToLocate(StrictField[dict[str, Any]]):
    """What locates a part; its member `kind` says of which form."""

    forms: Mapping[str, StrictSchema] = {
        "stops": StopsSchema(),
        "lines": LinesSchema(),
        "dowels": DowelsSchema(),
        "flip_dowels": FlipDowelsSchema(),
    }

    def read(self, value: Any) -> dict[str, Any]:
        """Return its members in SI."""
        if not isinstance(value, dict):
            raise flawed("type", "expected what locates the part, {...}", seen=value)
        if "kind" not in value:
            raise ValidationError({"kind": [Flaw(code="missing", detail=f"one of {', '.join(self.forms)}")]})
        try:
            kind = Choice(tuple(self.forms)).read(value["kind"])
        except ValidationError as error:
            raise ValidationError({"kind": error.messages}) from None
        members: dict[str, Any] = self.forms[kind].load(value)
        return members


class PositionsSchema(StrictSchema):
    """The positions document, as the contract has it."""

    units = Choice(SYSTEMS, required=True)
    title = Text(shortest=1)
    part = Object(PartSchema(), required=True)
    table = Object(PositionsTableSchema(), required=True)
    pattern = Object(PatternSchema(), allow_none=True)
    locate = OneWayToLocate(required=True)
    gap = length(0.0, 5.0)
    overrun = length(0.0, 1.0)
    count = Integer(least=1, most=100_000)
    refer = Choice(tuple(Refer))
    offsets = Object(OffsetsSchema())
    loading = Integer(least=1, most=100_000)
    tolerance = length(0.0, 0.1)


_SCHEMA = PositionsSchema()


def load_positions(document: Mapping[str, Any], tables: Tables, *, limits: Limits) -> PositionsRequest:
    """Return what a positions document asks for.

    Raises
    ------
    InvalidDocument
        If it breaks the schema of the contract.
    ImpossibleSetUp
        If it keeps the schema, yet a quantity is out of its range or members do not go together.
    """
    system = system_of(document)
    with reading(system, limits=limits, tables=tables):
        try:
            members: dict[str, Any] = _SCHEMA.load(document)
        except ValidationError as error:
            raise_flaws(error.messages)
            raise
    stated = members["locate"]
    if "fit" in stated and "play" in stated:
        detail = "state the fit of the dowels or their play, not both"
        raise ImpossibleSetUp([Fault(pointer="/locate", code="one_of", detail=detail)])
    return PositionsRequest(
        title=members.get("title", "Repeat parts"),
        system=system,
        part=members["part"],
        table=members["table"],
        locating=_locating(stated, members["part"]),
        most_places=limits.positions,
        **{name: members[name] for name in _TAKEN_OVER if name in members},
    )


_TAKEN_OVER = ("pattern", "gap", "overrun", "count", "refer", "offsets", "loading", "tolerance")


def _locating(stated: Mapping[str, Any], part: Part) -> Locating:
    if stated["kind"] == "stops":
        return Stops(diameter=stated["diameter"], error=stated.get("error"))
    if stated["kind"] == "lines":
        return Lines(error=stated.get("error"))
    flip = _flip(stated, part) if stated["kind"] == "flip_dowels" else None
    fit: FitName | None = stated.get("fit")
    play = (0.0, stated["play"]) if "play" in stated else None
    return Dowels(
        at=stated["at"] if flip is None else _on_axis(flip, stated["inset"], part),
        diameters=(stated["diameter"], stated.get("second", stated["diameter"])),
        fit=fit if fit or play else _USUAL_FIT,
        play=play,
        hole_error=stated.get("hole_error"),
        flip=flip,
    )


#: Slips on and off by hand, which is what a part on dowels must do (common practice, no source).
_USUAL_FIT = fit_name("H7/g6")


def _flip(stated: Mapping[str, Any], part: Part) -> Flip:
    across = 1 if stated["axis"] == "x" else 0
    return Flip(axis=stated["axis"], at=stated.get("axis_at", part.size[across] / 2.0))


def _on_axis(flip: Flip, inset: float, part: Part) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the places of two dowels on the axis, as far from either end of the part. [m]"""
    if flip.axis == "x":
        return (inset, flip.at), (part.size[0] - inset, flip.at)
    return (flip.at, inset), (flip.at, part.size[1] - inset)
