"""The least settings of what presses that reach the required factor, as one linear programme over the worst loads.

Contacts press with a preload that enters equilibrium on the right-hand side alone (`engine.mechanics.adjustable`), so
for the worst loads met so far the least settings are one linear programme: each load, in each system of its way, brings
contact forces of its own, and the settings stand in all of their rows. What it gives is run on every load of the job;
a worse load joins the others and the programme is solved again: a cutting-plane method, which ends, since there are
finitely many worst loads.

Where it is not quite a linear programme:

* The friction of a stop rests on what the clamps alone put on it. That is convex and piecewise straight in their
  preload; it is taken by its tangent where the search stands, which never says more than it is, and taken anew where
  the programme ends, until both agree.
* A load counts as held if one of several ways holds it (friction and screws about one edge or another, or a bond).
  Which way, load by load, is a choice among finitely many, not a linear programme. Each load is asked of the way that
  holds it best where the search stands; what comes of it holds, but another choice might need less.
* A setting that moves contacts, or makes or ends them (a vise whose jaws lift), has no straight lines: `NotStraight`;
  its least value is sought by scan and bisection. For the width of a tape see `least_tape`.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from stillstock.answers.hold import Stance, pessimistic_readings, typical_reading
from stillstock.answers.trial import Trial, Variant
from stillstock.answers.trials import PESSIMIST_SURPLUS, SURPLUS, Bench, Body
from stillstock.engine.holding.reading import Reading
from stillstock.engine.mechanics.adjustable import Adjustable, Demand, adjustable
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.linear_program import least_settings
from stillstock.engine.set_up import FloatArray, SetUp

__all__ = ["Knobs", "NotStraight", "least"]

#: Proofs until nothing worse is found, and tangents until they agree. [-]
ROUNDS, TANGENTS = 8, 4

#: How far slopes reach, and how near two settings are one. [-]
STEP, SAME = 0.05, 1e-3


class NotStraight(Exception):
    """A setting changes more than what pushes and rubs."""


@dataclass(frozen=True, kw_only=True)
class Knobs:
    """Settings, each a factor on what is stated.

    Attributes
    ----------
    set_up_at : callable
        The set-up at some settings, (k,).
    cost, high : (k,) arrays
        Price of each, and its upper end; the lower end is 1, what is stated. [-]
    worth : callable
        Whether settings are worth a proof; more loads only ask for more.
    """

    set_up_at: Callable[[FloatArray], SetUp]
    worth: Callable[[FloatArray], bool]
    cost: FloatArray
    high: FloatArray


def _bodies(bench: Bench, set_up: SetUp) -> list[Body]:
    found = bench.worst_bodies(set_up)
    if found is None:
        raise NotStraight
    return found


def _ways(stances: Sequence[Stance], reading: Reading, at: FloatArray, side: float) -> list[tuple[Adjustable, ...]]:
    """Return the systems of each way, with their slopes; the first stance is that at `at`, the others one step off."""
    base, *moved = (stance.ways(reading, side=side) for stance in stances)
    if any(len(each) != len(base) for each in moved):
        raise NotStraight
    step = np.full(len(at), STEP)
    found = [
        adjustable(way.systems, [each[number].systems for each in moved], at=at, step=step)
        for number, way in enumerate(base)
    ]
    straight = [way for way in found if way is not None]
    if not straight:
        raise NotStraight
    return straight


def _best(ways: Sequence[tuple[Adjustable, ...]], loads: FloatArray) -> Iterator[tuple[Adjustable, ...]]:
    """Give for each load the way that holds it best as the settings stand."""
    if len(ways) == 1:
        yield from (ways[0] for _ in loads)
        return
    capacity = Capacity([[each.system for each in way] for way in ways])
    for load in loads:
        yield ways[capacity.at(load).way]


def _standing(stances: Sequence[Stance], at: FloatArray) -> Iterator[Demand]:
    """Give what must stand before any load, where something pushes sideways."""
    contacts = stances[0].contacts
    if all(rub.preload is None for rub in contacts.rubs):
        return
    for reading in (typical_reading(), *pessimistic_readings(contacts, shaken=1.0)):
        for held in _ways(stances, reading, at, 0.0)[0]:
            yield Demand(held_by=held, load=np.zeros(6))


def _demands(bench: Bench, knobs: Knobs, at: FloatArray, surplus: tuple[float, float]) -> list[Demand]:
    """Return what the settings must bear, taken as straight about `at`; surplus for typical and pessimistic. [-]"""
    places = [at, *(at + STEP * row for row in np.eye(len(at)))]
    every = [_bodies(bench, knobs.set_up_at(place)) for place in places]
    if len({tuple(body.number for body in bodies) for bodies in every}) > 1:
        raise NotStraight
    found: list[Demand] = []
    for bodies in zip(*every, strict=True):
        stances = [body.stance for body in bodies]
        found += _standing(stances, at) if bodies[0].number < 0 else ()
        for (loads, factor, readings), more in zip(bench.asked(bodies[0]), surplus, strict=True):
            wrenches = loads.sweep.loads(np.arange(len(loads)))[0].wrenches * factor * more
            for reading in readings:
                ways = _best(_ways(stances, reading, at, 1.0), wrenches)
                found += [Demand(held_by=h, load=w) for w, way in zip(wrenches, ways, strict=True) for h in way]
    return found


def _settled(bench: Bench, knobs: Knobs, at: FloatArray, surplus: tuple[float, float]) -> FloatArray | None:
    """Return the least settings that bear the worst loads so far; None if there are none."""
    for _ in range(TANGENTS):
        demands = _demands(bench, knobs, at, surplus)
        found = least_settings(demands, cost=knobs.cost, low=np.ones(len(at)), high=knobs.high)
        if found is None or np.allclose(found, at, rtol=SAME, atol=0.0):
            return found
        at = found
    return at


def least(bench: Bench, knobs: Knobs) -> tuple[FloatArray, Trial] | None:
    """Return the least settings that are proved to hold, with the proof; None if there are none within their ends.

    Parameters
    ----------
    bench : Bench
    knobs : Knobs

    Raises
    ------
    NotStraight
        If a setting changes more than what pushes and rubs.
    OutOfWork
        If the budget ends before.
    """
    at, surplus = np.ones(len(knobs.cost)), (SURPLUS, SURPLUS)
    for _ in range(ROUNDS):
        found = _settled(bench, knobs, at, surplus)
        if found is None or not knobs.worth(found):
            return None
        trial = bench.prove(Variant(set_up=knobs.set_up_at(found)))
        if trial is None or bench.accepts(trial):
            return None if trial is None else (found, trial)
        if not bench.remember(trial):
            if surplus[1] == PESSIMIST_SURPLUS:
                return None
            surplus = SURPLUS, PESSIMIST_SURPLUS  # nothing worse was found: what is short is the pessimist's own slack
        at = found
    return None
