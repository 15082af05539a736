"""POST /v1/positions: places for repeat parts, their work offsets, and how closely a part comes back."""

from dataclasses import replace
from typing import Any

from flask import Blueprint

from stillstock.answers.positions import PositionsAnswer, positions
from stillstock.answers.positions_request import PositionsRequest
from stillstock.answers.positions_words import NO_MACHINE_ZERO
from stillstock.schemas.positions import load_positions
from stillstock.schemas.positions_answer import positions_document
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.body import Document
from stillstock.web.compute import Renderer, compute_endpoint
from stillstock.web.fingerprint import fingerprint
from stillstock.writers.offsets import MEDIA_TYPE, offset_program

__all__ = ["blueprint"]

blueprint = Blueprint("positions", __name__, url_prefix="/v1")


def _load(document: Document, limits: Limits) -> PositionsRequest:
    asked = load_positions(document, load_tables(), limits=limits)
    return replace(asked, fingerprint=fingerprint(document))


def _answer(asked: PositionsRequest) -> PositionsAnswer:
    return positions(asked, load_tables())


def _json(answer: PositionsAnswer) -> dict[str, Any]:
    return positions_document(answer, tables=load_tables())


def _text(answer: PositionsAnswer) -> str:
    unset = [NO_MACHINE_ZERO] if answer.asked.offsets.machine is None else []
    return "\n".join([answer.summary, *unset, ""])


_RENDERERS = {
    "json": Renderer(media_type="application/json", render=_json),
    "rs274": Renderer(media_type=MEDIA_TYPE, render=offset_program),
    "text": Renderer(media_type="text/plain", render=_text),
}
blueprint.add_url_rule(
    "/positions", endpoint="positions", view_func=compute_endpoint(_load, _answer, _RENDERERS), methods=["POST"]
)
