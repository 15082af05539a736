"""The members of a set-up document: stock, bed, machine, tools, cuts, loads. Each loads into its dataclass."""

import re
from math import pi
from typing import Any

from marshmallow import ValidationError, post_load

from stillstock.engine.set_up import (
    Clearances,
    Collet,
    CutKind,
    Direction,
    Edge,
    Helix,
    Machine,
    Part,
    Puck,
    Tool,
    ToolKind,
)
from stillstock.schemas.flaws import flawed
from stillstock.schemas.holders import Holder
from stillstock.schemas.materials import MaterialField
from stillstock.schemas.places import FARTHEST, ListOf, Outline, Path, Point, Vector
from stillstock.schemas.quantity import Choice, Flag, Integer, Lines, Number, Quantity, Scatter, Text
from stillstock.schemas.stock_size import StockSize
from stillstock.schemas.strict import Object, StrictField, StrictSchema, now_reading

__all__ = [
    "BedSchema",
    "ClearancesSchema",
    "CutSchema",
    "DoubtSchema",
    "LoadSchema",
    "MachineSchema",
    "PartSchema",
    "ProgramSchema",
    "RequiredSchema",
    "StockSchema",
    "ToolSchema",
    "Tools",
    "ZeroSchema",
]

RPM = pi / 30.0
#: Samples of a margin's distribution that may be asked for.
SAMPLES = (32, 64, 128, 256, 512, 1024)
TOOL_NUMBER = re.compile(r"[1-9][0-9]{0,4}")
MOST_TOOL_NUMBER = 99_999
#: Characters of a program; the body limit holds besides.
PROGRAM_CHARACTERS = 16 * 1024 * 1024


def extent(**more: Any) -> Quantity:
    """Return the field of a length that something has."""
    return Quantity("length", **{"least": 1e-4, "most": 20.0, **more})


class Grain(StrictField[float]):
    """Direction of the grain: an axis, or the angle from +x."""

    angle = Quantity("angle", least=-2.0 * pi, most=2.0 * pi)

    def read(self, value: Any) -> float:
        """Return the value as the set-up has it."""
        if isinstance(value, str) and value in {"x", "y"}:
            return 0.0 if value == "x" else pi / 2.0
        return self.angle.read(value)


class StockSchema(StrictSchema):
    """The workpiece before the first cut."""

    material = MaterialField(required=True)
    size = StockSize(extent(), 3, required=True)
    thickness = Vector(extent(), 2, allow_none=True)
    origin = Point(3, allow_none=True)
    grain = Grain()
    outline = Outline(allow_none=True)
    bow = Quantity("length", least=0.0, most=0.1)


class BedSchema(StrictSchema):
    """What the stock lies on."""

    material = MaterialField(required=True)
    thickness = extent(required=True, most=1.0)
    top = Quantity("length", least=-FARTHEST, most=FARTHEST, allow_none=True)
    error = Quantity("length", least=0.0, most=0.02)
    condition = Choice(("clean", "dusty", "sealed"))
    friction = Scatter("fraction", least=0.01, most=2.0, what="friction between stock and bed", allow_none=True)
    voids = ListOf(Outline(), limit="holders")


class ClearancesSchema(StrictSchema):
    """Margins round what stands on the table."""

    over = Quantity("length", least=0.0, most=0.5, allow_none=True)
    over_hand_set = Quantity("length", least=0.0, most=0.5, allow_none=True)
    beside = Quantity("length", least=0.0, most=0.5, allow_none=True)
    around_screws = Quantity("length", least=0.0, most=0.5, allow_none=True)
    into_bed = Quantity("length", least=0.0, most=0.5, allow_none=True)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Clearances:
        """Return the margins in SI."""
        return Clearances(**data)


class ShoeSchema(StrictSchema):
    """Dust shoe."""

    diameter = extent(required=True, most=1.0)
    height = Quantity("length", least=-0.5, most=0.5, required=True)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> tuple[float, float]:
        """Return diameter and height of its lower edge above the tool tip. [m, m]"""
        return data["diameter"], data["height"]


class PuckSchema(StrictSchema):
    """Touch puck or tool setter."""

    at = Point(3, required=True)
    diameter = extent(least=1e-3, most=0.5, required=True)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Puck:
        """Return the puck in SI."""
        return Puck(**data)


class MachineSchema(StrictSchema):
    """What the machine can do."""

    z_travel = extent(least=0.01, most=5.0, allow_none=True)
    nose_to_bed = extent(least=0.01, most=5.0, allow_none=True)
    park = Point(3, allow_none=True)
    tool_change = Point(3, allow_none=True)
    zero = Point(3, allow_none=True)
    reference = Point(3, allow_none=True)
    puck = Object(PuckSchema(), allow_none=True)
    spindle_power = Quantity("power", least=10.0, most=1e5, allow_none=True)
    efficiency = Quantity("fraction", least=0.05, most=1.0)
    push_limit = Quantity("force", least=1.0, most=1e5, allow_none=True)
    altitude = Quantity("length", least=-500.0, most=6000.0)
    rapid = Quantity("speed", least=1e-4, most=5.0)
    rapid_z = Quantity("speed", least=1e-4, most=5.0)
    envelope = Vector(Point(3), 2, allow_none=True)
    dust_shoe = Object(ShoeSchema(), attribute="shoe", allow_none=True)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Machine:
        """Return the machine in SI."""
        return Machine(**data)


