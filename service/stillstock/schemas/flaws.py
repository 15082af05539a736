"""What a schema finds wrong, and how its tree of findings becomes a list of faults with JSON pointers."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError

from stillstock.errors import Fault, ImpossibleSetUp, InvalidDocument

__all__ = ["Flaw", "Tree", "flawed", "pointer_token", "raise_flaws"]

Tree = Mapping[Any, Any] | Sequence[Any]


@dataclass(frozen=True, kw_only=True)
class Flaw:
    """One finding before its place in the document is known.

    Attributes
    ----------
    code, detail, limit, seen, corrected
        As in `errors.Fault`.
    late : bool
        True if the document keeps the schema all the same: the value cannot be, rather than cannot be read.
    """

    code: str
    detail: str
    limit: object = None
    seen: object = None
    corrected: object = None
    late: bool = False


def flawed(code: str, detail: str, *, late: bool = False, **more: object) -> ValidationError:
    """Return the exception with which a field reports one finding; `more` is limit, seen, corrected."""
    return ValidationError([Flaw(code=code, detail=detail, late=late, **more)])


def pointer_token(name: object) -> str:
    """Return a member's name or an element's index as a token of a JSON pointer (RFC 6901, section 3)."""
    return "/" + str(name).replace("~", "~0").replace("/", "~1")


def raise_flaws(tree: Tree) -> None:
    """Refuse a document for the findings of its schema.

    Raises
    ------
    InvalidDocument
        If any finding breaks the schema; all findings are listed.
    ImpossibleSetUp
        If all of them keep it.
    """
    found = list(_walk(tree, ""))
    if not found:
        return
    faults = [_fault(pointer, flaw) for pointer, flaw in found]
    if all(flaw.late for _, flaw in found):
        raise ImpossibleSetUp(faults)
    raise InvalidDocument(faults)


def _walk(tree: object, pointer: str) -> Iterator[tuple[str, Flaw]]:
    if isinstance(tree, Mapping):
        for name, branch in tree.items():
            yield from _walk(branch, pointer if name == "_schema" else pointer + pointer_token(name))
    elif isinstance(tree, Flaw):
        yield pointer, tree
    elif isinstance(tree, list | tuple):
        for item in tree:
            yield from _walk(item, pointer)
    else:
        yield pointer, Flaw(code="type", detail=str(tree))


def _fault(pointer: str, flaw: Flaw) -> Fault:
    return Fault(
        pointer=pointer,
        code=flaw.code,
        detail=flaw.detail,
        limit=flaw.limit,
        seen=flaw.seen,
        corrected=flaw.corrected,
    )
