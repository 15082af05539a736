"""Work offsets of repeat parts as RS-274 text: G10 L2 lines between comments; nothing moves.

Where nobody stated where the table's zero lies in the machine, the lines are comments too: run, they would overwrite
good offsets with places that count from the table.
"""

from collections.abc import Iterator

from stillstock.answers.positions import Offset, PositionsAnswer
from stillstock.engine.positions.request import Height
from stillstock.writers.text import program_comment
from stillstock.writers.unit import INCH, MILLIMETRE, WrittenUnit, fixed

__all__ = ["MEDIA_TYPE", "offset_program"]

MEDIA_TYPE = "text/plain"


def offset_program(answer: PositionsAnswer) -> bytes:
    """Return a program that sets the offsets of the loading asked for and moves nothing, ASCII.

    Without the machine position of the table's zero it sets nothing either. Its numbers stand in the units of the
    question, and it says so.
    """
    unit = INCH if answer.asked.system == "inch" else MILLIMETRE
    lines = [*_header(answer, unit), f"{unit.word_g} G90"]
    for subject, offset in _offsets(answer):
        lines += program_comment(offset.word, subject)
        x, y, z = (fixed(value / unit.size, unit.program_decimals) for value in offset.machine)
        line = f"G10 L2 P{offset.number} X{x} Y{y} Z{z}"
        lines.append(f"(NOT SET: {line})" if answer.asked.offsets.machine is None else line)
    return ("\n".join([*lines, "M30"]) + "\n").encode("ascii")


def _header(answer: PositionsAnswer, unit: WrittenUnit) -> list[str]:
    asked = answer.asked
    top = "top of the stock" if asked.offsets.height is Height.STOCK_TOP else "face of the table"
    subjects = [
        ("Offsets", asked.title),
        ("Units", f"{unit.name}, {unit.word_g}"),
        ("Zero", f"X and Y at the front left corner of each part, Z on the {top}"),
        ("Loading", f"{asked.loading} of {answer.loadings}"),
        ("Answer", answer.summary),
        *(("Caution", caution) for caution in answer.cautions),
    ]
    return [line for subject, text in subjects for line in program_comment(subject, text)]


def _offsets(answer: PositionsAnswer) -> Iterator[tuple[str, Offset]]:
    """Yield what each offset is for, and the offset."""
    for place in answer.places:
        if place.loading != answer.asked.loading:
            continue
        for side, offset in (("", place.front), (", turned over", place.back)):
            if offset is not None:
                yield f"column {place.column}, row {place.row}{side}", offset
