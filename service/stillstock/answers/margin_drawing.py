"""The margin as a picture on one sheet: a plan coloured by the margin, what its signs mean, and a chart along the job.

All sizes of text and signs are in units of the sheet, a hundred and ninetieth of its width: a millimetre where it is
printed on A4. The plan itself is in true millimetres.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stillstock.answers.let_go_drawing import motion_shapes
from stillstock.answers.lettering import cut_to, wrapped
from stillstock.answers.margin import MarginAnswer
from stillstock.answers.margin_legend import ROW, colour_scale, scale_bar, signs
from stillstock.answers.margin_plan import Plan, Shape, core_extent, plan_of
from stillstock.answers.margin_scale import CLASSES, layer_of
from stillstock.answers.margin_strip import Course, height_of, strip_of
from stillstock.answers.margin_words import in_ascii
from stillstock.answers.path_margins import PathMargins
from stillstock.engine.drawing import Drawing, Label, Polyline
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.program.moves import Moves
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.units import System

__all__ = ["LAYERS", "SHEET", "MarginSheet", "margin_sheet"]

#: Layers from the bottom up; what lets go lies over what holds.
LAYERS = (
    "bed", "stock", "suction", "bond", "part", "idle", "grid", "limit", "asked", "upper",
    *(layer_of(number) for number in reversed(range(CLASSES))),
    *(f"scale-{number}" for number in range(CLASSES)),
    "tab", "press", "stop", "fastener", "moved-stock", "pivot", "motion", "worst", "frame", "short", "numbers", "text",
)  # fmt: skip

#: Width of the sheet, the most that the plan's height takes, and room round the plan for signs, in units. [-]
SHEET, TALL, ROUND = 190.0, 150.0, 16.0

#: Height of a capital of the caption, its line spacing, and characters in a row. [-]
CAPTION, SPACING, CHARACTERS = 2.4, 4.2, 84


#: Share of the mean length that a stretch of the chart has at the least, and ticks along a program. [-]
LEAST_STRETCH, FEET = 0.3, 9


@dataclass(frozen=True, kw_only=True)
class MarginSheet:
    """The drawing, and the length of the sheet's unit, by which pens are chosen. [m]"""

    drawing: Drawing
    unit: float


def _caption(answer: MarginAnswer, left: float, foot: float, unit: float) -> list[Shape]:
    rows = wrapped(answer.summary, CHARACTERS)
    return [
        Label(layer="text", at=(left, foot + (len(rows) - 1 - i) * SPACING * unit), text=row, height=CAPTION * unit)
        for i, row in enumerate(rows)
    ]


def _moving(set_up: SetUp, answer: MarginAnswer) -> FloatArray:
    """Return the outline of what lets go first: the stock, or the freed part that is the weakest. (n, 2) [m]"""
    weakest = next(
        (part.name for part in answer.parts if (part.typical, part.worst) == (answer.typical, answer.worst)), None
    )
    return next((part.outline for part in set_up.parts if part.name == weakest), set_up.stock.plan)


def _place_words(answer: MarginAnswer) -> str:
    worst = answer.worst
    return f"line {worst.line}" if worst.line else cut_to(in_ascii(worst.cut) or "stated load", 24)


def _edges(length: FloatArray) -> FloatArray:
    """Return where stretches begin and the last one ends; the shortest are drawn long enough to be seen. [m]"""
    least = LEAST_STRETCH * max(float(length.sum()), 1e-9) / max(len(length), 10)
    return np.concatenate([[0.0], np.cumsum(np.maximum(length, least))])


def _program_course(along: PathMargins) -> Course:
    number, lower, upper = along.least_by(along.line)
    length = np.zeros(len(number))
    np.add.at(length, np.searchsorted(number, along.line), np.linalg.norm(along.end - along.start, axis=1))
    edges = _edges(length)
    ticks = np.linspace(0.0, edges[-1], FEET + 1)[:-1]
    rows = np.unique(np.searchsorted(edges, ticks, side="right") - 1)
    return Course(
        edges=edges,
        lower=lower,
        upper=upper,
        names=tuple(str(line) for line in number.tolist()),
        feet=[(float(edges[row]), f"line {number[row]}") for row in rows.tolist()],
        title="the program's cuts, line by line",
    )


