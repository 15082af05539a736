"""Canned drilling and boring cycles as the moves that they stand for.

After T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3", NISTIR 6556, 2000, section
3.5.16 (seen as quoted in a public copy). G73 is not in it: chip breaking with a short step back, common practice, no
source.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from stillstock.engine.program.moves import FEED, RAPID

__all__ = ["BACK_OFF", "CYCLES", "Cycle", "cycle_moves", "least_count"]

CYCLES = frozenset({73, 81, 82, 83, 85, 89})

BACK_OFF = 2.54e-4
"""Step back of G73, and height above the hole's bottom to which G83 returns at the rapid rate. [m]

0.010 in, as in the interpreter of NISTIR 6556 (from memory); the report itself says "backed off a bit". Between two
pecks the report goes out to the level of return, its interpreter (from memory) and common practice to the R plane:
so here.
"""

Point = tuple[float, float, float]


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """A canned cycle in the axes of its plane: two along it, the third its normal.

    Attributes
    ----------
    code : int
        Number of the G word. [-]
    first : (2,) tuple
        Place of the first hole. [m]
    step : (2,) tuple
        From one repeat to the next; zero in absolute distance mode. [m]
    plane, bottom : float
        R plane and bottom of the hole along the normal. [m]
    initial : float
        Level along the normal before the series of cycles began. [m]
    to_initial : bool
        G98: return to the initial level, if that is above the R plane; else G99.
    peck : float
        Q word, 0 if none. [m]
    repeats : int
        L or K word. [-]
    """

    code: int
    first: tuple[float, float]
    step: tuple[float, float]
    plane: float
    bottom: float
    initial: float
    to_initial: bool
    peck: float
    repeats: int


def least_count(cycle: Cycle) -> float:
    """Count the moves that the cycle takes at the least; may be infinite. [-]"""
    pecks = 1.0
    if cycle.code in (73, 83) and cycle.peck > 0.0:
        pecks = max(1.0, (cycle.plane - cycle.bottom) / cycle.peck)
    return cycle.repeats * pecks


def cycle_moves(cycle: Cycle, *, start: Point) -> Iterator[tuple[int, Point]]:
    """Give the moves of a cycle with its repeats, one after another.

    Parameters
    ----------
    cycle : Cycle
    start : (3,) tuple
        Where the tool stands, in the cycle's axes. [m]

    Yields
    ------
    (int, (3,) tuple)
        RAPID or FEED, and where the move ends. [-, m]
    """
    r = cycle.plane
    level = start[2]
    if level < r:
        yield RAPID, (start[0], start[1], r)
        level = r
    clear = r if not cycle.to_initial or cycle.initial <= r else cycle.initial
    a, b = cycle.first
    for _ in range(cycle.repeats):
        yield RAPID, (a, b, level)
        yield RAPID, (a, b, r)
        yield from _hole(cycle, a, b)
        out = FEED if cycle.code in (85, 89) else RAPID
        yield out, (a, b, clear)
        level = clear
        a, b = a + cycle.step[0], b + cycle.step[1]


def _hole(cycle: Cycle, a: float, b: float) -> Iterator[tuple[int, Point]]:
    """From the R plane to the bottom."""
    if cycle.code in (73, 83) and cycle.peck > 0.0:
        r = cycle.plane
        # A rest thinner than a rounding error is no peck.
        for k in range(1, math.ceil((r - cycle.bottom) / cycle.peck - 1e-9)):
            depth = r - k * cycle.peck
            yield FEED, (a, b, depth)
            if cycle.code == 83:
                yield RAPID, (a, b, r)
            yield RAPID, (a, b, min(depth + BACK_OFF, r))
    yield FEED, (a, b, cycle.bottom)
