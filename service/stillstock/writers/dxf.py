"""Drawings as DXF, R2000 or R12: open lines, named layers, units stated wherever a reader may look for them.

The frame of the file (header, tables, blocks, objects) is written by ezdxf; the entities are written here as text and
set into it, since building an object for each line took most of the time: see the bench of the grid for both figures.
"""

import io
from collections.abc import Mapping

from ezdxf import options  # type: ignore[attr-defined]  # public, though not listed as exported
from ezdxf.document import Drawing as Document

from stillstock.engine.drawing import Circle, Drawing, Label, Polyline
from stillstock.writers.extent import extent
from stillstock.writers.text import clean
from stillstock.writers.unit import WrittenUnit, fixed

__all__ = ["MEDIA_TYPE", "dxf", "dxf_r12"]

MEDIA_TYPE = "image/vnd.dxf"
_ENTITIES = "  2\nENTITIES\n"
_ANCHORS = {"start": 0, "middle": 1, "end": 2}
_SPARE_HANDLES = 64  # between our entities and whatever the frame still hands out [-]


def dxf(drawing: Drawing, *, unit: WrittenUnit, colours: Mapping[str, int] | None = None) -> bytes:
    r"""Return a drawing as DXF R2000, with $INSUNITS and $MEASUREMENT for `unit`; the same bytes each time.

    Parameters
    ----------
    drawing : Drawing
        What to write. [m]
    unit : WrittenUnit
        In which the numbers stand.
    colours : mapping of layer name to colour index, or None
        Layers not named here get 7, black or white as the reader's ground demands. [-]

    Returns
    -------
    bytes
        In the code page that the file names; other characters as ``\U+xxxx``.

    Raises
    ------
    ValueError
        If the drawing is empty or a coordinate is not finite: an audit does not see that.
    """
    document = _document("R2000", drawing, unit, colours or {})
    owner = f"330\n{document.modelspace().layout_key}\n100\nAcDbEntity\n"
    return _written(document, _R2000(unit, owner, int(str(document.entitydb.handles), 16)), drawing)


def dxf_r12(drawing: Drawing, *, unit: WrittenUnit, colours: Mapping[str, int] | None = None) -> bytes:
    """Return a drawing as DXF R12, which knows no units: they stand in a text below the shapes.

    Parameters
    ----------
    drawing : Drawing
        What to write. [m]
    unit : WrittenUnit
        In which the numbers stand.
    colours : mapping of layer name to colour index, or None
        As in `dxf`. [-]

    Returns
    -------
    bytes
        In the code page that the file names.

    Raises
    ------
    ValueError
        As `dxf` does.
    """
    return _written(_document("R12", drawing, unit, colours or {}), _R12(unit), drawing)


def _document(version: str, drawing: Drawing, unit: WrittenUnit, colours: Mapping[str, int]) -> Document:
    # Times, GUIDs and stamps would differ on every call. The switch is global, but nothing here ever clears it.
    options.write_fixed_meta_data_for_testing = True
    document: Document = Document.new(version)
    if version != "R12":
        document.header["$INSUNITS"] = unit.insunits
        document.header["$MEASUREMENT"] = unit.measurement
    x0, y0, x1, y1 = (value / unit.size for value in extent(drawing))
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (x0, y0, 0.0), (x1, y1, 0.0)
    # The sheet of the drawing is in its unit too: 420 by 297 would be a sheet of ten metres in inches.
    document.active_layout().reset_limits((0.0, 0.0), (0.42 / unit.size, 0.297 / unit.size))
    document.modelspace().reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
    document.modelspace().reset_limits((x0, y0), (x1, y1))
    for layer in (*drawing.layers, "notes"):
        if layer not in document.layers:
            document.layers.add(layer, color=colours.get(layer, 7))
    return document


