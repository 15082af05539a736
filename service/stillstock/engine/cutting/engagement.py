"""Where the edges of a cutter are in the work: arcs of engagement over its height.

Angles are those of a tooth about the spindle axis, clockwise seen from above, from the left of the feed: 0 is left,
pi/2 ahead, pi right. The work is ahead, so with level feed only 0..pi can cut.
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from stillstock.engine.set_up import Cut, CutKind, Direction, Tool, ToolKind

__all__ = [
    "Arc",
    "Engagement",
    "between",
    "centred_face",
    "cutting_radius",
    "described_engagements",
    "from_other_side",
    "plunge",
    "side_cut",
    "slot",
]

_LAYERS = 4  # slices of a ball or cone in a side cut; each has its own arc
_VERTICAL = np.radians(85.0)  # [rad] steeper than this is a plunge; a ramp never is


@dataclass(frozen=True, kw_only=True)
class Arc:
    """An arc in the work over a range of heights.

    Attributes
    ----------
    entry, leave : float
        Angles at which a tooth meets and leaves the work, 0 <= entry < leave <= 2 pi. [rad]
    low, high : float
        Heights above the tool tip between which the arc holds. [m]
    """

    entry: float
    leave: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Engagement:
    """What of the cutter is in the work, and how steeply it goes down.

    Attributes
    ----------
    arcs : tuple of Arc
        Engaged arcs of the side of the cutter; empty for a drill.
    slope : float
        Angle of the path below the horizontal: 0 level, pi/2 a plunge, negative uphill. [rad]
    through : bool
        Whether the tip breaks through the underside.
    """

    arcs: tuple[Arc, ...]
    slope: float = 0.0
    through: bool = False


def cutting_radius(tool: Tool, *, height: float) -> float:
    """Radius of the cutter at a height above its tip.

    Parameters
    ----------
    tool : Tool
    height : float
        Above the tip; above the tip's shape the radius is the full one. [m]

    Returns
    -------
    float
        Radius. [m]
    """
    full = tool.diameter / 2
    if tool.kind is ToolKind.BALL_NOSE and height < full:
        return float(np.sqrt(max(0.0, height * (tool.diameter - height))))
    if tool.kind is ToolKind.V_BIT:
        return float(min(full, tool.tip_diameter / 2 + height * np.tan(tool.tip_angle / 2)))
    return full


def slot(*, depth: float) -> Engagement:
    """Engagement of the full width, for a cutter that goes in to `depth` [m]."""
    return Engagement(arcs=(Arc(entry=0.0, leave=np.pi, low=0.0, high=depth),))


def between(*, right: float, left: float, radius: float, depth: float) -> Engagement:
    """Engagement of work that lies between two lines along the feed (centred and off-centre faces).

    Parameters
    ----------
    right, left : float
        Where the work begins and ends across the feed, from the tool's axis, left positive; right < left. [m]
    radius : float
        Of the cutter. [m]
    depth : float
        Axial depth. [m]

    Returns
    -------
    Engagement
        Without arcs if the cutter misses the work.

    Notes
    -----
    A tooth stands R cos(phi) left of the axis: entry = arccos(left / R), exit = arccos(right / R) (Altintas 2012,
    ch. 2, from memory).
    """
    entry, leave = (float(np.arccos(np.clip(y / radius, -1.0, 1.0))) for y in (left, right))
    if leave - entry <= 0.0 or depth <= 0.0:
        return Engagement(arcs=())
    return Engagement(arcs=(Arc(entry=entry, leave=leave, low=0.0, high=depth),))


def centred_face(*, width: float, radius: float, depth: float) -> Engagement:
    """Engagement of a strip of `width` [m] that the cutter straddles evenly, at its `radius` and `depth` [m]."""
    return between(right=-width / 2, left=width / 2, radius=radius, depth=depth)


def side_cut(tool: Tool, *, width: float, depth: float, direction: Direction) -> Engagement:
    """Engagement of a cut beside a wall: up milling (conventional) or down milling (climb).

    Parameters
    ----------
    tool : Tool
        Balls and cones are cut in layers, for each has its own radius.
    width, depth : float
        Radial width, from the cutter's outermost point at that depth, and axial depth. [m]
    direction : Direction
        Climb: with the spindle clockwise the work lies to the right of the feed. Conventional: to its left.

    Returns
    -------
    Engagement
        A width of the cutter's diameter or more is a slot.
    """
    shaped = tool.kind in (ToolKind.BALL_NOSE, ToolKind.V_BIT)
    edges = np.linspace(0.0, depth, (_LAYERS if shaped else 1) + 1)
    reach = cutting_radius(tool, height=depth)
    arcs = []
    for low, high in pairwise(edges):
        radius = cutting_radius(tool, height=float(low + high) / 2)
        layer = between(right=reach - width, left=reach, radius=radius, depth=float(high))
        arcs += [replace(arc, low=float(low)) for arc in layer.arcs]
    conventional = Engagement(arcs=tuple(arcs))
    return conventional if direction is Direction.CONVENTIONAL else from_other_side(conventional)


def plunge(tool: Tool, *, depth: float, through: bool) -> Engagement:
    """Engagement of a cutter that goes straight down.

    Parameters
    ----------
    tool : Tool
        A ball or cone cuts all round with its sides; end mills and drills with their end only.
    depth : float
        How deep it goes. [m]
    through : bool
        Whether it comes out below.

    Returns
    -------
    Engagement
        With slope pi/2.
    """
    arcs: tuple[Arc, ...] = ()
    if tool.kind in (ToolKind.BALL_NOSE, ToolKind.V_BIT):
        arcs = (Arc(entry=0.0, leave=2 * np.pi, low=0.0, high=depth),)
    return Engagement(arcs=arcs, slope=np.pi / 2, through=through)


def from_other_side(engagement: Engagement) -> Engagement:
    """Return the engagement mirrored in the plane of feed and axis (climb for conventional, left for right). [rad]"""

    def mirror(arc: Arc) -> Arc:
        if arc.leave > np.pi:  # behind the axis too: mirror about the fore-and-aft line, modulo a turn
            return replace(arc, entry=0.0, leave=2 * np.pi)
        return replace(arc, entry=np.pi - arc.leave, leave=np.pi - arc.entry)

    return replace(engagement, arcs=tuple(mirror(arc) for arc in engagement.arcs))


def _slopes(cut: Cut) -> tuple[float, ...]:
    """Steepest ramp, and pi/2 if it plunges somewhere, of a path; empty if it never goes down. [rad]"""
    step = np.diff(cut.path, axis=0)
    down = np.arctan2(-step[:, 2], np.hypot(step[:, 0], step[:, 1]))
    ramps = down[(down > 0.0) & (down < _VERTICAL)]
    steepest = (float(ramps.max()),) if ramps.size else ()
    return (*steepest, np.pi / 2) if np.any(down >= _VERTICAL) else steepest


def _level(cut: Cut, tool: Tool) -> tuple[Engagement, ...]:
    """Engagements of the level part of a cut, the spindle turning clockwise."""
    full = slot(depth=cut.depth)
    if cut.kind in (CutKind.SLOT, CutKind.ENGRAVE):
        return (full,)
    one, other = (
        side_cut(tool, width=cut.width, depth=cut.depth, direction=way)
        for way in (cut.direction, *(d for d in Direction if d is not cut.direction))
    )
    if cut.kind is CutKind.FACE:
        return (one, other)
    return (one, full) if cut.kind is CutKind.POCKET else (one,)


def described_engagements(cut: Cut, tool: Tool) -> tuple[Engagement, ...]:
    """Engagements that a described cut runs through; the caller takes the worst.

    Parameters
    ----------
    cut : Cut
        A negative speed is a spindle that turns counter-clockwise; climb then lies on the other side.
    tool : Tool

    Returns
    -------
    tuple of Engagement
        A slot or engraving: the full width. A profile: its side cut. A pocket: the stepover and, for its first pass and
        its corners, the full width. A face: both ways, as it is cut back and forth. Where the path goes down, the same
        again at its steepest ramp, and a plunge. A hole or plunge: the plunge, taken to come out below.
    """
    if cut.kind in (CutKind.DRILL, CutKind.PLUNGE):
        return (plunge(tool, depth=cut.depth, through=True),)
    level = _level(cut, tool)
    if cut.speed < 0.0:
        level = tuple(from_other_side(each) for each in level)
    sloping = tuple(
        plunge(tool, depth=cut.depth, through=False) if slope > _VERTICAL else replace(each, slope=slope)
        for slope in _slopes(cut)
        for each in level
    )
    return tuple(dict.fromkeys((*level, *sloping)))
