"""POST /v1/margin: will the stock stay still?"""

from dataclasses import replace
from typing import Any

from flask import Blueprint

from stillstock.answers.margin import MarginAnswer, answer_margin
from stillstock.answers.margin_drawing import margin_sheet
from stillstock.engine.holding.contact_list import contacts_of
from stillstock.schemas.results import margin_document
from stillstock.schemas.set_up import Document
from stillstock.tables.load import load_tables
from stillstock.web.asked import Asked, Judged, asked, summary_and_reason
from stillstock.web.compute import Renderer, compute_endpoint
from stillstock.writers import svg
from stillstock.writers.margin_pens import pens

__all__ = ["blueprint"]

blueprint = Blueprint("margin", __name__, url_prefix="/v1")


def _answer(question: Asked[Document]) -> Judged[Document, MarginAnswer]:
    margin = answer_margin(
        question.document.set_up, load_tables(), limits=question.limits, fingerprint=question.fingerprint
    )
    return Judged(document=question.document, answer=margin)


def _json(judged: Judged[Document, MarginAnswer]) -> dict[str, Any]:
    return margin_document(judged.answer, judged.document.system)


def _svg(judged: Judged[Document, MarginAnswer]) -> bytes:
    stated, answer = judged.document.set_up, judged.answer
    contacts = contacts_of(stated, load_tables())
    sheet = margin_sheet(stated, contacts, answer, answer.moves, system=judged.document.system)
    return svg.svg(sheet.drawing, pens=pens(sheet.unit), border=4.0 * sheet.unit)


def _coloured(question: Asked[Document]) -> Asked[Document]:
    """Return the question with the margin of every move asked for: the picture is coloured by it."""
    set_up = replace(question.document.set_up, each_move=True)
    return replace(question, document=replace(question.document, set_up=set_up))


RENDERERS = {
    "json": Renderer(media_type="application/json", render=_json),
    "text": Renderer(media_type="text/plain", render=summary_and_reason),
    "svg": Renderer(media_type=svg.MEDIA_TYPE, render=_svg, needs=_coloured),
}
blueprint.add_url_rule(
    "/margin", endpoint="margin", view_func=compute_endpoint(asked, _answer, RENDERERS), methods=["POST"]
)
