"""What the machine finds by itself on a set-up's table: its own frame, where a probe touches, how low tools hang."""

from collections.abc import Mapping

from stillstock.engine.clearance.obstacles import puck_body, stock_body
from stillstock.engine.clearance.touch import first_touch
from stillstock.engine.clearance.turned_body import TIP, ToolPart, tool_parts
from stillstock.engine.program.machine_frame import MachineFrame, Point
from stillstock.engine.set_up import SetUp, Tool

__all__ = ["hangs", "machine_frame"]

LONG = 1.0
"""Stickout of a stylus of which nobody said how long it is: nothing above it is asked about. [m]"""


def _gauge(tool: Tool) -> float | None:
    """Return the length from tip to spindle nose; None if it is not stated. [m]"""
    return None if tool.stickout is None or tool.collet is None else tool.stickout + tool.collet.length


def hangs(set_up: SetUp) -> Mapping[int, float]:
    """Return by how much the tip of each tool hangs lower than the first one's, where both lengths are stated. [m]"""
    gauges = {number: _gauge(tool) for number, tool in set_up.tools.items()}
    first = next(iter(gauges.values()), None)
    if first is None:
        return {}
    return {number: gauge - first for number, gauge in gauges.items() if gauge is not None}


def machine_frame(set_up: SetUp) -> MachineFrame:
    """Return what a program's moves in the machine's frame and its probing moves mean on this table."""
    machine, bed = set_up.machine, set_up.bed.top
    bodies = [stock_body(set_up.stock)]
    if machine.puck is not None:
        bodies.append(puck_body(machine.puck, bed=bed))

    def stylus(number: int) -> ToolPart:
        tool = set_up.tools.get(number)
        return TIP if tool is None else tool_parts(tool, stickout=tool.stickout or LONG, collet=None)[0]

    def touch(start: Point, target: Point, number: int) -> Point | None:
        return first_touch(start, target, part=stylus(number), bodies=bodies, bed=bed)

    return MachineFrame(zero=machine.zero, reference=machine.reference, hangs=hangs(set_up), touch=touch)
