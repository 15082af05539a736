"""The margin as a picture: stock, holders, tool path, the worst point, and how the stock lets go."""

from collections.abc import Iterator, Sequence

import numpy as np

from stillstock.answers.margin import MarginAnswer
from stillstock.answers.margin_words import in_ascii
from stillstock.engine.drawing import Circle, Drawing, Label, Polyline
from stillstock.engine.holding.contacts import Bond, Contacts, Rest
from stillstock.engine.mechanics.motion import LetGo, Motion
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.units import System, present, unit_name

__all__ = ["LAYERS", "margin_drawing", "motion_shapes", "plan_shapes"]

#: Layers from the bottom up.
LAYERS = (
    "bed", "stock", "suction", "bond", "path", "press", "stop", "fastener", "moved-stock", "pivot", "motion", "worst",
    "numbers", "text",
)  # fmt: skip

#: How far the picture moves the stock, as a share of its size. [-]
SHOWN = 0.06

Shape = Polyline | Circle | Label


def _circle_of_text(at: tuple[float, float], text: str, size: float) -> list[Shape]:
    return [
        Circle(layer="numbers", center=at, radius=0.8 * size),
        Label(layer="numbers", at=(at[0], at[1] - 0.36 * size), text=text, height=0.72 * size, anchor="middle"),
    ]


def _arrow(layer: str, start: FloatArray, end: FloatArray, head: float) -> list[Shape]:
    along = (end - start) / max(float(np.hypot(*(end - start))), 1e-12)
    side = np.array([-along[1], along[0]])
    barbs = np.array([end - head * along + 0.45 * head * side, end, end - head * along - 0.45 * head * side])
    return [Polyline(layer=layer, points=np.array([start, end])), Polyline(layer=layer, points=barbs)]


def _holders(contacts: Contacts, size: float) -> Iterator[Shape]:
    """Draw each contact as what it is: areas as outlines, points as circles, side contacts as arrows into the stock."""
    for rest in contacts.rests:
        yield Polyline(layer="suction", points=rest.area, closed=True)
    for bond in contacts.bonds:
        yield Polyline(layer="bond", points=bond.area, closed=True)
    for push in contacts.pushes:
        if push.toe is not None:
            yield Polyline(layer="press", points=push.toe, closed=True)
    for rub in contacts.rubs:
        at, inward = np.array(rub.at[:2]), np.array(rub.normal[:2])
        yield from _arrow("stop", at - 2.2 * size * inward, at, size)
        if rub.preload is None:
            across = np.array([-inward[1], inward[0]]) * size
            yield Polyline(layer="stop", points=np.array([at - across, at + across]))
    for pin in contacts.pins:
        yield Circle(layer="fastener", center=(pin.at[0], pin.at[1]), radius=0.6 * size)


def _number_places(contacts: Contacts, size: float) -> dict[int, FloatArray]:
    """Return where each holder's number is written: on an area, beside a point that it would hide."""
    found: dict[int, list[FloatArray]] = {}
    areas: tuple[Rest | Bond, ...] = (*contacts.rests, *contacts.bonds)
    for each in areas:
        found.setdefault(each.holder, []).append(each.area.mean(axis=0))
    for push in contacts.pushes:
        found.setdefault(push.holder, []).append(np.array(push.at[:2]))
    for rub in contacts.rubs:
        outside = np.array(rub.at[:2]) - 3.4 * size * np.array(rub.normal[:2])
        found.setdefault(rub.holder, []).append(outside)
    for pin in contacts.pins:
        found.setdefault(pin.holder, []).append(np.array(pin.at[:2]) + 1.5 * size)
    return {holder: np.mean(places, axis=0) for holder, places in found.items() if holder >= 0}


