"""From a request to its answer in every format: what all endpoints share."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from flask import Response, current_app, g

from stillstock.errors import DocumentError
from stillstock.schemas.said import refusal
from stillstock.schemas.strict import system_of
from stillstock.settings import Limits, Settings
from stillstock.web.body import Document, document_in_request
from stillstock.web.guards import place_in_flight, work_of_one
from stillstock.web.negotiation import Offer, chosen, takes

__all__ = ["JSON", "Renderer", "compute_endpoint", "json_bytes", "negotiated", "summary_line"]

Asked = TypeVar("Asked")
Answer = TypeVar("Answer")


def _as_it_is(question: Any) -> Any:
    return question


@dataclass(frozen=True, kw_only=True)
class Renderer:
    """One way to write an answer out.

    Attributes
    ----------
    media_type : str
        Without charset; text types get ``charset=utf-8``.
    render : callable
        From the answer to a document (for JSON), text or bytes.
    also : tuple of str
        Other names of the media type.
    needs : callable
        From what the document asks to what must be asked for this format.
    """

    media_type: str
    render: Callable[[Any], Any]
    also: tuple[str, ...] = ()
    needs: Callable[[Any], Any] = _as_it_is


#: An answer that is a document, as JSON.
JSON = Renderer(media_type="application/json", render=dict)


def summary_line(document: Mapping[str, Any]) -> str:
    """Return the one line of an answer that a script without a JSON reader prints, and a line for each warning."""
    return "".join(f"{line}\n" for line in (document["summary"], *(one["detail"] for one in document["warnings"])))


def compute_endpoint(
    load: Callable[[Document, Limits], Asked],
    answer: Callable[[Asked], Answer],
    renderers: Mapping[str, Renderer],
) -> Callable[[], Response]:
    """Return the view of a POST operation: read, judge, answer, in this order.

    Parameters
    ----------
    load : callable
        From the document and the limits to what is asked; raises every fault of the document at once.
    answer : callable
        From what is asked to the answer.
    renderers : mapping of str to Renderer
        By the name that ``?format=`` uses; the first is the default.
    """
    offers = _offers(renderers)

    @takes("format")
    def view() -> Response:
        # Cheap refusals first: what cannot be produced or read is not computed.
        offer = chosen(offers)
        settings: Settings = current_app.extensions["stillstock"]
        document = document_in_request(settings.limits)
        with place_in_flight():
            renderer = renderers[offer.name]
            try:
                with work_of_one(settings.limits):
                    result = answer(renderer.needs(load(document, settings.limits)))
                    return _written(result, renderer)
            except DocumentError as error:
                raise refusal(error, system_of(document)) from error

    return view


def negotiated(result: Any, renderers: Mapping[str, Renderer]) -> Response:
    """Return the representation of a GET operation's result that the caller asks for."""
    return _written(result, renderers[chosen(_offers(renderers)).name])


def json_bytes(document: Any) -> bytes:
    """Return a document as JSON with members in their order; a number that is none is a fault of ours."""
    return (json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n").encode()


def _offers(renderers: Mapping[str, Renderer]) -> dict[str, Offer]:
    return {name: Offer(name=name, media_type=r.media_type, also=r.also) for name, r in renderers.items()}


def _written(result: Any, renderer: Renderer) -> Response:
    content = renderer.render(result)
    if isinstance(content, str):
        content = content.encode("utf-8")
    elif not isinstance(content, bytes):
        content = json_bytes(content)
    response = Response(content, content_type=_content_type(renderer.media_type))
    response.vary.add("Accept")
    if verdict := _verdict(result):
        response.headers["Stillstock-Verdict"] = g.verdict = verdict
    return response


def _content_type(media_type: str) -> str:
    return f"{media_type}; charset=utf-8" if media_type.startswith("text/") else media_type


def _verdict(result: Any) -> str:
    """Return the verdict of an answer that has one, be it a document or an object."""
    verdict = result.get("verdict", "") if isinstance(result, Mapping) else getattr(result, "verdict", "")
    return str(verdict)