class ColletSchema(StrictSchema):
    """A collet nut or spindle nose as a cylinder."""

    diameter = extent(least=1e-3, most=0.3, required=True)
    length = Quantity("length", least=0.0, most=0.5, required=True)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Collet:
        """Return the cylinder in SI."""
        return Collet(**data)


class ToolSchema(StrictSchema):
    """A cutter; its number is the name of the member that holds it."""

    kind = Choice(tuple(ToolKind), required=True)
    diameter = extent(least=5e-5, most=0.5, required=True)
    flutes = Integer(least=1, most=24)
    helix = Choice(tuple(Helix))
    helix_angle = Quantity("angle", least=0.0, most=1.4)
    up_length = Quantity("length", least=0.0, most=0.2)
    tip_angle = Quantity("angle", least=0.01, most=pi)
    tip_diameter = Quantity("length", least=0.0, most=0.5)
    edge = Choice(tuple(Edge))
    run_out = Quantity("length", least=0.0, most=2e-3)
    cutting_length = extent(most=0.5, allow_none=True)
    stickout = extent(least=1e-3, most=0.5, allow_none=True)
    shank = extent(least=5e-4, most=0.1, allow_none=True)
    collet = Object(ColletSchema(), allow_none=True)
    nose = Object(ColletSchema(), allow_none=True)


class Tools(StrictField[dict[int, Tool]]):
    """Tools by number."""

    tool = ToolSchema()

    def read(self, value: Any) -> dict[int, Tool]:
        """Return the value as the set-up has it."""
        if not isinstance(value, dict):
            raise flawed("type", 'expected an object of tools by number, {"1": {...}}', seen=value)
        most = now_reading().limits.tools
        if len(value) > most:
            raise flawed("length", f"at most {most} tools; these are {len(value)}", limit=most, seen=len(value))
        tools: dict[int, Tool] = {}
        flaws: dict[str, Any] = {}
        for number, tool in value.items():
            try:
                known = _tool_number(number)
                tools[known] = Tool(number=known, **self.tool.load(tool))
            except ValidationError as error:
                flaws[number] = error.messages
        if flaws:
            raise ValidationError(flaws)
        return tools


def _tool_number(name: object) -> int:
    if not isinstance(name, str) or not TOOL_NUMBER.fullmatch(name):
        raise flawed("tool_number", f"a tool's number is a whole number from 1 to {MOST_TOOL_NUMBER}", seen=name)
    return int(name)


class CutSchema(StrictSchema):
    """A described cut."""

    name = Text()
    kind = Choice(tuple(CutKind), required=True)
    tool = Integer(least=1, most=MOST_TOOL_NUMBER, required=True)
    width = Quantity("length", least=1e-6, most=0.5, allow_none=True)
    depth = Quantity("length", least=1e-6, most=0.5, required=True)
    layer = Quantity("length", least=1e-6, most=0.5, allow_none=True)
    feed = Quantity("speed", least=1e-5, most=5.0, required=True)
    speed = Quantity("angular_speed", least=10.0 * RPM, most=1e5 * RPM, required=True)
    direction = Choice(tuple(Direction))
    path = Path(required=True)
    level = Quantity("length", least=-FARTHEST, most=FARTHEST, allow_none=True)


class LoadSchema(StrictSchema):
    """A load that the caller knows."""

    name = Text()
    at = Point(3, required=True)
    force = Vector(Quantity("force", least=-1e6, most=1e6), 3, required=True)
    moment = Vector(Quantity("torque", least=-1e5, most=1e5), 3)


class ProgramSchema(StrictSchema):
    """A program in RS-274 words."""

    text = Lines(longest=PROGRAM_CHARACTERS, shortest=1, required=True)
    name = Text()
    feed_override = Quantity("fraction", least=0.05, most=3.0)


class PartSchema(StrictSchema):
    """A piece that comes free."""

    name = Text(required=True)
    outline = Outline(required=True)
    held_by = ListOf(Holder(), limit="holders")

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> Part:
        """Return the part in SI."""
        return Part(**{**data, "held_by": tuple(data.get("held_by", ()))})


class ZeroSchema(StrictSchema):
    """Where the height zero of the program lies."""

    z = Choice(("stock_top", "bed"), required=True)


class Samples(StrictField[int]):
    """How many samples, a power of two: only then does the sequence that they come from cover its range evenly."""

    number = Integer(least=SAMPLES[0], most=SAMPLES[-1])

    def read(self, value: Any) -> int:
        """Return the value as the set-up has it."""
        samples = self.number.read(value)
        if samples not in SAMPLES:
            near = min(SAMPLES, key=lambda one: abs(one - samples))
            words = ", ".join(map(str, SAMPLES))
            raise flawed("choice", f"must be one of {words}", limit=list(SAMPLES), seen=value, corrected=near)
        most = now_reading().limits.doubt_samples
        if samples > most:
            raise flawed("range", f"at most {most} samples here", late=True, limit=most, seen=value)
        return samples


class DoubtSchema(StrictSchema):
    """Whether the margin's distribution is asked for."""

    samples = Samples(required=True)


class DetailSchema(StrictSchema):
    """What the answer should say beyond the verdict."""

    moves = Flag()


class RequiredSchema(StrictSchema):
    """What the shop asks for."""

    factor = Number(least=1.0, most=20.0)
    tolerance = Quantity("length", least=1e-6, most=0.02)
