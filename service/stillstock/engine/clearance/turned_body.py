"""The tool as it turns: cutter, shank, collet nut, spindle nose and dust shoe, each round about the tool's axis."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillstock.engine.cutting.swept import Cone, FlatEnd, Profile, profile
from stillstock.engine.set_up import Collet, Tool, ToolKind

__all__ = ["GREATEST_SHANK", "TIP", "ToolPart", "lowest_bottom", "tool_parts"]

GREATEST_SHANK = 0.0127
"""Shank of the widest cutters, where the caller does not say; common practice, no source. [m]"""

SHOE_HEIGHT = 0.02
"""Height of a dust shoe above its lower edge, at the least; common practice, no source. [m]"""


@dataclass(frozen=True, kw_only=True)
class ToolPart:
    """A part of the turning tool.

    Attributes
    ----------
    name : str
        ``"cutter"``, ``"shank"``, ``"collet_nut"``, ``"spindle_nose"`` or ``"dust_shoe"``.
    radius : float
        At its widest. [m]
    bottom, top : float
        Heights of its lower and upper end above the tool tip. [m]
    end : Profile
        Shape of its lower end; a flat one for all but the cutter.
    """

    name: str
    radius: float
    bottom: float
    top: float
    end: Profile

    @property
    def is_flat(self) -> bool:
        """Whether its lower end is flat."""
        return isinstance(self.end, FlatEnd)


def _cylinder(name: str, radius: float, bottom: float, top: float) -> ToolPart:
    return ToolPart(name=name, radius=radius, bottom=bottom, top=top, end=FlatEnd(radius=radius))


def _cutter(tool: Tool, *, stickout: float) -> ToolPart:
    """Return the cutting part; where its length is not known it reaches up to the collet, which is the safe side."""
    length = min(tool.cutting_length or stickout, stickout)
    end = profile(tool)
    if isinstance(end, Cone) and end.steepness <= 0.0:
        end = FlatEnd(radius=end.radius)
    return ToolPart(name="cutter", radius=tool.diameter / 2.0, bottom=0.0, top=length, end=end)


def tool_parts(
    tool: Tool, *, stickout: float, collet: Collet | None, shoe: tuple[float, float] | None = None
) -> tuple[ToolPart, ...]:
    """Return the parts of a tool in its spindle, from the tip up.

    Parameters
    ----------
    tool : Tool
    stickout : float
        From tip to collet nut. [m]
    collet : Collet or None
        The nut; None leaves it out.
    shoe : (2,) tuple or None
        Diameter of the dust shoe, and height of its lower edge above the tip. [m, m]

    Notes
    -----
    The shoe is taken as full inside: what stands within its ring has to come in from below or from the side.
    """
    found = [_cutter(tool, stickout=stickout)]
    if found[0].top < stickout:
        shank = (tool.shank or min(tool.diameter, GREATEST_SHANK)) / 2.0
        found.append(_cylinder("shank", shank, found[0].top, stickout))
    top = stickout
    for name, piece in (("collet_nut", collet), ("spindle_nose", tool.nose)):
        if piece is not None and piece.length > 0.0:
            found.append(_cylinder(name, piece.diameter / 2.0, top, top + piece.length))
            top += piece.length
    if shoe is not None:
        diameter, edge = shoe
        found.append(_cylinder("dust_shoe", diameter / 2.0, edge, max(top, edge + SHOE_HEIGHT)))
    return tuple(found)


def lowest_bottom(parts: Sequence[ToolPart]) -> float:
    """Return the height of the lowest part's lower end above the tip: 0, or negative where a shoe hangs lower. [m]"""
    return min(part.bottom for part in parts)


TIP = tool_parts(Tool(number=0, kind=ToolKind.END_MILL, diameter=1e-4), stickout=1.0, collet=None)[0]
"""Stands for a tool that nobody described: all but a point, which has to pass over everything."""
