"""The sheet's pictures: plan, front and right side of the set-up, drawn on paper at one round scale."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from stillstock.answers.retract_height import RetractAnswer
from stillstock.answers.sheet_speaker import SheetSpeaker
from stillstock.engine.clearance.obstacles import plan_shape
from stillstock.engine.drawing import Circle, Drawing, Label, Polyline
from stillstock.engine.holding.body import Body
from stillstock.engine.holding.contacts import Bond, Contacts, Pin, Push, Rest, Rub
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import FloatArray, SetUp

__all__ = ["CAPITAL", "LAYERS", "Picture", "sheet_picture"]

#: Layers from the bottom up.
LAYERS = ("bed", "areas", "stock", "path", "holders", "heights", "zero", "worst", "leaders", "numbers", "text")

#: Height of the pictures' capitals on paper: that of type of 9.5 pt, of which a capital is 0.72. [m]
CAPITAL = 0.72 * 9.5 * 0.0254 / 72.0
#: Denominators of the scales in use: those of ISO 5455 and some between, as shops have them. [-]
_SCALES = (0.2, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 100.0)
_RIM = 2.5 * CAPITAL  # round the plan, for numbers beside the stock [m]
_TITLE = 2.2 * CAPITAL  # above a view [m]
_ROW = 3.0 * CAPITAL  # beneath a side view, for its numbers [m]
_NOTE = 15.0 * CAPITAL  # to the right of a side view, for heights [m]
#: How far a number may stand from beneath what it numbers in a side view; others are numbered in the plan alone. [m]
_FAR = 5.0 * CAPITAL
#: Points of a tool path beyond which only its extent is drawn. [-]
_MOST_POINTS = 20_000

#: Steps of half a number's room in which a number may be moved aside, the shortest first. [-]
_ASIDE = sorted(
    ((dx, dy) for dx in range(-8, 9) for dy in range(-8, 9)), key=lambda step: (step[0] ** 2 + step[1] ** 2, step)
)

Shape = Polyline | Circle | Label


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A drawing in true paper size, and its scale in words."""

    drawing: Drawing
    scale: str


@dataclass(frozen=True, kw_only=True, eq=False)
class _Scene:
    """What is drawn, in the work frame. [m]"""

    set_up: SetUp
    contacts: Contacts
    answer: RetractAnswer
    worst: tuple[float, float]
    speaker: SheetSpeaker

    @property
    def box(self) -> FloatArray:
        """Least and greatest corner in plan of stock and holders, (2, 2). [m]"""
        points = [
            np.asarray(self.set_up.stock.plan),
            *(np.array(body.box).reshape(2, 2) for body in self.answer.bodies),
        ]
        every = np.concatenate(points)
        return np.array([every.min(axis=0), every.max(axis=0)])

    @property
    def heights(self) -> tuple[float, float]:
        """Lowest and highest line of the side views. [m]"""
        bed = self.set_up.bed
        top = max(self.answer.clearance, *(body.high for body in self.answer.bodies), self.set_up.stock.top)
        return bed.top - bed.thickness, top


def sheet_picture(
    set_up: SetUp,
    contacts: Contacts,
    answer: RetractAnswer,
    *,
    worst: tuple[float, float],
    room: tuple[float, float],
    speaker: SheetSpeaker,
) -> Picture:
    """Return plan, front and right side, as large as a round scale lets them be.

    Parameters
    ----------
    set_up, contacts, answer
        The contacts are those of the set-up, the answer that of its safe heights.
    worst : (2,) tuple
        Place of the worst load in plan. [m]
    room : (2,) tuple
        Width and height on paper. [m]
    speaker : SheetSpeaker
    """
    scene = _Scene(set_up=set_up, contacts=contacts, answer=answer, worst=worst, speaker=speaker)
    scale, beside = _scale(scene, room)
    shapes = [*_plan(scene, scale), *_sides(scene, scale, beside=beside)]
    return Picture(
        drawing=Drawing(
            title="Plan, front and right side",
            description="Holders numbered as in the table; the work zero is a circle with a cross, the place of the "
            "worst load a square.",
            layers=LAYERS,
            shapes=tuple(shapes),
        ),
        scale=f"1:{scale:g}" if scale >= 1.0 else f"{1.0 / scale:g}:1",
    )


