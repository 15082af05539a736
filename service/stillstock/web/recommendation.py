"""POST /v1/recommendation: how should this be held?"""

from dataclasses import dataclass
from typing import Any

from flask import Blueprint

from stillstock.answers.recommendation import RecommendationAnswer, answer_recommendation
from stillstock.schemas.recommendation import recommendation_document
from stillstock.schemas.shop import Asking, load_question
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.body import Document
from stillstock.web.compute import Renderer, compute_endpoint
from stillstock.web.fingerprint import fingerprint

__all__ = ["blueprint"]

blueprint = Blueprint("recommendation", __name__, url_prefix="/v1")


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A question, within which limits, and its digest."""

    asking: Asking
    limits: Limits
    fingerprint: str


@dataclass(frozen=True, kw_only=True)
class Advised:
    """The answer beside its question, for every format."""

    asking: Asking
    answer: RecommendationAnswer

    @property
    def verdict(self) -> str:
        """Of the first choice, for the header."""
        return self.answer.verdict


def _asked(document: Document, limits: Limits) -> Asked:
    asking = load_question(document, load_tables(), limits=limits)
    return Asked(asking=asking, limits=limits, fingerprint=fingerprint(document))


def _answer(asked: Asked) -> Advised:
    answer = answer_recommendation(
        asked.asking.question, load_tables(), limits=asked.limits, fingerprint=asked.fingerprint
    )
    return Advised(asking=asked.asking, answer=answer)


def _json(advised: Advised) -> dict[str, Any]:
    return recommendation_document(advised.answer, advised.asking)


def _text(advised: Advised) -> str:
    return advised.answer.summary + "\n"


RENDERERS = {
    "json": Renderer(media_type="application/json", render=_json),
    "text": Renderer(media_type="text/plain", render=_text),
}
blueprint.add_url_rule(
    "/recommendation", endpoint="recommendation", view_func=compute_endpoint(_asked, _answer, RENDERERS),
    methods=["POST"],
)  # fmt: skip
