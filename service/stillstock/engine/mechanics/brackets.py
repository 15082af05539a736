"""A lower and an upper bound on the gauge of every place of a sweep.

Places whose upper bound by `FanBounds` is low enough need no more. At the others those loads that may still be the
worst of their place are bounded in `Cones`, until both bounds meet or the budget is spent. Places that many moves
share, as where one ends and the next goes on, are bounded once. Very many places are gone through in portions, each
spread over the whole path, so that memory stays bounded and no stretch is left out when the budget ends. Own
derivation.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.cones import WIDTH, Cones, Ledger
from stillstock.engine.mechanics.fan_bounds import FanBounds, Sweep
from stillstock.engine.mechanics.linear_program import GIVES_WAY
from stillstock.engine.mechanics.sweep import SweepWorst
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray

__all__ = ["Brackets", "brackets_of"]

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

#: Loads of a place, those of the greatest upper bounds, that give its first lower bound. [-]
TRIED = 3

#: What it costs to sort the loads of a place, by measurement. [units]
A_PLACE = 0.1

#: Loads of the places that are gone through together; bounds memory. [-]
PORTION = 2_000_000

#: Places this near to each other in every coordinate are one. [m], [rad]
SAME = 1e-12

#: Places whose loads are looked at at once; bounds memory. [-]
AT_ONCE = 4000


@dataclass(frozen=True, kw_only=True)
class Brackets:
    """Bounds on the greatest gauge of each place.

    Attributes
    ----------
    lower, upper : (n,) arrays
        The lower one is 0 where the upper one is low enough for nobody to ask. [-]
    settled : (n,) bool array
        Whether a place is narrow or low enough, or nothing resists there; False where the budget was spent before.
    programmes : int
        Linear programmes solved for them. [-]
    """

    lower: FloatArray
    upper: FloatArray
    settled: BoolArray
    programmes: int


class _Pool(NamedTuple):
    """Loads that may be the worst of their place: their numbers, and a bound on the gauge of each. [-]"""

    place: IntArray
    number: IntArray
    upper: FloatArray


class _Bracketing:
    def __init__(self, capacity: Capacity, sweep: Sweep, *, enough: float, budget: int) -> None:
        self._c, self._sweep, self._enough = capacity, sweep, enough
        self._start = capacity.programmes
        self._cones = Cones(capacity, budget=budget)
        self._bounds = FanBounds(capacity, sweep)
        self._lower, self._upper = np.zeros(len(sweep)), np.zeros(len(sweep))

    def run(self, worst: SweepWorst) -> Brackets:
        """Bound every place, one portion of the sweep after the other."""
        self._lower[worst.place] = worst.worst.gauge
        first, which = _distinct(self._sweep)
        portions = -(-int(self._sweep.sizes[self._sweep.fan[first]].sum()) // PORTION)
        for number in range(portions):
            self._portion(first[number::portions])
        lower = np.zeros(len(first))
        np.maximum.at(lower, which, self._lower)
        lower, upper = lower[which], self._upper[first][which]
        upper = np.maximum(np.minimum(upper, worst.bound), lower)
        near = upper <= np.maximum(self._enough, (1.0 + 1.001 * WIDTH) * lower)
        return Brackets(
            lower=lower,
            upper=upper,
            settled=near | (lower >= GIVES_WAY * 1e-3),
            programmes=self._c.programmes - self._start,
        )

    def _portion(self, rows: IntArray) -> None:
        """Bound places by their fans, then by those of their loads that may be the worst there."""
        low, high = self._sweep.point.min(axis=0), self._sweep.point.max(axis=0)
        upper = self._bounds.upper(rows, low=low, high=high)
        self._upper[rows] = upper
        rows = rows[upper > self._enough]
        slopes = self._bounds.slopes(low=low, high=high)
        pools = [
            self._kept(mine[start : start + AT_ONCE], low, high, slopes)
            for mine in (rows[self._sweep.fan[rows] == fan] for fan in np.unique(self._sweep.fan[rows]))
            for start in range(0, len(mine), AT_ONCE)
        ]
        if pools:
            self._refine(_Pool(*(np.concatenate(columns) for columns in zip(*pools, strict=True))))

    def _kept(self, rows: IntArray, low: FloatArray, high: FloatArray, slopes: list[FloatArray]) -> _Pool:
        """Return those loads of places of one fan that may be the worst there."""
        spend(A_PLACE * len(rows))
        each = self._bounds.each(rows, low=low, high=high)
        for top in np.argsort(-each, axis=1, kind="stable")[:, :TRIED].T:
            wrenches = self._sweep.chosen(rows, top).wrenches
            found = self._c.combine(np.array([(wrenches @ planes.T).max(axis=1) for planes in slopes]))
            self._lower[rows] = np.maximum(self._lower[rows], found)
        keep = each > np.maximum(self._enough, (1.0 + WIDTH) * self._lower[rows])[:, None]
        self._upper[rows] = np.where(keep, 0.0, each).max(axis=1)
        at, number = np.nonzero(keep)
        return _Pool(rows[at], number, each[at, number])

    def _refine(self, pool: _Pool) -> None:
        """Bound the loads that are kept, each by itself."""
        ledger = Ledger(place=pool.place, upper=pool.upper, lower=self._lower, enough=self._enough)
        self._cones.refine(self._sweep.chosen(pool.place, pool.number).wrenches, ledger)
        np.maximum.at(self._upper, pool.place, ledger.upper)


def _distinct(sweep: Sweep) -> tuple[IntArray, IntArray]:
    """Return the first of those places that are the same to within rounding, and each place's number among these."""
    columns = np.column_stack([np.round(sweep.point / SAME), np.round(sweep.heading / SAME), sweep.fan])
    order = np.lexsort(columns.T)
    new = np.append(True, np.any(np.diff(columns[order], axis=0) != 0.0, axis=1))
    which = np.empty(len(order), dtype=np.int64)
    which[order] = np.cumsum(new) - 1
    return order[new], which


def brackets_of(capacity: Capacity, sweep: Sweep, worst: SweepWorst, *, enough: float, budget: int) -> Brackets:
    """Return a lower and an upper bound on the gauge of each place of a sweep.

    Parameters
    ----------
    capacity : Capacity
        The same that found the worst; what it has solved is not solved again.
    sweep : Sweep
    worst : SweepWorst
        Its worst place: no place has a greater gauge.
    enough : float
        Gauge below which a place needs no lower bound. [-]
    budget : int
        Linear programmes after which the brackets stay as wide as they are. [-]
    """
    return _Bracketing(capacity, sweep, enough=enough, budget=budget).run(worst)
