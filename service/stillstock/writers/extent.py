"""How much room a drawing takes, and that all of it is finite."""

import math

from stillstock.engine.drawing import Circle, Drawing, Label, Polyline

__all__ = ["extent"]

_LETTER_WIDTH = 0.9  # of the height of a capital: wide enough for any plain sans-serif [-]


def extent(drawing: Drawing) -> tuple[float, float, float, float]:
    """Return least x, least y, greatest x and greatest y of all shapes. [m]

    Raises
    ------
    ValueError
        If there is nothing to draw, a coordinate is not finite, or a shape stands on a layer that is not named.
    """
    boxes = [_box(shape) for shape in drawing.shapes]
    unknown = {shape.layer for shape in drawing.shapes} - set(drawing.layers)
    if unknown:
        raise ValueError(f"shapes on layers that the drawing does not name: {sorted(unknown)}")
    if not boxes:
        raise ValueError("an empty drawing has no extent")
    # A sum is not finite if any of its terms is not, which min() and max() would let through.
    if not math.isfinite(sum(sum(map(abs, box)) for box in boxes)):
        raise ValueError("a coordinate is not finite")
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def _box(shape: Polyline | Circle | Label) -> tuple[float, float, float, float]:
    if isinstance(shape, Polyline):
        rows = shape.points.tolist()
        xs, ys = [row[0] for row in rows], [row[1] for row in rows]
        if not all(map(math.isfinite, xs + ys)):
            raise ValueError("a coordinate is not finite")
        return min(xs), min(ys), max(xs), max(ys)
    if isinstance(shape, Circle):
        (x, y), r = shape.center, shape.radius
        return x - r, y - r, x + r, y + r
    (x, y), width = shape.at, _LETTER_WIDTH * shape.height * max(1, len(shape.text))
    start = {"start": x, "middle": x - width / 2, "end": x - width}[shape.anchor]
    return start, y - 0.3 * shape.height, start + width, y + shape.height
