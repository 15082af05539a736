"""What is solved at one draw and read at others, against every draw by itself with everything built anew."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.engine.holding.drawn_contacts import drawn
from tests.engine.holding.slabs import (
    THICK,
    TYPICAL,
    at,
    band,
    bed,
    box,
    capacity_of,
    exactly,
    gathered,
    screw,
    slab,
    stop,
    strip,
    suction,
    weight,
)
from tests.engine.mechanics.holds import HOLDS, random_loads

from stillstock.engine.holding.contacts import Contacts, Pin, Push, Rub
from stillstock.engine.holding.drawn import GROUPS, Draws
from stillstock.engine.holding.resistance import Way, WayAtDraws, ways, ways_at_draws
from stillstock.engine.mechanics.alike import Answers, gauge_make, standing
from stillstock.engine.mechanics.capacity_at_draws import CapacityAtDraws
from stillstock.engine.mechanics.equilibrium import Equilibrium
from stillstock.engine.mechanics.linear_program import Gauge, least_forces, least_forces_in_each, standing_motion
from stillstock.engine.mechanics.work import OutOfWork, budget
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Triple

DRAWS = 10
FRICTION = band(0.15, 0.3, 0.5)


def side_clamp(newtons: float, height: float) -> Rub:
    tangents = ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    return Rub(
        holder=6, at=at(0.3, 0.12, height), normal=(-1.0, 0.0, 0.0), friction=exactly(0.2), preload=exactly(newtons),
        tangents=tangents,
    )  # fmt: skip


LINE = tuple(stop(at(0.0, y, 0.006), (1.0, 0.0, 0.0), group="+x", holder=2) for y in (0.03, 0.11, 0.17))
MORE = {
    "pushed to stops": gathered(weight(14.0, 0.14, 0.11), side_clamp(300.0, 0.006), *LINE),
    "vacuum and screw": gathered(
        weight(14.0, 0.14, 0.11),
        replace(suction(20e3, box(0.04, 0.05, 0.2, 0.15)), friction=exactly(0.4)),
        screw(0.26, 0.17, holder=1, preload=200.0),
        replace(stop(at(0.0, 0.1, 0.006), (1.0, 0.0, 0.0)), limit=exactly(30.0)),
    ),
    "tape and screws": gathered(
        weight(14.0, 0.14, 0.11),
        strip(0.09, force=260.0, width=0.08),
        screw(0.25, 0.16, preload=0.0, holder=1),
        screw(0.21, 0.02, preload=0.0, holder=2, clearance=0.001),
    ),
    "one side only": gathered(weight(14.0, 0.14, 0.11), screw(0.1, 0.1, pull_out=0.0, preload=0.0)),
}
EVERY = HOLDS | MORE


def wide(found: Triple) -> Triple:
    return replace(found, low=0.4 * found.low, high=1.7 * found.high)


def scattered(contacts: Contacts) -> Contacts:
    """Return contacts in which every number but the weight has a wide band."""

    def spread(one: object) -> object:
        bands = {name: wide(value) for name, value in vars(one).items() if isinstance(value, Triple)}
        return one if isinstance(one, Push) and one.holder < 0 else replace(one, **bands)  # type: ignore[type-var]

    kinds = (contacts.pushes, contacts.rests, contacts.rubs, contacts.bonds, contacts.pins)
    return gathered(*(spread(one) for kind in kinds for one in kind))


#: A slab between a line of stops and a side clamp at its upper edge: pushed hard, it tips over them.
TIPPED = gathered(weight(14.0, 0.14, 0.11), replace(side_clamp(1.0, THICK), preload=band(20.0, 150.0, 900.0)), *LINE)
DRAWN = {name: scattered(contacts) for name, contacts in EVERY.items()} | {"tipped": TIPPED}


@cache
def shares() -> dict[str, FloatArray]:
    found = np.random.default_rng(11).random((len(GROUPS), DRAWS))
    found[:, 0], found[:, 1] = 1e-6, 1.0 - 1e-6
    return dict(zip(GROUPS, found, strict=True))


def at_draws(contacts: Contacts) -> tuple[WayAtDraws, ...]:
    draws = Draws(count=DRAWS, shares=shares())
    return ways_at_draws(contacts, stock=slab(), bed=bed(), friction=FRICTION, draws=draws)


def alone(contacts: Contacts, draw: int) -> tuple[Way, ...]:
    """Return the ways at one draw, with contacts of that draw's numbers."""
    found, friction = drawn(contacts, FRICTION, {group: float(each[draw]) for group, each in shares().items()})
    return ways(found, stock=slab(), bed=bed(), friction=friction, reading=TYPICAL)


