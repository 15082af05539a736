"""What the signs and colours of the margin's picture mean, and how long a length on it is."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from stillstock.answers.let_go_drawing import arrow
from stillstock.answers.margin_scale import CLASSES, borders
from stillstock.engine.drawing import Circle, Label, Polyline
from stillstock.engine.set_up import FloatArray
from stillstock.units import System, present, unit_name

__all__ = ["ROW", "colour_scale", "scale_bar", "signs"]

Shape = Polyline | Circle | Label

#: Height of a row of signs, and width of a column of them, in units of the sheet. [-]
ROW, COLUMN = 5.2, 63.0

#: Size of one colour of the scale, in units of the sheet. [-]
SWATCH = (15.0, 4.0)

#: Height of a capital, in units of the sheet. [-]
TEXT = 1.8


def _box(corner: FloatArray, size: FloatArray, layer: str) -> Polyline:
    corners = corner + np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]) * size
    return Polyline(layer=layer, points=corners, closed=True)


def colour_scale(required: float, corner: FloatArray, unit: float) -> Iterator[Shape]:
    """Draw the colours with the factors between them, and what they are.

    Parameters
    ----------
    required : float
        Factor that is asked for. [-]
    corner : (2,) array
        Lower left corner of the colours. [m]
    unit : float
        Of the sheet. [m]
    """
    size, height = np.array(SWATCH) * unit, TEXT * unit
    marks = (0.0, *borders(required))
    shown = [number for number in range(CLASSES) if number + 1 == CLASSES or marks[number + 1] > marks[number]]
    for place, number in enumerate(shown):
        at = corner + np.array([place * size[0], 0.0])
        yield _box(at, size, f"scale-{number}")
        words = f"{marks[number]:.3g}"
        below = (float(at[0]), float(at[1]) - 1.5 * height)
        yield Label(layer="text", at=below, text=words, height=height, anchor="start" if place == 0 else "middle")
        if marks[number] == required:
            asked = (below[0], below[1] - 1.5 * height)
            yield Label(layer="text", at=asked, text="asked", height=height, anchor="middle")
    words = "margin: how many times the load the hold bears, typical numbers"
    above = (float(corner[0]), float(corner[1] + size[1]) + 0.7 * height)
    yield Label(layer="text", at=above, text=words, height=height)
    right = (float(corner[0] + len(shown) * size[0]), float(corner[1]) - 1.5 * height)
    yield Label(layer="text", at=right, text="and more", height=height, anchor="end")


def scale_bar(corner: FloatArray, room: float, unit: float, system: System) -> list[Shape]:
    """Draw a bar of a round length in the caller's unit, so that a print can be measured.

    Parameters
    ----------
    corner : (2,) array
        Its left end. [m]
    room : float
        That it may take. [m]
    unit : float
        Of the sheet. [m]
    system : {"metric", "inch"}
    """
    length = 1.0 / present(1.0, "length", system)
    count = 10.0 ** np.floor(np.log10(room / length))
    count *= max(step for step in (1.0, 2.0, 5.0) if step * count <= room / length)
    ends = np.array([corner, corner + np.array([count * length, 0.0])])
    ticks = [Polyline(layer="text", points=end + np.array([(0.0, -unit), (0.0, unit)])) for end in ends]
    at = (float(corner[0]), float(corner[1]) + 1.6 * unit)
    text = Label(layer="text", at=at, text=f"{count:g} {unit_name('length', system)}", height=TEXT * unit)
    return [Polyline(layer="text", points=ends), *ticks, text]


def _line(layer: str) -> Callable[[FloatArray, float], list[Shape]]:
    def drawn(at: FloatArray, unit: float) -> list[Shape]:
        return [Polyline(layer=layer, points=at + unit * np.array([(-3.5, 0.0), (3.5, 0.0)]))]

    return drawn


def _area(layer: str) -> Callable[[FloatArray, float], list[Shape]]:
    def drawn(at: FloatArray, unit: float) -> list[Shape]:
        return [_box(at - unit * np.array([3.0, 1.4]), unit * np.array([6.0, 2.8]), layer)]

    return drawn


def _ring(layer: str) -> Callable[[FloatArray, float], list[Shape]]:
    def drawn(at: FloatArray, unit: float) -> list[Shape]:
        return [Circle(layer=layer, center=(float(at[0]), float(at[1])), radius=1.6 * unit)]

    return drawn


def _into(at: FloatArray, unit: float) -> list[Shape]:
    half = np.array([3.0 * unit, 0.0])
    return arrow("stop", at - half, at + half, 1.8 * unit)


def _target(at: FloatArray, unit: float) -> list[Shape]:
    cross = 1.1 * unit * np.array([(-1.0, -1.0), (1.0, 1.0)])
    lines = [Polyline(layer="worst", points=at + cross * (1.0, side)) for side in (1.0, -1.0)]
    return [*lines, *_ring("worst")(at, unit)]


def _numbered(at: FloatArray, unit: float) -> list[Shape]:
    text = Label(
        layer="numbers", at=(float(at[0]), float(at[1]) - 0.85 * unit), text="1", height=1.7 * unit, anchor="middle"
    )
    return [*_ring("numbers")(at, unit), text]


#: Each sign: a layer on which it stands in the plan, how it is drawn, what it is.
_SIGNS: tuple[tuple[str, Callable[[FloatArray, float], list[Shape]], str], ...] = (
    ("numbers", _numbered, "holder, counted from 1"),
    ("press", _area("press"), "where a clamp presses down"),
    ("stop", _into, "stop, or push from the side"),
    ("fastener", _ring("fastener"), "screw, nail or pin"),
    ("suction", _area("suction"), "under vacuum"),
    ("bond", _area("bond"), "tape or glue"),
    ("part", _line("part"), "part that comes free"),
    ("tab", _area("tab"), "tab"),
    ("bed", _line("bed"), "no bed beneath"),
    ("idle", _line("idle"), "feed without a known load"),
    ("worst", _target, "worst place"),
    ("moved-stock", _line("moved-stock"), "how it lets go, not to scale"),
    ("pivot", _line("pivot"), "about this it turns"),
)  # fmt: skip


def signs(used: set[str], corner: FloatArray, unit: float) -> tuple[list[Shape], int]:
    """Draw what the signs in use mean, in three columns; return the number of rows too.

    Parameters
    ----------
    used : set of str
        Layers on which the plan has shapes.
    corner : (2,) array
        Upper left corner. [m]
    unit : float
        Of the sheet. [m]
    """
    wanted: Sequence[tuple[str, Callable[[FloatArray, float], list[Shape]], str]]
    wanted = [sign for sign in _SIGNS if sign[0] in used]
    shapes: list[Shape] = []
    for place, (_, drawn, words) in enumerate(wanted):
        row, column = divmod(place, 3)
        at = corner + unit * np.array([column * COLUMN + 4.0, -(row + 0.5) * ROW])
        shapes += drawn(at, unit)
        text = (float(at[0]) + 5.5 * unit, float(at[1]) - 0.5 * TEXT * unit)
        shapes.append(Label(layer="text", at=text, text=words, height=TEXT * unit))
    return shapes, -(-len(wanted) // 3)
