"""A strip chart of the margin along the job: bounds, what is asked for, and where it falls short."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.answers.lettering import cut_to, room_of
from stillstock.answers.margin_scale import borders, class_of, layer_of
from stillstock.engine.drawing import Circle, Label, Polyline
from stillstock.engine.set_up import FloatArray

__all__ = ["Course", "height_of", "strip_of"]

IntArray = NDArray[np.int64]
Shape = Polyline | Circle | Label

#: Size of the chart, and room below its frame, in units of the sheet. [-]
WIDTH, HEIGHT, LEFT, BELOW, ABOVE = 190.0, 42.0, 12.0, 16.0, 6.0

#: Steps across the chart at the most. [-]
COLUMNS = 480

#: Height of a capital, in units of the sheet. [-]
TEXT = 1.8

#: Upper over lower bound from which both are drawn. [-]
APART = 1.05

#: Rows of marks' names below the frame, and how many are written at the most. [-]
ROWS, NAMED = 3, 40

#: Greatest factor that the chart shows, over the last border of the scale; what is beyond lies there. [-]
HEADROOM = 1.3

#: Least factor that the chart shows. [-]
FLOOR = 0.05


@dataclass(frozen=True, kw_only=True)
class Course:
    """Margins along the job.

    Attributes
    ----------
    edges : (n + 1,) array
        Where each stretch begins and the last one ends, along all that is cut. [m]
    lower, upper : (n,) arrays
        Bounds of the load factor of each. [-]
    names : tuple of str
        Of each stretch: its line, or its cut.
    feet : sequence of (float, str)
        What stands at the foot of the chart, and where. [m]
    title : str
    """

    edges: FloatArray
    lower: FloatArray
    upper: FloatArray
    names: tuple[str, ...]
    feet: Sequence[tuple[float, str]]
    title: str


def height_of() -> float:
    """Return the height that a strip takes, in units of the sheet. [-]"""
    return HEIGHT + BELOW + ABOVE


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """From numbers and factors to the sheet."""

    left: float
    foot: float
    unit: float
    first: float
    last: float
    low: float
    high: float

    def x(self, place: FloatArray | float) -> FloatArray:
        share = (np.asarray(place, dtype=float) - self.first) / (self.last - self.first)
        return np.asarray(self.left + (LEFT + share * (WIDTH - LEFT)) * self.unit)

    def y(self, factor: FloatArray) -> FloatArray:
        held = np.clip(np.asarray(factor, dtype=float), self.low, self.high / HEADROOM**0.5)
        share = np.log(held / self.low) / np.log(self.high / self.low)
        return np.asarray(self.foot + share * HEIGHT * self.unit)

    def across(self, factor: float) -> FloatArray:
        y = float(self.y(np.array(factor)))
        return np.array([(self.left + LEFT * self.unit, y), (self.left + WIDTH * self.unit, y)])


def _frame(course: Course, required: float, left: float, top: float, unit: float) -> _Frame:
    finite = course.lower[(course.lower > 0.0) & np.isfinite(course.lower)]
    least = float(finite.min()) if len(finite) else 1.0
    return _Frame(
        left=left,
        foot=top - (ABOVE + HEIGHT) * unit,
        unit=unit,
        first=float(course.edges[0]),
        last=float(course.edges[-1]),
        low=max(FLOOR, min(0.5, 0.8 * least)),
        high=HEADROOM * borders(required)[-1],
    )


@dataclass(frozen=True, kw_only=True)
class _Columns:
    """The course in columns no narrower than a print can show: their borders, and the least bounds within."""

    edges: FloatArray
    lower: FloatArray
    upper: FloatArray


def _columns(course: Course, frame: _Frame) -> _Columns:
    column = ((course.edges[:-1] - frame.first) * COLUMNS / (frame.last - frame.first)).astype(np.int64)
    starts = np.nonzero(np.concatenate([[True], np.diff(column) > 0]))[0]
    return _Columns(
        edges=np.append(course.edges[starts], course.edges[-1]),
        lower=np.minimum.reduceat(course.lower, starts),
        upper=np.minimum.reduceat(course.upper, starts),
    )


def _steps(columns: _Columns, factor: FloatArray, frame: _Frame, breaks: IntArray) -> Iterator[tuple[int, FloatArray]]:
    """Give the columns between breaks as lines of steps, each from where the one before ends."""
    x, y = frame.x(columns.edges), frame.y(factor)
    for run in np.split(np.arange(len(factor)), breaks):
        points = np.column_stack([np.stack([x[run], x[run + 1]], axis=1).ravel(), np.repeat(y[run], 2)])
        if run[0]:
            points = np.concatenate([[(points[0, 0], y[run[0] - 1])], points])
        yield int(run[0]), points


def _curve(columns: _Columns, frame: _Frame, required: float) -> Iterator[Shape]:
    kind = class_of(columns.lower, required)
    if np.any(np.minimum(columns.upper, frame.high) > APART * np.minimum(columns.lower, frame.high)):
        for _, points in _steps(columns, columns.upper, frame, np.zeros(0, dtype=np.int64)):
            yield Polyline(layer="upper", points=points)
    for row, points in _steps(columns, columns.lower, frame, np.nonzero(np.diff(kind))[0] + 1):
        yield Polyline(layer=layer_of(int(kind[row])), points=points)


def _ticks(low: float, high: float) -> list[float]:
    """Return round factors between two: 1, 2 and 5 of each power of ten."""
    powers = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    return [step * 10.0**power for power in powers for step in (1.0, 2.0, 5.0) if low <= step * 10.0**power <= high]


def _scale(frame: _Frame) -> Iterator[Shape]:
    unit, height = frame.unit, TEXT * frame.unit
    top = frame.foot + HEIGHT * unit
    right = frame.left + WIDTH * unit
    edge = frame.left + LEFT * unit
    corners = [(edge, frame.foot), (right, frame.foot), (right, top), (edge, top)]
    yield Polyline(layer="frame", points=np.array(corners), closed=True)
    for tick in _ticks(frame.low, frame.high):
        points = frame.across(tick)
        at = (edge - unit, float(points[0, 1]) - height / 2.0)
        yield Polyline(layer="grid", points=points)
        yield Label(layer="text", at=at, text=f"{tick:g}", height=height, anchor="end")


def _limits(columns: _Columns, frame: _Frame, required: float) -> Iterator[Shape]:
    """Draw what is asked for, and what lets go, each with its name where the curve leaves room for it."""
    height = TEXT * frame.unit
    asked = (required, "asked", f"asked for: {required:.3g}", 0.6 * height)
    gone = (1.0, "limit", "lets go below 1", -1.6 * height)
    for factor, layer, words, above in (asked, gone) if required >= 1.3 else (asked,):
        points = frame.across(factor)
        y = float(points[0, 1]) + above
        x = _free_place(columns, frame, y, height, room_of(words, height))
        yield Polyline(layer=layer, points=points)
        yield Label(layer="text", at=(x, y), text=words, height=height)


def _free_place(columns: _Columns, frame: _Frame, y: float, height: float, width: float) -> float:
    """Return the left end of a text such that the curve does not go through it, or comes least near. [m]"""
    left, right, curve = frame.x(columns.edges[:-1]), frame.x(columns.edges[1:]), frame.y(columns.lower)
    first, last = frame.left + (LEFT + 1.0) * frame.unit, frame.left + (WIDTH - 1.0) * frame.unit - width
    places = np.linspace(last, first, 24)
    gaps = []
    for x in places:
        here = curve[(right > x) & (left < x + width)]  # and all that its risers go through between them
        gaps.append(max(float(here.min()) - (y + height), y - float(here.max()), 0.0))
    return float(places[int(np.argmax(np.minimum(gaps, height)))])


def _runs(short: NDArray[np.bool_]) -> list[IntArray]:
    """Return the runs of neighbours that fall short."""
    rows = np.nonzero(short)[0]
    return np.split(rows, np.nonzero(np.diff(rows) > 1)[0] + 1) if len(rows) else []


def _run_name(course: Course, run: IntArray) -> str:
    first, last = course.names[run[0]], course.names[run[-1]]
    return cut_to(first if first == last else f"{first}-{last}", 28)


def _marks(course: Course, frame: _Frame, required: float) -> Iterator[Shape]:
    """Mark what falls short below the frame, and name the worst of it where there is room."""
    unit, height = frame.unit, TEXT * frame.unit
    runs = _runs(course.lower < required)
    y = frame.foot - 5.0 * unit
    for left, right in _merged(course, frame, runs):
        yield Polyline(layer="short", points=np.array([(left, y), (max(right, left + 0.4 * unit), y)]))
    taken: list[list[tuple[float, float]]] = [[] for _ in range(ROWS)]
    for run in sorted(runs, key=lambda run: float(course.lower[run].min()))[:NAMED]:
        words = _run_name(course, run)
        half = room_of(words, height) / 2.0
        middle = float(frame.x((course.edges[run[0]] + course.edges[run[-1] + 1]) / 2.0))
        middle = min(max(middle, frame.left + half), frame.left + WIDTH * unit - half)
        for row, held in enumerate(taken):
            if all(middle + half + unit < a or middle - half - unit > b for a, b in held):
                held.append((middle - half, middle + half))
                at = (middle, y - (1.0 + (row + 1) * 1.45 * TEXT) * unit)
                yield Label(layer="text", at=at, text=words, height=height, anchor="middle")
                break


def _merged(course: Course, frame: _Frame, runs: Sequence[IntArray]) -> Iterator[tuple[float, float]]:
    """Give the ends of runs on the sheet; what no print can tell apart is one."""
    held: tuple[float, float] | None = None
    for run in runs:
        left, right = (float(frame.x(course.edges[end])) for end in (run[0], run[-1] + 1))
        if held is not None and left - held[1] < 0.3 * frame.unit:
            held = held[0], right
            continue
        if held is not None:
            yield held
        held = left, right
    if held is not None:
        yield held


def _words(course: Course, frame: _Frame, required: float) -> Iterator[Shape]:
    """Write what stands at the foot of the chart, and above it what it shows."""
    unit, height = frame.unit, TEXT * frame.unit
    y = frame.foot - 1.0 * unit - 1.2 * height
    end = -np.inf
    for place, words in course.feet:
        tick = float(frame.x(place))
        half = room_of(words, height) / 2.0
        x = min(max(tick, frame.left + half), frame.left + WIDTH * unit - half)
        if x - half > end:
            yield Polyline(layer="frame", points=np.array([(tick, frame.foot), (tick, frame.foot - 0.8 * unit)]))
            yield Label(layer="text", at=(x, y), text=words, height=height, anchor="middle")
            end = x + half + unit
    short = course.lower < required
    fall = f"{int(short.sum())} of {len(short)} fall short of {required:.3g}, marked below"
    fall = fall if short.any() else "none falls short"
    at = (frame.left + LEFT * unit, frame.foot + (HEIGHT + 2.0) * unit)
    yield Label(layer="text", at=at, text=f"margin along {course.title}; {fall}", height=height)


def strip_of(course: Course, *, required: float, left: float, top: float, unit: float) -> list[Shape]:
    """Draw a course.

    Parameters
    ----------
    course : Course
        Of one stretch at least.
    required : float
        Factor that is asked for. [-]
    left, top : float
        Corner of the strip on the sheet. [m]
    unit : float
        Of the sheet. [m]
    """
    frame = _frame(course, required, left, top, unit)
    columns = _columns(course, frame)
    return [
        *_scale(frame),
        *_limits(columns, frame, required),
        *_curve(columns, frame, required),
        *_marks(course, frame, required),
        *_words(course, frame, required),
    ]
