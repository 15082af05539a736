"""The cutting edge of a tool as pieces: cylinder, cone or ball, each leaning one way."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from stillstock.engine.set_up import FloatArray, Helix, Tool, ToolKind

__all__ = ["Ball", "EdgePiece", "Section", "Straight", "edge_pieces"]


@dataclass(frozen=True, kw_only=True)
class Section:
    """Points of an edge.

    Attributes
    ----------
    height, radius : array
        Above the tip, and from the axis. [m]
    out, down : array
        Parts of the edge's normal into the work: sin(kappa) outward, cos(kappa) downward. [-]
    """

    height: FloatArray
    radius: FloatArray
    out: FloatArray | float
    down: FloatArray | float


class EdgePiece(Protocol):
    """A stretch of an edge with one shape and one lean.

    Sections are taken at a parameter that runs evenly along the edge.
    """

    @property
    def low(self) -> float:
        """Height of its lower end. [m]"""
        ...

    @property
    def high(self) -> float:
        """Height of its upper end. [m]"""
        ...

    @property
    def lag(self) -> float:
        """Angle by which its lower end trails the tip. [rad]"""
        ...

    @property
    def lean(self) -> float:
        """How that grows with height. [rad/m]"""
        ...

    @property
    def sense(self) -> float:
        """+1 lifts chips, -1 presses them down, 0 straight. [-]"""
        ...

    @property
    def stretch(self) -> float:
        """Length of edge per unit of the parameter. [m per unit]"""
        ...

    def parameter(self, height: FloatArray) -> FloatArray:
        """Parameter of the points at these heights [m]."""
        ...

    def section(self, parameter: FloatArray) -> Section:
        """Points at these parameters."""
        ...


@dataclass(frozen=True, kw_only=True)
class Straight:
    """A straight edge: side of an end mill, or of a cone with half angle `taper` from the axis. [m, rad]"""

    low: float
    high: float
    radius: float
    taper: float = 0.0
    lag: float = 0.0
    lean: float = 0.0
    sense: float = 0.0

    @property
    def stretch(self) -> float:
        """Length of edge per height. [-]"""
        return float(1.0 / np.cos(self.taper))

    def parameter(self, height: FloatArray) -> FloatArray:
        """Parameter of the points at these heights [m]: the height itself."""
        return height

    def section(self, parameter: FloatArray) -> Section:
        """Points at these heights. [m]"""
        radius = self.radius + (parameter - self.low) * np.tan(self.taper)
        return Section(height=parameter, radius=radius, out=float(np.cos(self.taper)), down=float(np.sin(self.taper)))


@dataclass(frozen=True, kw_only=True)
class Ball:
    """The ball of a ball nose; its parameter is kappa, the angle from the axis at the ball's centre. [m, rad]"""

    radius: float
    lag: float = 0.0
    lean: float = 0.0
    sense: float = 0.0

    @property
    def low(self) -> float:
        """Height of the tip. [m]"""
        return 0.0

    @property
    def high(self) -> float:
        """Height at which the ball meets the cylinder. [m]"""
        return self.radius

    @property
    def stretch(self) -> float:
        """Length of edge per angle. [m/rad]"""
        return self.radius

    def parameter(self, height: FloatArray) -> FloatArray:
        """Kappa at these heights. [rad]"""
        return np.asarray(np.arccos(np.clip(1.0 - height / self.radius, -1.0, 1.0)))

    def section(self, parameter: FloatArray) -> Section:
        """Points at these kappa [rad]."""
        out, down = np.sin(parameter), np.cos(parameter)
        return Section(height=self.radius * (1.0 - down), radius=self.radius * out, out=out, down=down)


def _cylinder(tool: Tool, *, low: float, high: float) -> tuple[EdgePiece, ...]:
    """Side of a tool between two heights, split where a compression bit turns its lean."""
    radius = tool.diameter / 2
    lean = float(np.tan(tool.helix_angle) / radius)
    if tool.helix is Helix.STRAIGHT:
        return (Straight(low=low, high=high, radius=radius),)
    if tool.helix is Helix.COMPRESSION and low < tool.up_length:
        turn = min(tool.up_length, high)
        return (
            Straight(low=low, high=turn, radius=radius, lag=lean * low, lean=lean, sense=1.0),
            Straight(low=turn, high=high, radius=radius, lag=lean * turn, lean=-lean, sense=-1.0),
        )
    sense = 1.0 if tool.helix is Helix.UP else -1.0
    return (Straight(low=low, high=high, radius=radius, lag=sense * lean * low, lean=sense * lean, sense=sense),)


def edge_pieces(tool: Tool) -> tuple[EdgePiece, ...]:
    """Pieces of one edge of a tool, from the tip up.

    Parameters
    ----------
    tool : Tool

    Returns
    -------
    tuple of EdgePiece
        An up-cut edge trails with height, so that its face looks up and lifts; a down-cut edge leads. A ball's edge
        leans evenly with height, as that of the side above it. A V-bit's edges are straight.
    """
    top = np.inf
    if tool.kind is ToolKind.V_BIT:
        taper, tip = tool.tip_angle / 2, tool.tip_diameter / 2
        shoulder = float((tool.diameter / 2 - tip) / np.tan(taper))
        return (
            Straight(low=0.0, high=shoulder, radius=tip, taper=taper),
            Straight(low=shoulder, high=top, radius=tool.diameter / 2),
        )
    if tool.kind is not ToolKind.BALL_NOSE:
        return _cylinder(tool, low=0.0, high=top)
    radius = tool.diameter / 2
    side = _cylinder(tool, low=radius, high=top)
    lowest = _cylinder(tool, low=0.0, high=radius)[0]
    return (Ball(radius=radius, lean=lowest.lean, sense=lowest.sense), *side)
