"""The drawing of a spoilboard: every mark on a layer named for what it is."""

from collections.abc import Iterator, Sequence

import numpy as np

from stillstock.answers.grid_layout import Layout
from stillstock.answers.grid_request import GridRequest
from stillstock.engine.drawing import Circle, Drawing, Label, Polyline
from stillstock.engine.grid.passes import Bored
from stillstock.engine.grid.pattern import existing_places
from stillstock.engine.grid.request import Circle2D
from stillstock.engine.grid.skim import skim_strokes
from stillstock.engine.set_up import FloatArray

__all__ = ["board_drawing", "cut_layers", "known_length_label"]

_KNOWN = {"metric": 0.1, "inch": 0.1016}  # length of the check line: 100 mm, 4 in [m]
_LAYERS = (
    "table_outline",
    "keep_outs",
    "existing_holes",
    "lines_fine",
    "lines_major",
    "crosses",
    "dots",
    "counterbores",
    "holes",
    "underside",
    "dowel_holes",
    "zero",
    "text",
    "skim",
    "known_length",
)


def cut_layers(work: Layout) -> dict[str, float]:
    """Return the depth of every layer that is cut, the greatest where it varies. [m]"""
    depths = {cut.layer: cut.depth for cut in work.cuts}
    if len(work.dots):
        depths["dots"] = work.asked.depth
    for bore in work.bores:
        depths[bore.layer] = max(bore.cut.depth, depths.get(bore.layer, 0.0))
        if bore.cut.counterbore:
            depths["counterbores"] = bore.cut.counterbore[1]
    if work.asked.skim:
        depths["skim"] = work.asked.skim.depth
    return {layer: depths[layer] for layer in _LAYERS if layer in depths}


def board_drawing(work: Layout) -> Drawing:
    """Return all geometry of a board, also what is not cut."""
    asked = work.asked
    x0, y0, x1, y1 = asked.table.box
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    shapes: list[Polyline | Circle | Label] = [Polyline(layer="table_outline", points=corners, closed=True)]
    for keep_out in asked.keep_outs:
        shape = keep_out.shape
        if isinstance(shape, Circle2D):
            shapes.append(Circle(layer="keep_outs", center=shape.at, radius=shape.radius))
        else:
            shapes.append(Polyline(layer="keep_outs", points=shape.outline, closed=True))
    if asked.pattern.existing:
        radius = asked.pattern.existing.diameter / 2.0
        shapes += _circles("existing_holes", existing_places(asked.pattern.existing), radius)
    shapes += [Polyline(layer=cut.layer, points=cut.points) for cut in work.cuts]
    shapes += _circles("dots", work.dots, work.width / 2.0)
    shapes += [shape for bore in work.bores for shape in _bored(bore)]
    if asked.skim:
        path = skim_strokes(asked.table.box, wanted=asked.skim)[0]  # every pass runs along the same rows
        shapes.append(Polyline(layer="skim", points=path.points[:, :2]))
    below = min(y0, _lowest(shapes)) - 0.01
    known = np.array([(x0, below), (x0 + _KNOWN[asked.system], below)])
    shapes.append(Polyline(layer="known_length", points=known))
    used = {shape.layer for shape in shapes}
    place = f"Work zero: {_zero_words(asked)} the lower left corner of the table."
    length = f"The line on the layer known_length is {asked.length(_KNOWN[asked.system])} long."
    return Drawing(
        title=asked.title,
        description=f"{place} {length}",
        layers=tuple(layer for layer in _LAYERS if layer in used),
        shapes=tuple(shapes),
    )


def known_length_label(asked: GridRequest, drawing: Drawing) -> Iterator[Label]:
    """Yield the length of the check line, to be written beside it: in a picture only, for a cut has no use for it."""
    for shape in drawing.shapes:
        if shape.layer == "known_length" and isinstance(shape, Polyline):
            length = _KNOWN[asked.system]
            (x, y), height = shape.points.max(axis=0).tolist(), length / 20.0
            yield Label(layer=shape.layer, at=(x + height, y), text=asked.length(length), height=height)


def _zero_words(asked: GridRequest) -> str:
    """Return where the work zero lies from the table's lower left corner."""
    x0, y0, _, _ = asked.table.box
    sides = ((x0, "left of", "right of"), (y0, "below", "above"))
    return " and ".join(f"{asked.length(abs(value))} {sign[value <= 0.0]}" for value, *sign in sides)


def _circles(layer: str, places: FloatArray, radius: float) -> list[Circle]:
    return [Circle(layer=layer, center=(x, y), radius=radius) for x, y in places.tolist()]


def _bored(bore: Bored) -> list[Circle]:
    sizes = [(bore.layer, bore.cut.diameter)]
    for layer, wider in (("counterbores", bore.cut.counterbore), ("underside", bore.cut.underside)):
        if wider:
            sizes.append((layer, wider[0]))
    return [Circle(layer=layer, center=bore.at, radius=size / 2.0) for layer, size in sizes]


def _lowest(shapes: Sequence[Polyline | Circle | Label]) -> float:
    return min(float(shape.points[:, 1].min()) for shape in shapes if isinstance(shape, Polyline))