def _paths(set_up: SetUp, moves: Moves | None) -> Iterator[Shape]:
    for cut in set_up.cuts:
        if len(cut.path) > 1:
            yield Polyline(layer="path", points=cut.path[:, :2])
        else:
            yield Circle(
                layer="path", center=(cut.path[0, 0], cut.path[0, 1]), radius=set_up.tools[cut.tool].diameter / 2
            )
    if moves is not None:
        yield from path_shapes(moves)


def path_shapes(moves: Moves) -> Iterator[Polyline]:
    """Draw the feeding moves of a program, joined where one starts as the last has ended."""
    feed = np.nonzero((moves.kind == FEED) & moves.known)[0]
    if not len(feed):
        return
    apart = np.any(np.abs(moves.start[feed[1:]] - moves.end[feed[:-1]]) > 1e-9, axis=1) | (np.diff(feed) > 1)
    for run in np.split(feed, np.nonzero(apart)[0] + 1):
        points = np.concatenate([moves.start[run[:1], :2], moves.end[run, :2]])
        distinct = np.concatenate([[True], np.any(np.diff(points, axis=0) != 0.0, axis=1)])
        if distinct.sum() > 1:
            yield Polyline(layer="path", points=points[distinct])


def plan_shapes(set_up: SetUp, contacts: Contacts, moves: Moves | None, *, size: float) -> list[Shape]:
    """Draw stock, holders with their numbers from 1, and tool path in plan.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
    moves : Moves or None
        Of the program.
    size : float
        Of symbols. [m]
    """
    shapes: list[Shape] = [Polyline(layer="stock", points=set_up.stock.plan, closed=True)]
    shapes += [Polyline(layer="bed", points=void, closed=True) for void in set_up.bed.voids]
    shapes += list(_paths(set_up, moves))
    shapes += list(_holders(contacts, size))
    for holder, middle in sorted(_number_places(contacts, size).items()):
        shapes += _circle_of_text((float(middle[0]), float(middle[1])), str(holder + 1), size)
    return shapes


def _turned_arrow(motion: LetGo, center: FloatArray, radius: float, size: float) -> list[Shape]:
    sense = 1.0 if motion.direction[2] > 0.0 else -1.0
    angles = np.linspace(0.2, 1.7, 25) * np.pi
    arc = center + radius * np.column_stack([np.cos(sense * angles), np.sin(sense * angles)])
    return [Polyline(layer="motion", points=arc[:-1]), *_arrow("motion", arc[-2], arc[-1], size)]


def motion_shapes(motion: LetGo, plan: FloatArray, *, size: float) -> list[Shape]:
    """Draw how the stock lets go: its outline moved and dashed, an arrow, the pivot or the axis it tips about.

    Parameters
    ----------
    motion : LetGo
    plan : (n, 2) array
        The stock's outline. [m]
    size : float
        Of symbols. [m]
    """
    reach = SHOWN * float(np.ptp(plan, axis=0).max())
    corners = np.column_stack([plan, np.zeros(len(plan))])
    moved = corners + reach * (motion.twist[:3] + np.cross(motion.twist[3:], corners))
    shapes: list[Shape] = [Polyline(layer="moved-stock", points=moved[:, :2], closed=True)]
    middle = plan.mean(axis=0)
    if motion.kind is Motion.SLIDE:
        shapes += _arrow("motion", middle, middle + 2.5 * reach * np.array(motion.direction[:2]), size)
    elif motion.kind is Motion.LIFT:
        shapes += [
            Circle(layer="motion", center=(float(middle[0]), float(middle[1])), radius=r * size) for r in (1.2, 0.3)
        ]
    elif motion.pivot is not None:
        pivot, axis = np.array(motion.pivot[:2]), np.array(motion.direction[:2])
        if motion.kind is Motion.TIP:
            half = 0.6 * float(np.ptp(plan, axis=0).max())
            shapes.append(Polyline(layer="pivot", points=np.array([pivot - half * axis, pivot + half * axis])))
            falling = pivot + 2.5 * reach * np.array([axis[1], -axis[0]])
            shapes += _arrow("motion", pivot, falling, size)
        else:
            inside = np.clip(pivot, plan.min(axis=0) - 2 * reach, plan.max(axis=0) + 2 * reach)
            shapes += [
                Polyline(layer="pivot", points=inside + size * np.array([(-1.0, 0.0), (1.0, 0.0)])),
                Polyline(layer="pivot", points=inside + size * np.array([(0.0, -1.0), (0.0, 1.0)])),
                *_turned_arrow(motion, inside, 2.5 * size, size),
            ]
    return shapes


