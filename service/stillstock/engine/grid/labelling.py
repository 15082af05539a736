"""What is written along the edges of a grid, and where."""

from dataclasses import dataclass

import numpy as np

from stillstock.engine.grid.labels import letter_of, text_strokes, text_width
from stillstock.engine.grid.lattice import Lattice
from stillstock.engine.grid.pattern import Grid
from stillstock.engine.grid.request import Labels, LabelStyle
from stillstock.engine.set_up import FloatArray

__all__ = ["Written", "distance_text", "least_margin", "widest", "written"]

#: Between a label and the line or edge beside it, over the height of a capital. [-]
_GAP = 0.3
_TICKS_PER_MILLIMETRE = 10_000_000
_TICKS_PER_64TH = 3_968_750


@dataclass(frozen=True, kw_only=True)
class Written:
    """One label: the axis whose place it names, its text and its strokes. [m]"""

    axis: int
    text: str
    place: float
    strokes: tuple[FloatArray, ...]


def distance_text(tick: int, *, inch: bool) -> str:
    """Return a distance from the zero as it is engraved.

    Millimetres to 0.001; inches as shops write them, with a fraction down to 1/64, or to 0.001 where there is none.

    Examples
    --------
    >>> distance_text(1_000_000_000, inch=False), distance_text(-125_000_000, inch=False)
    ('100', '-12.5')
    >>> distance_text(381_000_000, inch=True), distance_text(3_968_750 * 3, inch=True), distance_text(100, inch=True)
    ('1-1/2', '3/64', '0')
    """
    sign, tick = "-" if tick < 0 else "", abs(tick)
    if not inch:
        return _signed(sign, f"{tick / _TICKS_PER_MILLIMETRE:.3f}".rstrip("0").rstrip("."))
    parts, rest = divmod(tick, _TICKS_PER_64TH)
    if rest:
        return _signed(sign, f"{tick / (64 * _TICKS_PER_64TH):.3f}".rstrip("0").rstrip("."))
    whole, numerator, denominator = parts // 64, parts % 64, 64
    while numerator and numerator % 2 == 0:
        numerator, denominator = numerator // 2, denominator // 2
    if not numerator:
        return _signed(sign, str(whole))
    return _signed(sign, f"{whole}-{numerator}/{denominator}" if whole else f"{numerator}/{denominator}")


def written(grid: Grid, *, labels: Labels, major_every: int, corner: tuple[float, float], inch: bool) -> list[Written]:
    """Return the labels below and to the left of a grid.

    Parameters
    ----------
    grid : Grid
        Whose lines are named: the major ones if there are any, else all.
    labels : Labels
        Style and height.
    major_every : int
        As in the pattern. [-]
    corner : (2,) tuple
        Lowest corner of the marked area. [m]
    inch : bool
        Whether distances are in inches.
    """
    return [
        _placed(text, place=place, axis=axis, corner=corner, height=labels.height)
        for axis, line in enumerate((grid.x, grid.y))
        for text, place in _texts(line, (labels.x, labels.y)[axis], major_every, inch=inch)
    ]


def widest(items: list[Written], *, axis: int, height: float) -> float:
    """Return the width of the longest label of an axis, 0 without any. [m]"""
    return max((text_width(item.text, height=height) for item in items if item.axis == axis), default=0.0)


def least_margin(items: list[Written], *, axis: int, height: float) -> float:
    """Return the room that labels need between the edge of the table and the marked area.

    Parameters
    ----------
    items : list of Written
        The labels.
    axis : int
        0 for those of places along x, which stand below the area; 1 for those on its left. [-]
    height : float
        Of a capital. [m]

    Returns
    -------
    float
        Also so much that the labels of both edges do not meet in the corner. [m]
    """
    if not any(item.axis == axis for item in items):
        return 0.0
    reach = height if axis == 0 else widest(items, axis=axis, height=height)
    both = len({item.axis for item in items}) == 2
    return max(reach + 2.0 * _GAP * height, 2.1 * height if both and axis == 0 else 0.0)


def _texts(line: Lattice, style: LabelStyle, major_every: int, *, inch: bool) -> list[tuple[str, float]]:
    if style is LabelStyle.NONE:
        return []
    chosen = line.is_major(major_every) if major_every else np.ones(len(line.index), dtype=bool)
    places, counted = line.place[chosen].tolist(), line.tick[chosen].tolist()
    if style is LabelStyle.DISTANCE:
        return [(distance_text(tick, inch=inch), place) for tick, place in zip(counted, places, strict=True)]
    names = (str(number + 1) if style is LabelStyle.NUMBER else letter_of(number) for number in range(len(places)))
    return list(zip(names, places, strict=True))


def _placed(text: str, *, place: float, axis: int, corner: tuple[float, float], height: float) -> Written:
    width = text_width(text, height=height)
    if axis == 0:
        at = (place - width / 2.0, corner[1] - (1.0 + _GAP) * height)
    else:
        at = (corner[0] - _GAP * height - width, place - height / 2.0)
    return Written(axis=axis, text=text, place=place, strokes=text_strokes(text, at=at, height=height))


def _signed(sign: str, text: str) -> str:
    return text if text == "0" else sign + text
