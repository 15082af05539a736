"""Fasteners that are left out: what some of the fasteners hold by themselves counts as held.

Tapes, screws, nails, dowels and tabs share a load by their stiffness, and a way ends where the first of them gives. One
more may so lower what a way reckons: a weak screw between strong ones gives first, a far tape turns the motion towards
another. Yet what gives leaves the load to the others, and what a hold bears without a fastener it bears with it, as
long as that one either gives without harm or lets the others bear their own limit while they move a little (the lower
bound theorem of limit analysis). So the margin is the greatest over the sets of fasteners that may count, of the least
over the loads; with a set its every subset is judged too, and one fastener more never lowers it.

Where that ends: the load is quasi-static (no shock as a fastener snaps); one set holds every load of the job, for what
has given is gone; a bond is all or nothing (a tape that peels from one end is no set of tapes). Fully brittle fasteners
under a fully stiff stock may give before: strips at 0.05, 0.09 and 0.28 of 100 N each, lifted at 0.07, share until the
first has its 100 N at 184 N, and none gives early; 200 N, as of the first two, count here.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.holding.reading import Reading
from stillstock.engine.holding.resistance import FreeSharing, Way, finer_system, free_sharing, ways
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.friction_cone import Polygon
from stillstock.engine.mechanics.linear_program import Gauge, standing_motion
from stillstock.engine.mechanics.sweep import Sweep, SweepWorst, worst_of_sweep
from stillstock.engine.set_up import Bed, FloatArray, Stock
from stillstock.tables.scatter import Triple

__all__ = ["Choice", "Grip", "choice_of_all", "is_choice", "sturdiest", "without"]

BoolArray = NDArray[np.bool_]

#: Up to so many holders that fasten, every set of them is looked at; of more, those that leave out two at the most. [-]
EVERY = 10

#: Fasteners that all sets tried have together at the most: enough for every set of five holders. [-]
TRIED = 80

#: Holders that fasten beyond which none is left out: what may be tried with them would not go twice round. [-]
MANY = TRIED // 2

#: Directions in plan in which the outermost places of a job are looked up. [-]
OUTERMOST = 8

#: Steps towards a worse load from each. [-]
STEPS = 3

#: Sides of the friction polygon from which the let-go motion is read. [-]
MOTION_SIDES = 64

#: A set has to be better by more than this to count. [-]
SAME = 1e-9


@dataclass(frozen=True, kw_only=True)
class Grip:
    """What holds a stock, read at one end of its scatter.

    Attributes
    ----------
    contacts : Contacts
    stock : Stock
    bed : Bed
    friction : Triple
        Between stock and bed. [-]
    reading : Reading
    """

    contacts: Contacts
    stock: Stock
    bed: Bed
    friction: Triple
    reading: Reading

    def ways(self, *, side: float = 1.0) -> tuple[Way, ...]:
        """Return every way in which it may hold; `side` as in `resistance.ways`. [-]"""
        return ways(
            self.contacts, stock=self.stock, bed=self.bed, friction=self.friction, reading=self.reading, side=side
        )

    def motion(self, which: tuple[str, int], load: FloatArray) -> FloatArray:
        """Return the motion with which the stock lets go under a load, about the origin. (6,) [1/N, 1/(N m)]

        Parameters
        ----------
        which : (str, int) tuple
            The system that governs: its way's name, and its place there.
        load : (6,) array
            Wrench about the origin. [N, N m]

        Notes
        -----
        The motions of a polygon of friction are few, and where a load points at a corner none of them stands out: a
        slide may read half a side off. So the system is solved with a finer polygon, a side of which lies square to
        the load; that one serves for the motion only, never for the factor.
        """
        turn = float(np.arctan2(load[1], load[0])) + np.pi / MOTION_SIDES
        system = finer_system(
            self.contacts,
            stock=self.stock,
            bed=self.bed,
            friction=self.friction,
            reading=self.reading,
            which=which,
            polygon=Polygon(sides=MOTION_SIDES, turn=turn),
        )
        return system.scale.gradient(Gauge(system).letting_go(system.scale.wrenches(load)))

    def without(self, left_out: frozenset[int]) -> "Grip":
        """Return the same without the fasteners of some holders."""
        return replace(self, contacts=without(self.contacts, left_out))

    def stands(self) -> bool:
        """Return whether the stock stays where it is before any load, the friction of its sides left out."""
        return any(all(standing_motion(one) is None for one in way.systems) for way in self.ways(side=0.0))

    def free_sharing(self) -> FreeSharing:
        """Return what it could resist at the very most, whichever fasteners count."""
        return free_sharing(self.contacts, stock=self.stock, bed=self.bed, friction=self.friction, reading=self.reading)


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A set of fasteners that counts, and the worst that it has to hold.

    Attributes
    ----------
    left_out : frozenset of int
        Holders whose fasteners do not count.
    ways : tuple of Way
    capacity : Capacity
    worst : SweepWorst
    programmes : int
        Linear programmes solved to find it. [-]
    """

    left_out: frozenset[int]
    ways: tuple[Way, ...]
    capacity: Capacity
    worst: SweepWorst
    programmes: int


