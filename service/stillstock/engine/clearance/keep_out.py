"""Plan areas where the tool's axis must not come at depth."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from stillstock.engine.clearance.margins import Margins
from stillstock.engine.clearance.obstacles import plan_shape
from stillstock.engine.clearance.turned_body import ToolPart
from stillstock.engine.holding.body import Body
from stillstock.engine.set_up import FloatArray

__all__ = ["KeepOut", "keep_outs"]

CHORD = 2e-5
"""Greatest error with which the round corners are drawn. [m]"""


@dataclass(frozen=True, kw_only=True, eq=False)
class KeepOut:
    """An outline round what stands of one holder.

    Attributes
    ----------
    holder : int
    outline : (n, 2) array
        Counter-clockwise, not closed. [m]
    tool_part : str
        Part of the tool that asks for the most room.
    """

    holder: int
    outline: FloatArray
    tool_part: str


def keep_outs(
    bodies: Sequence[Body], *, tools: Sequence[Sequence[ToolPart]], margins: Margins, lowest: float
) -> tuple[KeepOut, ...]:
    """Return the outlines that the tool's axis stays out of while its tip is as low as it gets.

    Parameters
    ----------
    bodies : sequence of Body
    tools : sequence of sequence of ToolPart
        Parts of each tool; none leaves the margin alone.
    margins : Margins
    lowest : float
        Lowest height of the tip in the job. [m]

    Returns
    -------
    tuple of KeepOut
        By holder; several if its bodies stand apart.

    Notes
    -----
    A body is grown by the margin and by the widest part of any tool that hangs lower than the body's top when the tip
    is at its lowest: a nut or shoe where the cut is deep beside a tall clamp, the cutter elsewhere. Bodies that end
    below the lowest cut need none.
    """
    shapes: dict[int, list[shapely.Polygon]] = {}
    widest: dict[int, tuple[float, str]] = {}
    for body in bodies:
        if body.high <= lowest:
            continue
        reach, name = _reach(body, tools, lowest)
        shapes.setdefault(body.holder, []).append(plan_shape(body, grown=reach + margins.around(body)))
        widest[body.holder] = max(widest.get(body.holder, (0.0, "")), (reach, name))
    found = []
    for holder, grown in shapes.items():
        union = shapely.union_all(grown)
        for piece in getattr(union, "geoms", [union]):
            ring = shapely.orient_polygons(shapely.Polygon(piece.simplify(CHORD).exterior))
            outline = np.asarray(ring.exterior.coords)[:-1]
            found.append(KeepOut(holder=holder, outline=outline, tool_part=widest[holder][1]))
    return tuple(found)


def _reach(body: Body, tools: Sequence[Sequence[ToolPart]], lowest: float) -> tuple[float, str]:
    """Return the radius and name of the widest part that hangs below a body's top. [m]"""
    low = [(p.radius, p.name) for parts in tools for p in parts if lowest + p.bottom < body.high]
    return max(low, default=(0.0, "cutter"))
