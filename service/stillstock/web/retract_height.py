"""POST /v1/retract-height: how high must the tool go, and what does it meet on its way?"""

from typing import Any

from flask import Blueprint

from stillstock.answers.retract_drawing import keep_out_drawing, retract_drawing
from stillstock.answers.retract_height import RetractAnswer, answer_retract_height
from stillstock.schemas.retract_answer import retract_document
from stillstock.schemas.set_up import Document
from stillstock.tables.load import load_tables
from stillstock.web.asked import Asked, Judged, asked, summary_and_reason
from stillstock.web.compute import Renderer, compute_endpoint
from stillstock.writers import dxf, retract_pens, svg
from stillstock.writers.extent import extent
from stillstock.writers.unit import INCH, MILLIMETRE

__all__ = ["blueprint"]

blueprint = Blueprint("retract_height", __name__, url_prefix="/v1")


def _answer(question: Asked[Document]) -> Judged[Document, RetractAnswer]:
    stated = question.document
    answer = answer_retract_height(
        stated.set_up, load_tables(), limits=question.limits, fingerprint=question.fingerprint, system=stated.system
    )
    return Judged(document=stated, answer=answer)


def _json(judged: Judged[Document, RetractAnswer]) -> dict[str, Any]:
    return retract_document(judged.answer, judged.document.set_up, judged.document.system)


def _svg(judged: Judged[Document, RetractAnswer]) -> bytes:
    stated = judged.document
    drawing = retract_drawing(judged.answer, stated.set_up, system=stated.system)
    x0, y0, x1, y1 = extent(drawing)
    size = max(x1 - x0, y1 - y0) / 2.0
    return svg.svg(drawing, pens=retract_pens.pens(size), border=0.03 * size)


def _dxf(judged: Judged[Document, RetractAnswer]) -> bytes:
    stated = judged.document
    drawing = keep_out_drawing(judged.answer, stated.set_up)
    unit = INCH if stated.system == "inch" else MILLIMETRE
    return dxf.dxf(drawing, unit=unit, colours=retract_pens.colours(drawing.layers))


RENDERERS = {
    "json": Renderer(media_type="application/json", render=_json),
    "text": Renderer(media_type="text/plain", render=summary_and_reason),
    "svg": Renderer(media_type=svg.MEDIA_TYPE, render=_svg),
    "dxf": Renderer(media_type=dxf.MEDIA_TYPE, render=_dxf, also=("application/dxf",)),
}
blueprint.add_url_rule(
    "/retract-height",
    endpoint="retract_height",
    view_func=compute_endpoint(asked, _answer, RENDERERS),
    methods=["POST"],
)