def without(contacts: Contacts, left_out: frozenset[int]) -> Contacts:
    """Return contacts without the fasteners of some holders."""
    return replace(
        contacts,
        bonds=tuple(bond for bond in contacts.bonds if bond.holder not in left_out),
        pins=tuple(pin for pin in contacts.pins if pin.holder not in left_out),
    )


def _fastening(contacts: Contacts) -> tuple[int, ...]:
    """Return the holders that have fasteners, by number."""
    return tuple(sorted({bond.holder for bond in contacts.bonds} | {pin.holder for pin in contacts.pins}))


def is_choice(contacts: Contacts) -> bool:
    """Return whether there is a set of fasteners to choose: a single bond left out leaves friction, a way already."""
    return len(_fastening(contacts)) >= (1 if contacts.pins else 2)


def choice_of_all(held: tuple[tuple[Way, ...], Capacity], sweep: Sweep, *, slack: float) -> Choice:
    """Return the choice in which every fastener counts; `slack` as in `worst_of_sweep`. [-]"""
    before = held[1].programmes
    worst = worst_of_sweep(held[1], sweep, slack=slack)
    return Choice(
        left_out=frozenset(), ways=held[0], capacity=held[1], worst=worst, programmes=held[1].programmes - before
    )


def _kept(count: int) -> Iterator[tuple[bool, ...]]:
    """Give which of so many holders count, in every set but the full one, as far as sets are looked at."""
    if count <= EVERY:
        yield from list(product((True, False), repeat=count))[1:]
        return
    for left in (1, 2):
        for out in combinations(range(count), left):
            yield tuple(place not in out for place in range(count))


class _AtMost:
    """Bounds from below on the gauge of every set of fasteners, from motions of the stock.

    A motion v bounds the gauge of a load w by w.v / (what all contacts resist in v), and that is a sum over contacts:
    once known for each holder, it is known for every set. Own derivation (kinematic theorem).
    """

    def __init__(self, free: FreeSharing, holders: tuple[int, ...]) -> None:
        self._system, self._rows, self._holders = free.system, free.rows, holders
        self.gauge = Gauge(free.system)
        self._motions: list[FloatArray] = []
        self._resisted: list[FloatArray] = []

    def motion(self, load: FloatArray) -> FloatArray:
        """Return the motion in which the load (6,) overcomes all contacts, and keep it. [1/N, 1/(N m)]"""
        scale = self._system.scale
        slope = self.gauge.value(scale.wrenches(load))[1]
        self._motions.append(scale.gradient(slope))
        self._resisted.append(np.array([self._power(slope, self._rows.get(holder, ())) for holder in self._holders]))
        return self._motions[-1]

    def _power(self, slope: FloatArray, rows: tuple[int, ...]) -> float:
        """Return the most that some limits' forces resist in a scaled motion. [-]"""
        found = 0.0
        for row in rows:
            columns, factors = self._system.limit(row)
            powers = -(slope @ self._system.balance[:, columns]) / factors
            found += self._system.bounds[row] * max(float(powers.max()), 0.0)
        return found

    def gauges(self, loads: FloatArray, kept: BoolArray) -> FloatArray:
        """Return for each set, a row of `kept` (k, holders), a bound on the worst gauge of loads (n, 6), (k,). [-]"""
        resisted = np.array(self._resisted)
        rest = np.maximum(1.0 - resisted.sum(axis=1), 0.0)
        most = np.maximum(rest + kept @ resisted.T, 1e-9)
        bounds: FloatArray = ((loads @ np.array(self._motions).T).max(axis=0) / most).max(axis=1)
        return bounds


