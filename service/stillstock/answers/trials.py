"""Changed set-ups put to the same test as the stated one, within a budget of work.

A search tries each change under the loads that were the worst so far (other holders), or at the places where they were
(other cuts), which costs a few programmes; what it finds is proved on every load of the job. Where the proof finds a
worse load, that joins the others and the search goes on.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillstock.answers.hold import (
    PESSIMIST_SLACK,
    Assessed,
    Held,
    Stance,
    assess_held,
    held,
    pessimistic_readings,
    push_off,
    stance_of,
    typical_reading,
)
from stillstock.answers.job import Job
from stillstock.answers.parts import FreePart, free_parts
from stillstock.engine.checks.check import Check
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.mechanics.sweep import Fan, Sweep
from stillstock.engine.mechanics.threshold import nearest_that_holds
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner

__all__ = ["Bench", "Checks", "OutOfWork", "Pull", "Trial", "Variant"]

Helds = tuple[tuple[Held, ...], tuple[Held, ...]]
Checks = Callable[[Stance, Assessed], Sequence[Check]]

#: What a search asks beyond what is required, so that the proof, whose pessimist has a slack, agrees. [-]
SURPLUS, PESSIMIST_SURPLUS = 1.002, 1.0 + 1.05 * PESSIMIST_SLACK

#: Searches until a proof agrees. [-]
ROUNDS = 6

#: Least gain that makes a change worth saying where it is not enough; own judgement. [-]
WORTHWHILE = 1.15

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
    parts : tuple of FreePart
        What comes free during the job; the margin is theirs where it is less.
    """

    typical: Assessed
    hard: Assessed
    checks: tuple[Check, ...]
    stands: bool
    required: float
    parts: tuple[FreePart, ...] = ()

    @property
    def margin(self) -> float:
        """Typical load factor of the stock and its parts. [-]"""
        return min([self.typical.factor, *(part.typical.factor for part in self.parts)])

    @property
    def pessimistic(self) -> float:
        """The pessimist's load factor of the stock and its parts. [-]"""
        return min([self.hard.factor, *(part.pessimistic.factor for part in self.parts)])

    @property
    def score(self) -> float:
        """How much of what is asked for it reaches; 1 is enough. [-]"""
        return min(self.margin / self.required, self.pessimistic)

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


def _worst_alone(assessed: Assessed) -> JobSweep:
    """Return the worst load by itself."""
    place, loads = assessed.worst.place, assessed.loads
    fan = loads.sweep.fans[int(loads.sweep.fan[place])]
    there, _ = loads.sweep.loads(np.array([place]))
    same = np.abs(there.force - assessed.worst.force).max(axis=1) <= 1e-9 * np.abs(there.force).max()
    sweep = replace(
        _only(loads, np.array([place])).sweep,
        fans=(Fan(force=fan.force[same], couple=fan.couple[same]),),
        fan=np.array([0]),
    )
    return replace(_only(loads, np.array([place])), sweep=sweep)


