"""The shop's own slot tests in a document, and whether such a slot can have been."""

from collections.abc import Iterator
from math import pi
from typing import Any

from marshmallow import post_load

from stillstock import units
from stillstock.engine.cutting.coefficients import coefficient_box
from stillstock.engine.cutting.cut_test import force_on_table
from stillstock.engine.set_up import CutTest, SetUp, Tool, ToolKind
from stillstock.errors import Fault
from stillstock.schemas.members import MOST_TOOL_NUMBER, RPM
from stillstock.schemas.places import read_each, read_list
from stillstock.schemas.quantity import Integer, Quantity, Text
from stillstock.schemas.strict import StrictField, StrictSchema
from stillstock.units import System

__all__ = ["CutTestSchema", "cut_test_faults"]

#: Readings of one test, and the greatest of them; a negative one is judged with a reason. [-], [W]
MOST_READINGS, MOST_POWER = 100, 1e5
#: A test that differs from the table's band by more than this is a slip of unit or of idle power, not wood. [-]
BELIEVED = 3.0


class Powers(StrictField[tuple[float, ...]]):
    """Net powers of one test."""

    power = Quantity("power", least=-MOST_POWER, most=MOST_POWER)

    def read(self, value: Any) -> tuple[float, ...]:
        """Return the readings. [W]"""
        return tuple(read_each(self.power, read_list(value, least=1, most=MOST_READINGS)))


class CutTestSchema(StrictSchema):
    """A slot that was cut to see what power it takes."""

    tool = Integer(least=1, most=MOST_TOOL_NUMBER, required=True)
    depth = Quantity("length", least=1e-6, most=0.5, required=True)
    feed = Quantity("speed", least=1e-5, most=5.0, required=True)
    speed = Quantity("angular_speed", least=10.0 * RPM, most=1e5 * RPM, required=True)
    net_power = Powers(required=True)
    date = Text(longest=40)

    @post_load
    def make(self, data: dict[str, Any], **_: Any) -> CutTest:
        """Return the test in SI."""
        return CutTest(**data)


def cut_test_faults(set_up: SetUp, system: System) -> Iterator[Fault]:
    """Give the faults of slot tests that cannot have been as stated."""
    seen: set[int] = set()
    for index, test in enumerate(set_up.cut_tests):
        at = f"/cut_test/{index}"
        tool = set_up.tools.get(test.tool)
        if tool is None:
            known = ", ".join(map(str, set_up.tools)) or "none"
            detail = f"there is no tool {test.tool} among tools; known: {known}"
            yield Fault(pointer=f"{at}/tool", code="unknown_tool", detail=detail, seen=test.tool)
            continue
        if test.tool in seen:
            detail = f"tool {test.tool} has a test already: join their readings"
            yield Fault(pointer=f"{at}/tool", code="stated_twice", detail=detail, seen=test.tool)
        seen.add(test.tool)
        yield from _tool(at, test, tool, system)
        yield from _power(at, test, set_up, system)


def _length(value: float, system: System) -> str:
    return f"{units.present(value, 'length', system):.4g} {units.unit_name('length', system)}"


def _tool(at: str, test: CutTest, tool: Tool, system: System) -> Iterator[Fault]:
    if tool.kind is not ToolKind.END_MILL:
        detail = f"a slot test needs a straight-sided end_mill; tool {tool.number} is a {tool.kind}"
        yield Fault(pointer=f"{at}/tool", code="wrong_tool", detail=detail, seen=test.tool)
    reach = tool.cutting_length or tool.stickout
    if reach is not None and test.depth > reach:
        detail = f"the slot would be deeper than tool {tool.number} reaches, {_length(reach, system)}"
        yield Fault(pointer=f"{at}/depth", code="cannot_have_been", detail=detail)
    chip = 2.0 * pi * test.feed / (test.speed * tool.flutes)
    if chip > tool.diameter / 2.0:
        detail = f"feed and speed make a chip of {_length(chip, system)} a tooth, more than the tool's radius"
        yield Fault(pointer=f"{at}/feed", code="cannot_have_been", detail=detail)


def _power(at: str, test: CutTest, set_up: SetUp, system: System) -> Iterator[Fault]:
    pointer = f"{at}/net_power"
    for number, power in enumerate(test.net_power):
        if power <= 0.0:
            detail = "net power is power while cutting less power while idling: above 0, or nothing was cut"
            seen = units.present(power, "power", system)
            swapped = -seen if power < 0.0 else None
            yield Fault(
                pointer=f"{pointer}/{number}", code="range", detail=detail, limit=0, seen=seen, corrected=swapped
            )
            return
    rated = set_up.machine.spindle_power
    if rated is not None and max(test.net_power) > rated:
        detail = "more than the spindle's rated power: no slot can have taken that"
        yield Fault(pointer=pointer, code="cannot_have_been", detail=detail)
        return
    yield from _believed(pointer, test, set_up)


def _believed(pointer: str, test: CutTest, set_up: SetUp) -> Iterator[Fault]:
    """Give the fault of a power that no stock of this material can have asked."""
    tool, material = set_up.tools[test.tool], set_up.stock.material
    box = coefficient_box(material, tool)
    if box is None:
        detail = f"nothing is known of the radial and axial forces of {material.title}: state the loads"
        yield Fault(pointer=pointer, code="not_known", detail=detail)
        return
    least, most = force_on_table(test, tool=tool, box=box)
    if least < 1.0 / BELIEVED or most > BELIEVED:
        times = f"{most:.3g} times the most" if most > 1.0 else f"{least:.2g} of the least"
        detail = (
            f"this asks {times} force that {material.title} is known to ask of such a slot: see to the unit of power, "
            "to depth, feed and speed, and that idle power was taken off"
        )
        yield Fault(pointer=pointer, code="cannot_have_been", detail=detail)
