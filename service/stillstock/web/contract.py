"""What the service says about itself: the contract, its pages, the problem types, the limits."""

import inspect
import re
from dataclasses import asdict, fields
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, current_app, render_template

from stillstock import MODEL_VERSION, __version__
from stillstock.errors import NotFound, StillstockError
from stillstock.settings import Limits, Settings, promised
from stillstock.web.compute import JSON, Renderer, negotiated
from stillstock.web.docs_page import docs_page
from stillstock.web.negotiation import takes
from stillstock.web.problems import STATUS, problem_classes, problem_type
from stillstock.web.start_page import let_its_script_run, start_page

__all__ = ["blueprint", "contract_bytes", "contract_version"]

blueprint = Blueprint("contract", __name__, template_folder="templates")

YAML_NAMES = ("application/vnd.oai.openapi", "application/x-yaml", "text/yaml")
LINKS = {
    "service-desc": "/openapi.yaml",
    "service-doc": "/docs",
    "status": "/readyz",
    "problems": "/problems",
    "limits": "/v1/limits",
    "materials": "/v1/materials",
    "holders": "/v1/holders",
    "sources": "/v1/sources",
}


@cache
def contract_bytes() -> bytes:
    """Return the contract: the package's copy in an installed service, else the file at the top of the project."""
    installed = files("stillstock") / "openapi.yaml"
    if installed.is_file():
        return installed.read_bytes()
    return (Path(__file__).parents[3] / "openapi.yaml").read_bytes()


@cache
def contract_version() -> str:
    """Return ``info.version`` of the contract without reading all of it as YAML; empty if it states none."""
    info = re.search(rb"^info:\n((?: .*\n|\n)*)", contract_bytes(), re.MULTILINE)
    version = re.search(rb"^  version: *[\"']?([0-9A-Za-z.+-]+)", info[1], re.MULTILINE) if info else None
    return version[1].decode() if version else ""


@blueprint.get("/openapi.yaml")
@takes("format")
def openapi() -> Response:
    """Answer the contract byte for byte."""
    return negotiated(
        contract_bytes(), {"yaml": Renderer(media_type="application/yaml", render=bytes, also=YAML_NAMES)}
    )


@blueprint.get("/docs")
@takes("format")
def docs() -> Response:
    """Answer the contract as a page to read."""
    return negotiated(contract_bytes(), {"html": Renderer(media_type="text/html", render=docs_page)})


@blueprint.get("/")
@takes("format")
def index() -> Response:
    """Answer where everything is: links for a machine, a first call for a person."""
    document = {"service": "stillstock", "version": __version__, "model": MODEL_VERSION, "links": LINKS}
    response = negotiated(document, {"json": JSON, "html": Renderer(media_type="text/html", render=_start_page)})
    return let_its_script_run(response) if response.mimetype == "text/html" else response


def _start_page(document: dict[str, Any]) -> str:
    return start_page(document, contract=contract_bytes())


@blueprint.get("/problems")
@takes("format")
def problems() -> Response:
    """Answer all problem types."""
    document = {"problems": [_problem(kind) for kind in problem_classes().values()]}
    return negotiated(document, {"json": JSON, "html": _PROBLEMS_HTML})


@blueprint.get("/problems/<slug>")
@takes("format")
def problem(slug: str) -> Response:
    """Answer what one problem type means and what to do about it."""
    kind = problem_classes().get(slug)
    if kind is None:
        raise NotFound("no such problem type; GET /problems lists them")
    return negotiated(_problem(kind), {"json": JSON, "html": _PROBLEM_HTML})


def _problem(kind: type[StillstockError]) -> dict[str, Any]:
    return {
        "type": problem_type(kind),
        "title": kind.title,
        "status": int(STATUS[kind]),
        "detail": inspect.cleandoc(kind.__doc__ or ""),
        "remedy": REMEDIES[kind.slug],
    }


def _problem_page(document: dict[str, Any]) -> str:
    return render_template("problems.html", title=document["title"], problems=[document])


def _problems_page(document: dict[str, Any]) -> str:
    return render_template("problems.html", title="Problem types", problems=document["problems"])


@blueprint.get("/v1/limits")
@takes("format")
def limits() -> Response:
    """Answer every limit that a request is held to."""
    settings: Settings = current_app.extensions["stillstock"]
    values = asdict(settings.limits)
    listed = [{"name": f.name, "limit": values[f.name], "says": f.metadata["says"]} for f in fields(Limits)]
    promises = promised(settings.limits)
    kept = None if promises is None else {name: asdict(each) for name, each in promises.items()}
    document = {"limits": listed, "promised": kept}
    return negotiated(document, {"json": JSON, "text": Renderer(media_type="text/plain", render=_lines)})


def _lines(document: dict[str, Any]) -> str:
    limits = [f"{item['name']} {item['limit']}  {item['says']}\n" for item in document["limits"]]
    promises = (document["promised"] or {}).items()
    return "".join(limits) + "".join(
        f"{name} takes {each['seconds']} s and {each['megabytes']} MB at the most\n" for name, each in promises
    )


_PROBLEM_HTML = Renderer(media_type="text/html", render=_problem_page)
_PROBLEMS_HTML = Renderer(media_type="text/html", render=_problems_page)

#: What the caller does about each, by slug; a test holds it complete.
REMEDIES = {
    "not-json": "Send one JSON object as UTF-8 without a byte order mark: every name once in its object, no NaN or "
    "Infinity, numbers within a double, nothing after the last brace. The detail names the line where it is known.",
    "invalid-document": "Each item of `errors` points at a member (`pointer`) and says what was expected; where one "
    "spelling was plainly meant it stands in `corrected`. All faults are listed at once.",
    "unknown-parameter": "Leave the parameter out or spell it as the contract does, once. Misspelt parameters are "
    "refused because one that is ignored changes the answer without a word.",
    "unauthorized": "Send `Authorization: Bearer <token>` with a token that the operator of this service gave out.",
    "not-found": "GET / lists what there is; GET /openapi.yaml has every path.",
    "wrong-method": "Use one of the methods in the Allow header.",
    "not-acceptable": "Ask for one of the media types in the detail, by the Accept header or `?format=`.",
    "too-large": "Send less: GET /v1/limits has the limits in force, which the operator may raise. A long program "
    "can go gzipped, but counts as it is after inflating.",
    "wrong-media-type": "Send `Content-Type: application/json`, plain or with `Content-Encoding: gzip`.",
    "impossible-set-up": "The document is well formed, but no such set-up can stand on a machine, or it cannot be "
    "judged. Each item of `errors` points at the number that contradicts another.",
    "not-in-balance": "Before the tool touches anything the holders push the stock off. Add what pushes back (a stop "
    "against a side clamp), or lower the force named in `errors`.",
    "nothing-to-judge": "State what pulls at the stock: `cuts`, a `program` or `loads`.",
    "too-much-work": "Ask for less at once; the item of `errors` names the limit, its value and what came.",
    "busy": "Ask again after the seconds in Retry-After. The request did not start, so nothing is lost.",
}
