"""POST /v1/margin: will the stock stay still?"""

from dataclasses import dataclass
from typing import Any

from flask import Blueprint

from stillstock.answers.margin import MarginAnswer, answer_margin
from stillstock.answers.margin_drawing import margin_drawing
from stillstock.engine.holding.contact_list import contacts_of
from stillstock.schemas import set_up
from stillstock.schemas.results import margin_document
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.body import Document
from stillstock.web.compute import Renderer, compute_endpoint
from stillstock.web.fingerprint import fingerprint
from stillstock.writers import svg
from stillstock.writers.margin_pens import pens

__all__ = ["blueprint"]

blueprint = Blueprint("margin", __name__, url_prefix="/v1")


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A set-up to judge, within which limits, and its digest."""

    document: set_up.Document
    limits: Limits
    fingerprint: str


@dataclass(frozen=True, kw_only=True)
class Judged:
    """The answer beside what was asked, for every format."""

    document: set_up.Document
    answer: MarginAnswer

    @property
    def verdict(self) -> str:
        """The answer in a word, for the header."""
        return str(self.answer.verdict)


def _load(document: Document, limits: Limits) -> Asked:
    stated = set_up.load_set_up(document, load_tables(), limits=limits)
    return Asked(document=stated, limits=limits, fingerprint=fingerprint(document))


def _answer(asked: Asked) -> Judged:
    margin = answer_margin(asked.document.set_up, load_tables(), limits=asked.limits, fingerprint=asked.fingerprint)
    return Judged(document=asked.document, answer=margin)


def _json(judged: Judged) -> dict[str, Any]:
    return margin_document(judged.answer, judged.document.system)


def _text(judged: Judged) -> str:
    return judged.answer.summary + "\n"


def _svg(judged: Judged) -> bytes:
    stated = judged.document.set_up
    drawing = margin_drawing(stated, contacts_of(stated, load_tables()), judged.answer, judged.answer.moves)
    return svg.svg(drawing, pens=pens(max(stated.stock.size[:2])), border=0.03 * max(stated.stock.size[:2]))


RENDERERS = {
    "json": Renderer(media_type="application/json", render=_json),
    "text": Renderer(media_type="text/plain", render=_text),
    "svg": Renderer(media_type=svg.MEDIA_TYPE, render=_svg),
}
blueprint.add_url_rule(
    "/margin", endpoint="margin", view_func=compute_endpoint(_load, _answer, RENDERERS), methods=["POST"]
)
