"""The worst place of a sweep, and its bounds, against every load of every place by itself."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.engine.holding.slabs import LONG, THICK, WIDE, X0, Y0, Z0
from tests.engine.mechanics.holds import HOLDS, capacity, gauges

from stillstock.engine.mechanics import sweep as module
from stillstock.engine.mechanics.fan_bounds import FanBounds
from stillstock.engine.mechanics.sweep import Fan, Sweep, worst_of_sweep
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray


def curve(scale: float, count: int) -> Fan:
    """Return a closed curve of force as a cutter makes it, lopsided, with the couples that come with it."""
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    force = scale * np.column_stack([20.0 + 40.0 * np.cos(turn), -25.0 + 45.0 * np.sin(turn), 4.0 + 9.0 * np.sin(turn)])
    couple = scale * np.column_stack([0.1 * np.sin(turn), 0.05 + 0.1 * np.cos(turn), 0.15 * np.ones(count)])
    return Fan(force=force, couple=couple)


def random_sweep(places: int, *, seed: int, count: int = 6) -> Sweep:
    draw = np.random.default_rng(seed)
    fans = tuple(curve(scale, count + extra) for extra, scale in enumerate((1.0, 0.7, 0.9)))
    return Sweep(
        fans=fans,
        fan=draw.integers(0, len(fans), size=places),
        point=draw.uniform((X0, Y0, Z0), (X0 + LONG, Y0 + WIDE, Z0 + THICK), size=(places, 3)),
        heading=draw.uniform(0.0, 2.0 * np.pi, size=places),
    )


def turned(vectors: FloatArray, angle: float) -> FloatArray:
    """Turn by an angle, counter-clockwise seen from above."""
    matrix = np.array([[np.cos(angle), -np.sin(angle), 0.0], [np.sin(angle), np.cos(angle), 0.0], [0.0, 0.0, 1.0]])
    found: FloatArray = vectors @ matrix.T
    return found


@cache
def sampled(name: str, places: int, seed: int) -> tuple[Sweep, list[FloatArray]]:
    """Return a random sweep and the gauges of all its loads."""
    sweep = random_sweep(places, seed=seed)
    return sweep, each_place(name, sweep)


def each_place(name: str, sweep: Sweep) -> list[FloatArray]:
    """Return the gauges of all loads of each place, every one solved by itself."""
    return [
        gauges(
            name,
            wrench(
                sweep.point[row],
                turned(sweep.fans[sweep.fan[row]].force, sweep.heading[row]),
                turned(sweep.fans[sweep.fan[row]].couple, sweep.heading[row]),
            ),
        )
        for row in range(len(sweep))
    ]


@pytest.mark.parametrize("name", HOLDS)
@pytest.mark.parametrize("handful", [100_000, 12])
def test_the_worst_of_a_sweep_is_that_of_brute_force(name, handful, monkeypatch):
    """Once load by load, and once with nearly all places pruned by their bounds; to 1e-9 and to the very place."""
    monkeypatch.setattr(module, "HANDFUL", handful)
    sweep, each = sampled(name, 8 if name == "screws" else 20, 31)
    found = worst_of_sweep(capacity(name), sweep)
    place = int(np.argmax([values.max() for values in each]))
    assert_allclose(found.worst.gauge, each[place].max(), rtol=1e-9)
    assert found.place == place
    assert found.bound == found.worst.gauge
    fan = sweep.fans[sweep.fan[place]]
    assert_allclose(found.force, turned(fan.force, sweep.heading[place])[int(np.argmax(each[place]))], rtol=1e-12)


@pytest.mark.parametrize("slack", [0.02, 0.3, 5.0])
def test_with_slack_the_exact_worst_lies_in_the_bracket(slack, monkeypatch):
    """gauge <= exact <= bound <= gauge (1 + slack), the exact one by brute force."""
    monkeypatch.setattr(module, "HANDFUL", 10)
    sweep, each = sampled("tape", 20, 31)
    found = worst_of_sweep(capacity("tape"), sweep, slack=slack)
    exact = max(values.max() for values in each)
    assert found.worst.gauge <= exact * (1.0 + 1e-9)
    assert exact <= found.bound * (1.0 + 1e-9)
    assert found.bound <= found.worst.gauge * (1.0 + slack) * (1.0 + 1e-9)


@pytest.mark.parametrize("name", HOLDS)
def test_bounds_are_never_below_the_gauge_of_any_load(name):
    """Convexity over headings, directions and boxes; each place and each load of one fan, in a box half as large."""
    sweep = random_sweep(7, seed=33)
    sweep = replace(sweep, heading=np.where(np.arange(7) % 3 == 0, np.pi / 16.0 * np.arange(7), sweep.heading))
    rows = np.arange(len(sweep))
    each = each_place(name, sweep)
    bounds = FanBounds(capacity(name), sweep)
    low, high = sweep.point.min(axis=0), sweep.point.max(axis=0)
    upper = bounds.upper(rows, low=low, high=high)
    assert (upper >= [values.max() * (1.0 - 1e-9) for values in each]).all()
    first = rows[sweep.fan == 0]
    loads = bounds.each(first, low=low, high=high)
    assert (loads >= np.array([each[row] for row in first]) * (1.0 - 1e-9)).all()


def test_a_smaller_box_bounds_a_place_more_tightly():
    """Convexity: the place itself as a box of no size bounds no worse than a box round all places."""
    sweep = random_sweep(5, seed=34)
    sweep = replace(sweep, fans=tuple(replace(fan, couple=fan.couple * 0.0) for fan in sweep.fans))
    bounds, exact = FanBounds(capacity("tape"), sweep), [values.max() for values in each_place("tape", sweep)]
    low, high = sweep.point.min(axis=0), sweep.point.max(axis=0)
    for row in range(len(sweep)):
        point = sweep.point[row]
        wide = bounds.upper(np.array([row]), low=low, high=high)[0]
        tight = bounds.upper(np.array([row]), low=point, high=point)[0]
        assert exact[row] * (1.0 - 1e-9) <= tight <= wide * (1.0 + 1e-9)


def test_couples_alone_are_bounded_on_their_own_side():
    """A slab that resists couples five times as badly one way as the other; nearly no force, all headings."""
    fan = Fan(force=np.array([(1e-3, 0.0, 1e-3)]), couple=np.array([(0.1, 1.0, 0.2)]))
    headings = np.linspace(0.0, 2.0 * np.pi, 23)
    point = np.tile((X0 + 0.1, Y0 + 0.1, Z0), (23, 1))
    sweep = Sweep(fans=(fan,), fan=np.zeros(23, dtype=np.int64), point=point, heading=headings)
    exact = np.array([values.max() for values in each_place("lopsided", sweep)])
    assert exact.max() > 3.0 * exact.min()
    bound = FanBounds(capacity("lopsided"), sweep).upper(np.arange(23), low=point[0], high=point[0])
    assert (bound >= exact * (1.0 - 1e-9)).all()


def test_the_bound_of_a_push_in_plane_is_near():
    """Where the gauge is the size of the force, only the net is lost: 1 / cos(pi / 8) between its directions in plane,
    1 / cos(pi / 32) between headings, and cos(pi / 16) of the friction polygon. Plane geometry."""
    fan = Fan(force=np.array([(1.0, 0.0, 0.0)]), couple=np.zeros((1, 3)))
    headings = np.linspace(0.0, 2.0 * np.pi, 41)
    point = np.tile((X0 + LONG / 2.0, Y0 + WIDE / 2.0, Z0), (41, 1))
    sweep = Sweep(fans=(fan,), fan=np.zeros(41, dtype=np.int64), point=point, heading=headings)
    exact = np.array([values.max() for values in each_place("middle", sweep)])
    bound = FanBounds(capacity("middle"), sweep).upper(np.arange(41), low=point[0], high=point[0])
    lost = 1.0 / (np.cos(np.pi / 8.0) * np.cos(np.pi / 32.0) * np.cos(np.pi / 16.0))
    assert (bound <= exact * lost * (1.0 + 1e-9)).all()


def test_no_place_is_a_mistake():
    empty = Sweep(fans=(curve(1.0, 4),), fan=np.zeros(0, dtype=np.int64), point=np.zeros((0, 3)), heading=np.zeros(0))
    with pytest.raises(ValueError, match="no place"):
        worst_of_sweep(capacity("tape"), empty)


def test_a_feed_to_the_left_turns_the_loads_a_quarter():
    """Heading 90 degrees: what acts along the feed acts along +y, what acts to its left along -x. Plane geometry."""
    fan = Fan(force=np.array([(3.0, 2.0, 1.0)]), couple=np.array([(0.3, 0.2, 0.1)]))
    sweep = Sweep(
        fans=(fan,), fan=np.zeros(1, dtype=np.int64), point=np.array([(0.1, 0.2, 0.0)]), heading=np.array([np.pi / 2])
    )
    loads, place = sweep.loads(np.array([0]))
    assert_allclose(loads.force, [(-2.0, 3.0, 1.0)], atol=1e-15)
    assert_allclose(loads.couple, [(-0.2, 0.3, 0.1)], atol=1e-15)
    assert place.tolist() == [0]
