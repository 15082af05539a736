"""Work offsets as RS-274 text: G10 L2 lines between comments; nothing moves."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stillstock.writers.text import program_comment
from stillstock.writers.unit import WrittenUnit, fixed

__all__ = ["MEDIA_TYPE", "WorkOffset", "offset_program"]

MEDIA_TYPE = "text/plain"


@dataclass(frozen=True, kw_only=True)
class WorkOffset:
    """One offset to set: what it is for, its word and P number, and the machine position of its zero. [m]"""

    subject: str
    word: str
    number: int
    machine: tuple[float, float, float]


def offset_program(offsets: Iterable[WorkOffset], *, unit: WrittenUnit, comments: Sequence[tuple[str, str]]) -> bytes:
    """Return a program that sets work offsets and moves nothing, ASCII.

    Parameters
    ----------
    offsets : iterable of WorkOffset
    unit : WrittenUnit
        In which the numbers stand; the program says so.
    comments : sequence of (subject, text)
        For its head.
    """
    lines = [line for subject, text in comments for line in program_comment(subject, text)]
    lines.append(f"{unit.word_g} G90")
    for offset in offsets:
        lines += program_comment(offset.word, offset.subject)
        x, y, z = (fixed(value / unit.size, unit.program_decimals) for value in offset.machine)
        lines.append(f"G10 L2 P{offset.number} X{x} Y{y} Z{z}")
    return ("\n".join([*lines, "M30"]) + "\n").encode("ascii")
