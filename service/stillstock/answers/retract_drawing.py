"""Pictures of the safe heights: plan with corridors and keep-outs, front and right side, all to one scale."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

import numpy as np
import shapely

from stillstock.answers.margin_words import in_ascii
from stillstock.answers.retract_height import RetractAnswer
from stillstock.answers.retract_way import Found
from stillstock.answers.retract_words import Speaker
from stillstock.engine.clearance.obstacles import PUCK, plan_shape
from stillstock.engine.drawing import Drawing, Label, Polyline
from stillstock.engine.holding.body import Body
from stillstock.engine.program.moves import FEED, RAPID, Moves
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.units import System

__all__ = ["LAYERS", "keep_out_drawing", "retract_drawing"]

#: Layers of the picture from the bottom up.
LAYERS = (
    "under_stock", "cut_corridor", "rapid_corridor", "bed", "stock", "holders", "keep_outs", "clearance", "retract",
    "meetings", "text",
)  # fmt: skip

#: Moves that are drawn as they are; of longer programs the corridors are simplified. [-]
MANY = 20_000

Shape = Polyline | Label
Size = tuple[FloatArray, FloatArray]


def _rings(shape: shapely.Geometry, layer: str) -> Iterator[Polyline]:
    for piece in getattr(shape, "geoms", [shape]):
        if isinstance(piece, shapely.Polygon) and not piece.is_empty:
            for ring in (piece.exterior, *piece.interiors):
                yield Polyline(layer=layer, points=np.asarray(ring.coords)[:-1, :2], closed=True)


def _runs(moves: Moves, kind: int, tool: int) -> list[FloatArray]:
    """Return the ways of one kind and tool in plan, each as a row of points. [m]"""
    chosen = np.flatnonzero(moves.known & (moves.kind == kind) & (moves.tool == tool))
    if not len(chosen):
        return []
    breaks = np.flatnonzero(np.diff(chosen) > 1) + 1
    return [np.vstack((moves.start[run[:1], :2], moves.end[run, :2])) for run in np.split(chosen, breaks)]


def _corridor(moves: Moves, kind: int, set_up: SetUp, *, error: float) -> shapely.Geometry:
    """Return what the cutters sweep in plan."""
    swept = []
    for number, tool in set_up.tools.items():
        lines = shapely.MultiLineString([run for run in _runs(moves, kind, number) if len(run) > 1])
        thin = shapely.simplify(lines, error * (10.0 if len(moves) > MANY else 0.2))
        swept.append(shapely.buffer(thin, tool.diameter / 2.0, quad_segs=6))
    return shapely.union_all(swept).simplify(error) if swept else shapely.Polygon()


def _plan(answer: RetractAnswer, set_up: SetUp, *, error: float) -> Iterator[Shape]:
    if answer.moves is not None:
        yield from _rings(_corridor(answer.moves, FEED, set_up, error=error), "cut_corridor")
        yield from _rings(_corridor(answer.moves, RAPID, set_up, error=error), "rapid_corridor")
    yield Polyline(layer="stock", points=np.asarray(set_up.stock.plan), closed=True)
    bottom = set_up.stock.origin[2]
    for body in sorted(answer.bodies, key=lambda body: body.high):
        yield from _rings(plan_shape(body), "under_stock" if body.high <= bottom else "holders")
    for one in answer.keep_outs:
        yield Polyline(layer="keep_outs", points=one.outline, closed=True)


def _box(low: tuple[float, float], high: tuple[float, float], layer: str) -> Polyline:
    (x0, y0), (x1, y1) = low, high
    return Polyline(layer=layer, points=np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]), closed=True)


def _side(body: Body, axis: int) -> tuple[float, float]:
    """Return how far a body reaches along an axis of the plan. [m]"""
    box = body.box
    return box[axis], box[axis + 2]


class _View:
    """One side view: along x or y, moved to its place on the sheet."""

    def __init__(self, set_up: SetUp, answer: RetractAnswer, axis: int, shift: tuple[float, float]) -> None:
        self.set_up, self.answer, self.axis, self.shift = set_up, answer, axis, shift

    def box(self, across: tuple[float, float], heights: tuple[float, float], layer: str) -> Polyline:
        dx, dy = self.shift
        return _box((across[0] + dx, heights[0] + dy), (across[1] + dx, heights[1] + dy), layer)

    def shapes(self, span: tuple[float, float], speaker: Speaker, text: float) -> Iterator[Shape]:
        """Draw bed, stock, holders, and the two heights as lines across all of it."""
        set_up, answer, axis = self.set_up, self.answer, self.axis
        stock, bed = set_up.stock, set_up.bed
        plan = np.asarray(stock.plan)
        ends = (float(plan[:, axis].min()), float(plan[:, axis].max()))
        yield self.box(span, (bed.top - bed.thickness, bed.top), "bed")
        yield self.box(ends, (stock.origin[2], stock.origin[2] + stock.thickness[1]), "stock")
        for body in answer.bodies:
            if body.high > bed.top:
                yield self.box(_side(body, axis), (max(body.low, bed.top), body.high), "holders")
        dx, dy = self.shift
        levels = ((answer.clearance, "clearance", True), (answer.retract, "retract", answer.retract < answer.clearance))
        for level, name, above in levels:
            points = np.array([(span[0] + dx, level + dy), (span[1] + dx, level + dy)])
            yield Polyline(layer=name, points=points)
            at = (span[0] + dx, level + dy + (0.35 * text if above else -1.4 * text))
            yield Label(layer="text", at=at, text=f"{name} {speaker.length(level)}", height=text)


def _extent(answer: RetractAnswer, set_up: SetUp) -> Size:
    """Return the least and greatest corner of all that the plan shows. [m]"""
    points = [np.asarray(set_up.stock.plan), *(one.outline for one in answer.keep_outs)]
    points += [np.array(body.box).reshape(2, 2) for body in answer.bodies]
    if answer.moves is not None and answer.moves.known.any():
        points.append(answer.moves.end[answer.moves.known][:, :2])
    every = np.concatenate(points)
    return every.min(axis=0), every.max(axis=0)


def retract_drawing(answer: RetractAnswer, set_up: SetUp, *, system: System) -> Drawing:
    """Return the three views as one drawing, in true size: plan, front below it, right side beside it.

    Parameters
    ----------
    answer : RetractAnswer
    set_up : SetUp
        That was asked about.
    system : {"metric", "inch"}
        In which heights are written.
    """
    speaker = Speaker(system, [holder.kind for holder in set_up.holders])
    low, high = _extent(answer, set_up)
    width = float(high[0] - low[0])
    text = max(float(np.max(high - low)) / 70.0, 1e-4)
    gap = 6.0 * text
    shapes: list[Shape] = list(_plan(answer, set_up, error=text / 50.0))
    down = float(low[1]) - gap - answer.clearance
    aside = float(high[0]) + gap - float(low[1])
    front = _View(set_up, answer, 0, (0.0, down))
    right = _View(set_up, answer, 1, (aside, down))
    shapes += front.shapes((float(low[0]), float(high[0])), speaker, text)
    shapes += right.shapes((float(low[1]), float(high[1])), speaker, text)
    for number, (x, y) in _marked(answer.meetings, apart=1.5 * text).items():
        shapes += _cross((x, y), size=text, layer="meetings")
        shapes.append(Label(layer="text", at=(x + 0.8 * text, y + 0.8 * text), text=str(number), height=text))
    titles = (
        ((float(low[0]), float(high[1]) + text), "plan"),
        ((float(low[0]), float(low[1]) - gap + 2.2 * text), "front"),
        ((float(high[0]) + gap, float(low[1]) - gap + 2.2 * text), "right side"),
    )
    shapes += [Label(layer="text", at=at, text=words, height=text) for at, words in titles]
    shapes += _holder_names(answer, speaker, text)
    foot = down + set_up.bed.top - set_up.bed.thickness
    shapes += _lines(answer, at=(float(low[0]), foot - 2.0 * text), text=text, width=2.0 * width + gap)
    return Drawing(title="Retract heights", description=answer.summary, layers=LAYERS, shapes=tuple(shapes))


def _marked(meetings: Sequence[Found], *, apart: float) -> dict[int, tuple[float, float]]:
    """Return the places of the first meetings by their number in the list, those on top of each other once."""
    marked: dict[int, tuple[float, float]] = {}
    for number, found in enumerate(meetings[:20], 1):
        x, y, _ = found.meeting.at
        crowded = any(np.hypot(x - a, y - b) < apart for a, b in marked.values())
        if found.meeting.move >= 0 and not crowded:
            marked[number] = (x, y)
    return marked


def _cross(at: tuple[float, float], *, size: float, layer: str) -> list[Polyline]:
    x, y = at
    ends = (((x - size, y - size), (x + size, y + size)), ((x - size, y + size), (x + size, y - size)))
    return [Polyline(layer=layer, points=np.array(pair)) for pair in ends]


def _holder_names(answer: RetractAnswer, speaker: Speaker, text: float) -> list[Label]:
    """Return the name of each holder at its tallest body."""
    tallest: dict[int, Body] = {}
    for body in answer.bodies:
        if body.holder not in tallest or body.high > tallest[body.holder].high:
            tallest[body.holder] = body
    labels = []
    for holder, body in tallest.items():
        x, y = body.core.mean(axis=0)
        words = f"{speaker.holder(holder)}: {speaker.length(body.high)}"
        at = (float(x), float(y) - 0.4 * text)
        labels.append(Label(layer="text", at=at, text=words, height=0.8 * text, anchor="middle"))
    return labels


def _lines(answer: RetractAnswer, *, at: tuple[float, float], text: float, width: float) -> list[Label]:
    """Return the summary and the ground of both heights under the views, broken to the width of the sheet."""
    room = max(20, int(width / (0.62 * text / 0.72)))
    words = [answer.summary, *answer.advice, *(f"{k}: {one.what}" for k, one in enumerate(answer.meetings[:8], 1))]
    rows = [row for line in words for row in wrap(in_ascii(line), room)]
    return [
        Label(layer="text", at=(at[0], at[1] - 1.6 * text * row), text=line, height=text)
        for row, line in enumerate(rows)
    ]


def keep_out_drawing(answer: RetractAnswer, set_up: SetUp) -> Drawing:
    """Return the keep-outs alone, one layer for each kind of holder, with the stock to lay them on."""
    kinds = {PUCK: "puck"} | {number: str(holder.kind) for number, holder in enumerate(set_up.holders)}
    named = list(dict.fromkeys(f"keep_out_{kinds[one.holder]}" for one in answer.keep_outs))
    shapes = [Polyline(layer="stock", points=np.asarray(set_up.stock.plan), closed=True)]
    shapes += [
        Polyline(layer=f"keep_out_{kinds[one.holder]}", points=one.outline, closed=True) for one in answer.keep_outs
    ]
    return Drawing(title="Keep-outs", description=answer.summary, layers=("stock", *named), shapes=tuple(shapes))