def _scale(scene: _Scene, room: tuple[float, float]) -> tuple[float, bool]:
    """Return the least denominator at which the views fit the room [-], and whether the sides stand side by side.

    If none fits it is the greatest there is.
    """
    (width, depth), (low, high) = np.ptp(scene.box, axis=0), scene.heights
    for scale in _SCALES:
        heads = 2.0 * _RIM + 2.0 * _TITLE + _ROW
        beside = (width + depth) / scale + 2.0 * _NOTE, (depth + high - low) / scale + heads
        below = max(width, depth) / scale + _NOTE, (depth + 2.0 * (high - low)) / scale + heads + _TITLE + _ROW
        for number, size in enumerate((beside, below)):
            if size[0] <= room[0] and size[1] <= room[1]:
                return scale, number == 0
    return _SCALES[-1], False


def _ring(shape: shapely.Geometry, layer: str, scale: float) -> Iterator[Polyline]:
    for piece in getattr(shape, "geoms", [shape]):
        if isinstance(piece, shapely.Polygon) and not piece.is_empty:
            yield Polyline(layer=layer, points=np.asarray(piece.exterior.coords)[:-1, :2] / scale, closed=True)


def _plan(scene: _Scene, scale: float) -> Iterator[Shape]:
    set_up, contacts = scene.set_up, scene.contacts
    yield Polyline(layer="stock", points=np.asarray(set_up.stock.plan) / scale, closed=True)
    for area in (*(rest.area for rest in contacts.rests), *(bond.area for bond in contacts.bonds)):
        yield Polyline(layer="areas", points=np.asarray(area) / scale, closed=True)
    yield from _path(scene, scale)
    for body in sorted(scene.answer.bodies, key=lambda body: body.high):
        yield from _ring(plan_shape(body), "holders", scale)
    for pin in contacts.pins:
        yield Circle(layer="holders", center=(pin.at[0] / scale, pin.at[1] / scale), radius=0.35 * CAPITAL)
    yield from _zero(0.0, 0.0)
    x, y = scene.worst[0] / scale, scene.worst[1] / scale
    half = 0.6 * CAPITAL
    yield _box((x - half, y - half), (x + half, y + half), "worst")
    middles = _middles(scene, scale)
    for number, at in _spread(middles).items():
        if at != middles[number]:
            yield Polyline(layer="leaders", points=np.array([middles[number], at]))
        yield from _numbered(at, number)
    (x0, _), (_, y1) = scene.box / scale
    yield Label(layer="text", at=(float(x0), float(y1) + _RIM), text="Plan", height=CAPITAL)


def _path(scene: _Scene, scale: float) -> Iterator[Shape]:
    lines = [cut.path[:, :2] for cut in scene.set_up.cuts if len(cut.path) > 1]
    if scene.answer.moves is not None:
        lines += _runs(scene.answer.moves)
    thin = [np.asarray(shapely.simplify(shapely.LineString(line / scale), 1e-4).coords) for line in lines]
    if sum(map(len, thin)) <= _MOST_POINTS:
        for line in thin:
            yield Polyline(layer="path", points=line)
    elif thin:
        every = np.concatenate(thin)
        low, high = every.min(axis=0), every.max(axis=0)
        yield _box((float(low[0]), float(low[1])), (float(high[0]), float(high[1])), "path")


def _runs(moves: Moves) -> list[FloatArray]:
    """Return the feeding moves in plan, joined where one starts as the last has ended. [m]"""
    feed = np.flatnonzero((moves.kind == FEED) & moves.known)
    apart = np.any(np.abs(moves.start[feed[1:], :2] - moves.end[feed[:-1], :2]) > 1e-9, axis=1) | (np.diff(feed) > 1)
    runs = np.split(feed, np.flatnonzero(apart) + 1) if len(feed) else []
    return [np.concatenate([moves.start[run[:1], :2], moves.end[run, :2]]) for run in runs]


