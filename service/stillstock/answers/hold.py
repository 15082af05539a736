"""How well a set-up's contacts resist its loads: at typical numbers, and at the corner that is worst."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.holding.contact_list import contacts_of
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.holding.left_out import Grip, choice_of_all, is_choice, sturdiest, without
from stillstock.engine.holding.reading import Reading
from stillstock.engine.holding.resistance import Way
from stillstock.engine.mechanics.capacity import Capacity, Worst
from stillstock.engine.mechanics.equilibrium import System
from stillstock.engine.mechanics.linear_program import GIVES_WAY, standing_motion
from stillstock.engine.mechanics.sweep import SweepWorst
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.friction import friction
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner, Triple

__all__ = [
    "PESSIMIST_SLACK",
    "Assessed",
    "Held",
    "Stance",
    "assess",
    "assess_held",
    "held",
    "motion_slope",
    "pessimistic_readings",
    "push_off",
    "shares",
    "short_load",
    "stance_of",
    "typical_reading",
]

#: The pessimist's factor may be this much on the safe side of the exact one. [-]
PESSIMIST_SLACK = 0.02


@dataclass(frozen=True, kw_only=True)
class Stance:
    """What the stock rests on: all that resistance needs."""

    contacts: Contacts
    set_up: SetUp
    friction: Triple

    def grip(self, reading: Reading) -> Grip:
        """Return what holds the stock at one reading."""
        return Grip(
            contacts=self.contacts,
            stock=self.set_up.stock,
            bed=self.set_up.bed,
            friction=self.friction,
            reading=reading,
        )

    def ways(self, reading: Reading, *, side: float = 1.0) -> tuple[Way, ...]:
        """Return every way in which all contacts together may hold at one reading."""
        return self.grip(reading).ways(side=side)

    def without(self, left_out: frozenset[int]) -> "Stance":
        """Return the same without the fasteners of some holders."""
        return replace(self, contacts=without(self.contacts, left_out))


def stance_of(set_up: SetUp, tables: Tables) -> Stance:
    """Return what the stock of a set-up rests on.

    Raises
    ------
    ImpossibleSetUp
        If a holder cannot stand as stated.
    """
    bed, stock = set_up.bed, set_up.stock
    found = bed.friction or friction(tables, stock=stock.material, bed=bed.material, condition=bed.condition)
    return Stance(contacts=contacts_of(set_up, tables), set_up=set_up, friction=found)


@dataclass(frozen=True, kw_only=True)
class Assessed:
    """The worst of all loads at one corner.

    Attributes
    ----------
    worst : SweepWorst
    system : System
        The one that governs there.
    way : str
        Name of the way that holds longest there.
    label : str
        What the governing system assumes.
    loads : JobSweep
    capacity : Capacity
        What was held against them, with all that it has solved.
    left_out : frozenset of int
        Holders whose fasteners do not count in it: the others hold longer by themselves.
    grip : Grip
        What holds the stock, those left out.
    programmes : int
        Linear programmes solved. [-]
    """

    worst: SweepWorst
    system: System
    way: str
    label: str
    loads: JobSweep
    capacity: Capacity
    left_out: frozenset[int]
    grip: Grip
    programmes: int

    @property
    def factor(self) -> float:
        """Load factor that no load of the job undercuts; infinite if all only press home, 0 if nothing resists. [-]"""
        gauge = self.worst.bound
        if gauge <= 0.0:
            return float("inf")
        return 1.0 / gauge if gauge < GIVES_WAY * 1e-3 else 0.0


def typical_reading() -> Reading:
    """Return the reading at which every number is typical."""
    return Reading(strength=Corner.TYPICAL, preload=Corner.TYPICAL)


def pessimistic_readings(contacts: Contacts, *, shaken: float) -> tuple[Reading, ...]:
    """Return the readings that a pessimist tries: the low end of what holds, with the least preload.

    Where something pushes sideways the greatest preload too, for that may push the stock off (a side clamp above its
    stop); a greater push straight down on a stock that lies under it never does.

    Parameters
    ----------
    contacts : Contacts
    shaken : float
        Factor on every coefficient of friction, for vibration. [-]
    """
    sideways = any(rub.preload is not None for rub in contacts.rubs)
    ends = (Corner.LOW, Corner.HIGH) if sideways else (Corner.LOW,)
    return tuple(Reading(strength=Corner.LOW, preload=preload, shaken=shaken) for preload in ends)


@dataclass(frozen=True, kw_only=True)
class Held:
    """What the contacts resist at one reading, with all that was solved of it so far."""

    grip: Grip
    ways: tuple[Way, ...]
    capacity: Capacity


def held(stance: Stance, readings: Sequence[Reading]) -> tuple[Held, ...]:
    """Return what the contacts resist at each reading."""
    found = []
    for reading in readings:
        grip = stance.grip(reading)
        every = grip.ways()
        found.append(Held(grip=grip, ways=every, capacity=Capacity([way.systems for way in every])))
    return tuple(found)


def _assessed(one: Held, loads: JobSweep, *, slack: float) -> Assessed:
    every = choice_of_all((one.ways, one.capacity), loads.sweep, slack=slack)
    chosen = sturdiest(one.grip, every, loads.sweep, slack=slack)
    governing = chosen.worst.worst
    return Assessed(
        worst=chosen.worst,
        system=chosen.capacity.system(governing),
        way=chosen.ways[governing.way].name,
        label=chosen.ways[governing.way].labels[governing.system],
        loads=loads,
        capacity=chosen.capacity,
        left_out=chosen.left_out,
        grip=one.grip.without(chosen.left_out),
        programmes=chosen.programmes,
    )


def assess_held(helds: Sequence[Held], loads: JobSweep, *, slack: float = 0.0) -> Assessed:
    """Return the worst load over all readings; what was solved for other loads serves again.

    Parameters
    ----------
    helds : sequence of Held
    loads : JobSweep
    slack : float
        How far the factor may be on the safe side of the exact one; 0 is exact. [-]
    """
    return max((_assessed(one, loads, slack=slack) for one in helds), key=lambda assessed: assessed.worst.bound)


def short_load(one: Held, loads: JobSweep, *, factor: float) -> tuple[Worst | None, int]:
    """Return the worst load for all fasteners together if no set of them holds the job to a factor, else None.

    Only the loads that may be too much are solved, and sets of fasteners only where all together fall short.

    Parameters
    ----------
    one : Held
    loads : JobSweep
    factor : float
        [-]

    Returns
    -------
    Worst or None
        Its load is a row of all loads of the sweep.
    int
        Linear programmes solved. [-]
    """
    before = one.capacity.programmes
    every, _ = loads.sweep.loads(np.arange(len(loads)))
    worst = one.capacity.worst(every, above=(1.0 + 1e-9) / factor)
    spent = one.capacity.programmes - before
    if worst is None or not is_choice(one.grip.contacts):
        return worst, spent
    best = _assessed(one, loads, slack=0.0)
    return (None if best.factor >= factor else worst), spent + best.programmes


def assess(stance: Stance, readings: Sequence[Reading], loads: JobSweep, *, slack: float = 0.0) -> Assessed:
    """Return the worst load over all readings.

    Parameters
    ----------
    stance : Stance
    readings : sequence of Reading
    loads : JobSweep
    slack : float
        How far the factor may be on the safe side of the exact one; 0 is exact. [-]
    """
    return assess_held(held(stance, readings), loads, slack=slack)


def push_off(stance: Stance, reading: Reading) -> tuple[FloatArray, System] | None:
    """Return the scaled motion with which the stock moves off before any load, or None if it stands.

    The friction of stops and side clamps does not count: it is what the balance of the clamps itself brings about.
    """
    moving: list[tuple[FloatArray, System]] = []
    for way in stance.ways(reading, side=0.0):
        motions = [(standing_motion(system), system) for system in way.systems]
        failed = [(motion, system) for motion, system in motions if motion is not None]
        if not failed:
            return None
        moving += failed
    return moving[0]


def motion_slope(assessed: Assessed) -> FloatArray:
    """Return the motion with which the stock lets go under the worst load, about the origin; zero if it only presses.

    [1/N, 1/(N m)]
    """
    governing, loads = assessed.worst.worst, assessed.loads.sweep.loads(np.array([assessed.worst.place]))[0].wrenches
    slope = assessed.system.scale.gradient(governing.hold.slope)
    if not np.any(slope):
        return slope
    finer = assessed.grip.motion((assessed.way, governing.system), loads[int(np.argmax(loads @ slope))])
    return finer if np.any(finer) else slope


def shares(assessed: Assessed) -> dict[int, tuple[float, FloatArray]]:
    """Return for each body its part of the resisting work in the let-go motion, and its force at letting go.

    Returns
    -------
    dict of int to (float, (3,) array)
        By holder; -1 is the bare bed and the stock's own weight. [-], [N]
    """
    hold, system = assessed.worst.worst.hold, assessed.system
    if hold.gauge <= 0.0:
        return {}
    found = system.forces_of(hold.forces, gauge=hold.gauge)
    scale = system.scale.force / hold.gauge
    return {
        owner: (-float(wrench @ hold.slope) / hold.gauge, np.asarray(wrench[:3]) * scale)
        for owner, wrench in found.items()
    }
