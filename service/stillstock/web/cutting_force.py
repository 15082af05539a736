"""POST /v1/cutting-force: how hard does the tool pull?"""

from dataclasses import dataclass
from typing import Any

from flask import Blueprint

from stillstock.answers.cutting_force import answer_cutting_force
from stillstock.schemas import set_up
from stillstock.schemas.results import cutting_force_document
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.body import Document
from stillstock.web.compute import JSON, Renderer, compute_endpoint, summary_line
from stillstock.web.fingerprint import fingerprint

__all__ = ["blueprint"]

blueprint = Blueprint("cutting_force", __name__, url_prefix="/v1")


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A set-up whose cuts are asked about, and its digest."""

    document: set_up.Document
    fingerprint: str


def _load(document: Document, limits: Limits) -> Asked:
    stated = set_up.load_set_up(document, load_tables(), limits=limits)
    return Asked(document=stated, fingerprint=fingerprint(document))


def _answer(asked: Asked) -> dict[str, Any]:
    stated = asked.document
    return cutting_force_document(answer_cutting_force(stated.set_up, fingerprint=asked.fingerprint), stated.system)


RENDERERS = {"json": JSON, "text": Renderer(media_type="text/plain", render=summary_line)}
blueprint.add_url_rule(
    "/cutting-force", endpoint="cutting_force", view_func=compute_endpoint(_load, _answer, RENDERERS), methods=["POST"]
)
