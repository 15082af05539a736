"""Cutting data that no table or practice knows: chips too thick for the tool, and cuts deeper than the stock."""

from collections.abc import Callable, Iterator

import numpy as np

from stillstock.answers.notices import Notice
from stillstock.engine.cutting.stock_removal import Removal
from stillstock.engine.holding.demands import plain
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import Cut, FloatArray, SetUp, ToolKind

__all__ = ["described_implausible", "program_implausible"]

#: Chip of one tooth on the tool's diameter beyond which a notice is given; shops use a hundredth to a tenth. Own
#: judgement. [-]
THICKEST_CHIP = 0.2

#: How far below the stock a cut usually goes, beside the bed's own error; common practice, no source. [m]
OVERCUT = 1e-3


def described_implausible(set_up: SetUp) -> Iterator[Notice]:
    """Give a notice for each described cut with too thick a chip, or deeper than the stock."""
    for number, cut in enumerate(set_up.cuts):
        pointer = f"/cuts/{number}"
        tool = set_up.tools[cut.tool]
        chip = 2.0 * np.pi * cut.feed / (abs(cut.speed) * tool.flutes)
        if chip > THICKEST_CHIP * tool.diameter:
            yield _thick_chip(f"feed and speed of {plain(cut.name)}", chip, tool.number, pointer=f"{pointer}/feed")
        below = set_up.bed.top - float(cut.path[:, 2].min())
        if below > _usual_overcut(set_up):
            yield _into_bed(plain(cut.name), below, set_up, pointer=f"{pointer}/path")
        elif _height(cut, set_up) + _usual_overcut(set_up) < cut.depth:
            detail = "a pass of {0} is deeper than the {1} of stock above the tip: it is reckoned as stated"
            numbers = ((cut.depth, "length"), (_height(cut, set_up), "length"))
            yield Notice(code="deeper_than_stock", detail=detail, pointer=f"{pointer}/depth", numbers=numbers)


def program_implausible(moves: Moves, removal: Removal, set_up: SetUp) -> Iterator[Notice]:
    """Give a notice for the first line of a program with too thick a chip, and for the first too deep below it."""
    cutting = removal.cutting & moves.known
    chips = np.where(cutting & (moves.kind == FEED), _chips(moves, set_up), 0.0)
    diameters = _by_tool(moves, lambda number: _diameter(set_up, number))
    thick = np.flatnonzero(chips > THICKEST_CHIP * diameters)
    if len(thick):
        row = int(thick[0])
        yield _thick_chip("feed and speed", float(chips[row]), int(moves.tool[row]), line=int(moves.line[row]))
    deep = np.flatnonzero(cutting & (removal.through > _usual_overcut(set_up)))
    if len(deep):
        below = float(removal.through[deep].max())
        yield _into_bed("the program", below, set_up, line=int(moves.line[deep[0]]))


def _chips(moves: Moves, set_up: SetUp) -> FloatArray:
    """Return the chip of one tooth on each move; 0 where no spindle turns. [m]"""
    flutes = _by_tool(moves, lambda number: set_up.tools[number].flutes if number in set_up.tools else 1)
    teeth = np.abs(moves.speed) * flutes / (2.0 * np.pi)
    chips: FloatArray = np.zeros(len(moves))
    np.divide(moves.feed * set_up.feed_override, teeth, out=chips, where=teeth > 0.0)
    return chips


def _by_tool(moves: Moves, value: Callable[[int], float]) -> FloatArray:
    """Return a number of each move's tool, looked up once for each tool."""
    numbers, which = np.unique(moves.tool, return_inverse=True)
    return np.array([value(int(number)) for number in numbers], dtype=float)[which]


def _diameter(set_up: SetUp, number: int) -> float:
    tool = set_up.tools.get(number)
    return np.inf if tool is None or tool.kind is ToolKind.PROBE else tool.diameter


def _usual_overcut(set_up: SetUp) -> float:
    """Return how far a cut may go into the bed without a word: as the shop states, else as usual. [m]"""
    stated = set_up.clearances.into_bed
    return max(OVERCUT, stated or 0.0) + set_up.bed.error


def _height(cut: Cut, set_up: SetUp) -> float:
    return max(set_up.stock.top - max(float(cut.path[:, 2].min()), set_up.stock.origin[2]), 0.0)


def _thick_chip(what: str, chip: float, tool: int, *, pointer: str = "/program/text", line: int = 0) -> Notice:
    detail = (
        f"{what} make a chip of {{0}} a tooth, more than a fifth of the diameter of tool {tool}: no table or practice "
        "goes so far, so the force is a guess"
    )
    return Notice(code="thick_chip", detail=detail, pointer=pointer, line=line, numbers=((chip, "length"),))


def _into_bed(what: str, below: float, set_up: SetUp, *, pointer: str = "/program/text", line: int = 0) -> Notice:
    """Return the notice of a cut too far into the bed; one into metal or right through cannot be meant."""
    bed = set_up.bed
    if bed.material.family == "metal" or below > bed.thickness:
        where = "into a bed of metal" if bed.material.family == "metal" else "right through the bed"
        detail = f"{what} cuts {where}: check its depth and where zero lies"
        return Notice(code="into_bed", detail=detail, pointer=pointer, line=line, doubt=True)
    detail = f"{what} cuts {{0}} into the bed, more than a usual overcut: it may meet screws or metal there"
    return Notice(code="into_bed", detail=detail, pointer=pointer, line=line, numbers=((below, "length"),))
