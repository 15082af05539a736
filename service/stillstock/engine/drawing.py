"""A neutral drawing: strokes, outlines, text on named layers. Writers turn it into a file format."""

from dataclasses import dataclass
from typing import Literal

from stillstock.engine.set_up import FloatArray

__all__ = ["Circle", "Drawing", "Label", "Polyline"]


@dataclass(frozen=True, kw_only=True)
class Polyline:
    """Straight strokes through points; closed ones are outlines. [m]"""

    layer: str
    points: FloatArray
    closed: bool = False


@dataclass(frozen=True, kw_only=True)
class Circle:
    """A full circle. [m]"""

    layer: str
    center: tuple[float, float]
    radius: float


@dataclass(frozen=True, kw_only=True)
class Label:
    """A line of text; `height` is that of a capital letter. [m]"""

    layer: str
    at: tuple[float, float]
    text: str
    height: float
    anchor: Literal["start", "middle", "end"] = "start"


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """Shapes in drawing order, with the layers' names in the order in which they are written. [m]"""

    title: str
    description: str
    layers: tuple[str, ...]
    shapes: tuple[Polyline | Circle | Label, ...]
