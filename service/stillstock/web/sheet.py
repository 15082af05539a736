"""POST /v1/sheet: the set-up sheet for whoever stands at the machine."""

from flask import Blueprint

from stillstock.answers.sheet import Question, Sheet, answer_sheet
from stillstock.schemas.set_up import load_set_up
from stillstock.schemas.sheet_answer import sheet_document
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.body import Document
from stillstock.web.compute import Renderer, compute_endpoint
from stillstock.web.fingerprint import fingerprint
from stillstock.writers import sheet_html, sheet_pdf

__all__ = ["blueprint", "question_of"]

blueprint = Blueprint("sheet", __name__, url_prefix="/v1")


def question_of(document: Document, limits: Limits) -> Question:
    """Return the sheet that a document asks for; raises every fault of it at once."""
    stated = load_set_up(document, load_tables(), limits=limits)
    options = stated.options
    return Question(
        set_up=stated.set_up,
        system=stated.system,
        wanted=options.sheet,
        name=options.name,
        program_name=options.program_name,
        zero=options.zero,
        limits=limits,
        fingerprint=fingerprint(document),
    )


def _answer(question: Question) -> Sheet:
    return answer_sheet(question, load_tables())


_RENDERERS = {
    "json": Renderer(media_type="application/json", render=sheet_document),
    "html": Renderer(media_type=sheet_html.MEDIA_TYPE, render=sheet_html.sheet_html),
    "pdf": Renderer(media_type=sheet_pdf.MEDIA_TYPE, render=sheet_pdf.sheet_pdf),
}
blueprint.add_url_rule(
    "/sheet", endpoint="sheet", view_func=compute_endpoint(question_of, _answer, _RENDERERS), methods=["POST"]
)
