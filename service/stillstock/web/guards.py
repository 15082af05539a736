"""Who may ask and how much at once: bearer tokens, a cap on computations in flight and on the work of each."""

import hashlib
import hmac
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from flask import Flask, current_app, g, request

from stillstock.engine.mechanics.work import OutOfWork, budget
from stillstock.errors import Busy, Fault, TooMuchWork, Unauthorized
from stillstock.settings import Limits, Settings
from stillstock.web.metrics import IN_FLIGHT

__all__ = ["check_token", "place_in_flight", "register_guards", "work_of_one"]

PLACES = "stillstock.places"
GUARDED = ("/v1/", "/metrics")


def register_guards(app: Flask, settings: Settings) -> None:
    """Ask for a token, if any is set, and count out the places for computations of this process."""
    app.extensions[PLACES] = threading.BoundedSemaphore(settings.limits.in_flight)
    app.before_request(check_token)


def check_token() -> None:
    """Refuse a request for ``/v1`` or the metrics that carries none of the tokens set."""
    settings: Settings = current_app.extensions["stillstock"]
    if not settings.tokens or not request.path.startswith(GUARDED) or request.method == "OPTIONS":
        return
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    digest = hashlib.sha256(token.strip().encode("utf-8", "replace")).digest()
    # Every token is compared to its end, so that the time taken tells nothing about any of them.
    same = [hmac.compare_digest(digest, known) for known in settings.tokens]
    if scheme.lower() != "bearer" or not any(same):
        raise Unauthorized("send Authorization: Bearer <token> with one of the tokens that this service was given")


@contextmanager
def place_in_flight() -> Iterator[None]:
    """Hold one of the places for computations, or refuse after a short wait."""
    settings: Settings = current_app.extensions["stillstock"]
    places: threading.BoundedSemaphore = current_app.extensions[PLACES]
    if not places.acquire(timeout=settings.wait_seconds):
        raise Busy(f"{settings.limits.in_flight} computations are in flight; ask again after Retry-After seconds")
    IN_FLIGHT.inc()
    try:
        yield
    finally:
        IN_FLIGHT.dec()
        places.release()


@contextmanager
def work_of_one(limits: Limits) -> Iterator[None]:
    """Hold what is done within the block to the work that one request may cost, and note what it did cost."""
    with budget(limits.work) as mine:
        try:
            yield
        except OutOfWork as why:
            raise TooMuchWork([_spent(limits)]) from why
        finally:
            g.work = limits.work - mine.left


def _spent(limits: Limits) -> Fault:
    detail = (
        f"this would cost more than the limit `work`, {limits.work} units: ask for fewer holders, stops in a line, "
        "cuts or parts at once, or for a shorter program"
    )
    return Fault(pointer="", code="too_much_work", detail=detail, limit=limits.work)
