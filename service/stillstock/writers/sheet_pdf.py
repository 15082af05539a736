"""The set-up sheet as PDF on two pages: the same bytes each time, standard fonts, nothing above Windows-1252.

Where there is much to clear up or to place it takes a third.
"""

import io
from collections.abc import Iterable, Sequence
from typing import Any

from reportlab.lib import colors
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Paragraph,
    Table,
    TableStyle,
)

from stillstock.answers.sheet import Sheet
from stillstock.engine.drawing import Circle, Drawing, Label, Polyline
from stillstock.writers.extent import extent
from stillstock.writers.sheet_pens import PENS
from stillstock.writers.svg import Pen
from stillstock.writers.text import markup

__all__ = ["MEDIA_TYPE", "sheet_pdf"]

MEDIA_TYPE = "application/pdf"
_POINT = 72.0 / 0.0254  # points in a metre (1 pt = 1/72 in) [1/m]
_CAPITAL = 0.718  # height of a capital of Helvetica over its size (its font metrics, from memory) [-]
_SIZES = (10.0, 9.5, 9.0)  # of the running text, tried from the largest [pt]
_RIM, _GUTTER = 11.0 * mm, 7.0 * mm
_PAGES = 2  # and one more where what must be said takes it


def sheet_pdf(sheet: Sheet) -> bytes:
    """Return the sheet as PDF, in the largest type at which it keeps to two pages, 9 pt at least."""
    for size in _SIZES[:-1]:
        content, pages = _built(sheet, size)
        if pages <= _PAGES + sheet.apart:
            return content
    return _built(sheet, _SIZES[-1])[0]


def _built(sheet: Sheet, size: float) -> tuple[bytes, int]:
    width, height = (side * _POINT for side in sheet.paper.size)
    target = io.BytesIO()
    document = BaseDocTemplate(
        target,
        pagesize=(width, height),
        invariant=1,
        title=_plain(sheet.title),
        author="Stillstock",
        subject="Set-up sheet",
        pageTemplates=_templates(width, height),
    )
    style = _Style(size, width - 2.0 * _RIM)
    document.build([*_first(sheet, style), NextPageTemplate("second"), PageBreak(), *_second(sheet, style)])
    return target.getvalue(), document.page


def _templates(width: float, height: float) -> list[PageTemplate]:
    inner, tall = width - 2.0 * _RIM, height - 2.0 * _RIM
    column = (inner - _GUTTER) / 2.0
    zero = {"leftPadding": 0, "rightPadding": 0, "topPadding": 0, "bottomPadding": 0}
    return [
        PageTemplate(id="first", frames=[Frame(_RIM, _RIM, inner, tall, **zero)]),
        PageTemplate(
            id="second",
            frames=[Frame(x, _RIM, column, tall, **zero) for x in (_RIM, _RIM + column + _GUTTER)],
        ),
    ]


def _plain(text: str) -> str:
    """Return a text in the characters that the standard fonts have; others as question marks."""
    return text.encode("cp1252", "replace").decode("cp1252")


