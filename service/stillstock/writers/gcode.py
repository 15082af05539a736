"""Tool paths as RS-274 text (ISO 6983 style), plain enough for the smallest controller.

One tool, lifted first, plain G0, G1 and half-turn arcs, each move with its word, no exponent, always a decimal point.
"""

import math
from collections.abc import Iterator

from stillstock.engine.grid.cutting_time import peck_levels
from stillstock.engine.grid.tool_path import Bore, Pass, Plunge, Stroke, ToolPath
from stillstock.writers.text import program_comment
from stillstock.writers.unit import MILLIMETRE, WrittenUnit, fixed, trimmed

__all__ = ["MEDIA_TYPE", "rs274"]

MEDIA_TYPE = "text/plain"
_SPIN_UP = 4  # dwell for the spindle to reach its speed (common practice, no source) [s]
_CAUTIONS = (
    "Try it in the air first: zero Z 5 mm [0.2 in] above the board and watch the whole run.",
    "Clamps, screws and hoses off the board; the clearance height below knows nothing of them.",
    "No tool change in here: put the tool in and zero Z on the face of the board before starting.",
)


def rs274(path: ToolPath, *, unit: WrittenUnit) -> bytes:
    """Return a tool path as a program, ASCII, lines ended by a line feed.

    Parameters
    ----------
    path : ToolPath
        What the tool does. [m]
    unit : WrittenUnit
        In which the numbers stand; the program says so (G21 or G20).

    Returns
    -------
    bytes
        With a header of comments, a safe start, and M30 at the end.
    """
    block = _Block(unit, path)
    lines = [*_header(path, block), f"G17 {unit.word_g} G40 G49 G80 G90 G94", "G54", block.lift()]
    lines += [f"S{trimmed(path.speed * 30.0 / math.pi, 0)} M3", f"G4 P{_SPIN_UP}"]
    for item in path.passes:
        lines += _moves(item, block)
    return ("\n".join([*lines, "M5", "M30"]) + "\n").encode("ascii")


class _Block:
    """Writes one block: knows the unit, the clearance and the feeds."""

    def __init__(self, unit: WrittenUnit, path: ToolPath) -> None:
        self.unit = unit
        self.feed = self.rate(path.feed)
        self.plunge = self.rate(path.plunge)
        self.clearance = path.clearance

    def number(self, value: float) -> str:
        return fixed(value / self.unit.size, self.unit.program_decimals)

    def rate(self, value: float) -> str:
        """Return a feed per minute, to 1 mm/min or 0.1 in/min."""
        return fixed(value * 60.0 / self.unit.size, 0 if self.unit is MILLIMETRE else 1)

    def plan(self, x: float, y: float) -> str:
        return f"X{self.number(x)} Y{self.number(y)}"

    def lift(self) -> str:
        return f"G0 Z{self.number(self.clearance)}"

    def level(self, z: float) -> str:
        return f"Z{self.number(z)}"


def _header(path: ToolPath, block: _Block) -> list[str]:
    subjects = [
        ("Program", path.title),
        ("Units", f"{block.unit.name}, {block.unit.word_g}; feeds per minute"),
        ("Tool", path.tool),
        ("Zero", path.zero),
        ("Clearance", f"{block.number(block.clearance)} {block.unit.name} above zero between cuts"),
        *(("Note", note) for note in path.notes),
        *(("Caution", caution) for caution in (*path.cautions, *_CAUTIONS)),
    ]
    return [line for subject, text in subjects for line in program_comment(subject, text)]


def _moves(item: Pass, block: _Block) -> Iterator[str]:
    if isinstance(item, Stroke):
        return _stroke(item, block)
    if isinstance(item, Plunge):
        return _plunge(item, block)
    return _bore(item, block)


def _stroke(item: Stroke, block: _Block) -> Iterator[str]:
    rows = item.points.tolist()
    yield f"G0 {block.plan(rows[0][0], rows[0][1])}"
    yield f"G1 {block.level(rows[0][2])} F{block.plunge}"
    written = block.plan(rows[0][0], rows[0][1])
    word = f" F{block.feed}"
    for x, y, _ in rows[1:]:
        place = block.plan(x, y)
        if place != written:
            yield f"G1 {place}{word}"
            written, word = place, ""
    yield block.lift()


def _plunge(item: Plunge, block: _Block) -> Iterator[str]:
    yield f"G0 {block.plan(*item.at)}"
    reached = None
    for level in peck_levels(item):
        if reached is not None:
            yield f"G0 {block.level(reached)}"
        yield f"G1 {block.level(level)} F{block.plunge}"
        yield block.lift()
        reached = level


def _bore(item: Bore, block: _Block) -> Iterator[str]:
    x, y = item.at
    for radius in item.radii:
        right, left = block.plan(x + radius, y), block.plan(x - radius, y)
        offset = block.number(radius)
        yield f"G0 {right}"
        yield f"G1 {block.level(item.top)} F{block.plunge}"
        gain = (item.top - item.bottom) / item.turns
        word = f" F{block.feed}"
        for turn in range(item.turns + 1):
            upper = max(item.bottom, item.top - (turn + 0.5) * gain)
            lower = max(item.bottom, item.top - (turn + 1.0) * gain)
            yield f"G3 {left} {block.level(upper)} I-{offset} J0.0{word}"
            yield f"G3 {right} {block.level(lower)} I{offset} J0.0"
            word = ""
        yield block.lift()
