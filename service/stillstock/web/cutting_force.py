"""POST /v1/cutting-force: how hard does the tool pull?"""

from typing import Any

from flask import Blueprint

from stillstock.answers.cutting_force import answer_cutting_force
from stillstock.schemas.results import cutting_force_document
from stillstock.schemas.set_up import Document
from stillstock.web.asked import Asked, asked
from stillstock.web.compute import JSON, Renderer, compute_endpoint, summary_line

__all__ = ["blueprint"]

blueprint = Blueprint("cutting_force", __name__, url_prefix="/v1")


def _answer(question: Asked[Document]) -> dict[str, Any]:
    stated = question.document
    answer = answer_cutting_force(stated.set_up, fingerprint=question.fingerprint, system=stated.system)
    return cutting_force_document(answer, stated.system)


RENDERERS = {"json": JSON, "text": Renderer(media_type="text/plain", render=summary_line)}
blueprint.add_url_rule(
    "/cutting-force", endpoint="cutting_force", view_func=compute_endpoint(asked, _answer, RENDERERS), methods=["POST"]
)
