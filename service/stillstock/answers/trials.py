"""Changed set-ups put to the same test as the stated one, within a budget of work.

A search tries each change at the places that were the worst so far, which costs a few programmes; what it finds is
proved on every load of the job. Where the proof finds a worse place, that joins the others and the search goes on.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillstock.answers.hold import (
    PESSIMIST_SLACK,
    Assessed,
    Stance,
    assess,
    pessimistic_readings,
    push_off,
    stance_of,
    typical_reading,
)
from stillstock.answers.job import Job
from stillstock.engine.checks.check import Check
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.mechanics.threshold import nearest_that_holds
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner

__all__ = ["Bench", "Checks", "OutOfWork", "Pull", "Trial", "Variant"]

Checks = Callable[[Stance, Assessed], Sequence[Check]]

#: What a search asks beyond what is required, so that the proof, whose pessimist has a slack, agrees. [-]
SURPLUS, PESSIMIST_SURPLUS = 1.002, 1.0 + 1.05 * PESSIMIST_SLACK

#: Searches until a proof agrees. [-]
ROUNDS = 4

#: Loads that cost as much as a programme, in reading and bounding them; by measurement. [-]
LOADS_A_PROGRAMME = 1000

#: Points nearer to each other than this are one. [m]
SAME_POINT = 1e-9


class OutOfWork(Exception):
    """The budget of work is spent."""


@dataclass(frozen=True, kw_only=True)
class Pull:
    """What pulls at the stock: typical, and at every corner of the band of cutting coefficients."""

    typical: JobSweep
    hard: JobSweep


@dataclass(frozen=True, kw_only=True)
class Variant:
    """A changed set-up.

    Attributes
    ----------
    set_up : SetUp
    job : Job or None
        What pulls at it; None if that is what pulled before.
    """

    set_up: SetUp
    job: Job | None = None


@dataclass(frozen=True, kw_only=True)
class Trial:
    """A set-up as judged.

    Attributes
    ----------
    typical, hard : Assessed
    checks : tuple of Check
    stands : bool
        Whether its holders leave it in place before any load.
    required : float
        Factor that is asked for. [-]
    """

    typical: Assessed
    hard: Assessed
    checks: tuple[Check, ...]
    stands: bool
    required: float

    @property
    def score(self) -> float:
        """How much of what is asked for it reaches; 1 is enough. [-]"""
        return min(self.typical.factor / self.required, self.hard.factor)

    @property
    def failing(self) -> frozenset[tuple[str, int | None]]:
        """Name and holder of each check that is not ok."""
        return frozenset((check.name, check.holder) for check in self.checks if not check.ok)

    @property
    def holds(self) -> bool:
        """Whether it holds in full."""
        return self.stands and self.score >= 1.0 and not self.failing and all(check.judged for check in self.checks)


def _only(loads: JobSweep, rows: NDArray[np.int64]) -> JobSweep:
    sweep = loads.sweep
    return JobSweep(
        sweep=replace(sweep, fan=sweep.fan[rows], point=sweep.point[rows], heading=sweep.heading[rows]),
        tip=loads.tip[rows],
        cut=loads.cut[rows],
        line=loads.line[rows],
        move=loads.move[rows],
    )


def _size(loads: JobSweep) -> int:
    sizes = np.array([len(fan.force) for fan in loads.sweep.fans])
    return int(sizes[loads.sweep.fan].sum())


class Bench:
    """Where changed set-ups are tried; keeps the worst places met so far, and counts the work."""

    def __init__(self, job: Job, tables: Tables, pull: Pull, stated: Trial, *, checks: Checks, work: int) -> None:
        self.job, self.tables, self.stated, self.work = job, tables, stated, work
        self._pull, self._checks = pull, checks
        self._shaken = tables.value("friction", "any_pair", "dynamic_factor").typical
        self._points: list[FloatArray] = []
        self._moves: set[int] = set()
        self._cuts: set[int] = set()
        self.remember(stated)

    def remember(self, trial: Trial) -> bool:
        """Keep a trial's worst places; return whether any is new."""
        new = False
        for worst in (trial.typical, trial.hard):
            place, loads = worst.worst.place, worst.loads
            self._moves.add(int(loads.move[place]))
            self._cuts.add(int(loads.cut[place]))
            at = loads.tip[place, :2]
            if not any(np.abs(at - known).max() < SAME_POINT for known in self._points):
                self._points.append(at)
                new = True
        return new

    def _near(self, loads: JobSweep) -> JobSweep:
        """Return the loads at the worst places met so far, at whatever height."""
        there = np.zeros(len(loads), dtype=bool)
        for point in self._points:
            there |= np.abs(loads.tip[:, :2] - point).max(axis=1) < SAME_POINT
        return _only(loads, np.nonzero(there)[0]) if there.any() else loads

    def _narrowed(self, job: Job) -> Job:
        """Return the job without the cuts and moves that were never the worst."""
        set_up = job.set_up
        kept = replace(
            set_up,
            cuts=tuple(cut for number, cut in enumerate(set_up.cuts) if number in self._cuts),
            loads=set_up.loads if max(self._cuts) >= len(set_up.cuts) else (),
        )
        moves = np.array(sorted(self._moves))
        groups = (replace(group, rows=group.rows[np.isin(group.rows, moves)]) for group in job.groups)
        return replace(job, set_up=kept, groups=tuple(group for group in groups if len(group.rows)))

    def _judged(self, set_up: SetUp, pull: Pull) -> Trial | None:
        """Return the verdict on a changed set-up, its own balance left out; None if it cannot be."""
        if self.work <= 0:
            raise OutOfWork
        try:
            stance = stance_of(set_up, self.tables)
            typical = assess(stance, [typical_reading()], pull.typical)
            ends = pessimistic_readings(stance.contacts, shaken=self._shaken)
            hard = assess(stance, ends, pull.hard, slack=PESSIMIST_SLACK)
            checks = tuple(self._checks(stance, typical))
        except ImpossibleSetUp:
            return None
        loads = _size(pull.typical) + _size(pull.hard)
        self.work -= typical.programmes + hard.programmes + loads // LOADS_A_PROGRAMME + 1
        return Trial(typical=typical, hard=hard, checks=checks, stands=True, required=set_up.required)

    def _stands(self, set_up: SetUp) -> bool:
        stance = stance_of(set_up, self.tables)
        ends = pessimistic_readings(stance.contacts, shaken=1.0)
        return all(push_off(stance, reading) is None for reading in (typical_reading(), *ends))

    def quick(self, variant: Variant) -> Trial | None:
        """Return what a variant reaches at the worst places met so far; None if it cannot be."""
        job = variant.job
        if job is None:
            return self._judged(
                variant.set_up, Pull(typical=self._near(self._pull.typical), hard=self._near(self._pull.hard))
            )
        few = self._narrowed(job)
        (typical, _), (hard, _) = few.loads(Corner.TYPICAL), few.loads(Corner.HIGH)
        if typical is None or hard is None:
            return None
        return self._judged(variant.set_up, Pull(typical=self._near(typical), hard=self._near(hard)))

    def prove(self, variant: Variant) -> Trial | None:
        """Return the verdict on a variant over every load of the job; None if it cannot be."""
        job, pull = variant.job, self._pull
        if job is not None:
            (typical, _), (hard, _) = job.loads(Corner.TYPICAL), job.loads(Corner.HIGH)
            if typical is None or hard is None:
                return None
            pull = Pull(typical=typical, hard=hard)
        trial = self._judged(variant.set_up, pull)
        return None if trial is None else replace(trial, stands=self._stands(variant.set_up))

    def accepts(self, trial: Trial | None) -> bool:
        """Return whether a trial reaches what is asked for and spoils nothing that was right before."""
        return trial is not None and trial.stands and trial.score >= 1.0 and trial.failing <= self.stated.failing

    def _seems(self, trial: Trial | None) -> bool:
        return (
            trial is not None
            and trial.typical.factor >= SURPLUS * trial.required
            and trial.hard.factor >= PESSIMIST_SURPLUS
            and trial.failing <= self.stated.failing
        )

    def failing(self, set_up: SetUp) -> frozenset[tuple[str, int | None]] | None:
        """Return the checks that fail with other holders under the loads as they were; None if it cannot be."""
        try:
            checks = self._checks(stance_of(set_up, self.tables), self.stated.typical)
        except ImpossibleSetUp:
            return None
        return frozenset((check.name, check.holder) for check in checks if not check.ok)

    def settle(self, variant: Callable[[float], Variant], values: Sequence[float]) -> tuple[float, Trial] | None:
        """Return the most preferred value that is proved to hold, with its proof; None if none is found.

        Parameters
        ----------
        variant : callable
            The changed set-up at a value.
        values : sequence of float
            From the most preferred to the least.

        Raises
        ------
        OutOfWork
            If the budget ends before.
        """
        left = list(values)
        for _ in range(ROUNDS):
            found = nearest_that_holds(lambda value: self._seems(self.quick(variant(value))), left)
            if found is None:
                return None
            trial = self.prove(variant(found))
            if trial is not None and self.accepts(trial):
                return found, trial
            worse = trial is not None and self.remember(trial)
            beyond = [value for value in left if (value - found) * (values[-1] - values[0]) > 0.0]
            left = [found, *beyond] if worse else beyond
        return None