def _zero(x: float, y: float) -> Iterator[Shape]:
    arm = 2.0 * CAPITAL
    yield Circle(layer="zero", center=(x, y), radius=0.8 * CAPITAL)
    yield Polyline(layer="zero", points=np.array([(x - 1.2 * CAPITAL, y), (x + arm, y)]))
    yield Polyline(layer="zero", points=np.array([(x, y - 1.2 * CAPITAL), (x, y + arm)]))
    yield Label(layer="text", at=(x + arm - 0.6 * CAPITAL, y - 1.35 * CAPITAL), text="X", height=CAPITAL)
    yield Label(layer="text", at=(x - 1.1 * CAPITAL, y + arm - 0.6 * CAPITAL), text="Y", height=CAPITAL)


def _middles(scene: _Scene, scale: float) -> dict[int, tuple[float, float]]:
    """Return where each holder is on paper: its tallest body, else where it touches the stock."""
    found: dict[int, list[FloatArray]] = {}
    contacts = scene.contacts
    areas: tuple[Rest | Bond, ...] = (*contacts.rests, *contacts.bonds)
    points: tuple[Push | Rub | Pin, ...] = (*contacts.pushes, *contacts.rubs, *contacts.pins)
    for area in areas:
        found.setdefault(area.holder, []).append(area.area.mean(axis=0))
    for point in points:
        found.setdefault(point.holder, []).append(np.array(point.at[:2]))
    for holder, body in _tallest(scene.answer.bodies).items():
        found[holder] = [np.array(body.box).reshape(2, 2).mean(axis=0)]
    means = {holder: np.mean(places, axis=0) / scale for holder, places in found.items() if holder >= 0}
    return {holder: (float(x), float(y)) for holder, (x, y) in sorted(means.items())}


def _tallest(bodies: Sequence[Body]) -> dict[int, Body]:
    tallest: dict[int, Body] = {}
    for body in bodies:
        if body.holder >= 0 and (body.holder not in tallest or body.high > tallest[body.holder].high):
            tallest[body.holder] = body
    return tallest


def _spread(places: dict[int, tuple[float, float]]) -> dict[int, tuple[float, float]]:
    """Move numbers that would lie on one another to the nearest free place."""
    apart = 2.2 * CAPITAL
    taken: list[tuple[float, float]] = []
    for x, y in places.values():
        free = [
            (x + dx * apart / 2.0, y + dy * apart / 2.0)
            for dx, dy in _ASIDE
            if all(max(abs(x + dx * apart / 2.0 - a), abs(y + dy * apart / 2.0 - b)) >= 0.99 * apart for a, b in taken)
        ]
        taken.append(free[0] if free else (x, y))
    return dict(zip(places, taken, strict=True))


def _numbered(at: tuple[float, float], holder: int) -> Iterator[Shape]:
    yield Circle(layer="numbers", center=at, radius=1.05 * CAPITAL)
    yield Label(layer="text", at=(at[0], at[1] - 0.5 * CAPITAL), text=str(holder + 1), height=CAPITAL, anchor="middle")


def _box(low: tuple[float, float], high: tuple[float, float], layer: str) -> Polyline:
    (x0, y0), (x1, y1) = low, high
    return Polyline(layer=layer, points=np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]), closed=True)


def _sides(scene: _Scene, scale: float, *, beside: bool) -> Iterator[Shape]:
    (left, front), (right, _) = scene.box / scale
    low, high = (height / scale for height in scene.heights)
    start, bottom = float(left), float(front) - _RIM - _TITLE - (high - low)
    for axis, title in ((0, "Front"), (1, "Right side")):
        yield from _side(scene, scale, axis, (start - float(scene.box[0, axis]) / scale, bottom - low))
        yield Label(layer="text", at=(start, bottom + high - low + 0.8 * CAPITAL), text=title, height=CAPITAL)
        start, bottom = (float(right) + _NOTE, bottom) if beside else (start, bottom - _ROW - _TITLE - (high - low))


