"""POST /v1/grid: spoilboard patterns as JSON, SVG, DXF and RS-274."""

import re
from collections.abc import Callable
from dataclasses import replace
from functools import wraps

from flask import Blueprint, Response, g

from stillstock.answers.grid import GridAnswer, grid
from stillstock.answers.grid_drawing import known_length_label
from stillstock.answers.grid_request import GridRequest
from stillstock.schemas.grid import load_grid
from stillstock.schemas.grid_answer import grid_document
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.body import Document
from stillstock.web.compute import Renderer, compute_endpoint
from stillstock.web.fingerprint import fingerprint
from stillstock.writers import dxf, gcode, svg
from stillstock.writers.unit import INCH, MILLIMETRE, WrittenUnit

__all__ = ["blueprint"]

blueprint = Blueprint("grid", __name__, url_prefix="/v1")

#: How the layers look: what is not cut stands back.
_PENS = {
    "table_outline": svg.Pen(width=0.0004, colour="#777"),
    "keep_outs": svg.Pen(width=0.0003, colour="#b33", fill="#f7dede"),
    "existing_holes": svg.Pen(width=0.0003, colour="#777"),
    "underside": svg.Pen(width=0.0003, colour="#777", dash=(0.002, 0.001)),
    "lines_major": svg.Pen(width=0.0006),
    "zero": svg.Pen(width=0.0006),
    "text": svg.Pen(width=0.0004),
    "known_length": svg.Pen(width=0.0004, colour="#777"),
}
#: The same as colour indices: 1 red, 3 green, 4 cyan, 5 blue, 8 grey.
_COLOURS = {
    "table_outline": 8,
    "keep_outs": 1,
    "existing_holes": 8,
    "underside": 8,
    "lines_fine": 4,
    "lines_major": 5,
    "text": 3,
    "known_length": 8,
}
_FILE = re.compile(r"[^A-Za-z0-9]+")


def _unit(answer: GridAnswer) -> WrittenUnit:
    return INCH if answer.asked.inch else MILLIMETRE


def _named(answer: GridAnswer, ending: str, word: str) -> None:
    """Note the name under which a browser keeps the file: readers differ in where they look for the unit."""
    title = _FILE.sub("_", answer.asked.title).strip("_").lower()[:60] or "grid"
    g.file_name = f"{title}_{word}.{ending}"


def _svg(answer: GridAnswer) -> bytes:
    _named(answer, "svg", "mm")
    drawing = replace(
        answer.drawing, shapes=(*answer.drawing.shapes, *known_length_label(answer.asked, answer.drawing))
    )
    return svg.svg(drawing, pens=_PENS, decimals=6 if answer.asked.inch else 3)


def _dxf(answer: GridAnswer) -> bytes:
    _named(answer, "dxf", _unit(answer).word)
    return dxf.dxf(answer.drawing, unit=_unit(answer), colours=_COLOURS)


def _dxf_r12(answer: GridAnswer) -> bytes:
    _named(answer, "dxf", _unit(answer).word)
    return dxf.dxf_r12(answer.drawing, unit=_unit(answer), colours=_COLOURS)


def _rs274(answer: GridAnswer) -> bytes:
    _named(answer, "nc", f"{answer.chosen.program.value}_{_unit(answer).word}")
    return gcode.rs274(answer.chosen.path, unit=_unit(answer))


def _summary_line(answer: GridAnswer) -> str:
    return f"{answer.summary}\n"


def _load(document: Document, limits: Limits) -> GridRequest:
    return replace(load_grid(document, load_tables(), limits=limits), fingerprint=fingerprint(document))


_RENDERERS = {
    "json": Renderer(media_type="application/json", render=grid_document),
    "svg": Renderer(media_type=svg.MEDIA_TYPE, render=_svg),
    "dxf": Renderer(media_type=dxf.MEDIA_TYPE, render=_dxf, also=("application/dxf",)),
    "dxf_r12": Renderer(media_type=dxf.MEDIA_TYPE, render=_dxf_r12),
    "rs274": Renderer(media_type=gcode.MEDIA_TYPE, render=_rs274),
    "text": Renderer(media_type="text/plain", render=_summary_line),
}


def _with_file_name(view: Callable[[], Response]) -> Callable[[], Response]:
    @wraps(view)
    def named() -> Response:
        response = view()
        if name := g.get("file_name"):
            response.headers.set("Content-Disposition", "inline", filename=name)
        return response

    return named


blueprint.add_url_rule(
    "/grid",
    endpoint="grid",
    view_func=_with_file_name(compute_endpoint(_load, grid, _RENDERERS)),
    methods=["POST"],
)
