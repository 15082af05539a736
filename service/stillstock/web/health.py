"""Probes: alive costs nothing and takes no place; ready remembers a computation whose answer is known."""

import json
import logging
from collections.abc import Callable

from flask import Blueprint, Flask, Response, current_app
from werkzeug.exceptions import ServiceUnavailable

from stillstock import MODEL_VERSION, __version__
from stillstock.web.contract import contract_version

__all__ = ["blueprint", "register_known_answer"]

READY = "stillstock.ready"
blueprint = Blueprint("health", __name__)
log = logging.getLogger("stillstock.health")


def register_known_answer(app: Flask, known_answer: Callable[[], bool] | None) -> None:
    """Run the computation once and keep whether its answer came out."""
    app.extensions[READY] = known_answer is None or _came_out(known_answer)


def _came_out(known_answer: Callable[[], bool]) -> bool:
    try:
        right = bool(known_answer())
    # Whatever breaks in it, the service is not ready; it still has to start in order to say so.
    except Exception:
        log.exception("the known answer could not be computed")
        return False
    if not right:
        log.error("the known answer came out wrong")
    return right


@blueprint.get("/healthz")
def healthz() -> Response:
    """Answer that the process takes requests."""
    return _uncached({"status": "alive"})


@blueprint.get("/readyz")
def readyz() -> Response:
    """Answer whether the service computes rightly, and its versions."""
    if not current_app.extensions[READY]:
        raise ServiceUnavailable("a computation with a known answer did not come out right; see the log")
    versions = {"service": __version__, "model": MODEL_VERSION, "contract": contract_version()}
    return _uncached({"status": "ready", **versions})


def _uncached(document: dict[str, str]) -> Response:
    body = json.dumps(document) + "\n"
    return Response(body, content_type="application/json", headers={"Cache-Control": "no-store"})