def _side(scene: _Scene, scale: float, axis: int, shift: tuple[float, float]) -> Iterator[Shape]:
    """Draw one side view: bed, stock, what stands, and the heights with what they mean."""
    set_up, (dx, dy) = scene.set_up, shift
    stock, bed, box = set_up.stock, set_up.bed, scene.box / scale

    def outline(across: Sequence[float], heights: Sequence[float], layer: str) -> Polyline:
        (a, b), (low, high) = ([value / scale for value in pair] for pair in (across, heights))
        return _box((a + dx, low + dy), (b + dx, high + dy), layer)

    ends = (float(box[0, axis]) + dx, float(box[1, axis]) + dx)
    yield _box((ends[0], (bed.top - bed.thickness) / scale + dy), (ends[1], bed.top / scale + dy), "bed")
    plan = np.asarray(stock.plan)[:, axis]
    yield outline((plan.min(), plan.max()), (stock.origin[2], stock.origin[2] + stock.thickness[1]), "stock")
    for body in scene.answer.bodies:
        if body.high > bed.top:
            sides = (body.box[axis], body.box[axis + 2])
            yield outline(sides, (max(body.low, bed.top), body.high), "holders")
    yield from _levels(scene, scale, ends, dy)
    yield from _side_numbers(scene, scale, axis, shift)


def _levels(scene: _Scene, scale: float, ends: tuple[float, float], dy: float) -> Iterator[Shape]:
    """Draw the heights as lines, their words beside them, pushed apart where they lie close."""
    answer, bed, stock = scene.answer, scene.set_up.bed, scene.set_up.stock
    known = {"bed": bed.top, "stock top": stock.top, "retract": answer.retract, "clearance": answer.clearance}
    levels = sorted(known.items(), key=lambda item: item[1])
    elbow = ends[1] + 1.5 * CAPITAL
    for (name, level), text_y in zip(levels, _apart([level / scale + dy for _, level in levels]), strict=True):
        y = level / scale + dy
        if name in ("retract", "clearance"):
            yield Polyline(layer="heights", points=np.array([(ends[0], y), (ends[1], y)]))
        yield Polyline(layer="leaders", points=np.array([(ends[1], y), (elbow, text_y)]))
        words = f"Z{scene.speaker.bare(level)} {name}"
        yield Label(layer="text", at=(elbow + 0.3 * CAPITAL, text_y - 0.5 * CAPITAL), text=words, height=CAPITAL)


def _apart(heights: Sequence[float]) -> list[float]:
    """Return rising heights pushed apart to the room of a line, about the same middle. [m]"""
    found: list[float] = []
    for height in heights:
        found.append(max(height, found[-1] + 1.45 * CAPITAL) if found else height)
    down = (sum(found) - sum(heights)) / len(found)
    return [height - down for height in found]


def _side_numbers(scene: _Scene, scale: float, axis: int, shift: tuple[float, float]) -> Iterator[Shape]:
    """Draw the numbers of what stands, in a row beneath the bed, where the row has room near it."""
    dx, dy = shift
    bed = scene.set_up.bed
    y = (bed.top - bed.thickness) / scale + dy - 1.6 * CAPITAL
    last, rim = -np.inf, float(scene.box[1, axis]) / scale + dx + 0.5 * CAPITAL
    standing = _tallest(scene.answer.bodies)
    middles = {holder: (body.box[axis] + body.box[axis + 2]) / (2.0 * scale) + dx for holder, body in standing.items()}
    for holder, middle in sorted(middles.items(), key=lambda item: (item[1], item[0])):
        x = max(middle, last + 2.3 * CAPITAL)
        if x > rim or x - middle > _FAR:
            continue
        last = x
        foot = max(standing[holder].low, bed.top) / scale + dy
        yield Polyline(layer="leaders", points=np.array([(middle, foot), (x, y + 1.05 * CAPITAL)]))
        yield from _numbered((x, y), holder)