def _scale_bar(corner: FloatArray, width: float, size: float, system: System) -> list[Shape]:
    """Draw a bar of a round length in the caller's unit, so that a print can be measured."""
    unit = 1.0 / present(1.0, "length", system)
    room = 0.5 * width / unit
    count = 10.0 ** np.floor(np.log10(room))
    count *= max(step for step in (1.0, 2.0, 5.0) if step * count <= room)
    ends = np.array([corner, corner + np.array([count * unit, 0.0])])
    ticks = [Polyline(layer="text", points=end + np.array([(0.0, -0.3 * size), (0.0, 0.3 * size)])) for end in ends]
    text = Label(
        layer="text",
        at=(float(ends[1, 0]) + 0.5 * size, float(corner[1]) - 0.3 * size),
        text=f"{count:g} {unit_name('length', system)}",
        height=0.7 * size,
    )
    return [Polyline(layer="text", points=ends), *ticks, text]


def _captions(answer: MarginAnswer, left: float, top: float, size: float) -> list[Shape]:
    rows = _wrapped(answer.summary, 60)
    return [
        Label(layer="text", at=(left, top + (len(rows) - 1 - i) * 1.7 * size), text=row, height=size)
        for i, row in enumerate(rows)
    ]


def _wrapped(text: str, width: int) -> Sequence[str]:
    rows, row = [], ""
    for word in text.split():
        if row and len(row) + 1 + len(word) > width:
            rows.append(row)
            row = word
        else:
            row = f"{row} {word}".strip()
    return [*rows, row]


def _moving(set_up: SetUp, answer: MarginAnswer) -> FloatArray:
    """Return the outline of what lets go first: the stock, or the freed part that is the weakest. (n, 2) [m]"""
    weakest = next(
        (part.name for part in answer.parts if (part.typical, part.worst) == (answer.typical, answer.worst)), None
    )
    return next((part.outline for part in set_up.parts if part.name == weakest), set_up.stock.plan)


def margin_drawing(
    set_up: SetUp, contacts: Contacts, answer: MarginAnswer, moves: Moves | None, *, system: System
) -> Drawing:
    """Return the plan of a judged set-up.

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
    plan = set_up.stock.plan
    low, high = plan.min(axis=0), plan.max(axis=0)
    size = 0.018 * float((high - low).max())
    shapes = plan_shapes(set_up, contacts, moves, size=size)
    if answer.let_go is not None:
        shapes += motion_shapes(answer.let_go, _moving(set_up, answer), size=size)
    at = np.array(answer.worst.at[:2])
    cross = size * np.array([(-1.0, -1.0), (1.0, 1.0)])
    shapes += [Polyline(layer="worst", points=at + cross * (1.0, side)) for side in (1.0, -1.0)]
    shapes.append(Circle(layer="worst", center=(float(at[0]), float(at[1])), radius=1.4 * size))
    shapes += _captions(answer, float(low[0]), float(high[1]) + 4.0 * size, 0.9 * size)
    shapes += _scale_bar(low - (0.0, 5.0 * size), float(high[0] - low[0]), size, system)
    return Drawing(
        title=in_ascii(f"Stillstock: {answer.summary}"),
        description="Plan of the set-up: holders numbered as in the document from 1, tool path, the place of the worst "
        "load (circle and cross), and the stock moved as it lets go (dashed).",
        layers=LAYERS,
        shapes=tuple(shapes),
    )
