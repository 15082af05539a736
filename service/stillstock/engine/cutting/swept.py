"""Ends of cutters, and the surface that an end leaves when it is moved along a straight line."""

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from stillstock.engine.set_up import FloatArray, Tool, ToolKind

__all__ = ["Ball", "Cone", "FlatEnd", "Profile", "profile", "swept_surface"]


class Profile(Protocol):
    """Shape of a cutter's end, a solid of revolution about the tool's axis.

    Attributes
    ----------
    radius : float
        Of the cutting part at its widest; nothing is cut outside it. [m]
    """

    @property
    def radius(self) -> float:
        """Radius of the cutting part at its widest. [m]"""

    def rise(self, square: FloatArray) -> FloatArray:
        """Height of the end's surface above the tip, from the squared distance from the axis. [m]"""

    def reach(self, height: FloatArray) -> FloatArray:
        """Radius of the end at a height above the tip. [m]"""

    def lag(self, offset: FloatArray, *, slope: FloatArray) -> FloatArray:
        """How far the axis lies past a point, along the feed, when the end is lowest over it; 0 on the level. [m]"""


@dataclass(frozen=True, kw_only=True)
class FlatEnd:
    """Flat end: end mills and surfacing cutters. `radius` [m]."""

    radius: float

    def rise(self, square: FloatArray) -> FloatArray:
        """Height of the end's surface above the tip: none. [m]"""
        return np.zeros_like(square)

    def reach(self, height: FloatArray) -> FloatArray:
        """Radius of the end at a height above the tip: the full one. [m]"""
        return np.full_like(height, self.radius)

    def lag(self, offset: FloatArray, *, slope: FloatArray) -> FloatArray:
        """On the way down the trailing rim is the last over a point, on the way up the leading rim the first. [m]"""
        return -np.sign(slope) * _chord(offset, radius=self.radius)


@dataclass(frozen=True, kw_only=True)
class Ball:
    """Half ball of the cutter's full width. `radius` [m]."""

    radius: float

    def rise(self, square: FloatArray) -> FloatArray:
        """Height of the ball above its lowest point. [m]"""
        surface: FloatArray = self.radius - np.sqrt(np.maximum(self.radius**2 - square, 0.0))
        return surface

    def reach(self, height: FloatArray) -> FloatArray:
        """Radius of the ball at a height above its lowest point. [m]"""
        below = np.maximum(self.radius - height, 0.0)
        return np.sqrt(np.maximum(self.radius**2 - below**2, 0.0))

    def lag(self, offset: FloatArray, *, slope: FloatArray) -> FloatArray:
        """Where ``slope * s + R - sqrt(R^2 - offset^2 - s^2)`` is least. [m]"""
        return -slope / np.sqrt(1.0 + slope**2) * _chord(offset, radius=self.radius)


@dataclass(frozen=True, kw_only=True)
class Cone:
    """Cone with a flat tip: V-bits and drill points.

    Attributes
    ----------
    radius, flat : float
        Of the cutting part at its widest; of the flat at the tip. [m]
    steepness : float
        Rise of the flank over the radius, the cotangent of half the included angle. [-]
    """

    radius: float
    flat: float
    steepness: float

    def rise(self, square: FloatArray) -> FloatArray:
        """Height of the flank above the tip. [m]"""
        return self.steepness * np.maximum(np.sqrt(square) - self.flat, 0.0)

    def reach(self, height: FloatArray) -> FloatArray:
        """Radius of the flank at a height above the tip. [m]"""
        if self.steepness <= 0.0:
            return np.full_like(height, self.radius)
        return np.minimum(self.flat + np.maximum(height, 0.0) / self.steepness, self.radius)

    def lag(self, offset: FloatArray, *, slope: FloatArray) -> FloatArray:
        """Where ``slope * s + steepness * (sqrt(offset^2 + s^2) - flat)`` is least, outside the flat. [m]"""
        steeper = np.abs(slope) >= self.steepness
        gentle = np.where(steeper, 0.0, slope)
        flank = np.abs(gentle) / np.sqrt(np.where(steeper, 1.0, self.steepness**2 - gentle**2)) * np.abs(offset)
        flank = np.where(steeper, np.inf, np.maximum(flank, _chord(offset, radius=self.flat)))
        return -np.sign(slope) * np.minimum(flank, _chord(offset, radius=self.radius))


def _chord(offset: FloatArray, *, radius: float) -> FloatArray:
    """Half the chord of a circle at an offset from its middle. [m]"""
    return np.sqrt(np.maximum(radius**2 - offset**2, 0.0))


def profile(tool: Tool) -> Profile:
    """Shape of a tool's end."""
    radius = tool.diameter / 2.0
    match tool.kind:
        case ToolKind.BALL_NOSE | ToolKind.PROBE:
            return Ball(radius=radius)
        case ToolKind.V_BIT | ToolKind.DRILL:
            steepness = max(0.0, 1.0 / math.tan(tool.tip_angle / 2.0))
            return Cone(radius=radius, flat=tool.tip_diameter / 2.0, steepness=steepness)
        case _:
            return FlatEnd(radius=radius)


def swept_surface(
    shape: Profile, *, along: FloatArray, offset: FloatArray, length: FloatArray, z: FloatArray, slope: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Height of the lowest surface that a tool passes over each point on a straight move.

    Parameters
    ----------
    shape : Profile
    along, offset : arrays of one shape
        Coordinates of the points along the feed and across it, from the start of the move. [m]
    length : array
        Horizontal length of the move at each point, or of what broadcasts to the points; 0 for a plunge. [m]
    z, slope : arrays
        Height of the tip at the start; its rise over the horizontal length. [m], [-]

    Returns
    -------
    surface, tip : arrays
        Height of the surface, ``inf`` where the tool does not pass; height of the tip when it is there. [m]

    Notes
    -----
    Over a point at (along u, offset d) the end stands at ``z + slope * s + rise(d^2 + (s - u)^2)``, a convex function
    of the station s; its least value lies at ``u + lag(d)``, moved to the nearer end where that is off the move.
    Own derivation.
    """
    station = along + shape.lag(offset, slope=slope) if np.any(slope) else along
    station = np.minimum(np.maximum(station, 0.0), length)
    behind = along - station
    square = offset * offset + behind * behind
    tip = z + slope * station
    # The rim itself belongs to the tool: without the allowance rounding would drop it where the lag puts it there.
    return np.where(square <= shape.radius**2 * (1.0 + 1e-9), tip + shape.rise(square), np.inf), tip