def capacity(contacts: Contacts, loads: FloatArray, **more: object) -> CapacityAtDraws:
    systems = [list(zip(way.families, way.counts, strict=True)) for way in at_draws(contacts)]
    return CapacityAtDraws(systems, loads, np.arange(len(loads)) % DRAWS, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", DRAWN)
def test_every_draw_has_the_margin_that_it_has_by_itself(name):
    """Two roads: bases read at many draws, and each draw's own contacts and programmes; 1e-9 as the solver's own."""
    contacts = DRAWN[name]
    loads = random_loads(4 * DRAWS, seed=5).wrenches.reshape(2 * DRAWS, 2, 6)
    held = [capacity_of(alone(contacts, draw)) for draw in range(DRAWS)]
    plain = np.array([max(held[row % DRAWS].at(load).gauge for load in pair) for row, pair in enumerate(loads)])
    assert_allclose(capacity(contacts, loads).gauges(), plain, rtol=1e-9)
    assert np.ptp(plain) > 0.1 * np.max(plain)


def test_few_programmes_settle_many_draws():
    contacts = DRAWN["screws"]
    loads = np.repeat(random_loads(1, seed=5).wrenches, DRAWS, axis=0)[:, None, :]
    found = capacity(contacts, loads)
    found.gauges()
    systems = sum(len(way.families) for way in at_draws(contacts))
    assert found.solved < 0.5 * DRAWS * systems


def test_what_is_known_serves_again_and_changes_nothing():
    contacts = DRAWN["tape and screws"]
    loads = random_loads(2 * DRAWS, seed=6).wrenches.reshape(DRAWS, 2, 6)
    first = capacity(contacts, loads)
    before = first.gauges()
    again = capacity(contacts, loads, known=first.bases())
    assert_allclose(again.gauges(), before, rtol=1e-9)
    assert first.solved > 0
    assert again.solved == 0
    other = capacity(DRAWN["stops"], loads, known=first.bases())
    assert_allclose(other.gauges(), capacity(DRAWN["stops"], loads).gauges(), rtol=1e-9)


def test_more_than_may_be_spent_is_given_up():
    contacts = DRAWN["screws"]
    loads = random_loads(2 * DRAWS, seed=6).wrenches.reshape(DRAWS, 2, 6)
    with pytest.raises(OutOfWork), budget(10.0):
        capacity(contacts, loads).gauges()


@pytest.mark.parametrize("name", ["stops", "tape and screws"])
def test_bounds_enclose_what_each_programme_comes_to(name):
    """Weak duality and feasible forces: the gauge that its own programme gives lies between, 1e-9 aside."""
    contacts = DRAWN[name]
    load = random_loads(1, seed=8).wrenches[0]
    apart = 0
    for number, way in enumerate(at_draws(contacts)):
        for place, (family, counts) in enumerate(zip(way.families, way.counts, strict=True)):
            right = np.tile(-family.scale.wrenches(load), (DRAWS, 1))
            found = Answers(make=gauge_make(family), member=np.arange(DRAWS), right=right)
            found.solve(DRAWS // 2)
            found.narrow(np.arange(DRAWS))
            for draw in np.nonzero(counts)[0].tolist():
                system = alone(contacts, draw)[number].systems[counts_before(way, place, draw)]
                gauge = Gauge(system).at(system.scale.wrenches(load)).gauge
                assert found.lower[draw] <= gauge * (1.0 + 1e-9)
                assert found.upper[draw] >= gauge * (1.0 - 1e-9)
                apart += bool(found.open(np.array([draw]))[0])
    assert 0 < apart < DRAWS * sum(len(way.families) for way in at_draws(contacts))


def counts_before(way: WayAtDraws, place: int, draw: int) -> int:
    """Return how many systems before a place have to be survived at a draw."""
    return sum(bool(counts[draw]) for counts in way.counts[:place])


def test_where_the_stock_stands_is_found_at_every_draw():
    """A clamp at the upper edge tips the slab over stops lower down once it pushes hard; each draw by itself."""
    families = at_draws(TIPPED)[0]
    plain = [len(alone(TIPPED, draw)[0].systems) for draw in range(DRAWS)]
    assert [sum(bool(counts[draw]) for counts in families.counts) for draw in range(DRAWS)] == plain
    assert len(set(plain)) > 1


def supported(dead: FloatArray) -> Equilibrium:
    """Return a body on three smooth supports under dead loads (n, 6) or (6,)."""
    eq = Equilibrium(Scale(reference=(0.0, 0.0, 0.0), length=0.3, force=100.0), ground=0.0)
    eq.smooth_supports(np.array([(0.0, 0.0), (0.2, 0.0), (0.05, 0.1)]))
    eq.dead_load(dead, owner=0)
    return eq


def test_standing_and_least_forces_are_those_of_each_member():
    """A weight at places within and without three supports: it stands within, and the levers share it."""
    places = np.array([(0.08, 0.03, 0.0), (0.3, 0.02, 0.0), (0.05, 0.09, 0.0), (0.0, 0.1, 0.0), (0.1, 0.0, 0.0)])
    dead = wrench(places, np.tile((0.0, 0.0, -50.0), (5, 1)))
    family = supported(dead).family(5)
    each = [supported(load).system() for load in dead]
    assert [bool(stands) for stands in standing(family)] == [standing_motion(one) is None for one in each]
    assert [bool(stands) for stands in standing(family)] == [True, False, True, False, True]
    assert_allclose(least_forces_in_each(family, [0, 1, 2]), [least_forces(one, [0, 1, 2]) for one in each], atol=1e-12)
    assert_allclose(least_forces_in_each(family, [2])[0] * 100.0, 50.0 * 0.3, rtol=1e-9)


def test_least_forces_want_members_with_the_same_limits():
    eq = supported(wrench((0.1, 0.02, 0.0), (0.0, 0.0, -50.0)))
    eq.limit(np.array([0, 1]), np.array([[1.0, 2.0], [1.0, 3.0]]), bound=1.0)
    with pytest.raises(ValueError, match="same limits"):
        least_forces_in_each(eq.family(2), [0])


def test_a_pin_without_strength_at_any_draw_counts_for_nothing():
    """As a pin that is weak by its own numbers: no column, no limit."""
    bare = gathered(weight(14.0, 0.14, 0.11))
    dead = replace(screw(0.1, 0.1, preload=0.0), pull_out=exactly(0.0), lateral=exactly(0.0))
    assert isinstance(dead, Pin)
    loads = random_loads(2 * DRAWS, seed=9).wrenches.reshape(DRAWS, 2, 6)
    assert_allclose(capacity(gathered(*bare.pushes, dead), loads).gauges(), capacity(bare, loads).gauges(), rtol=1e-9)
