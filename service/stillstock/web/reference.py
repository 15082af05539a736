"""What the service knows: materials, holding methods, sources."""

from typing import Any

from flask import Blueprint, Response, request

from stillstock.errors import NotFound, UnknownParameter
from stillstock.units import SYSTEMS, System
from stillstock.web import catalogue
from stillstock.web.compute import JSON, Renderer, negotiated
from stillstock.web.negotiation import takes

__all__ = ["blueprint"]

blueprint = Blueprint("reference", __name__, url_prefix="/v1")


def _material_lines(document: dict[str, Any]) -> str:
    return "".join(f"{one['key']}  {one['title']}, {one['family']}\n" for one in document["materials"])


def _holder_lines(document: dict[str, Any]) -> str:
    return "".join(f"{one['kind']}  {one['title']}\n" for one in document["holders"])


def _source_lines(document: dict[str, Any]) -> str:
    return "".join(f"{one['key']}  {one['citation']}; {one['detail']}\n" for one in document["sources"])


MATERIALS = {"json": JSON, "text": Renderer(media_type="text/plain", render=_material_lines)}
HOLDERS = {"json": JSON, "text": Renderer(media_type="text/plain", render=_holder_lines)}
SOURCES = {"json": JSON, "text": Renderer(media_type="text/plain", render=_source_lines)}


@blueprint.get("/materials")
@takes("format", "units")
def materials() -> Response:
    """Answer every material with its properties and cutting coefficients."""
    return negotiated(catalogue.materials(_system()), MATERIALS)


@blueprint.get("/sources")
@takes("format")
def sources() -> Response:
    """Answer the citations."""
    return negotiated(catalogue.sources(), SOURCES)


@blueprint.get("/holders")
@takes("format", "units")
def holders() -> Response:
    """Answer every way of holding stock that a set-up may state."""
    return negotiated(catalogue.holders(_system()), HOLDERS)


@blueprint.get("/holders/<kind>")
@takes("format", "units")
def holder(kind: str) -> Response:
    """Answer one way of holding stock and its members."""
    system = _system()
    try:
        document = catalogue.holder(kind, system)
    except KeyError:
        raise NotFound("no holding method of this kind; GET /v1/holders lists them") from None
    return negotiated(document, {"json": JSON})


def _system() -> System:
    """Return the units that the caller wants to read."""
    stated = request.args.get("units", SYSTEMS[0])
    for system in SYSTEMS:
        if stated == system:
            return system
    raise UnknownParameter(f"units: expected {' or '.join(SYSTEMS)}, got {stated[:40]!a}")
