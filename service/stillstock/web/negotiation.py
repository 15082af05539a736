"""Which representation goes back: the Accept header, ``?format=`` for scripts, and the query's other parameters."""

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from flask import current_app, request

from stillstock.errors import NotAcceptable, UnknownParameter

__all__ = ["Accepted", "Offer", "accepted_ranges", "check_query", "chosen", "coding_accepted", "quality", "takes"]

View = TypeVar("View", bound=Callable[..., Any])

TOKEN = r"[!#$%&'*+.^_`|~0-9A-Za-z-]+"  # noqa: S105 a header token, not a secret
RANGE = re.compile(rf"[ \t]*({TOKEN})/({TOKEN})[ \t]*")
QUALITY = re.compile(r"0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?")
#: Between commas or semicolons that stand outside quotes.
ELEMENT = re.compile(r'(?:[^,"]|"(?:[^"\\]|\\.)*+"?)+')
PARAMETER = re.compile(r'(?:[^;"]|"(?:[^"\\]|\\.)*+"?)+')
MOST_RANGES = 64


@dataclass(frozen=True, kw_only=True)
class Offer:
    """One representation that an endpoint can produce.

    Attributes
    ----------
    name : str
        What ``?format=`` calls it.
    media_type : str
        As it stands in Content-Type, without charset.
    also : tuple of str
        Other names of the type that an Accept header may use.
    """

    name: str
    media_type: str
    also: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Accepted:
    """One media range of an Accept header with its weight."""

    kind: str
    subtype: str
    weight: float
    plain: bool = True

    def specificity(self, media_type: str) -> int:
        """Return how closely the range names a type, 0 for no match. [-]

        The very type counts 4; with parameters, which nothing here has, 3: such a range stands for the type unless
        another names it without any. ``kind/*`` counts 2, ``*/*`` 1.
        """
        kind, _, subtype = media_type.partition("/")
        if (self.kind, self.subtype) == (kind, subtype):
            return 4 if self.plain else 3
        if (self.kind, self.subtype) == (kind, "*"):
            return 2
        return int((self.kind, self.subtype) == ("*", "*"))


def takes(*parameters: str) -> Callable[[View], View]:
    """Mark a view with the query parameters that it reads; any other is refused before it runs."""

    def mark(view: View) -> View:
        view.query_parameters = frozenset(parameters)  # type: ignore[attr-defined]
        return view

    return mark


def check_query() -> None:
    """Refuse a query parameter that the endpoint does not read, or one given twice."""
    if request.endpoint is None:
        return
    view = current_app.view_functions[request.endpoint]
    known: Collection[str] = getattr(view, "query_parameters", frozenset())
    for name, values in request.args.lists():
        if name not in known:
            offered = f"it takes {', '.join(sorted(known))}" if known else "it takes none"
            raise UnknownParameter(f"this operation has no query parameter {name[:40]!a}; {offered}")
        if len(values) > 1:
            raise UnknownParameter(f"the query parameter {name} was given {len(values)} times")


def accepted_ranges(header: str) -> list[Accepted]:
    """Return the media ranges of an Accept header; what cannot be read as one is left out.

    Parameters of a range other than q (``charset``, ``indent``, ``version``) do not matter to what is offered here.
    """
    ranges = []
    for element in ELEMENT.findall(header)[:MOST_RANGES]:
        first, *parameters = PARAMETER.findall(element) or [""]
        if match := RANGE.fullmatch(first):
            kind, subtype = match[1].lower(), match[2].lower()
            plain = all(parameter.strip().lower().startswith("q=") for parameter in parameters)
            ranges.append(Accepted(kind=kind, subtype=subtype, weight=_weight(parameters), plain=plain))
    return ranges


def _weight(parameters: list[str]) -> float:
    for parameter in parameters:
        name, _, value = parameter.partition("=")
        if name.strip().lower() == "q":
            # A weight that is no weight counts as none was meant: the least one that still accepts.
            return float(value.strip()) if QUALITY.fullmatch(value.strip()) else 0.001
    return 1.0


def quality(media_type: str, ranges: list[Accepted]) -> float:
    """Return the weight of the most specific range that matches, 0 if none does. [-]"""
    matches = [(item.specificity(media_type), item.weight) for item in ranges]
    best = max((match for match in matches if match[0]), default=(0, 0.0))
    return best[1]


def chosen(offers: Mapping[str, Offer]) -> Offer:
    """Return the offer that the current request asks for; the first one if it does not care.

    Raises
    ------
    NotAcceptable
        If the Accept header takes none of them.
    UnknownParameter
        If ``?format=`` names none of them.
    """
    wanted = request.args.get("format")
    if wanted is not None:
        if wanted not in offers:
            raise UnknownParameter(f"format: expected one of {', '.join(offers)}, got {wanted[:40]!a}")
        return offers[wanted]
    header = ",".join(request.headers.getlist("Accept")).strip()
    if not header:
        return next(iter(offers.values()))
    ranges = accepted_ranges(header)
    weights = {name: max(quality(t, ranges) for t in (o.media_type, *o.also)) for name, o in offers.items()}
    best = max(weights, key=lambda name: weights[name])
    if weights[best] <= 0.0:
        types = dict.fromkeys(offer.media_type for offer in offers.values())
        raise NotAcceptable(f"this operation offers {', '.join(types)}")
    return offers[best]


def coding_accepted(coding: str, header: str) -> bool:
    """Return whether an Accept-Encoding header takes a content coding; no header takes none but plain."""
    weights = {}
    for element in ELEMENT.findall(header)[:MOST_RANGES]:
        first, *parameters = PARAMETER.findall(element) or [""]
        weights[first.strip().lower()] = _weight(parameters)
    return weights.get(coding, weights.get("*", 0.0)) > 0.0
