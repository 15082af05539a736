"""The least settings of what presses, against statics by hand and against a search that knows nothing of them."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.engine.holding.slabs import (
    LONG,
    MU,
    THICK,
    WIDE,
    at,
    capacity_of,
    clamp,
    gathered,
    screw,
    stop,
    strip,
    suction,
    ways_of,
    weight,
)

from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.mechanics.adjustable import Demand, adjustable, shift
from stillstock.engine.mechanics.linear_program import least_settings
from stillstock.engine.mechanics.wrench import wrench

STEP = 0.1


def pressed(contacts: Contacts, factors) -> Contacts:
    """Return contacts with each clamp's push, or the suction, times its factor; other pushes stay."""
    left = list(factors)
    pushes = [
        replace(push, force=push.force.times(left.pop(0))) if push.toe is not None else push for push in contacts.pushes
    ]
    rests = [replace(rest, pressure=rest.pressure.times(left.pop(0))) for rest in contacts.rests]
    return replace(contacts, pushes=tuple(pushes), rests=tuple(rests))


def held_at(contacts: Contacts, count: int, way: int = 0):
    base, *moved = (
        ways_of(pressed(contacts, factors))[way].systems
        for factors in (np.ones(count), *(np.ones(count) + STEP * np.eye(count)))
    )
    return adjustable(base, moved, at=np.ones(count), step=np.full(count, STEP))


def least(contacts: Contacts, loads, *, count: int = 1, high: float = 50.0):
    found = held_at(contacts, count)
    assert found is not None
    demands = [Demand(held_by=system, load=load) for load in loads for system in found]
    return least_settings(demands, cost=np.ones(count), low=np.zeros(count), high=np.full(count, high))


def slide(force: float):
    return wrench(at(LONG / 2.0, WIDE / 2.0, 0.0), (force, 0.0, 0.0))


def lift(force: float, x: float):
    return wrench(at(x, WIDE / 2.0, THICK), (0.0, 0.0, force))


def test_a_block_that_slides_asks_for_the_load_over_friction():
    """Coulomb by hand: mu P = lambda F, here 200 N over 0.3 and 100 N a unit; the polygon has an edge along x."""
    found = least(gathered(clamp(100.0, LONG / 2.0, WIDE / 2.0)), [slide(200.0)])
    assert_allclose(found, [200.0 / (MU * 100.0)], rtol=1e-6)


def test_what_presses_anyway_is_taken_off_what_the_vacuum_must_do():
    """Coulomb by hand: mu (p A + W) = lambda F."""
    contacts = gathered(suction(1e3), weight(150.0, LONG / 2.0, WIDE / 2.0))
    found = least(contacts, [slide(200.0)])
    assert_allclose(found, [(200.0 / MU - 150.0) / (1e3 * LONG * WIDE)], rtol=1e-6)


def test_the_cheaper_of_two_clamps_is_tightened_and_the_other_is_not():
    """Coulomb by hand: both rub in the line of the push, a newton is worth the same in each: the cheaper is bought.

    Both stand in the middle third, where the face bears all that they press.
    """
    contacts = gathered(clamp(100.0, 0.4 * LONG, WIDE / 2.0), clamp(50.0, 0.6 * LONG, WIDE / 2.0, holder=1))
    found = held_at(contacts, 2)
    assert found is not None
    demands = [Demand(held_by=system, load=slide(200.0)) for system in found]
    settings = least_settings(demands, cost=np.array([3.0, 1.0]), low=np.ones(2), high=np.full(2, 50.0))
    assert settings is not None
    assert_allclose(settings, np.array([1.0, (200.0 / MU - 100.0) / 50.0]), rtol=1e-6)


def test_a_lift_midway_between_two_clamps_asks_the_same_of_both():
    """Levers by hand about either end: 0.1 t1 + 0.9 t2 >= 0.5 s and the same turned round leave only s / 2 each."""
    contacts = gathered(clamp(100.0, 0.1 * LONG, WIDE / 2.0), clamp(100.0, 0.9 * LONG, WIDE / 2.0, holder=1))
    assert_allclose(least(contacts, [lift(250.0, 0.5 * LONG)], count=2), [1.25, 1.25], atol=1e-6)


def test_each_load_is_borne_by_itself():
    """Two pushes, one each way, never at once: the greater alone rules, not the sum."""
    contacts = gathered(clamp(100.0, LONG / 2.0, WIDE / 2.0))
    assert_allclose(least(contacts, [slide(200.0), slide(-150.0)]), [200.0 / (MU * 100.0)], rtol=1e-6)


@pytest.mark.parametrize("number", range(4))
def test_the_programme_ends_where_a_search_by_halving_does(number):
    """Two roads: the linear programme, and the gauge of every load at a common factor, halved 40 times."""
    x, y = 0.07 + 0.05 * number, 0.04 + 0.03 * number
    contacts = gathered(
        clamp(120.0, 0.02, y),
        clamp(80.0, 0.27, WIDE - y, holder=1),
        weight(12.0, x, y),
        stop(at(0.0, y, 0.01), (1, 0, 0)),
    )
    loads = [
        wrench(at(x, y, 0.012), (35.0 - 20.0 * number, 40.0, 9.0), (0.1, -0.2, 0.4 * number)),
        wrench(at(0.2, 0.16, 0.005), (-20.0, -15.0 * number, 25.0), (0.0, 0.3, -0.5)),
    ]
    base, moved = (ways_of(pressed(contacts, (t, t)))[0].systems for t in (1.0, 1.0 + STEP))
    both = adjustable(base, [moved], at=np.ones(1), step=np.full(1, STEP))
    assert both is not None
    demands = [Demand(held_by=system, load=load) for load in loads for system in both]
    settings = least_settings(demands, cost=np.ones(1), low=np.zeros(1), high=np.full(1, 50.0))
    assert settings is not None
    (found,) = settings

    def holds(factor: float) -> bool:
        capacity = capacity_of(ways_of(pressed(contacts, (factor, factor))))
        return all(capacity.at(load).gauge <= 1.0 for load in loads)

    low, high = 0.0, 50.0
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (low, middle) if holds(middle) else (middle, high)
    assert found == pytest.approx(high, rel=1e-6)


def test_nothing_is_promised_beyond_the_ends_of_the_settings():
    contacts = gathered(clamp(100.0, LONG / 2.0, WIDE / 2.0))
    assert least(contacts, [slide(200.0)], high=6.0) is None


def test_a_setting_that_moves_contacts_is_no_linear_programme():
    """A wider tape sticks elsewhere, and is stiffer: its slope is not asked for."""
    base, moved = (ways_of(gathered(strip(0.15, force=100.0, width=w)))[1].systems for w in (2e-4, 4e-4))
    assert adjustable(base, [moved], at=np.ones(1), step=np.ones(1)) is None


def test_the_lines_are_straight_far_beyond_the_step_with_screws_too():
    """Built anew at a factor of 3, every dead wrench and every bound is where the slope says."""
    contacts = gathered(clamp(100.0, 0.05, 0.1), screw(0.2, 0.1), weight(9.0, 0.1, 0.1))
    for way in range(len(ways_of(contacts))):
        found = held_at(contacts, 1, way)
        assert found is not None
        far = ways_of(pressed(contacts, [3.0]))[way].systems
        assert max(shift(h, s, np.full(1, 3.0)) for h, s in zip(found, far, strict=True)) < 1e-9