def _together(parts: Sequence[JobSweep]) -> JobSweep:
    """Return single loads as one sweep."""
    return JobSweep(
        sweep=Sweep(
            fans=tuple(part.sweep.fans[0] for part in parts),
            fan=np.arange(len(parts)),
            point=np.concatenate([part.sweep.point for part in parts]),
            heading=np.concatenate([part.sweep.heading for part in parts]),
        ),
        tip=np.concatenate([part.tip for part in parts]),
        cut=np.concatenate([part.cut for part in parts]),
        line=np.concatenate([part.line for part in parts]),
        move=np.concatenate([part.move for part in parts]),
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
        self._loads: tuple[list[JobSweep], list[JobSweep]] = ([], [])
        self._seen: set[bytes] = set()
        self._own: Helds | None = None
        self.friction = stance_of(job.set_up, tables).friction.typical
        self.remember(stated)

    def remember(self, trial: Trial) -> bool:
        """Keep a trial's worst loads and their places; return whether any is new."""
        new = False
        for corner, (worst, known) in enumerate(zip((trial.typical, trial.hard), self._loads, strict=True)):
            place, loads = worst.worst.place, worst.loads
            self._moves.add(int(loads.move[place]))
            self._cuts.add(int(loads.cut[place]))
            at = loads.tip[place, :2]
            if not any(np.abs(at - point).max() < SAME_POINT for point in self._points):
                self._points.append(at)
                new = True
            key = np.round(np.concatenate([[corner], loads.sweep.point[place], worst.worst.force]), 9).tobytes()
            if key not in self._seen:
                self._seen.add(key)
                known.append(_worst_alone(worst))
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

    def _spend(self, assessed: Assessed, loads: JobSweep) -> Assessed:
        self.work -= assessed.programmes + _size(loads) // LOADS_A_PROGRAMME + 1
        return assessed

    def _typical(self, stance: Stance, pull: Pull) -> Assessed:
        return self._spend(assess_held(self._helds(stance)[0], pull.typical), pull.typical)

    def _hard(self, stance: Stance, pull: Pull) -> Assessed:
        return self._spend(assess_held(self._helds(stance)[1], pull.hard, slack=PESSIMIST_SLACK), pull.hard)

    def _helds(self, stance: Stance) -> Helds:
        """Return what contacts resist for both corners; what was solved of the stated holders serves for other cuts.

        Save with a vacuum, which the kerfs of the cuts let down.
        """
        if stance.set_up.holders is not self.job.set_up.holders:
            return self._solved(stance)
        if any(holder.kind == "vacuum" for holder in stance.set_up.holders):
            return self._solved(stance)
        self._own = self._own or self._solved(stance)
        return self._own

    def _solved(self, stance: Stance) -> Helds:
        ends = pessimistic_readings(stance.contacts, shaken=self._shaken)
        return held(stance, [typical_reading()]), held(stance, ends)

    def _stance(self, set_up: SetUp) -> Stance | None:
        """Return what a changed set-up rests on; None if it cannot be."""
        if self.work <= 0:
            raise OutOfWork
        try:
            return stance_of(set_up, self.tables)
        except ImpossibleSetUp:
            return None

    def _judged(self, set_up: SetUp, pull: Pull) -> Trial | None:
        """Return the verdict on a changed set-up, its own balance left out; None if it cannot be."""
        stance = self._stance(set_up)
        if stance is None:
            return None
        typical, hard = self._typical(stance, pull), self._hard(stance, pull)
        checks = tuple(self._checks(stance, hard))
        return Trial(typical=typical, hard=hard, checks=checks, stands=True, required=set_up.required)

    def _stands(self, set_up: SetUp) -> bool:
        stance = stance_of(set_up, self.tables)
        ends = pessimistic_readings(stance.contacts, shaken=1.0)
        return all(push_off(stance, reading) is None for reading in (typical_reading(), *ends))

    def _few(self, variant: Variant) -> Pull | None:
        """Return what pulls at a variant where the loads were worst so far; None if nothing does."""
        if variant.job is None:
            return Pull(typical=_together(self._loads[0]), hard=_together(self._loads[1]))
        few = self._narrowed(variant.job)
        (typical, _), (hard, _) = few.loads(Corner.TYPICAL), few.loads(Corner.HIGH)
        return None if typical is None or hard is None else Pull(typical=self._near(typical), hard=self._near(hard))

    def quick(self, variant: Variant) -> Trial | None:
        """Return what a variant reaches where the loads were worst so far; None if it cannot be."""
        pull = self._few(variant)
        return None if pull is None else self._judged(variant.set_up, pull)

    def _seems(self, variant: Variant) -> bool:
        """Return whether a variant holds where the loads were worst so far; the pessimist is asked first."""
        pull, stance = self._few(variant), self._stance(variant.set_up)
        if pull is None or stance is None:
            return False
        typical, hard = self._helds(stance)
        if not self._reaches(hard, pull.hard, PESSIMIST_SURPLUS):
            return False
        return self._reaches(typical, pull.typical, SURPLUS * variant.set_up.required)

    def _reaches(self, helds: Sequence[Held], loads: JobSweep, factor: float) -> bool:
        """Return whether every load is held to a factor; only those that may not be are solved. [-]"""
        every, _ = loads.sweep.loads(np.arange(len(loads)))
        before = sum(one.capacity.programmes for one in helds)
        found = all(one.capacity.worst(every, above=1.0 / factor) is None for one in helds)
        self.work -= sum(one.capacity.programmes for one in helds) - before + 1
        return found

    def prove(self, variant: Variant) -> Trial | None:
        """Return the verdict on a variant over every load of the job; None if it cannot be."""
        job, pull = variant.job, self._pull
        if job is not None:
            (typical, _), (hard, _) = job.loads(Corner.TYPICAL), job.loads(Corner.HIGH)
            if typical is None or hard is None:
                return None
            pull = Pull(typical=typical, hard=hard)
        trial = self._judged(variant.set_up, pull)
        if trial is None:
            return None
        parts = self._parts(variant, pull)
        checks = (*trial.checks, *(check for part in parts for check in part.checks))
        return replace(trial, stands=self._stands(variant.set_up), parts=parts, checks=checks)

    def _parts(self, variant: Variant, pull: Pull) -> tuple[FreePart, ...]:
        if not variant.set_up.parts:
            return ()
        stance, job = stance_of(variant.set_up, self.tables), variant.job or self.job
        found, _ = free_parts(stance, job, self.tables, loads=pull.typical, hard_loads=pull.hard, shaken=self._shaken)
        self.work -= sum(part.typical.programmes + part.pessimistic.programmes for part in found)
        return found

    def alone(self, index: int) -> "Bench | None":
        """Return the bench on which one described cut is tried by itself, or None if nothing is known of its loads.

        The work that it spends is to be taken over.
        """
        set_up = self.job.set_up
        only = replace(set_up, cuts=(set_up.cuts[index],), loads=(), parts=(), program=None)
        job = replace(self.job, set_up=only, reading=None, removal=None, groups=())
        (typical, _), (hard, _) = job.loads(Corner.TYPICAL), job.loads(Corner.HIGH)
        if typical is None or hard is None:
            return None
        pull = Pull(typical=typical, hard=hard)
        stated = self._judged(only, pull)
        if stated is None:
            return None
        found = Bench(job, self.tables, pull, stated, checks=self._checks, work=self.work)
        found._own = self._own
        return found

    def accepts(self, trial: Trial | None) -> bool:
        """Return whether a trial reaches what is asked for and spoils nothing that was right before."""
        return trial is not None and trial.stands and trial.score >= 1.0 and trial.failing <= self.stated.failing

    def gains(self, trial: Trial) -> bool:
        """Return whether a trial is enough, or at least much better so that the stock stays by typical numbers."""
        if not trial.stands or not trial.failing <= self.stated.failing:
            return False
        return trial.score >= 1.0 or (trial.margin >= 1.0 and trial.score >= WORTHWHILE * self.stated.score)

    def failing(self, set_up: SetUp) -> frozenset[tuple[str, int | None]] | None:
        """Return the checks that fail with other holders under the loads as they were; None if it cannot be."""
        try:
            checks = self._checks(stance_of(set_up, self.tables), self.stated.hard)
        except ImpossibleSetUp:
            return None
        return frozenset((check.name, check.holder) for check in checks if not check.ok)

    def settle(
        self, variant: Callable[[float], Variant], values: Sequence[float], *, tolerance: float = 2e-3
    ) -> tuple[float, Trial] | None:
        """Return the most preferred value that is proved to hold, with its proof; None if none is found.

        Parameters
        ----------
        variant : callable
            The changed set-up at a value.
        values : sequence of float
            From the most preferred to the least.
        tolerance : float
            Relative distance to a value that does not hold. [-]

        Raises
        ------
        OutOfWork
            If the budget ends before.
        """
        left = list(values)
        for _ in range(ROUNDS):
            found = nearest_that_holds(lambda value: self._seems(variant(value)), left, tolerance=tolerance)
            if found is None:
                return None
            trial = self.prove(variant(found))
            if trial is not None and self.accepts(trial):
                return found, trial
            worse = trial is not None and self.remember(trial)
            beyond = [value for value in left if (value - found) * (values[-1] - values[0]) > 0.0]
            left = [found, *beyond] if worse else beyond
        return None