def _outermost(sweep: Sweep) -> NDArray[np.int64]:
    turn = 2.0 * np.pi * (np.arange(OUTERMOST) + 0.5) / OUTERMOST
    return np.unique((sweep.point[:, :2] @ np.array([np.cos(turn), np.sin(turn)])).argmax(axis=0))


class _Search:
    def __init__(self, grip: Grip, every: Choice, sweep: Sweep, *, slack: float) -> None:
        self._grip, self._sweep, self._slack = grip, sweep, slack
        self._holders = _fastening(grip.contacts)
        self._best, self._programmes = every, every.programmes
        self._places = _outermost(sweep)
        self._loads = sweep.loads(self._places)[0].wrenches
        self._critical = [self._worst_load(every.capacity, every.worst)]

    def run(self) -> Choice:
        """Try sets of fasteners, the most promising first, until none of the others can be better."""
        kept = np.array(list(_kept(len(self._holders))))
        bounds, left = self._bounds(kept), TRIED
        for number in np.argsort(bounds, kind="stable"):
            left -= int(kept[number].sum())
            if bounds[number] >= self._line() or left < 0:
                break
            self._try(frozenset(np.array(self._holders)[~kept[number]].tolist()))
        return replace(self._best, programmes=self._programmes)

    def _line(self) -> float:
        return self._best.worst.bound * (1.0 - SAME)

    def _is_critical(self, load: FloatArray) -> bool:
        return any(np.array_equal(load, known) for known in self._critical)

    def _worst_load(self, capacity: Capacity, worst: SweepWorst) -> FloatArray:
        loads = self._sweep.loads(np.array([worst.place]))[0].wrenches
        slope = capacity.system(worst.worst).scale.gradient(worst.worst.hold.slope)
        found: FloatArray = loads[int(np.argmax(loads @ slope))]
        return found

    def _bounds(self, kept: BoolArray) -> FloatArray:
        """Return a bound on the gauge of each set, from the motions of loads far apart."""
        most = _AtMost(self._grip.free_sharing(), self._holders)
        most.motion(self._critical[0])
        for place in self._places:
            loads = self._sweep.loads(np.array([place]))[0]
            load = loads.wrenches[int(np.argmax(np.linalg.norm(loads.force, axis=1)))]
            for _ in range(STEPS):
                load = self._loads[int(np.argmax(self._loads @ most.motion(load)))]
                if self._is_critical(load):
                    break
            else:
                self._critical.append(load)
        self._programmes += most.gauge.solved
        return most.gauges(np.vstack([self._loads, self._critical]), kept)

    def _try(self, left_out: frozenset[int]) -> None:
        """Judge a set by the loads that were critical for others, by what is worse for itself, and then by them all."""
        grip = self._grip.without(left_out)
        found = grip.ways()
        capacity = Capacity([way.systems for way in found])
        if self._bears(capacity) and grip.stands():
            worst = worst_of_sweep(capacity, self._sweep, slack=self._slack)
            if worst.bound < self._line():
                self._best = Choice(left_out=left_out, ways=found, capacity=capacity, worst=worst, programmes=0)
            self._critical.insert(0, self._worst_load(capacity, worst))
        self._programmes += capacity.programmes

    def _bears(self, capacity: Capacity) -> bool:
        """Return whether a set may be better than the best, as far as few loads tell."""
        if not all(capacity.stays_below(load, self._line()) for load in self._critical):
            return False
        load = self._critical[0]
        for _ in range(STEPS):
            worst = capacity.at(load)
            slope = capacity.system(worst).scale.gradient(worst.hold.slope)
            load = self._loads[int(np.argmax(self._loads @ slope))]
            if not capacity.stays_below(load, self._line()):
                self._critical.insert(0, load)
                return False
        return True


def sturdiest(grip: Grip, every: Choice, sweep: Sweep, *, slack: float = 0.0) -> Choice:
    """Return the set of fasteners that holds best over a whole job.

    Parameters
    ----------
    grip : Grip
    every : Choice
        In which all fasteners count.
    sweep : Sweep
    slack : float
        How far a set's factor may be on the safe side of the exact one; 0 is exact. [-]

    Notes
    -----
    Up to five holders that fasten, the best of all their sets is found, so that one more never lowers the margin. Of
    more the most promising sets are tried, as many as a budget allows, and of very many none; then one more may still
    lower it a little.
    """
    if every.worst.bound <= 0.0 or not is_choice(grip.contacts) or len(_fastening(grip.contacts)) > MANY:
        return every
    return _Search(grip, every, sweep, slack=slack).run()
