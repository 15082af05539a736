"""The exact worst of many loads, against every load by itself."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.engine.holding.slabs import MIDDLE, X0, Y0
from tests.engine.mechanics.holds import HOLDS, capacity, gauges, random_loads

from stillstock.engine.mechanics import capacity as module
from stillstock.engine.mechanics.capacity import Capacity, Loads, box_weights
from stillstock.engine.mechanics.linear_program import Gauge
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray


@pytest.mark.parametrize("name", HOLDS)
@pytest.mark.parametrize("seed", [1, 2])
def test_the_worst_of_random_loads_is_that_of_brute_force(name, seed):
    """Two roads: branch and bound against every load solved by itself, to 1e-9 in the gauge and to the very load."""
    loads = random_loads(120, seed=seed)
    found = capacity(name).worst(loads)
    each = gauges(name, loads.wrenches)
    assert found is not None
    assert_allclose(found.gauge, each.max(), rtol=1e-9)
    assert found.load == int(np.argmax(each))


def test_fewer_programmes_than_loads_are_solved_when_loads_are_many():
    """Bounds and bases settle most loads: far fewer programmes than one a load and system, with the same result."""
    loads = random_loads(2500, seed=3, couple=0.0)
    searched = capacity("stops")
    found = searched.worst(loads)
    assert found is not None
    assert searched.programmes < len(loads.force) * len(searched.systems) / 10
    rows = np.argsort(-np.linalg.norm(loads.force, axis=1))[:60]
    assert (gauges("stops", loads.wrenches[rows]) <= found.gauge * (1.0 + 1e-9)).all()


def test_what_governs_is_named_by_way_and_system():
    """The named system's own gauge is the load's, and no other system of that way has a greater one."""
    loads = random_loads(40, seed=5)
    held = capacity("screws")
    found = held.worst(loads)
    assert found is not None
    load = loads.wrenches[found.load]
    own = held.system(found)
    assert_allclose(Gauge(own).at(own.scale.wrenches(load)).gauge, found.gauge, rtol=1e-9)
    holds = held.holds(load)
    way = held.ways[found.way]
    assert max(holds[k].gauge for k in way) == pytest.approx(found.gauge, rel=1e-12)
    assert min(max(holds[k].gauge for k in w) for w in held.ways) == pytest.approx(found.gauge, rel=1e-12)


def test_loads_below_what_is_reached_already_are_passed_over():
    loads = random_loads(40, seed=6)
    best = capacity("tape").worst(loads)
    assert best is not None
    assert capacity("tape").worst(loads, above=best.gauge * (1.0 + 1e-6)) is None
    again = capacity("tape").worst(loads, above=best.gauge * (1.0 - 1e-6))
    assert again is not None
    assert again.load == best.load


@pytest.mark.parametrize("name", HOLDS)
def test_whether_any_load_passes_a_gauge_is_told_as_the_worst_of_them_tells(name):
    """Two roads: a load that tells, looked for by motions, and the worst of all loads."""
    for seed in (21, 22):
        loads, held = random_loads(300, seed=seed), capacity(name)
        line = capacity(name).worst(loads)
        assert line is not None
        shares = (0.3, 1.0 - 1e-6, 1.0 + 1e-6)
        assert [held.is_beyond(loads, share * line.gauge) for share in shares] == [True, True, False]


def test_one_load_that_passes_a_gauge_by_far_is_found_with_few_programmes():
    loads, held = random_loads(400, seed=31), capacity("screws")
    worst = capacity("screws").worst(loads)
    assert worst is not None
    assert held.is_beyond(loads, 0.5 * worst.gauge)
    assert held.programmes <= 8 * len(held.systems)


def test_couples_without_a_force_and_forces_far_away_are_judged_too():
    """Pure couples, and a force whose couple puts its axis far off the body, have no place in a box of points."""
    force = np.array([(0.0, 0.0, 0.0), (1e-3, 0.0, 0.0), (6.0, -4.0, 3.0), (0.0, 0.0, 0.0)])
    couple = np.array([(0.1, -0.2, 1.5), (0.0, 4.0, 1.0), (0.0, 0.0, 0.2), (0.0, 0.0, 0.0)])
    loads = Loads(force=force, point=np.tile(MIDDLE, (4, 1)), couple=couple)
    for rows in ([0, 2], [1, 2], [2], [3, 2], [0, 1, 2, 3]):
        part = Loads(force=force[rows], point=loads.point[rows], couple=couple[rows])
        found = capacity("stops").worst(part)
        each = gauges("stops", part.wrenches)
        assert found is not None
        assert_allclose(found.gauge, each.max(), rtol=1e-9)
        assert found.load == int(np.argmax(each))


def test_loads_at_one_point_and_along_one_line_are_searched_like_others():
    """A box with flat sides: brute force again."""
    loads = random_loads(80, seed=8)
    for axes in ([0, 1, 2], [0, 2]):
        point = loads.point.copy()
        point[:, axes] = np.asarray(MIDDLE)[axes]
        flat = Loads(force=loads.force, point=point, couple=loads.couple * 0.0)
        found = capacity("tape").worst(flat)
        assert found is not None
        assert_allclose(found.gauge, gauges("tape", flat.wrenches).max(), rtol=1e-9)


@pytest.mark.parametrize("name", ["lopsided", "tape"])
@pytest.mark.parametrize(("along", "across"), [(0.0, 0.4), (0.15, 0.0)])
def test_bounds_are_never_below_the_gauge_of_any_load(name, along, across):
    """Convexity. Couples across the force move its axis by up to 60 mm; couples along it have their own share."""
    plain = random_loads(60, seed=14)
    size = np.linalg.norm(plain.force, axis=1, keepdims=True)
    sign = np.where(np.arange(60) % 2 == 0, 1.0, -1.0)[:, None]
    couple = sign * along * plain.force + across * np.cross(plain.force, (0.3, -0.5, 0.8)) / size
    loads = Loads(force=plain.force, point=plain.point, couple=couple)
    search = module._Search(capacity(name), loads, above=-1.0)
    exact, rows = gauges(name, loads.wrenches), np.arange(60)
    low, high = search._point.min(axis=0), search._point.max(axis=0)
    judged = 0
    for triangle in module.octants():
        inside = rows[(loads.force @ np.linalg.inv(triangle) >= 0.0).all(axis=1)]
        node = module._Node(triangle=triangle, low=low, high=high, loads=inside)
        assert (search._bounds(node) >= exact[inside] * (1.0 - 1e-9)).all()
        for row in inside:  # in a box of no size, too, where bounds are tight
            at = search._point[row]
            small = module._Node(triangle=triangle, low=at, high=at, loads=np.array([row]))
            assert search._bounds(small)[0] >= exact[row] * (1.0 - 1e-9)
            judged += 1
    assert judged == 60


def test_no_load_is_a_mistake():
    with pytest.raises(ValueError, match="no load"):
        capacity("tape").worst(Loads(force=np.zeros((0, 3)), point=np.zeros((0, 3)), couple=np.zeros((0, 3))))


def scaled_loads(held: Capacity, number: int, wrenches: FloatArray) -> FloatArray:
    return held.systems[number].scale.wrenches(wrenches)


@pytest.mark.parametrize("name", HOLDS)
def test_a_dual_bounds_every_load_and_is_exact_within_its_region(name):
    """Convexity: gauge >= slope . load for every load; equality wherever the same basis stays feasible."""
    held = capacity(name)
    near = random_loads(1, seed=11)
    draw = np.random.default_rng(12)
    around = near.wrenches + draw.normal(size=(60, 6)) * (0.8, 0.8, 0.8, 0.03, 0.03, 0.03)
    far = random_loads(40, seed=13).wrenches
    inside = 0
    for number, hold in enumerate(held.holds(near.wrenches[0], range(min(len(held.systems), 4)))):
        gauge = Gauge(held.systems[number])
        for load in scaled_loads(held, number, np.concatenate([around, far])):
            exact, bound = gauge.at(load).gauge, float(hold.slope @ load)
            assert exact >= bound - 1e-9 * abs(bound)
            if (hold.region @ load >= 0.0).all():
                assert exact == pytest.approx(bound, rel=1e-9)
                inside += 1
    assert inside > 5


def test_the_gauge_is_convex_and_homogeneous():
    """s(a + b) <= s(a) + s(b) and s(k a) = k s(a) in each system: what all bounds rest on."""
    held = capacity("screws")
    a, b = random_loads(2, seed=21).wrenches
    for one, other, both, thrice in zip(
        held.holds(a), held.holds(b), held.holds(a + b), held.holds(3.0 * a), strict=True
    ):
        assert both.gauge <= (one.gauge + other.gauge) * (1.0 + 1e-9)
        assert thrice.gauge == pytest.approx(3.0 * one.gauge, rel=1e-9)


def test_weights_in_a_box_give_the_point_back():
    """Multilinear interpolation reproduces linear functions; flat sides have no second corner."""
    low, high = np.array([X0, Y0, 0.2]), np.array([X0 + 0.3, Y0 + 0.1, 0.2])
    points = np.random.default_rng(4).uniform(low, high, size=(20, 3))
    corners, weights = box_weights(points, low, high)
    assert corners.shape == (4, 3)
    assert (weights >= 0.0).all()
    assert_allclose(weights.sum(axis=1), 1.0, rtol=1e-14)
    assert_allclose(weights @ corners, points, rtol=1e-13)


def test_halving_a_triangle_of_directions_loses_none_of_them():
    """Every force of the triangle's cone lies in one of the halves' cones; the new corner is a unit vector."""
    triangle = np.eye(3)
    edges = np.linalg.norm(triangle - np.roll(triangle, 1, axis=0), axis=1)
    first, second = module.halves(triangle, edges)
    assert_allclose(np.linalg.norm(np.concatenate([first, second]), axis=1), 1.0, rtol=1e-15)
    forces = np.random.default_rng(5).uniform(size=(200, 3))
    within = [(forces @ np.linalg.inv(half) >= -1e-12).all(axis=1) for half in (first, second)]
    assert (within[0] | within[1]).all()
    assert within[0].any()
    assert within[1].any()


def test_a_load_and_its_wrench_are_one():
    """F at r with couple C: moment r x F + C about the origin."""
    loads = random_loads(3, seed=9)
    assert_allclose(loads.wrenches[1], wrench(loads.point[1], loads.force[1], loads.couple[1]))
    assert_allclose(loads.wrenches[:, 3:], np.cross(loads.point, loads.force) + loads.couple, rtol=1e-14)
