"""A small compute operation for tests of HTTP alone: adds weights up, and waits or breaks when told to."""

import time
from dataclasses import dataclass
from typing import Any

from flask import Blueprint, Flask

from stillstock.app import create_app
from stillstock.errors import Fault, ImpossibleSetUp, InvalidDocument
from stillstock.settings import Limits, Settings
from stillstock.web.compute import Renderer, compute_endpoint

PATH = "/v1/echo"


@dataclass(frozen=True)
class Asked:
    weights: list[float]
    name: str
    seconds: float
    breaks: bool


def load(document: dict[str, Any], limits: Limits) -> Asked:
    faults = [
        Fault(pointer=f"/{key}", code="unknown_field", detail="no such member")
        for key in document
        if key not in {"weights", "name", "seconds", "breaks"}
    ]
    weights = document.get("weights", [])
    faults += [
        Fault(pointer=f"/weights/{i}", code="type", detail="expected a number", seen=value)
        for i, value in enumerate(weights if isinstance(weights, list) else [weights])
        if isinstance(value, bool) or not isinstance(value, int | float)
    ]
    if len(weights) > limits.positions:
        faults.append(
            Fault(pointer="/weights", code="length", detail="too many", limit=limits.positions, seen=len(weights))
        )
    if faults:
        raise InvalidDocument(faults)
    return Asked(weights, document.get("name", ""), document.get("seconds", 0.0), document.get("breaks", False))


def answer(asked: Asked) -> dict[str, Any]:
    if asked.breaks:
        raise RuntimeError(f"secret in {__file__}: {asked.name}")
    if any(weight < 0 for weight in asked.weights):
        raise ImpossibleSetUp([Fault(pointer="/weights", code="range", detail="negative weight", limit=0, seen=-1)])
    time.sleep(asked.seconds)
    return {"verdict": "holds", "name": asked.name, "sum": sum(asked.weights), "count": len(asked.weights)}


RENDERERS = {
    "json": Renderer(media_type="application/json", render=dict),
    "svg": Renderer(
        media_type="image/svg+xml", render=lambda r: f'<svg xmlns="http://www.w3.org/2000/svg">{r["sum"]}</svg>'
    ),
    "dxf": Renderer(media_type="image/vnd.dxf", render=lambda _: b"0\nEOF\n", also=("application/dxf",)),
    "html": Renderer(media_type="text/html", render=lambda r: f"<p>{r['sum']}</p>"),
    "text": Renderer(media_type="text/plain", render=lambda r: f"sum {r['sum']}\n"),
    "rs274": Renderer(media_type="text/plain", render=lambda _: "%\nG21\n%\n"),
}


def echo_app(settings: Settings | None = None) -> Flask:
    app = create_app(settings)
    blueprint = Blueprint("echo", __name__)
    blueprint.add_url_rule(PATH, view_func=compute_endpoint(load, answer, RENDERERS), methods=["POST"], endpoint="echo")
    app.register_blueprint(blueprint)
    return app
