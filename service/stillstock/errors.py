"""Catalogue of everything the service refuses, and of faults inside a document.

Every class has a `slug`, the end of the problem type's URI, and a `title`. Nothing here knows HTTP: `web/problems.py`
maps a class to its status.

    StillstockError
    |- NotJson                  the body is no JSON document that we take (duplicate key, NaN, too deep ...)
    |- InvalidDocument          the document breaks the schema; all faults at once
    |- ImpossibleSetUp          keeps the schema but cannot be (geometry, units, ranges, a tool that is not there)
    |- NotInBalance             the holders push the stock off before any cut
    |- NothingToJudge           no cut, load or motion is stated
    |- TooMuchWork              more work than one request may cost; names the limit
    |- UnknownParameter, NotAcceptable, WrongMediaType, TooLarge, Unauthorized, Busy, NotFound, WrongMethod
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

__all__ = [
    "Busy",
    "DocumentError",
    "Fault",
    "ImpossibleSetUp",
    "InvalidDocument",
    "NotAcceptable",
    "NotFound",
    "NotInBalance",
    "NotJson",
    "NothingToJudge",
    "StillstockError",
    "TooLarge",
    "TooMuchWork",
    "Unauthorized",
    "UnknownParameter",
    "WrongMediaType",
    "WrongMethod",
]


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing wrong in a document: where, what, what was expected, what came.

    Attributes
    ----------
    pointer : str
        RFC 6901 JSON pointer to the member (or to where a missing one belongs).
    code : str
        Constant word for the kind of fault, e.g. ``"range"``, ``"unit"``, ``"unknown_field"``.
    detail : str
        One sentence that says what to change; where there are `numbers`, ``{0}``, ``{1}`` ... stand for them.
    limit, seen, corrected : object
        The bound that was broken, what came, and the corrected value where one is plain. [SI of `dimension`, if any]
    numbers : tuple of (float, str)
        Value and dimension of each number in `detail`. [SI]
    dimension : str
        Of limit and seen, if they are in SI; empty if they are as the caller wrote them.
    line : int or None
        Line of the program, if the fault lies there. [-]
    """

    pointer: str
    code: str
    detail: str
    limit: object = None
    seen: object = None
    corrected: object = None
    line: int | None = None
    numbers: tuple[tuple[float, str], ...] = ()
    dimension: str = ""


class StillstockError(Exception):
    """Root of all that the service refuses."""

    slug: ClassVar[str] = "refused"
    title: ClassVar[str] = "The request was refused"

    def __init__(self, detail: str) -> None:
        super().__init__(detail)
        self.detail = detail


class DocumentError(StillstockError):
    """Something in the document; carries every fault found."""

    slug = "document"
    title = "The document cannot be used"

    def __init__(self, faults: Sequence[Fault], detail: str = "") -> None:
        super().__init__(detail or (faults[0].detail if faults else self.title))
        self.faults = tuple(faults)


class NotJson(StillstockError):
    """The body is not a JSON document that the service takes."""

    slug = "not-json"
    title = "The body is not a usable JSON document"


class InvalidDocument(DocumentError):
    """The document breaks the schema of the contract."""

    slug = "invalid-document"
    title = "The document breaks the schema"


class ImpossibleSetUp(DocumentError):
    """The document keeps the schema, yet no such set-up can exist or be judged."""

    slug = "impossible-set-up"
    title = "No such set-up can exist"


class NotInBalance(DocumentError):
    """The holders push the stock off before any cut is made."""

    slug = "not-in-balance"
    title = "The set-up does not stay put by itself"


class NothingToJudge(DocumentError):
    """There is nothing in the document that pulls at the stock."""

    slug = "nothing-to-judge"
    title = "The document states no cut, load or motion"


class TooMuchWork(DocumentError):
    """The document asks for more work than one request may cost."""

    slug = "too-much-work"
    title = "The document asks for too much work"


class UnknownParameter(StillstockError):
    """A query parameter that no operation here has, or a bad value of one."""

    slug = "unknown-parameter"
    title = "Unknown query parameter"


class NotFound(StillstockError):
    """No such resource."""

    slug = "not-found"
    title = "No such resource"


class WrongMethod(StillstockError):
    """The resource does not have this method."""

    slug = "wrong-method"
    title = "The resource does not take this method"


class NotAcceptable(StillstockError):
    """No media type that the caller accepts can be produced."""

    slug = "not-acceptable"
    title = "None of the accepted media types can be produced"


class WrongMediaType(StillstockError):
    """The body is declared as something other than JSON."""

    slug = "wrong-media-type"
    title = "The body must be application/json"


class TooLarge(StillstockError):
    """The body has more bytes than the limit."""

    slug = "too-large"
    title = "The body is larger than the limit"


class Unauthorized(StillstockError):
    """A bearer token is asked for and was not given, or is wrong."""

    slug = "unauthorized"
    title = "A valid bearer token is needed"


class Busy(StillstockError):
    """As much work is in flight as the service takes at once."""

    slug = "busy"
    title = "The service is at its limit of work in flight"
