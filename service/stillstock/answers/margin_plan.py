"""The plan of a judged set-up: stock, holders with their numbers, and the tool path coloured by its margin."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from stillstock.answers.let_go_drawing import arrow
from stillstock.answers.lettering import Free, boxed, cut_to, room_of
from stillstock.answers.margin_scale import class_of, layer_of
from stillstock.answers.margin_words import in_ascii
from stillstock.answers.path_margins import PathMargins
from stillstock.answers.strokes import Strokes, strokes_of
from stillstock.engine.drawing import Circle, Label, Polyline
from stillstock.engine.holding.contacts import Bond, Contacts, Pin, Push, Rest, Rub
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import FloatArray, SetUp

__all__ = ["Plan", "Shape", "core_extent", "plan_of"]

#: A print shows nothing finer than this many units of the sheet. [-]
FINE = 0.08

#: Parts whose names are written. [-]
NAMED_PARTS = 40

Shape = Polyline | Circle | Label


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Shapes in drawing order, what of it a legend must name, and how much of the path was left out.

    Attributes
    ----------
    shapes : tuple of Shape
    every : int
        One stroke of so many is drawn of those that are no worse than others. [-]
    """

    shapes: tuple[Shape, ...]
    every: int


def core_extent(set_up: SetUp, contacts: Contacts, moves: Moves | None) -> tuple[FloatArray, FloatArray]:
    """Return the least and the greatest x and y of all that the plan must show. (2,), (2,) [m]"""
    points = [set_up.stock.plan, *(cut.path[:, :2] for cut in set_up.cuts)]
    points += [np.array([load.at[:2]]) for load in set_up.loads]
    single: tuple[Push | Rub | Pin, ...] = (*contacts.pushes, *contacts.rubs, *contacts.pins)
    areas: tuple[Rest | Bond, ...] = (*contacts.rests, *contacts.bonds)
    points += [np.array([each.at[:2]]) for each in single]
    points += [each.area for each in areas]
    if moves is not None:
        feeds = (moves.kind == FEED) & moves.known
        points += [moves.start[feeds, :2], moves.end[feeds, :2]]
    every = np.concatenate(points)
    return every.min(axis=0), every.max(axis=0)


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
        yield from arrow("stop", at - 2.2 * size * inward, at, size)
        if rub.preload is None:
            across = np.array([-inward[1], inward[0]]) * size
            yield Polyline(layer="stop", points=np.array([at - across, at + across]))
    for pin in contacts.pins:
        yield Circle(layer="fastener", center=(pin.at[0], pin.at[1]), radius=0.6 * size)


def _number_places(contacts: Contacts, size: float) -> dict[int, FloatArray]:
    """Return where each holder's number is best written: on an area, beside a point that it would hide."""
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


def _numbers(contacts: Contacts, free: Free, size: float) -> Iterator[Shape]:
    half = np.full(2, 0.85 * size)
    for holder, wished in sorted(_number_places(contacts, size).items()):
        at = free.place(wished, half, step=0.5 * size)
        x, y = float(at[0]), float(at[1])
        yield Circle(layer="numbers", center=(x, y), radius=0.8 * size)
        text = str(holder + 1)
        height = 0.72 * size if len(text) < 3 else 0.55 * size
        yield Label(layer="numbers", at=(x, y - height / 2.0), text=text, height=height, anchor="middle")


def _parts(set_up: SetUp, size: float) -> Iterator[Shape]:
    """Draw each part that comes free, and the tabs that hold it then."""
    for part in set_up.parts:
        yield Polyline(layer="part", points=part.outline, closed=True)
        for x, y in (holder.at for holder in part.held_by if hasattr(holder, "at")):
            corners = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]) * 0.4 * size + (x, y)
            yield Polyline(layer="tab", points=corners, closed=True)


def _part_names(set_up: SetUp, free: Free, unit: float) -> Iterator[Shape]:
    height = 1.9 * unit
    for part in set_up.parts[:NAMED_PARTS]:
        words = cut_to(in_ascii(part.name), 24)
        half = np.array([room_of(words, height) / 2.0 + 0.5 * height, 1.1 * height])
        middle = free.place(part.outline.mean(axis=0), half, step=1.5 * unit)
        yield from boxed(words, (float(middle[0]), float(middle[1])), height, frame="numbers", layer="numbers")


def _drawn(strokes: Strokes, *, radius: float, plain: bool) -> Iterator[Shape]:
    for number, points in strokes.lines:
        yield Polyline(layer="idle" if plain else layer_of(number), points=points)
    for number, at in strokes.dots:
        yield Circle(layer="idle" if plain else layer_of(number), center=(float(at[0]), float(at[1])), radius=radius)


