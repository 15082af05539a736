"""Logs as JSON, one object a line: one line a request, never its body nor its path."""

import json
import logging
import time
from datetime import UTC, datetime
from typing import Any

from flask import Flask, Response, g, request

from stillstock import MODEL_VERSION
from stillstock.web.metrics import count_request

__all__ = ["JsonFormatter", "log_settings", "operation", "register_logs"]

log = logging.getLogger("stillstock.request")


class JsonFormatter(logging.Formatter):
    """A record as one JSON object; what stands in its `request` attribute is merged in."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
        }
        if request_id := getattr(record, "request_id", ""):
            line["request_id"] = request_id
        line.update(getattr(record, "request", {}))
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=True)


def log_settings(level: str) -> dict[str, Any]:
    """Return the `logging.config.dictConfig` document: everything as JSON lines on standard error."""
    handler = {"class": "logging.StreamHandler", "formatter": "json", "stream": "ext://sys.stderr"}
    names = ("stillstock", "gunicorn.error", "waitress", "py.warnings")
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": {"()": "stillstock.web.logs.JsonFormatter"}},
        "handlers": {"lines": handler},
        "root": {"level": "WARNING", "handlers": ["lines"]},
        "loggers": {name: {"level": level.upper(), "handlers": ["lines"], "propagate": False} for name in names},
    }


def register_logs(app: Flask) -> None:
    """Time every request, count it and write its line."""
    app.before_request(_note_start)
    app.after_request(_write)


def operation() -> str:
    """Return the route's template, which no caller can make up: ``/v1/holders/{kind}``."""
    rule = request.url_rule
    return rule.rule.replace("<", "{").replace(">", "}") if rule else "(none)"


def _note_start() -> None:
    g.started = time.perf_counter()


def _write(response: Response) -> Response:
    seconds = time.perf_counter() - g.get("started", time.perf_counter())
    count_request(operation=operation(), method=request.method, status=response.status_code, seconds=seconds)
    line = {
        "request_id": g.get("request_id", ""),
        "trace_id": g.get("trace_id", ""),
        "operation": operation(),
        "method": request.method if request.method in {"GET", "HEAD", "POST", "OPTIONS"} else "other",
        "status": response.status_code,
        "ms": round(seconds * 1000.0, 3),
        "work": round(g.get("work", 0.0)),
        "bytes_in": g.get("bytes_in", 0),
        "bytes_out": response.calculate_content_length() or 0,
        "model": MODEL_VERSION,
    }
    log.info("answered", extra={"request": line})
    return response
