"""Places that the machine finds by itself, in its own frame or by touch, as far as the caller said where they lie."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

__all__ = ["NOT_STATED", "MachineFrame", "Point", "Touch", "touch_unknown"]

Point = tuple[float, float, float]

Touch = Callable[[Point, Point, int], Point | None]
"""Tells where a straight move of a tool first touches what is to be probed; None where it touches nothing."""


def touch_unknown(start: Point, target: Point, tool: int) -> Point:  # noqa: ARG001 - as every Touch
    """Stand for a table of which nothing is known: a probing move ends somewhere on its way."""
    x, y, z = (a if a == b else math.nan for a, b in zip(start, target, strict=True))
    return x, y, z


@dataclass(frozen=True, kw_only=True)
class MachineFrame:
    """Where the tip of the first tool stands at the places that the machine goes to in its own frame.

    Attributes
    ----------
    zero, reference : (3,) tuple or None
        At the machine's own zero, from which G53 counts; where G28 takes it. None where nobody said. [m]
    hangs : mapping of int to float
        By how much the tip of each tool stands lower than the first one's with the spindle at one height. [m]
    touch : Touch
        Where a probing move ends.
    """

    zero: Point | None = None
    reference: Point | None = None
    hangs: Mapping[int, float] = field(default_factory=dict)
    touch: Touch = touch_unknown

    def from_zero(self, axis: int, value: float, *, tool: int) -> float:
        """Return where a coordinate of the machine's frame takes the tip; NaN if that is not known. [m]"""
        return self._lowered(self.zero, axis, tool) + value

    def at_reference(self, *, tool: int) -> Point:
        """Return where G28 takes the tip; NaN where that is not known. [m]"""
        x, y, z = (self._lowered(self.reference, axis, tool) for axis in range(3))
        return x, y, z

    def _lowered(self, place: Point | None, axis: int, tool: int) -> float:
        if place is None:
            return math.nan
        return place[axis] - (self.hangs.get(tool, 0.0) if axis == 2 else 0.0)


NOT_STATED = MachineFrame()
"""Of a machine of which nobody said where its own frame lies."""
