"""Pictures of the safe heights: plan with corridors and keep-outs, front and right side, all to one scale."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

import numpy as np
import shapely

from stillstock.answers.lettering import Free, room_of
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
    "leaders", "grounds", "meetings", "text",
)  # fmt: skip

#: Moves that are drawn as they are; of longer programs the corridors are simplified. [-]
MANY = 20_000

#: Room beside a view for the names of the heights, over the height of a capital. [-]
ASIDE = 27.0

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


def _written(text: str, wished: Sequence[float], *, height: float, free: Free) -> tuple[Polyline, Label]:
    """Return a line of text on a ground of its own, as near to a wished place as nothing else stands."""
    half = np.array([room_of(text, height) / 2.0, 0.8 * height])
    x, y = free.place(np.asarray(wished), half, step=1.1 * height).tolist()
    # Letters take less than the room that is kept for them in any font.
    w, h = 0.85 * half[0], 0.75 * height
    return (
        _box((x - w, y - h), (x + w, y + h), "grounds"),
        Label(layer="text", at=(x, y - height / 2.0), text=text, height=height, anchor="middle"),
    )


def _take(free: Free, box: Polyline) -> None:
    """Mark the room of an outline as taken."""
    low, high = box.points.min(axis=0), box.points.max(axis=0)
    free.take((low + high) / 2.0, (high - low) / 2.0)


class _View:
    """One side view: along x or y, moved to its place on the sheet."""

    def __init__(self, set_up: SetUp, answer: RetractAnswer, axis: int, shift: tuple[float, float]) -> None:
        self.set_up, self.answer, self.axis, self.shift = set_up, answer, axis, shift

    def box(self, across: tuple[float, float], heights: tuple[float, float], layer: str) -> Polyline:
        dx, dy = self.shift
        return _box((across[0] + dx, heights[0] + dy), (across[1] + dx, heights[1] + dy), layer)

    def title(self, left: float, text: float) -> tuple[float, float]:
        """Return where the view's title stands, above its left end. [m]"""
        return left + self.shift[0], self.answer.clearance + self.shift[1] + 2.8 * text

    def title_room(self, left: float, text: float) -> Size:
        """Return middle and half the size of the title's room. [m]"""
        x, y = self.title(left, text)
        return np.array([x + 4.0 * text, y + 0.5 * text]), np.array([4.0 * text, 0.8 * text])

    def shapes(self, span: tuple[float, float], speaker: Speaker, text: float) -> Iterator[Shape]:
        """Draw bed, stock, holders with how high they stand, and the two heights as lines across all of it."""
        set_up, answer, axis = self.set_up, self.answer, self.axis
        stock, bed, free = set_up.stock, set_up.bed, Free()
        free.take(*self.title_room(span[0], text))
        plan = np.asarray(stock.plan)
        ends = (float(plan[:, axis].min()), float(plan[:, axis].max()))
        yield self.box(span, (bed.top - bed.thickness, bed.top), "bed")
        slab = self.box(ends, (stock.origin[2], stock.origin[2] + stock.thickness[1]), "stock")
        yield slab
        for body in answer.bodies:
            if body.high > bed.top:
                box = self.box(_side(body, axis), (max(body.low, bed.top), body.high), "holders")
                _take(free, box)
                yield box
        levels = self._levels(span)
        for line in levels:
            _take(free, line)
        yield from levels
        yield from self._tops(speaker, text, free)
        _take(free, slab)
        yield from self._level_names(span[1], speaker, text, free)

    def _levels(self, span: tuple[float, float]) -> list[Polyline]:
        """Return the two heights as lines across the view."""
        dx, dy = self.shift
        return [
            Polyline(layer=name, points=np.array([(span[0] + dx, level + dy), (span[1] + dx, level + dy)]))
            for name, level in (("clearance", self.answer.clearance), ("retract", self.answer.retract))
        ]

    def _level_names(self, right: float, speaker: Speaker, text: float, free: Free) -> Iterator[Shape]:
        """Write the two heights at the right end of their lines, as one where they are one."""
        dx, dy = self.shift
        names: dict[str, tuple[str, float]] = {}
        for name, level in (("clearance", self.answer.clearance), ("retract", self.answer.retract)):
            words = speaker.length(level)
            names[words] = (f"{names[words][0]} and {name}" if words in names else name, level)
        for words, (name, level) in names.items():
            line = f"{name} {words}"
            wished = (right + dx + room_of(line, text) / 2.0, level + dy)
            yield from _written(line, wished, height=text, free=free)

    def _tops(self, speaker: Speaker, text: float, free: Free) -> Iterator[Shape]:
        """Write above each holder how high it stands; those that stand behind another of one height once."""
        dx, dy = self.shift
        written: list[tuple[float, float]] = []
        for body in sorted(_tallest(self.answer).values(), key=lambda body: -body.high):
            middle, size = sum(_side(body, self.axis)) / 2.0, 0.8 * text
            if body.high <= self.set_up.bed.top or any(
                abs(middle - x) < 4.0 * text and abs(body.high - high) < text for x, high in written
            ):
                continue
            written.append((middle, body.high))
            wished = (middle + dx, body.high + dy + 0.9 * size)
            yield from _written(speaker.length(body.high), wished, height=size, free=free)