class _Style:
    """Paragraphs and tables in one size of type."""

    def __init__(self, size: float, width: float) -> None:
        self.size, self.width = size, width
        self.body = ParagraphStyle("body", fontName="Helvetica", fontSize=size, leading=1.22 * size, spaceAfter=1)
        self.small = ParagraphStyle("small", parent=self.body, fontSize=9, leading=10.8)
        self.bold = ParagraphStyle("bold", parent=self.body, fontName="Helvetica-Bold")
        self.tick = ParagraphStyle("tick", parent=self.body, leftIndent=14, bulletIndent=0)
        self.heading = ParagraphStyle("heading", parent=self.bold, fontSize=size + 1.5, leading=size + 4, spaceBefore=5)
        self.title = ParagraphStyle("title", parent=self.bold, fontSize=17, leading=20, spaceAfter=2)
        self.verdict = ParagraphStyle("verdict", parent=self.bold, fontSize=14, leading=17)

    def text(self, text: str, style: ParagraphStyle | None = None) -> Paragraph:
        return Paragraph(markup(_plain(text), longest=1000), style or self.body)

    def pair(self, label: str, value: str) -> Paragraph:
        return Paragraph(f"<b>{markup(label)}</b>&nbsp; {markup(_plain(value))}", self.body)

    def grid(self, head: Sequence[str], rows: Iterable[Sequence[str]], shares: Sequence[float]) -> Table:
        cells = [[self.text(cell, self.bold) for cell in head]]
        cells += [[self.text(cell) for cell in row] for row in rows]
        lines = TableStyle(
            [("GRID", (0, 0), (-1, -1), 0.5, colors.black), ("LINEBELOW", (0, 0), (-1, 0), 1.2, colors.black)]
        )
        lines.add("VALIGN", (0, 0), (-1, -1), "TOP")
        return self._table(cells, [share * self.width for share in shares], lines)

    def pairs(self, pairs: Sequence[tuple[str, ...]], columns: int) -> Table:
        cells: list[list[Any]] = [
            [self.pair(pair[0], pair[1]) for pair in pairs[start : start + columns]]
            for start in range(0, len(pairs), columns)
        ]
        cells[-1] += [""] * (columns - len(cells[-1]))
        return self._table(cells, [self.width / columns] * columns, TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP")]))

    def box(self, rows: Sequence[Paragraph]) -> Table:
        return self._table(
            [[row] for row in rows], [self.width], TableStyle([("BOX", (0, 0), (-1, -1), 2, colors.black)])
        )

    def _table(self, cells: list[list[Any]], widths: list[float], lines: TableStyle) -> Table:
        for name, points in (("LEFT", 3), ("RIGHT", 3), ("TOP", 0.8), ("BOTTOM", 1.6)):
            lines.add(f"{name}PADDING", (0, 0), (-1, -1), points)
        return Table(cells, colWidths=widths, style=lines, spaceBefore=1, spaceAfter=2)

    def ticks(self, lines: Iterable[str]) -> list[Flowable]:
        return [_Tick(self.text(line, self.tick), self.size) for line in lines]


class _Tick(Flowable):  # type: ignore[misc]  # reportlab has no types
    """A paragraph with a box to tick before it."""

    def __init__(self, paragraph: Paragraph, size: float) -> None:
        super().__init__()
        self.paragraph, self.side = paragraph, 0.8 * size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width, self.height = self.paragraph.wrap(width, height)
        self.height += 1.0
        return self.width, self.height

    def draw(self) -> None:
        self.paragraph.drawOn(self.canv, 0, 1.0)
        self.canv.setLineWidth(0.8)
        self.canv.rect(0.5, self.height - self.side - 1.2, self.side, self.side)


def _first(sheet: Sheet, style: _Style) -> list[Flowable]:
    story: list[Flowable] = [
        style.text(sheet.title, style.title),
        style.pairs(sheet.head, 4),
        style.box(
            [
                style.text(sheet.verdict_words, style.verdict),
                style.text(sheet.summary, style.bold),
                *(style.text(line) for line in sheet.hold),
            ]
        ),
        _Picture(sheet.picture.drawing),
        style.text(
            f"Scale {sheet.picture.scale} when printed at 100 %. Circle with cross: work zero. Square: worst load. "
            "Grey: what stands.",
            style.small,
        ),
        style.text("Holders", style.heading),
        style.grid(sheet.holders_head, sheet.holders, (0.10, 0.14, 0.27, 0.29, 0.10, 0.10)),
    ]
    if sheet.tools:
        story += [
            style.text("Tools", style.heading),
            style.grid(sheet.tools_head, sheet.tools, (0.08, 0.37, 0.2, 0.35)),
        ]
    return [*story, style.text("Zero and heights", style.heading), style.pairs(sheet.heights, 2)]


def _second(sheet: Sheet, style: _Style) -> list[Flowable]:
    story: list[Flowable] = [
        *([] if sheet.apart else _must(sheet, style)),
        style.text("Steps in order", style.heading),
        *_groups(sheet.steps, style),
        *_section("Check before the start", style.ticks(sheet.checks), style),
        *_section("If it slips", [style.text(sheet.if_it_slips)], style),
        style.text("Taking the part off", style.heading),
        *_groups(sheet.release, style),
    ]
    if sheet.consumables:
        story += _section("Consumables", [_consumable(row, style) for row in sheet.consumables], style)
    if sheet.notes:
        story += _section("Notes", [style.text(line) for line in sheet.notes], style)
    story += _section("Cautions", [style.text(line) for line in sheet.cautions], style)
    record = "First part measured ________  Good ______  Scrap ______  Signed ______________"
    story += _section("Record", [style.text(record)], style)
    story += [style.text(line, style.small) for line in sheet.left_out]
    story.append(style.text(f"A calculation, not a promise. Checked set-up {sheet.fingerprint}", style.small))
    return [*story, PageBreak(), *_must(sheet, style)] if sheet.apart else story


def _must(sheet: Sheet, style: _Style) -> list[Flowable]:
    """Return what may not be left out, however long it is."""
    both = (("Clear up before the start", sheet.clear_up), ("Places of holders", sheet.places))
    return [part for heading, lines in both if lines for part in _section(heading, style.ticks(lines), style)]


def _section(heading: str, content: list[Flowable], style: _Style) -> list[Flowable]:
    """Return a heading that stays with what comes first under it."""
    return [KeepTogether([style.text(heading, style.heading), content[0]]), *content[1:]]


def _groups(groups: Iterable[tuple[str, tuple[str, ...]]], style: _Style) -> list[Flowable]:
    story: list[Flowable] = []
    for heading, lines in groups:
        if lines:
            ticks = style.ticks(lines)
            story += [CondPageBreak(4.0 * style.size), style.text(heading, style.bold), *ticks]
    return story


def _consumable(row: Sequence[str], style: _Style) -> Paragraph:
    name, opened, made, doubt, end, state = (markup(_plain(cell)) for cell in row)
    return Paragraph(
        f"<b>{name}</b>: opened {opened}, made {made}; test from {doubt}, replace from {end}. State: <b>{state}</b>",
        style.body,
    )


class _Picture(Flowable):  # type: ignore[misc]  # reportlab has no types
    """A drawing in true paper size, in the middle of the column."""

    def __init__(self, drawing: Drawing) -> None:
        super().__init__()
        self.drawing = drawing
        self.box = tuple(value * _POINT for value in extent(drawing))

    def wrap(self, width: float, _: float) -> tuple[float, float]:
        x0, y0, x1, y1 = self.box
        self.left = max(0.0, (width - (x1 - x0)) / 2.0)
        return width, y1 - y0 + 4.0

    def draw(self) -> None:
        self.canv.translate(self.left - self.box[0], 2.0 - self.box[1])
        shapes = self.drawing.shapes
        for layer in self.drawing.layers:
            for shape in (one for one in shapes if one.layer == layer):
                self._shape(shape, PENS[layer])

    def _shape(self, shape: Polyline | Circle | Label, pen: Pen) -> None:
        canvas = self.canv
        canvas.setStrokeColor(colors.HexColor(_long(pen.colour)))
        canvas.setLineWidth(pen.width * _POINT)
        canvas.setDash([length * _POINT for length in pen.dash])
        filled = pen.fill != "none"
        if filled:
            canvas.setFillColor(colors.HexColor(_long(pen.fill)))
        if isinstance(shape, Label):
            self._label(shape)
        elif isinstance(shape, Circle):
            x, y = (value * _POINT for value in shape.center)
            canvas.circle(x, y, shape.radius * _POINT, fill=int(filled))
        else:
            self._line(shape, filled=filled)

    def _label(self, label: Label) -> None:
        canvas, (x, y) = self.canv, (value * _POINT for value in label.at)
        canvas.setFillColor(colors.black)
        canvas.setFont("Helvetica", label.height * _POINT / _CAPITAL)
        draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
        draw[label.anchor](x, y, _plain(label.text))

    def _line(self, line: Polyline, *, filled: bool) -> None:
        rows = (line.points * _POINT).tolist()
        path = self.canv.beginPath()
        path.moveTo(rows[0][0], rows[0][1])
        for row in rows[1:]:
            path.lineTo(row[0], row[1])
        if line.closed:
            path.close()
        self.canv.drawPath(path, fill=int(filled and line.closed))


def _long(colour: str) -> str:
    """Return a colour of three hexadecimal digits with six."""
    return colour if len(colour) == 7 else "#" + "".join(2 * digit for digit in colour[1:])
