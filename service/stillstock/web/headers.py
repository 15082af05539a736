"""What every answer carries: request id, ETag and 304, gzip, security headers, CORS where it is set."""

import gzip
import hashlib
import re
import uuid
from http import HTTPStatus

from flask import Flask, Response, current_app, g, request
from werkzeug.exceptions import PreconditionFailed

from stillstock import MODEL_VERSION
from stillstock.settings import Settings
from stillstock.web.negotiation import coding_accepted

__all__ = ["finish", "register_headers", "start", "strong_etag"]

REQUEST_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:-]{7,63}")
TRACEPARENT = re.compile(r"(?!ff)[0-9a-f]{2}-(?!0{32})([0-9a-f]{32})-(?!0{16})[0-9a-f]{16}-[0-9a-f]{2}")
ENTITY_TAG = re.compile(r'(?:W/)?("[\x21\x23-\x7e]*")')
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
DRAWN = ("image/svg+xml", "text/html")
LEAST_GZIP = 600
GZIP_LEVEL = 6


def register_headers(app: Flask) -> None:
    """Let every request and every answer of an application pass through here."""
    app.before_request(start)
    app.after_request(finish)


def start() -> None:
    """Note who asks, before anything can fail."""
    given = request.headers.get("X-Request-Id", "")
    trace = TRACEPARENT.fullmatch(request.headers.get("traceparent", ""))
    g.trace_id = trace[1] if trace else ""
    if REQUEST_ID.fullmatch(given):
        g.request_id = given
    else:
        g.request_id = g.trace_id or uuid.uuid4().hex


def finish(response: Response) -> Response:
    """Put on an answer what all answers carry."""
    settings: Settings = current_app.extensions["stillstock"]
    response.headers["X-Request-Id"] = g.get("request_id", "")
    response.headers["X-Content-Type-Options"] = "nosniff"
    if response.mimetype in DRAWN:
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers["Referrer-Policy"] = "no-referrer"
    if request.path.startswith("/v1/"):
        response.headers["Stillstock-Model"] = MODEL_VERSION
    if request.method == "OPTIONS" and response.status_code == HTTPStatus.OK:
        response.headers.pop("Content-Type", None)
        response.headers["Allow"] = ", ".join(sorted(response.allow))
    _share(response, settings.cors_origin)
    if response.status_code != HTTPStatus.OK or request.method == "OPTIONS":
        response.headers.setdefault("Cache-Control", "no-store")
        return _coded(response)
    return _validated(response)


def strong_etag(data: bytes, media_type: str) -> str:
    """Return the tag of one representation, without quotes: a digest of its type and bytes."""
    return hashlib.sha256(media_type.encode() + b"\n" + data).hexdigest()[:32]


def _validated(response: Response) -> Response:
    """Give an answer its ETag and hold it against If-None-Match: 304 for a GET, 412 for a POST (RFC 9110, 13.1.2)."""
    response.headers.setdefault("Cache-Control", "no-cache")
    if "no-store" in response.headers["Cache-Control"]:
        return _coded(response)
    tag = strong_etag(response.get_data(), response.content_type or "")
    if _matches(tag):
        if request.method not in {"GET", "HEAD"}:
            problem = current_app.make_response(current_app.handle_user_exception(_already_known()))
            problem.headers["X-Request-Id"] = g.get("request_id", "")
            problem.headers["X-Content-Type-Options"] = "nosniff"
            return problem
        response.status_code = HTTPStatus.NOT_MODIFIED
        response.set_data(b"")
        del response.headers["Content-Type"], response.headers["Content-Length"]
        response.headers["ETag"] = f'"{tag}{_suffix()}"'
        response.vary.add("Accept-Encoding")
        return response
    response.headers["ETag"] = f'"{tag}"'
    return _coded(response)


def _already_known() -> PreconditionFailed:
    return PreconditionFailed("If-None-Match: the answer is the one that you have already")


def _matches(tag: str) -> bool:
    header = ",".join(request.headers.getlist("If-None-Match")).strip()
    if not header:
        return False
    if header == "*":
        return True
    known = {f'"{tag}"', f'"{tag}-gzip"'}
    return any(item in known for item in ENTITY_TAG.findall(header))


def _suffix() -> str:
    return "-gzip" if coding_accepted("gzip", request.headers.get("Accept-Encoding", "")) else ""


def _coded(response: Response) -> Response:
    """Send the body as gzip if the caller takes it; same bytes each time, so the file's own time is left out."""
    response.vary.add("Accept-Encoding")
    if response.is_streamed or len(data := response.get_data()) < LEAST_GZIP or not _suffix():
        return response
    response.set_data(gzip.compress(data, GZIP_LEVEL, mtime=0))
    response.headers["Content-Encoding"] = "gzip"
    if "ETag" in response.headers:
        response.headers["ETag"] = response.headers["ETag"][:-1] + '-gzip"'
    return response


def _share(response: Response, origin: str) -> None:
    """Let browser pages of one stated origin (or any) call, if the operator wants it."""
    if not origin:
        return
    response.headers["Access-Control-Allow-Origin"] = origin
    response.headers["Access-Control-Expose-Headers"] = "ETag, Retry-After, Stillstock-Verdict, X-Request-Id"
    if origin != "*":
        response.vary.add("Origin")
    if request.method == "OPTIONS" and "Access-Control-Request-Method" in request.headers:
        response.headers["Access-Control-Allow-Methods"] = response.headers.get("Allow", "GET")
        response.headers["Access-Control-Allow-Headers"] = "Accept, Authorization, Content-Type, X-Request-Id"
        response.headers["Access-Control-Max-Age"] = "600"
