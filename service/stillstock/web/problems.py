"""Problem details (RFC 9457) for every refusal, from whatever source it comes."""

import json
import logging
from http import HTTPStatus
from typing import Any

from flask import Flask, Response, current_app, g, request
from werkzeug.exceptions import HTTPException, MethodNotAllowed
from werkzeug.exceptions import NotFound as NoSuchRoute

from stillstock import errors
from stillstock.errors import DocumentError, Fault, StillstockError
from stillstock.settings import Settings

__all__ = ["STATUS", "problem_classes", "problem_type", "register_problems"]

log = logging.getLogger("stillstock.problems")

STATUS: dict[type[StillstockError], HTTPStatus] = {
    errors.NotJson: HTTPStatus.BAD_REQUEST,
    errors.InvalidDocument: HTTPStatus.BAD_REQUEST,
    errors.UnknownParameter: HTTPStatus.BAD_REQUEST,
    errors.Unauthorized: HTTPStatus.UNAUTHORIZED,
    errors.NotFound: HTTPStatus.NOT_FOUND,
    errors.WrongMethod: HTTPStatus.METHOD_NOT_ALLOWED,
    errors.NotAcceptable: HTTPStatus.NOT_ACCEPTABLE,
    errors.TooLarge: HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    errors.WrongMediaType: HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
    errors.ImpossibleSetUp: HTTPStatus.UNPROCESSABLE_ENTITY,
    errors.NotInBalance: HTTPStatus.UNPROCESSABLE_ENTITY,
    errors.NothingToJudge: HTTPStatus.UNPROCESSABLE_ENTITY,
    errors.TooMuchWork: HTTPStatus.UNPROCESSABLE_ENTITY,
    errors.Busy: HTTPStatus.SERVICE_UNAVAILABLE,
}
#: Headers without which the status does not tell a client what to do next (RFC 9110; RFC 6750 for bearer tokens).
HEADERS: dict[type[StillstockError], dict[str, str]] = {
    errors.WrongMediaType: {"Accept": "application/json", "Accept-Encoding": "gzip, identity"},
    errors.Busy: {"Retry-After": "1"},
    errors.Unauthorized: {"WWW-Authenticate": 'Bearer realm="stillstock"'},
}
LONGEST_SEEN = 120
FAULT_MEMBERS = ("pointer", "code", "detail", "limit", "seen", "corrected", "line")
PROBLEM_JSON = "application/problem+json"


def problem_classes() -> dict[str, type[StillstockError]]:
    """Return each class that a request can be refused with, by its slug."""
    return {kind.slug: kind for kind in STATUS}


def problem_type(kind: type[StillstockError]) -> str:
    """Return the URI reference of a problem type, which the service itself explains."""
    return f"/problems/{kind.slug}"


def register_problems(app: Flask) -> None:
    """Answer every exception with a problem document."""
    app.register_error_handler(StillstockError, _refusal)
    app.register_error_handler(HTTPException, _http_problem)
    app.register_error_handler(Exception, _fault_of_ours)


def _refusal(error: StillstockError) -> Response:
    kind = next(kind for kind in type(error).__mro__ if kind in STATUS)
    document: dict[str, Any] = {
        "type": problem_type(kind),
        "title": kind.title,
        "status": int(STATUS[kind]),
        "detail": error.detail,
    }
    if isinstance(error, DocumentError):
        settings: Settings = current_app.extensions["stillstock"]
        listed = error.faults[: settings.limits.faults]
        document["errors"] = [_fault(fault) for fault in listed]
        document["errors_total"] = len(error.faults)
    return _problem(document, HEADERS.get(kind, {}))


def _fault(fault: Fault) -> dict[str, Any]:
    """Return a fault's members, those that are not there left out and what came cut to a readable length.

    A limit that is a list has the names that would do, which are ours: it is never cut.
    """
    members = {name: getattr(fault, name) for name in FAULT_MEMBERS if getattr(fault, name) is not None}
    return {
        name: value if name == "limit" and isinstance(value, list) else _shown(value) for name, value in members.items()
    }


def _shown(value: Any) -> Any:
    if isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        return value if abs(value) < float("inf") else str(value)
    if isinstance(value, str):
        clean = value.encode("utf-8", "replace").decode("utf-8")
        return clean if len(clean) <= 4 * LONGEST_SEEN else clean[: 4 * LONGEST_SEEN] + "..."
    text = json.dumps(value, default=str, ensure_ascii=False)
    return value if len(text) <= LONGEST_SEEN and isinstance(value, list | dict) else text[:LONGEST_SEEN]


def _http_problem(error: HTTPException) -> Response:
    if isinstance(error, NoSuchRoute):
        return _refusal(errors.NotFound("nothing is served at this path; GET / lists what there is"))
    if isinstance(error, MethodNotAllowed):
        allowed = ", ".join(sorted(error.valid_methods or ()))
        response = _refusal(errors.WrongMethod(f"this path takes {allowed}"))
        response.headers["Allow"] = allowed
        return response
    if error.code is None or error.code < HTTPStatus.BAD_REQUEST:
        return Response(status=error.code, headers=dict(error.get_headers()))
    return _plain_problem(HTTPStatus(error.code), str(error.description or ""))


def _fault_of_ours(error: Exception) -> Response:
    """Answer what should never happen: the log has the trace, the caller nothing of it."""
    log.error("fault of the service", exc_info=error, extra={"request_id": g.get("request_id", "")})
    return _plain_problem(
        HTTPStatus.INTERNAL_SERVER_ERROR,
        "a fault of the service, not of your document; its operator finds it in the log by the X-Request-Id",
    )


def _plain_problem(status: HTTPStatus, detail: str) -> Response:
    return _problem({"type": "about:blank", "title": status.phrase, "status": int(status), "detail": detail}, {})


def _problem(document: dict[str, Any], headers: dict[str, str]) -> Response:
    body = json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(", ", ": ")) + "\n"
    data = body.encode("utf-8", "replace")
    response = Response(data, status=document["status"], content_type=PROBLEM_JSON, headers=headers)
    if request.endpoint is not None:
        response.vary.add("Accept")
    return response
