"""The least tape area that reaches the required factor: one linear programme over the worst loads, run on wider tape.

If every bond's area is scaled by one factor k about where it sticks, stiffness and strength of the whole bond scale
with it. The stock then moves with the same share in every bond, so k stands on the right-hand side alone:

    G x + w0 = -F,   N x <= k b,   x free: forces of the rigid motion, b: what the bonds bear at k = 1

and the least k that bears all the worst loads met so far is one linear programme in k and in the forces under each load
(`engine.mechanics.adjustable`). A load that friction bears by itself asks for no tape.

Tape that is really wider sticks farther out too, may end at the edge of the stock, and shares with fasteners that do
not grow: k is not its last word. So the strips are widened to k times their area, the programme is made anew with them
as they then lie, and so on (by secants of its logarithm) until it asks for no more and no less than lies there. Then
all loads of the job are run; a worse one joins the others. What else is checked (how the tape peels, how far the stock
gives way) is no matter of the programme: where that alone fails, wider tape is tried step by step.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillstock.answers.hold import Stance
from stillstock.answers.trial import Trial, Variant
from stillstock.answers.trials import PESSIMIST_SURPLUS, SURPLUS, Bench, Body
from stillstock.engine.holding.reading import Reading
from stillstock.engine.mechanics.adjustable import Demand, adjustable
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.linear_program import least_settings
from stillstock.engine.set_up import FloatArray, SetUp

__all__ = ["Widening", "least_widening"]

#: Proofs until nothing worse is found, and programmes until the tape lies as they ask. [-]
ROUNDS, TURNS = 8, 12

#: How far the slope in the area reaches, how near an area is to what is asked, and the steepest secant. [-]
STEP, SAME, STEEPEST = 0.05, 1e-3, 3.0

#: Widths that are tried where a check alone fails. [-]
STEPS = 8

#: Ends of the factor on the area of the tape as it lies. [-]
LEAST, MOST = 1e-3, 1e3


@dataclass(frozen=True, kw_only=True)
class Widening:
    """Tape that may be widened.

    Attributes
    ----------
    set_up_at : callable
        The set-up with its tape wider by a length on all sides. [m]
    area_at : callable
        The area of all tape then. [m2]
    room : float
        The greatest length. [m]
    """

    set_up_at: Callable[[float], SetUp]
    area_at: Callable[[float], float]
    room: float

    def width(self, area: float) -> float:
        """Return the length by which tape is wider when it has an area, within its ends. [m]"""
        low, high = 0.0, self.room
        for _ in range(50):
            middle = (low + high) / 2.0
            low, high = (middle, high) if self.area_at(middle) < area else (low, middle)
        return high


def _scaled(stance: Stance, factor: float) -> Stance:
    """Return the same with every bond so many times as strong; a common factor on stiffness changes nothing."""
    bonds = tuple(
        replace(bond, shear=bond.shear.times(factor), tension=bond.tension.times(factor))
        for bond in stance.contacts.bonds
    )
    return replace(stance, contacts=replace(stance.contacts, bonds=bonds))


def _by_bonds(stance: Stance, reading: Reading, loads: FloatArray) -> Iterator[Demand]:
    """Give what loads (n, 6) ask of the bonds, those that friction bears left out. [N, N m]"""
    base, more = stance.ways(reading), _scaled(stance, 1.0 + STEP).ways(reading)
    others = Capacity([way.systems for way in base if way.name != "bond"])
    asking = [load for load in loads if others.at(load).gauge > 1.0]
    for one, other in zip(base, more, strict=True):
        if one.name == "bond":
            held = adjustable(one.systems, [other.systems], at=np.ones(1), step=np.array([STEP]))
            if held is None:
                raise ValueError("bonds of another strength changed more than what they bear")
            for load in asking:
                yield from (Demand(held_by=each, load=load) for each in held)


def _factor(bench: Bench, bodies: Sequence[Body], counted: "_Counted", surplus: tuple[float, float]) -> float | None:
    """Return the least factor on the area as it lies that bears the worst loads so far; None if there is none. [-]"""
    demands: list[Demand] = []
    for body in bodies:
        for corner, (loads, factor, readings) in enumerate(bench.asked(body)):
            stance = body.stance.without(counted.left_out(body.number, corner))
            wrenches = loads.sweep.loads(np.arange(len(loads)))[0].wrenches * factor * surplus[corner]
            for reading in readings:
                demands += _by_bonds(stance, reading, wrenches)
    if not demands:
        return LEAST
    found = least_settings(demands, cost=np.ones(1), low=np.array([LEAST]), high=np.array([MOST]))
    return None if found is None else float(found[0])


@dataclass(frozen=True, kw_only=True)
class _Counted:
    """Which fasteners counted in a trial: its best sets."""

    trial: Trial

    def left_out(self, number: int, corner: int) -> frozenset[int]:
        """Return the holders of a body that were left out at a corner; -1 is the stock."""
        found = {-1: (self.trial.typical, self.trial.hard)}
        found |= {part.number: (part.typical, part.pessimistic) for part in self.trial.parts}
        return found[number][corner].left_out


@dataclass(frozen=True, kw_only=True)
class _Point:
    """A width that was tried [m], its area [m2] and the factor on it that the programme asks for [-]."""

    width: float
    area: float
    factor: float


def _next_area(last: _Point, before: _Point | None) -> float:
    """Return the area at which the programme may ask for no more and no less: by secant, or as it says itself. [m2]"""
    if before is None or not 0.0 < before.factor != last.factor:
        return last.area * last.factor
    slope = np.log(last.area / before.area) / np.log(last.factor / before.factor)
    return float(last.area * last.factor ** min(-slope, STEEPEST)) if slope < 0.0 else last.area * last.factor


def _width(bench: Bench, tape: Widening, counted: _Counted, start: float, surplus: tuple[float, float]) -> float | None:
    """Return by how much the tape is to be wider to bear the worst loads so far; None if no width within reach does."""
    low, high, by = 0.0, tape.room, start
    before: _Point | None = None
    for _ in range(TURNS):
        bodies = bench.worst_bodies(tape.set_up_at(by))
        factor = None if bodies is None else _factor(bench, bodies, counted, surplus)
        short = factor is None or factor > 1.0 + SAME
        if not short and (by <= 0.0 or (factor is not None and factor >= 1.0 - SAME)):
            return by
        if short and by >= tape.room:
            return None
        low, high = (by, high) if short else (low, by)
        if factor is None:
            by = tape.room if high >= tape.room else (low + high) / 2.0
            continue
        last = _Point(width=by, area=tape.area_at(by), factor=factor)
        wanted = tape.width(_next_area(last, before))
        by = wanted if low < wanted < high or wanted == high == tape.room else (low + high) / 2.0
        before = last
    return high


def least_widening(bench: Bench, tape: Widening) -> tuple[float, Trial] | None:
    """Return by how much the tape must be wider on all sides, and the proof; None if no width within its room holds.

    Parameters
    ----------
    bench : Bench
    tape : Widening

    Raises
    ------
    OutOfWork
        If the budget ends before.
    """
    by, trial, surplus = 0.0, bench.stated, (SURPLUS, SURPLUS)
    for _ in range(ROUNDS):
        width = _width(bench, tape, _Counted(trial=trial), by, surplus)
        proof = None if width is None else bench.prove(Variant(set_up=tape.set_up_at(width)))
        if width is None or proof is None:
            return None
        if bench.accepts(proof):
            return width, proof
        if proof.score >= 1.0:
            return bench.settle(
                lambda by: Variant(set_up=tape.set_up_at(by)), np.linspace(width, tape.room, STEPS).tolist()
            )
        if not bench.remember(proof):
            if surplus[1] == PESSIMIST_SURPLUS:
                return None
            surplus = SURPLUS, PESSIMIST_SURPLUS  # nothing worse was found: what is short is the pessimist's own slack
        by, trial = width, proof
    return None
