"""Drawings as SVG in true millimetres: one user unit is 1 mm, no transform, nothing loaded from elsewhere."""

from collections.abc import Mapping
from dataclasses import dataclass

from stillstock.engine.drawing import Circle, Drawing, Label, Polyline
from stillstock.writers.extent import extent
from stillstock.writers.text import markup
from stillstock.writers.unit import trimmed

__all__ = ["MEDIA_TYPE", "Pen", "svg"]

MEDIA_TYPE = "image/svg+xml"
_CAPITAL = 0.72  # height of a capital of a plain sans-serif, over its size (common practice, no source) [-]


@dataclass(frozen=True, kw_only=True)
class Pen:
    """How a layer is drawn.

    Attributes
    ----------
    width : float
        Of the stroke. [m]
    colour, fill : str
        Colours as SVG takes them; nothing is filled unless said.
    dash : tuple of float
        Lengths of dash and gap; none for a full line. [m]
    """

    width: float = 0.0002
    colour: str = "#000"
    fill: str = "none"
    dash: tuple[float, ...] = ()


def svg(drawing: Drawing, *, pens: Mapping[str, Pen] | None = None, border: float = 0.002, decimals: int = 3) -> bytes:
    """Return a drawing as a whole SVG document, UTF-8.

    Parameters
    ----------
    drawing : Drawing
        What to draw. [m]
    pens : mapping of layer name to Pen, or None
        Layers not named here get a thin black line.
    border : float
        Room between the shapes and the edge of the page. [m]
    decimals : int
        Of a millimetre: 3 for metric drawings, 6 where inch fractions must stay exact. [-]

    Returns
    -------
    bytes
        One ``<g>`` a layer, in the order of `drawing.layers`, its ``id`` the layer's name. Y runs downward in SVG, so
        it is measured from the upper edge of the page.

    Raises
    ------
    ValueError
        If the drawing is empty or a coordinate is not finite.
    """
    pens = pens or {}
    x0, y0, x1, y1 = extent(drawing)
    page = _Page(left=x0 - border, upper=y1 + border, decimals=decimals)
    width, height = page.length(x1 - x0 + 2 * border), page.length(y1 - y0 + 2 * border)
    rows: dict[str, list[str]] = {layer: [] for layer in drawing.layers}
    for shape in drawing.shapes:
        rows[shape.layer].append(_element(shape, page))
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">',
        f"<title>{markup(drawing.title)}</title>",
        f"<desc>{markup(drawing.description, longest=2000)}</desc>",
    ]
    for layer, elements in rows.items():
        if elements:
            lines += [_group(layer, pens.get(layer, Pen()), page), *elements, "</g>"]
    return ("\n".join([*lines, "</svg>"]) + "\n").encode()


@dataclass(frozen=True, kw_only=True)
class _Page:
    left: float
    upper: float
    decimals: int

    def length(self, value: float) -> str:
        return trimmed(value * 1000.0, self.decimals)

    def x(self, value: float) -> str:
        return trimmed((value - self.left) * 1000.0, self.decimals)

    def y(self, value: float) -> str:
        return trimmed((self.upper - value) * 1000.0, self.decimals)


def _group(layer: str, pen: Pen, page: _Page) -> str:
    dash = " ".join(page.length(length) for length in pen.dash)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<g id="{markup(layer)}" fill="{markup(pen.fill)}" stroke="{markup(pen.colour)}" '
        f'stroke-width="{page.length(pen.width)}" stroke-linecap="butt"{dashes}>'
    )


def _element(shape: Polyline | Circle | Label, page: _Page) -> str:
    if isinstance(shape, Circle):
        (x, y), r = shape.center, shape.radius
        return f'<circle cx="{page.x(x)}" cy="{page.y(y)}" r="{page.length(r)}"/>'
    if isinstance(shape, Label):
        (x, y), size = shape.at, page.length(shape.height / _CAPITAL)
        return (
            f'<text x="{page.x(x)}" y="{page.y(y)}" font-size="{size}" font-family="sans-serif" '
            f'text-anchor="{shape.anchor}" fill="#000" stroke="none">{markup(shape.text)}</text>'
        )
    rows = shape.points.tolist()
    if len(rows) == 2 and not shape.closed:
        (xa, ya), (xb, yb) = rows[0][:2], rows[1][:2]
        return f'<line x1="{page.x(xa)}" y1="{page.y(ya)}" x2="{page.x(xb)}" y2="{page.y(yb)}"/>'
    points = " ".join(f"{page.x(row[0])},{page.y(row[1])}" for row in rows)
    return f'<{"polygon" if shape.closed else "polyline"} points="{points}"/>'
