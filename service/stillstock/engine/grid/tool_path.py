"""What one tool does, neither as text nor for any controller: strokes, plunges and bores between lifts."""

from dataclasses import dataclass

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = ["Bore", "Pass", "Plunge", "Stroke", "ToolPath", "ring_radii"]


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """Straight feed moves of the tip through points, (n, 3); the tool is lowered onto the first. [m]"""

    points: FloatArray


@dataclass(frozen=True, kw_only=True)
class Plunge:
    """A hole as wide as the tool, cut straight down.

    Attributes
    ----------
    at : (2,) tuple
        Its middle. [m]
    bottom : float
        Height of the tip at the end. [m]
    step : float
        Cut at a time before the tool is lifted clear of the chips; the whole depth at once if it is less. [m]
    """

    at: tuple[float, float]
    bottom: float
    step: float

    @property
    def pecks(self) -> int:
        """Steps down, of even depth. [-]"""
        return max(1, int(np.ceil(round(-self.bottom / self.step, 9))))


@dataclass(frozen=True, kw_only=True)
class Bore:
    """A hole wider than the tool, cut down in turns, counter-clockwise seen from above, which is climb.

    Attributes
    ----------
    at : (2,) tuple
        Its middle. [m]
    radii : tuple of float
        Of the tool's middle, ring by ring from within. [m]
    top, bottom : float
        Height of the tip where the cut begins and ends. [m]
    pitch : float
        Depth that a turn gains. [m]
    """

    at: tuple[float, float]
    radii: tuple[float, ...]
    top: float
    bottom: float
    pitch: float

    @property
    def turns(self) -> int:
        """Whole turns down to the bottom, the level one at the end not counted. [-]"""
        return max(1, int(np.ceil(round((self.top - self.bottom) / self.pitch, 9))))


Pass = Stroke | Plunge | Bore


@dataclass(frozen=True, kw_only=True)
class ToolPath:
    """All that one tool does, in order.

    Attributes
    ----------
    title, tool, zero : str
        What it is, what stands in the spindle, and where the program's zero lies.
    speed : float
        Of the spindle. [rad/s]
    feed, plunge : float
        Along the board and down. [m/s]
    clearance : float
        Height of the tip between cuts. [m]
    passes : tuple of Stroke, Plunge or Bore
    notes, cautions : tuples of str
        Lines for whoever reads the program.
    """

    title: str
    tool: str
    zero: str
    speed: float
    feed: float
    plunge: float
    clearance: float
    passes: tuple[Pass, ...]
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def ring_radii(hole: float, *, tool: float) -> tuple[float, ...]:
    """Return the radii of the tool's middle that clear a round hole and leave no core.

    Parameters
    ----------
    hole : float
        Diameter of the hole. [m]
    tool : float
        Diameter of the cutter, less than the hole's. [m]

    Returns
    -------
    tuple of float
        Even steps of at most half the cutter, the last one the wall. [m]

    Raises
    ------
    ValueError
        If the cutter does not fit.

    Examples
    --------
    >>> ring_radii(0.011, tool=0.004)
    (0.00175, 0.0035)
    """
    wall = (hole - tool) / 2.0
    if wall <= 0.0:
        raise ValueError("a bore needs a cutter that is smaller than the hole")
    count = int(np.ceil(round(wall / (tool / 2.0), 9)))
    return tuple(wall * (ring + 1) / count for ring in range(count))
