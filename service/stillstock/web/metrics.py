"""Prometheus metrics, right across worker processes: series by operation and status, never by what a caller wrote.

Worker processes share a folder of counter files. A worker is known there by a slot, the lowest number that no living
worker holds, and not by its process id: a successor goes on counting in the files of the one it replaces, so recycled
workers do not litter the folder over the months.
"""

import os

from flask import Blueprint, Response, g
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Counter, Gauge, Histogram, generate_latest
from prometheus_client import REGISTRY as PROCESS_REGISTRY
from prometheus_client import values as prometheus_values
from prometheus_client.multiprocess import MultiProcessCollector

__all__ = ["FOLDER", "IN_FLIGHT", "Process", "blueprint", "count_request"]

FOLDER = "PROMETHEUS_MULTIPROC_DIR"


class Process:
    """Name of this process among those that share the folder; the worker sets it after its fork."""

    name = "main"


if FOLDER in os.environ:
    prometheus_values.ValueClass = prometheus_values.MultiProcessValue(lambda: Process.name)  # type: ignore[no-untyped-call]

REQUESTS = Counter("stillstock_requests", "Requests answered", ["operation", "method", "status"])
SECONDS = Histogram(
    "stillstock_request_seconds",
    "Time from the head of a request to its answer",
    ["operation"],
    buckets=(0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0),
)
VERDICTS = Counter("stillstock_verdicts", "Answers by verdict", ["verdict"])
IN_FLIGHT = Gauge("stillstock_in_flight", "Computations in flight", multiprocess_mode="sum")
METHODS = frozenset({"GET", "HEAD", "POST", "OPTIONS"})

blueprint = Blueprint("metrics", __name__)


def count_request(*, operation: str, method: str, status: int, seconds: float) -> None:
    """Count one answered request; `seconds` is its time. [s]"""
    known = method if method in METHODS else "other"
    REQUESTS.labels(operation=operation, method=known, status=str(status)).inc()
    SECONDS.labels(operation=operation).observe(seconds)
    if verdict := g.get("verdict"):
        VERDICTS.labels(verdict=verdict).inc()


@blueprint.get("/metrics")
def metrics() -> Response:
    """Answer the sum over all workers."""
    registry = PROCESS_REGISTRY
    if FOLDER in os.environ:
        registry = CollectorRegistry()
        MultiProcessCollector(registry)  # type: ignore[no-untyped-call]  # has no annotations
    response = Response(generate_latest(registry), content_type=CONTENT_TYPE_LATEST)
    response.headers["Cache-Control"] = "no-store"
    return response
