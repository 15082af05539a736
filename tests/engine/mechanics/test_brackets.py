"""The fast search and the brackets against the plain road: every load of a small program solved by itself."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.holding.contacts import Bond, Contacts, Pin, Push, Rub
from stillstock.engine.holding.reading import Reading
from stillstock.engine.holding.resistance import ways
from stillstock.engine.mechanics.brackets import brackets_of
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.cones import WIDTH
from stillstock.engine.mechanics.fan_bounds import FanBounds
from stillstock.engine.mechanics.linear_program import GIVES_WAY
from stillstock.engine.mechanics.sweep import Fan, Sweep, worst_of_sweep
from stillstock.engine.set_up import Bed, Material, Stock
from stillstock.tables.scatter import Corner, Triple

BOARD = Material(key="board", title="board", family="panel", properties={})
STOCK = Stock(material=BOARD, size=(0.3, 0.2, 0.018), thickness=(0.018,) * 2, origin=(0.0, 0.0, -0.018))
BED = Bed(material=BOARD, thickness=0.018, top=-0.018)
TYPICAL = Reading(strength=Corner.TYPICAL, preload=Corner.TYPICAL)


def same(value: float) -> Triple:
    return Triple(low=value, typical=value, high=value)


def box(x, y, half_x, half_y):
    signs = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
    return np.array([x, y]) + signs * (half_x, half_y)


def clamp(number, x, y, force):
    toe = box(x, y, 0.012, 0.008)
    return Push(holder=number, at=(x, y, 0.0), direction=(0.0, 0.0, -1.0), force=same(force), toe=toe)


def strip(number, x):
    return Bond(
        holder=number, area=box(x, 0.1, 0.012, 0.09), height=-0.018, shear=same(40e3), tension=same(30e3),
        shear_stiffness=1e9, tension_stiffness=1e9,
    )  # fmt: skip


def screw(number, x, y):
    return Pin(
        holder=number, at=(x, y, -0.018), lateral=same(300.0), pull_out=same(500.0), lateral_stiffness=1e6,
        axial_stiffness=2e6, preload=same(100.0), head=box(x, y, 0.005, 0.005),
    )  # fmt: skip


def stop(number, at, normal):
    tangent = (-normal[1], normal[0], 0.0)
    return Rub(holder=number, at=at, normal=normal, friction=same(0.2), tangents=(tangent,))


WEIGHT = Push(holder=-1, at=(0.15, 0.1, -0.009), direction=(0.0, 0.0, -1.0), force=same(8.0))
CLAMPS = (clamp(0, 0.02, 0.03, 900.0), clamp(1, 0.27, 0.05, 700.0), clamp(2, 0.25, 0.18, 800.0))
HOLDS = {
    "clamps": Contacts(pushes=(WEIGHT, *CLAMPS)),
    "clamps and stop": Contacts(pushes=(WEIGHT, *CLAMPS[:2]), rubs=(stop(2, (0.0, 0.06, -0.01), (1.0, 0.0, 0.0)),)),
    "tape or clamp": Contacts(pushes=(WEIGHT, CLAMPS[0]), bonds=(strip(1, 0.24), strip(2, 0.19))),
    "screws": Contacts(pushes=(WEIGHT,), pins=(screw(0, 0.02, 0.02), screw(1, 0.28, 0.03), screw(2, 0.17, 0.19))),
}


def capacity(name: str) -> Capacity:
    return Capacity([w.systems for w in ways(HOLDS[name], stock=STOCK, bed=BED, friction=same(0.3), reading=TYPICAL)])


def program(seed: int, *, places: int = 12, loads: int = 8) -> Sweep:
    """A tool path of random fans: places and headings of a smooth way across the stock, lopsided curves of force."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0.0, 2.0 * np.pi, loads, endpoint=False)[:, None]
    fans = []
    for _ in range(3):
        middle, first, second = rng.normal(size=(3, 3)) * (30.0, 30.0, 12.0)
        force = middle + first * np.cos(angle) + second * np.sin(angle)
        fans.append(Fan(force=force, couple=rng.normal(size=force.shape) * (0.02, 0.02, 0.2)))
    step = np.arange(places)
    point = np.column_stack(
        [
            0.15 + 0.13 * np.sin(0.11 * step + seed),
            0.1 + 0.08 * np.cos(0.17 * step),
            np.where(step % 10 < 5, -0.003, -0.009),
        ]
    )
    heading = np.cumsum(rng.normal(size=places) * 0.4) % (2.0 * np.pi)
    heading[:6] = np.arange(6) * np.pi / 3.0
    heading[6] = 1.5 * np.pi  # one of the fixed headings, to the last bit
    return Sweep(fans=tuple(fans), fan=rng.integers(0, 3, places), point=point, heading=heading)


def brute_force(held: Capacity, sweep: Sweep):
    """The greatest gauge of each place, load by load."""
    loads, place = sweep.loads(np.arange(len(sweep)))
    worst = np.zeros(len(sweep))
    np.maximum.at(worst, place, [held.at(load).gauge for load in loads.wrenches])
    return worst


CASES = [(seed, list(HOLDS)[seed % len(HOLDS)]) for seed in range(20)]


