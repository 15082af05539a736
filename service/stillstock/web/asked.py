"""What every question about a job is made of: what a document states, its digest, and the answer beside it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from stillstock.answers.margin_words import in_ascii
from stillstock.schemas import set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.web.body import Document
from stillstock.web.fingerprint import fingerprint

__all__ = ["Asked", "Judged", "asked", "summary_and_reason", "summary_of"]


class Answer(Protocol):
    """An answer with its one line and its verdict."""

    @property
    def summary(self) -> str:
        """One ASCII line."""
        ...

    @property
    def verdict(self) -> str:
        """The answer in a word."""
        ...


class AnswerWithReasons(Answer, Protocol):
    """An answer that tells what keeps its verdict from a plain yes."""

    @property
    def reasons(self) -> Sequence[str]:
        """In full, the gravest first."""
        ...


Stated = TypeVar("Stated")
Given = TypeVar("Given", bound=Answer)
Doubted = TypeVar("Doubted", bound=AnswerWithReasons)


@dataclass(frozen=True, kw_only=True)
class Asked(Generic[Stated]):
    """What a document states, within which limits it is judged, and its digest."""

    document: Stated
    limits: Limits
    fingerprint: str


@dataclass(frozen=True, kw_only=True)
class Judged(Generic[Stated, Given]):
    """The answer beside what was asked, for every format."""

    document: Stated
    answer: Given

    @property
    def verdict(self) -> str:
        """The answer in a word, for the header."""
        return str(self.answer.verdict)


def asked(document: Document, limits: Limits) -> Asked[set_up.Document]:
    """Return the set-up that a document states; raises every fault of it at once."""
    stated = set_up.load_set_up(document, load_tables(), limits=limits)
    return Asked(document=stated, limits=limits, fingerprint=fingerprint(document))


def summary_of(judged: Judged[Stated, Given]) -> str:
    """Return the answer's one line as a text."""
    return judged.answer.summary + "\n"


def summary_and_reason(judged: Judged[Stated, Doubted]) -> str:
    """Return the answer's one line as a text, and on a second the gravest reason where the line has no room for it."""
    first = next(map(in_ascii, judged.answer.reasons), "")
    return summary_of(judged) + ("" if first in judged.answer.summary else f"{first}\n")
