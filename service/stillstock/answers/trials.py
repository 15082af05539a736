"""Changed set-ups put to the same test as the stated one, within a budget of work.

A search tries each change under the loads that were the worst so far (other holders), or at the places where they were
(other cuts), which costs a few programmes; what it finds is proved on every load of the job. Where the proof finds a
worse load, that joins the others and the search goes on.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

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
from stillstock.answers.known_loads import KnownLoads
from stillstock.answers.parts import FreePart, free_part, loose_parts
from stillstock.answers.trial import Pull, Trial, Variant, overruns
from stillstock.engine.checks.check import Check
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.holding.reading import Reading
from stillstock.engine.mechanics.threshold import nearest_that_holds
from stillstock.engine.mechanics.work import need, spend
from stillstock.engine.set_up import SetUp
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner

__all__ = ["PESSIMIST_SURPLUS", "SURPLUS", "WORSE", "Bench", "Body", "Checks"]

Helds = tuple[tuple[Held, ...], tuple[Held, ...]]
Checks = Callable[[Stance, Assessed, Job], Sequence[Check]]

#: What a search asks beyond what is required, so that the proof, whose pessimist has a slack, agrees. [-]
SURPLUS, PESSIMIST_SURPLUS = 1.002, 1.0 + 1.05 * PESSIMIST_SLACK

#: Searches until a proof agrees. [-]
ROUNDS = 6

#: Least gain that makes a change worth saying where it is not enough; own judgement. [-]
WORTHWHILE = 1.15

#: By what a check that failed before may fail more, for a change to spoil nothing; below what anybody sets. [-]
WORSE = 1.001

#: What it costs to read and bound a load of a fan, or a place; by measurement. [units]
A_LOAD = 1e-3


@dataclass(frozen=True, kw_only=True)
class Body:
    """The stock as a whole, or a part that falls short once it is free, with what pulls at it.

    Attributes
    ----------
    number : int
        Of the part; -1 is the stock.
    stance : Stance
    pull : Pull
    """

    number: int
    stance: Stance
    pull: Pull


def _reading_of(loads: JobSweep) -> float:
    """Return what it costs to read and bound loads: those of every fan once, and each place. [units]"""
    sizes = loads.sweep.sizes
    every = int(sizes[loads.sweep.fan].sum())
    return A_LOAD * min(every, len(loads) + int(sizes.sum()))


def pull_of(job: Job) -> Pull | None:
    """Return what pulls at the stock in a job; None if nothing does."""
    (typical, _), (hard, _) = job.loads(Corner.TYPICAL), job.loads(Corner.HIGH)
    return None if typical is None or hard is None else Pull(typical=typical, hard=hard)


class Bench:
    """Where changed set-ups are tried; keeps the worst loads met so far."""

    def __init__(self, job: Job, tables: Tables, pull: Pull, stated: Trial, *, checks: Checks) -> None:
        self.job, self.tables, self.stated = job, tables, stated
        self._pull, self._checks = pull, checks
        self._shaken = tables.value("friction", "any_pair", "dynamic_factor").typical
        self._known = KnownLoads()
        self._own: dict[tuple[int, frozenset[int]], Helds] = {}
        self._best_sets: dict[int, set[frozenset[int]]] = {}
        self.friction = stance_of(job.set_up, tables).friction.typical
        self.remember(stated)

    def remember(self, trial: Trial) -> bool:
        """Keep a trial's worst loads, their places and the best sets of fasteners; return whether a load is new."""
        bodies = [(-1, trial.typical), (-1, trial.hard)]
        bodies += [(part.number, each) for part in trial.parts for each in (part.typical, part.pessimistic)]
        for number, assessed in bodies:
            self._best_sets.setdefault(number, set()).add(assessed.left_out)
        return self._known.remember(trial)

    def _stance(self, set_up: SetUp) -> Stance | None:
        """Return what a changed set-up rests on; None if it cannot be."""
        try:
            return stance_of(set_up, self.tables)
        except ImpossibleSetUp:
            return None

    def _bodies(self, variant: Variant, pull: Pull, numbers: Sequence[int]) -> list[Body] | None:
        """Return the stock and some of the parts, each with what pulls at it; None if that cannot be."""
        stance = self._stance(variant.set_up)
        if stance is None:
            return None
        bodies = [Body(number=-1, stance=stance, pull=pull)]
        if not numbers:
            return bodies
        try:
            loose, _ = loose_parts(
                stance,
                variant.job or self.job,
                self.tables,
                loads=pull.typical,
                hard_loads=pull.hard,
                numbers=numbers,
            )
        except ImpossibleSetUp:
            return None
        return bodies + [
            Body(number=one.number, stance=one.stance, pull=Pull(typical=one.loads, hard=one.hard_loads))
            for one in loose
        ]

    def _helds(self, body: Body, set_up: SetUp, left_out: frozenset[int] = frozenset()) -> Helds:
        """Return what contacts resist for both corners, without the fasteners of some holders.

        What was solved of the stated holders serves for other cuts, save with a vacuum, which their kerfs let down.
        """
        stated, stance = self.job.set_up, body.stance.without(left_out)
        same = set_up.holders is stated.holders and (body.number < 0 or set_up.parts is stated.parts)
        if not same or any(holder.kind == "vacuum" for holder in set_up.holders):
            return self._solved(stance)
        key = body.number, left_out
        if key not in self._own:
            self._own[key] = self._solved(stance)
        return self._own[key]

    def _solved(self, stance: Stance) -> Helds:
        ends = pessimistic_readings(stance.contacts, shaken=self._shaken)
        return held(stance, [typical_reading()]), held(stance, ends)

    def _few(self, variant: Variant) -> Pull | None:
        """Return what pulls at a variant where the loads were worst so far; None if nothing does."""
        return self._known.loads() if variant.job is None else self._known.of(variant.job)

    def _judged(self, variant: Variant, pull: Pull, numbers: Iterable[int]) -> Trial | None:
        """Return the verdict on a variant and some of its parts, its own balance left out; None if it cannot be."""
        set_up = variant.set_up
        stance = self._stance(set_up)
        if stance is None:
            return None
        if pull is self._pull and set_up.holders is self.job.set_up.holders:
            typical, hard = self.stated.typical, self.stated.hard  # other parts are no matter of the whole
        else:
            typical, hard = self._whole(Body(number=-1, stance=stance, pull=pull), set_up)
        try:
            parts = self._parts(stance, variant, pull, numbers)
        except ImpossibleSetUp:
            return None
        checks = (
            *self._checks(stance, hard, variant.job or self.job),
            *(check for part in parts for check in part.checks),
        )
        return Trial(typical=typical, hard=hard, checks=checks, stands=True, required=set_up.required, parts=parts)

    def _whole(self, body: Body, set_up: SetUp) -> tuple[Assessed, Assessed]:
        ends, hard_ends = self._helds(body, set_up)
        typical, hard = body.pull.typical, body.pull.hard
        spend(_reading_of(typical) + _reading_of(hard))
        return assess_held(ends, typical), assess_held(hard_ends, hard, slack=PESSIMIST_SLACK)

    def _parts(self, stance: Stance, variant: Variant, pull: Pull, numbers: Iterable[int]) -> tuple[FreePart, ...]:
        job = variant.job or self.job
        loose, _ = loose_parts(stance, job, self.tables, loads=pull.typical, hard_loads=pull.hard, numbers=numbers)
        return tuple(free_part(one, stance.set_up, job, self.tables, shaken=self._shaken) for one in loose)

    def _stands(self, set_up: SetUp) -> bool:
        stance = stance_of(set_up, self.tables)
        ends = pessimistic_readings(stance.contacts, shaken=1.0)
        return all(push_off(stance, reading) is None for reading in (typical_reading(), *ends))

    def quick(self, variant: Variant) -> Trial | None:
        """Return what a variant reaches where the loads were worst so far; None if it cannot be."""
        pull = self._few(variant)
        return None if pull is None else self._judged(variant, pull, sorted(self._known.parts))

    def _seems(self, variant: Variant) -> bool:
        """Return whether a variant holds where the loads were worst so far; the pessimist is asked first.

        All fasteners together are asked, and the sets of them that held best so far: to search all sets at every step
        would cost many times as much, and what is found is proved with them all.
        """
        pull = self._few(variant)
        bodies = None if pull is None else self._bodies(variant, pull, sorted(self._known.parts))
        if bodies is None:
            return False
        return all(self._seems_held(body, variant) for body in bodies)

    def _seems_held(self, body: Body, variant: Variant) -> bool:
        """Return whether no load of a body is found that is not held as asked."""
        asked = ((1, body.pull.hard, PESSIMIST_SURPLUS), (0, body.pull.typical, SURPLUS * variant.set_up.required))
        return all(self._reaches(self._sets(body, variant, corner), pull, factor) for corner, pull, factor in asked)

    def _sets(self, body: Body, variant: Variant, corner: int) -> Iterator[tuple[Held, ...]]:
        """Give what a body resists at each reading of a corner: with all fasteners, then with sets that held best."""
        sets = self._best_sets.get(body.number, set()) - {frozenset()}
        for left_out in (frozenset(), *sorted(sets, key=sorted)):
            yield self._helds(body, variant.set_up, left_out)[corner]

    def _reaches(self, sets: Iterable[tuple[Held, ...]], pull: JobSweep, factor: float) -> bool:
        """Return whether at each reading some set of fasteners seems to hold every load to a factor. [-]"""
        loads, _ = pull.sweep.loads(np.arange(len(pull)))
        left: set[int] | None = None  # readings at which it is not held so far
        for helds in sets:
            left = set(range(len(helds))) if left is None else left
            for number in sorted(left):
                capacity = helds[number].capacity
                left -= set() if capacity.is_beyond(loads, (1.0 + 1e-9) / factor) else {number}
            if not left:
                return True
        return False

    def prove(self, variant: Variant) -> Trial | None:
        """Return the verdict on a variant over every load of the job; None if it cannot be.

        Raises
        ------
        OutOfWork
            If reading and bounding the loads alone would cost more than is left.
        """
        need(_reading_of(self._pull.typical) + _reading_of(self._pull.hard))
        pull = self._pull if variant.job is None else pull_of(variant.job)
        if pull is None:
            return None
        trial = self._judged(variant, pull, range(len(variant.set_up.parts)))
        return None if trial is None else replace(trial, stands=self._stands(variant.set_up))

    def worst_bodies(self, set_up: SetUp) -> list[Body] | None:
        """Return the stock and the parts that fell short, each with its worst loads so far; None if it cannot be."""
        return self._bodies(Variant(set_up=set_up), self._known.loads(), sorted(self._known.parts))

    def asked(self, body: Body) -> Iterator[tuple[JobSweep, float, tuple[Reading, ...]]]:
        """Give the loads of a body, the factor that is asked for, and the readings at which, typical ones first. [-]"""
        yield body.pull.typical, self.stated.required, (typical_reading(),)
        yield body.pull.hard, 1.0, pessimistic_readings(body.stance.contacts, shaken=self._shaken)

    def alone(self, index: int) -> "Bench | None":
        """Return the bench on which one described cut is tried by itself, or None if nothing is known of its loads.

        Parts are left to `parts_seem_held`.
        """
        set_up = self.job.set_up
        only = replace(set_up, cuts=(set_up.cuts[index],), loads=(), parts=(), program=None)
        job = replace(self.job, set_up=only, reading=None, removal=None, groups=())
        pull = pull_of(job)
        stated = None if pull is None else self._judged(Variant(set_up=only), pull, ())
        if pull is None or stated is None:
            return None
        found = Bench(job, self.tables, pull, stated, checks=self._checks)
        found._own, found._best_sets = self._own, self._best_sets
        return found

    def parts_seem_held(self, set_up: SetUp, index: int) -> bool:
        """Return whether the parts that fell short seem to hold against one described cut of a changed set-up.

        Only its likeliest loads are looked at, at whatever place: what is found is proved.
        """
        short = [part.number for part in self.stated.short_parts if index in part.pessimistic.loads.cut]
        if not short:
            return True
        job = replace(self.job, set_up=replace(set_up, loads=()), groups=(), only=index)
        pull, variant = pull_of(job), Variant(set_up=set_up, job=job)
        bodies = None if pull is None else self._bodies(variant, pull, short)
        return bodies is not None and all(self._seems_held(body, variant) for body in bodies[1:])

    def accepts(self, trial: Trial | None) -> bool:
        """Return whether a trial reaches what is asked for and spoils nothing that was right before."""
        return trial is not None and trial.stands and trial.score >= 1.0 and not self.spoilt(trial.failing)

    def gains(self, trial: Trial) -> bool:
        """Return whether a trial is enough, or at least much better so that the stock stays by typical numbers."""
        if not trial.stands or self.spoilt(trial.failing):
            return False
        return trial.score >= 1.0 or (trial.margin >= 1.0 and trial.score >= WORTHWHILE * self.stated.score)

    def spoilt(self, failing: Mapping[tuple[str, int | None], float]) -> set[tuple[str, int | None]]:
        """Return the checks among those that fail which did not with the stated set-up, or fail by more now."""
        before = self.stated.failing
        return {key for key, ratio in failing.items() if ratio > before.get(key, 0.0) * WORSE}

    def failing(self, set_up: SetUp) -> dict[tuple[str, int | None], float] | None:
        """Return by what checks fail with other holders under the loads as they were; None if it cannot be. [-]

        Holders change nothing for the spindle, whose power costs time to reckon: it is left out.
        """
        without = replace(set_up, machine=replace(set_up.machine, spindle_power=None))
        try:
            checks = self._checks(stance_of(without, self.tables), self.stated.hard, self.job)
        except ImpossibleSetUp:
            return None
        return overruns(checks)

    def settle(
        self,
        variant: Callable[[float], Variant],
        values: Sequence[float],
        *,
        tolerance: float = 2e-3,
        besides: Callable[[float], bool] = lambda _: True,
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
        besides : callable
            Whether a value is right in all else.

        Raises
        ------
        OutOfWork
            If the budget ends before.
        """
        left = list(values)
        for _ in range(ROUNDS):
            found = nearest_that_holds(
                lambda value: self._seems(variant(value)) and besides(value), left, tolerance=tolerance
            )
            if found is None:
                return None
            trial = self.prove(variant(found))
            if trial is not None and self.accepts(trial):
                return found, trial
            worse = trial is not None and self.remember(trial)
            beyond = [value for value in left if (value - found) * (values[-1] - values[0]) > 0.0]
            left = [found, *beyond] if worse else beyond
        return None