def _tallest(answer: RetractAnswer) -> dict[int, Body]:
    """Return the tallest body of each holder."""
    tallest: dict[int, Body] = {}
    for body in answer.bodies:
        if body.holder not in tallest or body.high > tallest[body.holder].high:
            tallest[body.holder] = body
    return tallest


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
    gap = 7.0 * text
    shapes: list[Shape] = list(_plan(answer, set_up, error=text / 50.0))
    down = float(low[1]) - gap - answer.clearance
    aside = float(high[0]) + ASIDE * text - float(low[1])
    front = _View(set_up, answer, 0, (0.0, down))
    right = _View(set_up, answer, 1, (aside, down))
    shapes += front.shapes((float(low[0]), float(high[0])), speaker, text)
    shapes += right.shapes((float(low[1]), float(high[1])), speaker, text)
    titles = (
        ((float(low[0]), float(high[1]) + text), "plan"),
        (front.title(float(low[0]), text), "front"),
        (right.title(float(low[1]), text), "right side"),
    )
    shapes += [Label(layer="text", at=at, text=words, height=text) for at, words in titles]
    shapes += _plan_words(answer, speaker, text, titles=[at for at, _ in titles])
    foot = down + set_up.bed.top - set_up.bed.thickness
    shapes += _lines(answer, at=(float(low[0]), foot - 2.0 * text), text=text, width=2.0 * width + ASIDE * text)
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


def _plan_words(
    answer: RetractAnswer, speaker: Speaker, text: float, *, titles: Sequence[tuple[float, float]]
) -> list[Shape]:
    """Mark the meetings in plan by their numbers, and write each holder's name beside what stands of it."""
    free, size = Free(), 0.8 * text
    for x, y in titles:
        free.take(np.array([x + 4.0 * text, y + text / 2.0]), np.array([4.0 * text, text]))
    for body in answer.bodies:
        _take(free, Polyline(layer="", points=np.array(body.box).reshape(2, 2)))
    marked = _marked(answer.meetings, apart=1.5 * text)
    shapes: list[Shape] = []
    for x, y in marked.values():
        shapes += _cross((x, y), size=text, layer="meetings")
        free.take(np.array([x, y]), np.array([text, text]))
    for number, at in marked.items():
        shapes += _written(str(number), at, height=text, free=free)
    for holder, body in _tallest(answer).items():
        x, y = body.core.mean(axis=0).tolist()
        words = f"{speaker.holder(holder)}: {speaker.length(body.high)}"
        ground, label = _written(words, (x, y), height=size, free=free)
        shapes += [Polyline(layer="leaders", points=np.array([ground.points.mean(axis=0), (x, y)])), ground, label]
    return shapes


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
