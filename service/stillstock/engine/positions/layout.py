"""How many parts lie on the table within reach, and where."""

import math
from dataclasses import dataclass

from stillstock.engine.positions.request import Dowels, Locating, Part, Pattern, Stops, Table

__all__ = ["Room", "Row", "rooms"]

_NOISE = 1e-9  # [m]


@dataclass(frozen=True, kw_only=True)
class Row:
    """Where parts lie along one axis.

    Attributes
    ----------
    first, step : float
        Of the parts' lower edges. [m]
    count : int
        [-]
    needs, has : float
        Length that one part takes with its stop and the way of the cutter beyond it, and what there is. [m]
    """

    first: float
    step: float
    count: int
    needs: float
    has: float


@dataclass(frozen=True, kw_only=True)
class Room:
    """Where parts lie on the table."""

    x: Row
    y: Row

    @property
    def count(self) -> int:
        """How many. [-]"""
        return self.x.count * self.y.count

    def corner(self, number: int) -> tuple[float, float]:
        """Return the lower corner of a part; they count along x first. [m]"""
        row, column = divmod(number, self.x.count)
        return self.x.first + column * self.x.step, self.y.first + row * self.y.step


def rooms(part: Part, table: Table, locating: Locating, *, pattern: Pattern | None, gap: float, overrun: float) -> Room:
    """Return where parts lie, as many as there is room for.

    Parameters
    ----------
    part, table, locating
    pattern : Pattern or None
        On which stops, lines or dowels stand; None for anywhere.
    gap : float
        From part to part. [m]
    overrun : float
        How far the middle of the cutter goes beyond the edges of the part. [m]
    """
    ahead = locating.diameter if isinstance(locating, Stops) else 0.0
    x, y = (
        _row(
            part.size[axis],
            (table.box[axis], table.box[axis + 2]),
            (table.reach or table.box)[axis::2],
            spaces=(ahead, gap, overrun),
            pattern=None if pattern is None else (pattern.first[axis], pattern.pitch[axis], _mark(locating, axis)),
        )
        for axis in (0, 1)
    )
    return Room(x=x, y=y)


def _mark(locating: Locating, axis: int) -> float:
    """Return where the locator that must meet the pattern lies from the part's lower corner. [m]"""
    if isinstance(locating, Stops):
        return -locating.diameter / 2.0
    return locating.at[0][axis] if isinstance(locating, Dowels) else 0.0


def _row(
    size: float,
    table: tuple[float, float],
    reach: tuple[float, ...],
    *,
    spaces: tuple[float, float, float],
    pattern: tuple[float, float, float] | None,
) -> Row:
    ahead, gap, overrun = spaces
    first = max(table[0] + ahead, reach[0] + overrun)
    last = min(table[1], reach[1] - overrun) - size
    step = size + gap
    has = last + size - first
    if pattern is not None:
        start, pitch, mark = pattern
        first = start + math.ceil((first + mark - start) / pitch - _NOISE) * pitch - mark
        step = math.ceil(step / pitch - _NOISE) * pitch
    count = math.floor((last - first) / step + _NOISE) + 1 if last >= first - _NOISE else 0
    return Row(first=first, step=step, count=count, needs=size, has=has)