@pytest.mark.parametrize(("seed", "hold"), CASES)
def test_worst_and_brackets_agree_with_every_load_solved_by_itself(seed, hold):
    """Two roads to one result; the plain one is a programme a load. Tolerance: rounding of the programmes, 1e-9."""
    sweep = program(seed)
    plain = brute_force(capacity(hold), sweep)
    held = capacity(hold)
    worst = worst_of_sweep(held, sweep)
    assert_allclose(worst.worst.gauge, plain.max(), rtol=1e-9)
    assert_allclose(worst.bound, plain.max(), rtol=1e-9)
    found = brackets_of(held, sweep, worst, enough=0.0, budget=100_000)
    assert np.all(found.lower <= plain * (1.0 + 1e-9))
    assert np.all(found.upper >= plain * (1.0 - 1e-9))
    assert found.settled.all()
    assert np.all(found.upper <= (1.0 + 1.01 * WIDTH) * found.lower + 1e-12)


@pytest.mark.parametrize("hold", HOLDS)
def test_bounds_before_any_search_are_never_too_low(hold, monkeypatch):
    """In one box round the whole path, at the widest: as between the headings, so between the corners and the ways."""
    sweep = program(5)
    held = capacity(hold)
    low, high = sweep.point.min(axis=0), sweep.point.max(axis=0)
    upper = FanBounds(held, sweep).upper(np.arange(len(sweep)), low=low, high=high)
    assert np.all(upper >= brute_force(held, sweep) * (1.0 - 1e-9))
    monkeypatch.setattr("stillstock.engine.mechanics.sweep.HANDFUL", 50)
    pruned = worst_of_sweep(capacity(hold), sweep)
    assert_allclose(pruned.worst.gauge, brute_force(held, sweep).max(), rtol=1e-9)


@pytest.mark.parametrize("hold", ["clamps", "tape or clamp"])
def test_many_places_are_bounded_portion_by_portion(hold, monkeypatch):
    """More loads than are gone through together: three portions here, each by the cones that the last one left."""
    monkeypatch.setattr("stillstock.engine.mechanics.brackets.PORTION", 100)
    sweep = program(6, places=30)
    assert 2 * 100 < sweep.sizes[sweep.fan].sum() <= 3 * 100
    plain = brute_force(capacity(hold), sweep)
    held = capacity(hold)
    found = brackets_of(held, sweep, worst_of_sweep(held, sweep), enough=0.0, budget=100_000)
    assert np.all((found.lower <= plain * (1.0 + 1e-9)) & (found.upper >= plain * (1.0 - 1e-9)))
    assert found.settled.all()
    assert np.all(found.upper <= (1.0 + 1.01 * WIDTH) * found.lower + 1e-12)


def test_moves_that_share_a_place_have_the_same_bounds_to_the_last_bit():
    """The end of one move and the start of the next differ by rounding only, and are bounded once."""
    sweep = program(8)
    rows = np.array([0, 3, 5, 3, 0, 7, 5])
    point = sweep.point[rows] + np.array([0, 0, 0, 1, 1, 0, 1])[:, None] * 3e-14
    path = Sweep(fans=sweep.fans, fan=sweep.fan[rows], point=point, heading=sweep.heading[rows])
    held = capacity("clamps")
    found = brackets_of(held, path, worst_of_sweep(held, path), enough=0.0, budget=1000)
    plain = brute_force(capacity("clamps"), path)
    assert np.all((found.lower <= plain * (1.0 + 1e-9)) & (found.upper >= plain * (1.0 - 1e-9)))
    assert [found.lower[k] for k in (0, 1, 2)] == [found.lower[k] for k in (4, 3, 6)]
    assert [found.upper[k] for k in (0, 1, 2)] == [found.upper[k] for k in (4, 3, 6)]


def test_where_nothing_resists_there_is_nothing_to_look_at_more_closely():
    """A board without weight beside a lone stop: every load moves it, at any factor."""
    beside = Contacts(rubs=(stop(0, (0.0, 0.06, -0.01), (1.0, 0.0, 0.0)),))
    found_ways = ways(beside, stock=STOCK, bed=BED, friction=same(0.3), reading=TYPICAL)
    held = Capacity([way.systems for way in found_ways])
    sweep = program(2)
    sweep = replace(sweep, fans=tuple(replace(fan, force=np.abs(fan.force)) for fan in sweep.fans))
    found = brackets_of(held, sweep, worst_of_sweep(held, sweep), enough=0.0, budget=1000)
    assert found.settled.all()
    assert np.all(found.lower > GIVES_WAY * 1e-3)


def test_a_spent_budget_leaves_brackets_wide_but_true():
    sweep = program(3)
    plain = brute_force(capacity("clamps"), sweep)
    held = capacity("clamps")
    worst = worst_of_sweep(held, sweep)
    found = brackets_of(held, sweep, worst, enough=0.0, budget=1)
    assert not found.settled.all()
    assert np.all((found.lower <= plain * (1.0 + 1e-9)) & (found.upper >= plain * (1.0 - 1e-9)))


def test_places_far_below_what_is_asked_cost_nothing():
    sweep = program(4)
    held = capacity("clamps")
    worst = worst_of_sweep(held, sweep)
    before = held.programmes
    found = brackets_of(held, sweep, worst, enough=1e3, budget=1000)
    assert found.settled.all()
    assert found.programmes == held.programmes - before <= 16 * 18 + 12  # the corners of one box in two systems


def test_the_same_sweep_gives_the_same_brackets_to_the_last_bit():
    sweep = program(7)
    found = []
    for _ in range(2):
        held = capacity("clamps and stop")
        found.append(brackets_of(held, sweep, worst_of_sweep(held, sweep), enough=0.0, budget=300))
    assert np.array_equal(found[0].lower, found[1].lower)
    assert np.array_equal(found[0].upper, found[1].upper)