def _described_course(along: PathMargins, set_up: SetUp) -> Course:
    words = [cut.name for cut in set_up.cuts] + [load.name for load in set_up.loads]
    names = tuple(in_ascii(words[cut]) or "stated load" for cut in along.cut.tolist())
    edges = _edges(np.linalg.norm(along.end - along.start, axis=1))
    starts = np.nonzero(np.concatenate([[True], np.diff(along.cut) != 0]))[0].tolist()
    ends = [*starts[1:], len(along)]
    feet = [(float(edges[a] + edges[b]) / 2.0, cut_to(names[a], 24)) for a, b in zip(starts, ends, strict=True)]
    title = "the described cuts, stretch by stretch" if set_up.cuts else "the stated loads"
    return Course(edges=edges, lower=along.lower, upper=along.upper, names=names, feet=feet, title=title)


def _courses(set_up: SetUp, along: PathMargins | None) -> Iterator[Course]:
    if along is None:
        return
    program = along.cut < 0
    for rows, course in ((program, _program_course), (~program, lambda some: _described_course(some, set_up))):
        if rows.any():
            yield course(along.only(rows))


def _extent(shapes: tuple[Shape, ...]) -> tuple[float, float]:
    """Return the least and the greatest y of a plan's shapes. [m]"""
    lines = [shape.points[:, 1] for shape in shapes if isinstance(shape, Polyline)]
    every = np.concatenate(lines)
    return float(every.min()), float(every.max())


def _plan(set_up: SetUp, contacts: Contacts, answer: MarginAnswer, unit: float) -> Plan:
    motion = answer.let_go
    known = bool(answer.worst.cut or answer.worst.line)
    return plan_of(
        set_up,
        contacts,
        moves=answer.moves,
        along=answer.along,
        worst=(np.array(answer.worst.at[:2]), _place_words(answer)) if known else None,
        moving=[] if motion is None else motion_shapes(motion, _moving(set_up, answer), size=3.0 * unit),
        unit=unit,
    )


def _foot(
    set_up: SetUp, answer: MarginAnswer, plan: Plan, corner: FloatArray, unit: float, system: System
) -> Iterator[Shape]:
    """Draw what stands below the plan, from the top down."""
    left, top = float(corner[0]), float(corner[1])
    bar = corner + unit * np.array([120.0, -8.0])
    yield from scale_bar(bar, 60.0 * unit, unit, system)
    if answer.along is not None:
        yield from colour_scale(set_up.required, corner - (0.0, 8.0 * unit), unit)
    top -= 16.0 * unit
    drawn, rows = signs({shape.layer for shape in plan.shapes}, np.array([left, top]), unit)
    yield from drawn
    top -= (rows * ROW + 3.0) * unit
    if plan.every > 1:
        words = f"one of {plan.every} strokes is drawn where they are many; the worst are drawn all"
        yield Label(layer="text", at=(left, top), text=words, height=1.8 * unit)
        top -= 4.0 * unit
    for course in _courses(set_up, answer.along):
        yield from strip_of(course, required=set_up.required, left=left, top=top, unit=unit)
        top -= height_of() * unit


def margin_sheet(
    set_up: SetUp, contacts: Contacts, answer: MarginAnswer, moves: Moves | None, *, system: System
) -> MarginSheet:
    """Return the picture of a judged set-up.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
        Its contacts.
    answer : MarginAnswer
    moves : Moves or None
        Of the program, if there is one.
    system : {"metric", "inch"}
        Units of the scale bar.
    """
    low, high = core_extent(set_up, contacts, moves)
    width, height = (high - low).tolist()
    unit = max(width / (SHEET - 2.0 * ROUND), height / (TALL - 2.0 * ROUND))
    plan = _plan(set_up, contacts, answer, unit)
    bottom, top = _extent(plan.shapes)
    left = float((low[0] + high[0]) / 2.0 - SHEET / 2.0 * unit)
    shapes = [
        *plan.shapes,
        *_caption(answer, left, top + 5.0 * unit, unit),
        *_foot(set_up, answer, plan, np.array([left, bottom - 5.0 * unit]), unit, system),
    ]
    drawing = Drawing(
        title=in_ascii(f"Stillstock: {answer.summary}"),
        description="Plan of the set-up: holders numbered as in the document from 1; the tool path coloured by its "
        "margin, the darker the less; the place of the worst load (circle and cross); the stock moved as it lets go "
        "(dashed). Below it the margin along the job, with what is asked for and what falls short of it.",
        layers=LAYERS,
        shapes=tuple(shapes),
    )
    return MarginSheet(drawing=drawing, unit=unit)
