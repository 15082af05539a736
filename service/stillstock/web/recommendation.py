"""POST /v1/recommendation: how should this be held?"""

from typing import Any

from flask import Blueprint

from stillstock.answers.recommendation import RecommendationAnswer, answer_recommendation
from stillstock.schemas.recommendation import recommendation_document
from stillstock.schemas.shop import Asking, load_question
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.asked import Asked, Judged, summary_of
from stillstock.web.body import Document
from stillstock.web.compute import Renderer, compute_endpoint
from stillstock.web.fingerprint import fingerprint

__all__ = ["blueprint"]

blueprint = Blueprint("recommendation", __name__, url_prefix="/v1")


def _asked(document: Document, limits: Limits) -> Asked[Asking]:
    asking = load_question(document, load_tables(), limits=limits)
    return Asked(document=asking, limits=limits, fingerprint=fingerprint(document))


def _answer(question: Asked[Asking]) -> Judged[Asking, RecommendationAnswer]:
    answer = answer_recommendation(
        question.document.question, load_tables(), limits=question.limits, fingerprint=question.fingerprint
    )
    return Judged(document=question.document, answer=answer)


def _json(judged: Judged[Asking, RecommendationAnswer]) -> dict[str, Any]:
    return recommendation_document(judged.answer, judged.document)


RENDERERS = {
    "json": Renderer(media_type="application/json", render=_json),
    "text": Renderer(media_type="text/plain", render=summary_of),
}
blueprint.add_url_rule(
    "/recommendation", endpoint="recommendation", view_func=compute_endpoint(_asked, _answer, RENDERERS),
    methods=["POST"],
)  # fmt: skip
