"""What a set of ways resists at so many draws of what scatters: the best way, and in it the worst system, for each."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.mechanics.alike import Answers, agree, gauge_make
from stillstock.engine.mechanics.equilibrium import Family
from stillstock.engine.mechanics.linear_program import IntArray
from stillstock.engine.set_up import FloatArray

__all__ = ["CapacityAtDraws"]

BoolArray = NDArray[np.bool_]


class CapacityAtDraws:
    """The gauge of loads at so many draws of what the contacts resist.

    Every system's gauge at every load lies between two bounds (`Answers`); those of a way are the greatest of its
    systems', those of a load the least of the ways'. What keeps a draw's own bounds apart is solved, and what that
    tells of the others is read, until none are.
    """

    def __init__(
        self,
        ways: Sequence[Sequence[tuple[Family, BoolArray]]],
        loads: FloatArray,
        member: IntArray,
        *,
        known: Sequence[Sequence[IntArray]] = (),
    ) -> None:
        """Start with all unknown.

        Parameters
        ----------
        ways : sequence of sequence of (Family, (n,) bool array)
            Systems of each way, and at which members each has to be survived.
        loads : (d, p, 6) array
            Of each draw, the wrenches about the origin of which the worst counts. [N, N m]
        member : (d,) int array
            Which member of the families each draw has.
        known : sequence of sequence of (m,) int array
            Bases of each system, from the same contacts at other draws; none is empty.
        """
        self._shape, self._member = loads.shape[:2], member
        self._answers: list[Answers] = []
        self._counts: list[BoolArray] = []
        ends = np.cumsum([len(way) for way in ways])
        self._ways = [range(end - len(way), end) for end, way in zip(ends, ways, strict=True)]
        each = np.repeat(member, loads.shape[1])
        for number, (family, counts) in enumerate(system for way in ways for system in way):
            right = -family.scale.wrenches(loads.reshape(-1, 6))
            mine = known[number] if number < len(known) else ()
            self._answers.append(Answers(make=gauge_make(family), member=each, right=right, known=mine))
            self._counts.append(counts)

    def bases(self) -> list[list[IntArray]]:
        """Return the bases that are known of each system."""
        return [each.bases() for each in self._answers]

    @property
    def solved(self) -> int:
        """Programmes solved outright. [-]"""
        return sum(each.solved for each in self._answers)

    def _bounds(self, draws: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return the bounds of each system at some draws, (systems, draws, places); what does not count is least."""
        cells = draws[:, None] * self._shape[1] + np.arange(self._shape[1])
        counts = np.array([mask[self._member[draws]] for mask in self._counts])[..., None]
        lower = np.array([np.maximum(each.lower[cells], 0.0) for each in self._answers])
        upper = np.array([np.maximum(each.upper[cells], 0.0) for each in self._answers])
        return np.where(counts, lower, -1.0), np.where(counts, upper, -1.0)

    def _by_way(self, values: FloatArray) -> FloatArray:
        return np.array([values[way.start : way.stop].max(axis=0) for way in self._ways])

    def gauges(self) -> FloatArray:
        """Return the worst gauge of each draw, (d,). [-]"""
        draws = np.arange(self._shape[0])
        found = np.zeros(len(draws))
        while True:
            lower, upper = self._bounds(draws)
            least, greatest = self._by_way(lower), self._by_way(upper)
            low, high = least.min(axis=0).max(axis=1), greatest.min(axis=0).max(axis=1)
            settled = agree(low, high)
            found[draws[settled]] = high[settled]
            if settled.all():
                return found
            draws, least, greatest, upper = (
                draws[~settled],
                least[:, ~settled],
                greatest[:, ~settled],
                upper[:, ~settled],
            )
            self._ask(draws, self._wanted(least, greatest, upper))

    def _wanted(self, least: FloatArray, greatest: FloatArray, upper: FloatArray) -> tuple[IntArray, IntArray]:
        """Return which system at which place keeps the bounds of each draw apart.

        Of the place that may be the worst, the way that may be the best, and in it the system that may be the worst.
        """
        every = np.arange(upper.shape[1])
        place = greatest.min(axis=0).argmax(axis=1)
        way = least[:, every, place].argmin(axis=0)
        system = np.zeros(len(every), dtype=np.int64)
        for number, members in enumerate(self._ways):
            mine = way == number
            there = upper[members.start : members.stop, every[mine], place[mine]]
            system[mine] = members.start + there.argmax(axis=0) if mine.any() else 0
        return system, place

    def _ask(self, draws: IntArray, wanted: tuple[IntArray, IntArray]) -> None:
        """Draw the bounds closer of the system that most draws wait for."""
        system, place = wanted
        number = int(np.bincount(system).argmax())
        cells = (draws * self._shape[1] + place)[system == number]
        if not self._answers[number].narrow(cells):
            self._answers[number].solve(int(cells[0]))