def _written(document: Document, entities: "_R12", drawing: Drawing) -> bytes:
    x0, y0, _, _ = extent(drawing)
    height = entities.unit.known_length / 25.0
    notes = (
        f"Unit: {entities.unit.name} ({entities.unit.word}). {clean(drawing.title, longest=100)}",
        clean(drawing.description, longest=250),
    )
    labels = [
        Label(layer="notes", at=(x0, y0 - (2.0 + 2.0 * row) * height), text=text, height=height)
        for row, text in enumerate(notes)
        if text
    ]
    text = "".join(map(entities.text, [*drawing.shapes, *labels]))
    if entities.last_handle:
        document.entitydb.handles.reset(f"{entities.last_handle + _SPARE_HANDLES:X}")
    frame = io.StringIO()
    document.write(frame)
    head, mark, tail = frame.getvalue().partition(_ENTITIES)
    if not mark:
        raise ValueError("the frame of the file has no section of entities")
    return bytes(document.encode(head + mark + text + tail))


class _R12:
    """Entities as R12 writes them: no handles, no subclasses."""

    owner = ""
    line = circle = label = label_end = ""

    def __init__(self, unit: WrittenUnit) -> None:
        self.unit = unit
        self.last_handle = 0

    def text(self, shape: Polyline | Circle | Label) -> str:
        if isinstance(shape, Circle):
            x, y = self.point(shape.center)
            radius = self.number(shape.radius)
            return f"  0\nCIRCLE\n{self.common(shape.layer)}{self.circle} 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{radius}\n"
        if isinstance(shape, Label):
            return self._label(shape)
        rows = [self.point((row[0], row[1])) for row in shape.points.tolist()]
        if len(rows) == 2 and not shape.closed:
            (xa, ya), (xb, yb) = rows
            return (
                f"  0\nLINE\n{self.common(shape.layer)}{self.line}"
                f" 10\n{xa}\n 20\n{ya}\n 30\n0.0\n 11\n{xb}\n 21\n{yb}\n 31\n0.0\n"
            )
        return self.polyline(shape.layer, rows, closed=int(shape.closed))

    def polyline(self, layer: str, rows: list[tuple[str, str]], *, closed: int) -> str:
        common = self.common(layer)
        vertices = "".join(f"  0\nVERTEX\n{common} 10\n{x}\n 20\n{y}\n 30\n0.0\n" for x, y in rows)
        head = f"  0\nPOLYLINE\n{common} 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n{closed}\n"
        return f"{head}{vertices}  0\nSEQEND\n{common}"

    def common(self, layer: str) -> str:
        return f"  8\n{layer}\n"

    def number(self, value: float) -> str:
        return fixed(value / self.unit.size, self.unit.decimals)

    def point(self, at: tuple[float, float]) -> tuple[str, str]:
        return self.number(at[0]), self.number(at[1])

    def _label(self, shape: Label) -> str:
        x, y = self.point(shape.at)
        height, anchor = self.number(shape.height), _ANCHORS[shape.anchor]
        place = f" 72\n{anchor}\n 11\n{x}\n 21\n{y}\n 31\n0.0\n" if anchor else ""
        return (
            f"  0\nTEXT\n{self.common(shape.layer)}{self.label} 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{height}\n"
            f"  1\n{_literal(shape.text)}\n{place}{self.label_end}"
        )


class _R2000(_R12):
    """Entities as R2000 writes them: each with a handle, its owner and its subclass."""

    line, circle = "100\nAcDbLine\n", "100\nAcDbCircle\n"
    label = label_end = "100\nAcDbText\n"

    def __init__(self, unit: WrittenUnit, owner: str, first_handle: int) -> None:
        super().__init__(unit)
        self.owner = owner
        self.last_handle = first_handle + _SPARE_HANDLES

    def common(self, layer: str) -> str:
        self.last_handle += 1
        return f"  5\n{self.last_handle:X}\n{self.owner}  8\n{layer}\n"

    def polyline(self, layer: str, rows: list[tuple[str, str]], *, closed: int) -> str:
        vertices = "".join(f" 10\n{x}\n 20\n{y}\n" for x, y in rows)
        return f"  0\nLWPOLYLINE\n{self.common(layer)}100\nAcDbPolyline\n 90\n{len(rows)}\n 70\n{closed}\n{vertices}"


def _literal(text: str) -> str:
    """Return text that shows as it stands: ``^`` and ``%%`` begin codes in DXF; letters beyond U+FFFF have none."""
    shown = clean(text, longest=250).replace("%%", "% %").replace("^", "^ ")
    return "".join(letter if ord(letter) <= 0xFFFF else "\ufffd" for letter in shown).replace("\\", "/")