def _idle(set_up: SetUp, moves: Moves | None, along: PathMargins | None) -> tuple[FloatArray, FloatArray]:
    """Return both ends of what is fed along without a margin: moves that cut nothing, cuts that were not judged."""
    pairs: list[tuple[FloatArray, FloatArray]] = [(np.zeros((0, 3)), np.zeros((0, 3)))]
    if moves is not None:
        sideways = np.any(moves.start[:, :2] != moves.end[:, :2], axis=1)
        idle = (moves.kind == FEED) & moves.known & sideways
        if along is not None:
            idle &= ~np.isin(moves.line, along.line[along.cut < 0])
        pairs.append((moves.start[idle], moves.end[idle]))
    if along is None:
        pairs += [(cut.path[:-1], cut.path[1:]) for cut in set_up.cuts]
        pairs += [(cut.path, cut.path) for cut in set_up.cuts if len(cut.path) == 1]
    starts, ends = zip(*pairs, strict=True)
    return np.concatenate(starts), np.concatenate(ends)


def _single(set_up: SetUp, along: PathMargins, row: int, number: int, unit: float) -> Iterator[Shape]:
    """Draw a hole as large as its tool, and a given load as an arrow along its push in plan."""
    cut, at = int(along.cut[row]), along.start[row, :2]
    layer, center = layer_of(number), (float(at[0]), float(at[1]))
    if cut < len(set_up.cuts):
        yield Circle(layer=layer, center=center, radius=set_up.tools[set_up.cuts[cut].tool].diameter / 2.0)
        return
    push = np.array(set_up.loads[cut - len(set_up.cuts)].force[:2])
    yield Circle(layer=layer, center=center, radius=unit)
    if np.hypot(*push) > 0.0:
        yield from arrow(layer, at, at + 9.0 * unit * push / np.hypot(*push), 2.0 * unit)


def _path(set_up: SetUp, moves: Moves | None, along: PathMargins | None, unit: float) -> tuple[list[Shape], int]:
    fine, radius = FINE * unit, 0.8 * unit
    start, end = _idle(set_up, moves, along)
    bare = strokes_of(start, end, np.zeros(len(start), dtype=np.int64), fine=fine)
    shapes = list(_drawn(bare, radius=radius, plain=True))
    if along is None:
        return shapes, bare.every
    kind = class_of(along.lower, set_up.required)
    single = (along.cut >= 0) & np.all(along.start == along.end, axis=1)
    coloured = strokes_of(along.start[~single], along.end[~single], kind[~single], fine=fine)
    shapes += _drawn(coloured, radius=radius, plain=False)
    for row in np.nonzero(single)[0].tolist():
        shapes += _single(set_up, along, row, int(kind[row]), unit)
    return shapes, max(bare.every, coloured.every)


def _worst(at: FloatArray, words: str, free: Free, unit: float) -> Iterator[Shape]:
    """Mark the place of the worst load with a cross in a circle, and say beside it where that is."""
    size = 2.6 * unit
    cross = 0.7 * size * np.array([(-1.0, -1.0), (1.0, 1.0)])
    for side in (1.0, -1.0):
        yield Polyline(layer="worst", points=at + cross * (1.0, side))
    yield Circle(layer="worst", center=(float(at[0]), float(at[1])), radius=size)
    height = 1.9 * unit
    half = np.array([room_of(words, height) / 2.0 + 0.5 * height, 1.1 * height])
    middle = free.place(at + np.array([half[0] + 1.3 * size, 0.0]), half, step=1.5 * unit)
    yield from boxed(words, (float(middle[0]), float(middle[1])), height, frame="numbers", layer="numbers")


def plan_of(
    set_up: SetUp,
    contacts: Contacts,
    *,
    moves: Moves | None,
    along: PathMargins | None,
    worst: tuple[FloatArray, str] | None,
    moving: Sequence[Shape],
    unit: float,
) -> Plan:
    """Draw stock, holders, tool path, the worst place and how the stock lets go.

    Parameters
    ----------
    set_up : SetUp
    contacts : Contacts
    moves : Moves or None
        Of the program.
    along : PathMargins or None
        Margins by which the path is coloured; None where none is known.
    worst : ((2,) array, str) or None
        Place of the worst load and what is written beside it. [m]
    moving : sequence of Shape
        How the stock lets go.
    unit : float
        Of the sheet: a millimetre of an A4 print. [m]
    """
    size, free = 3.0 * unit, Free()
    shapes: list[Shape] = [Polyline(layer="stock", points=set_up.stock.plan, closed=True)]
    shapes += [Polyline(layer="bed", points=void, closed=True) for void in set_up.bed.voids]
    shapes += _parts(set_up, size)
    path, every = _path(set_up, moves, along, unit)
    shapes += path
    shapes += _holders(contacts, size)
    shapes += moving
    if worst is not None:
        free.take(worst[0], np.full(2, 2.6 * unit))
    shapes += _numbers(contacts, free, size)
    shapes += _part_names(set_up, free, unit)
    if worst is not None:
        shapes += _worst(worst[0], worst[1], free, unit)
    return Plan(shapes=tuple(shapes), every=every)
