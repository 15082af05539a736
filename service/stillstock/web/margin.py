"""POST /v1/margin: will the stock stay still?"""

from dataclasses import dataclass
from typing import Any

from flask import Blueprint

from stillstock.answers.margin import answer_margin
from stillstock.schemas import set_up
from stillstock.schemas.results import margin_document
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.body import Document
from stillstock.web.compute import JSON, Renderer, compute_endpoint, summary_line
from stillstock.web.fingerprint import fingerprint

__all__ = ["blueprint"]

blueprint = Blueprint("margin", __name__, url_prefix="/v1")


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A set-up to judge, within which limits, and its digest."""

    document: set_up.Document
    limits: Limits
    fingerprint: str


def _load(document: Document, limits: Limits) -> Asked:
    stated = set_up.load_set_up(document, load_tables(), limits=limits)
    return Asked(document=stated, limits=limits, fingerprint=fingerprint(document))


def _answer(asked: Asked) -> dict[str, Any]:
    stated = asked.document
    margin = answer_margin(stated.set_up, load_tables(), limits=asked.limits, fingerprint=asked.fingerprint)
    return margin_document(margin, stated.system)


RENDERERS = {"json": JSON, "text": Renderer(media_type="text/plain", render=summary_line)}
blueprint.add_url_rule(
    "/margin", endpoint="margin", view_func=compute_endpoint(_load, _answer, RENDERERS), methods=["POST"]
)
