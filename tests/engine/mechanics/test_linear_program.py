"""The gauge programme against another solver, its proof, and the balance without any load."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import linprog
from tests.engine.holding.slabs import X0, Y0, at
from tests.engine.mechanics.holds import HOLDS, capacity, random_loads

from stillstock.engine.mechanics.equilibrium import Equilibrium, System
from stillstock.engine.mechanics.linear_program import GIVES_WAY, Gauge, least_forces, standing_motion
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import FloatArray

SCALE = Scale(reference=(0.1, 0.2, 0.0), length=0.3, force=100.0)


def by_linprog(system: System, load: FloatArray) -> float:
    """Return the least s of G x + s w0 = -w, A x <= s b by a fresh run of scipy's interface."""
    count = system.balance.shape[1]
    found = linprog(
        np.append(np.zeros(count), 1.0),
        A_ub=np.column_stack([system.limits, -system.bounds]),
        b_ub=np.zeros(len(system.bounds)),
        A_eq=np.column_stack([system.balance, system.dead]),
        b_eq=-load,
        bounds=[(None if free else 0.0, None) for free in system.free] + [(0.0, None)],
        method="highs",
    )
    return float(np.asarray(found.x)[-1]) if found.status == 0 else np.inf


@pytest.mark.parametrize("name", HOLDS)
def test_the_gauge_is_that_of_a_fresh_programme(name):
    """scipy.optimize.linprog on the same matrices, 1e-7; the warm programme goes from load to load."""
    resisted = 0
    held = capacity(name)
    for system in held.systems[:3]:
        gauge = Gauge(system)
        for load in random_loads(8, seed=41).wrenches:
            scaled = system.scale.wrenches(load)
            hold = gauge.at(scaled)
            value, slope = gauge.value(scaled)
            expected = by_linprog(system, scaled)
            if np.isinf(expected):  # nothing resists it: both are far beyond any hold
                assert min(hold.gauge, value) > 1e3
                continue
            found = np.array([hold.gauge, value, hold.slope @ scaled, slope @ scaled])
            assert_allclose(found, expected, rtol=1e-7)
            resisted += 1
    assert resisted > 5


@pytest.mark.parametrize("name", HOLDS)
def test_the_contact_forces_balance_the_load_and_keep_their_limits(name):
    """Newton: what all bodies put on the slab and the load add up to nothing, force and moment; shares add up to 1."""
    held = capacity(name)
    for load in random_loads(6, seed=42).wrenches:
        for hold, system in zip(held.holds(load), held.systems, strict=True):
            scaled = system.scale.wrenches(load)
            if hold.gauge <= 0.0 or hold.gauge > 1e3:
                continue
            bodies = system.forces_of(hold.forces, gauge=hold.gauge)
            assert_allclose(sum(bodies.values()) + scaled, 0.0, atol=1e-8 * np.abs(scaled).max())
            assert (system.limits @ hold.forces <= hold.gauge * system.bounds + 1e-8).all()
            assert (hold.forces[~system.free] >= -1e-9).all()
            work = sum(-float(body @ hold.slope) for body in bodies.values())
            assert work == pytest.approx(hold.gauge, rel=1e-8)


def test_a_dual_is_the_same_about_the_reference_and_about_the_origin():
    """gradient(g) . w = g . wrenches(w): both are the power of one motion."""
    draw = np.random.default_rng(43)
    scaled, load = draw.normal(size=6), draw.normal(size=6)
    assert SCALE.gradient(scaled) @ load == pytest.approx(scaled @ SCALE.wrenches(load), rel=1e-12)
    moved = wrench((0.1, 0.2, 0.0), load[:3])
    assert_allclose(SCALE.wrenches(moved)[3:], 0.0, atol=1e-16)


def on_points(*points: tuple[float, float], weight: float, place: tuple[float, float]) -> Equilibrium:
    eq = Equilibrium(SCALE, ground=0.0)
    eq.smooth_supports(np.array([(X0 + x, Y0 + y) for x, y in points]))
    eq.dead_load(wrench(at(*place, 0.02), (0.0, 0.0, -weight)), owner=0)
    return eq


def test_a_body_whose_weight_lies_beyond_its_supports_tips_over_the_near_edge():
    """Supports at x = 0 and 0.1, weight at 0.15: it turns about y through x = 0.1, its far side going down.

    Right-hand rule: about +y the side at greater x sinks. The motion's power on the weight is positive.
    """
    eq = on_points((0.0, 0.0), (0.0, 0.1), (0.1, 0.0), (0.1, 0.1), weight=10.0, place=(0.15, 0.05))
    motion = standing_motion(eq.system())
    assert motion is not None
    about = SCALE.gradient(motion)
    assert about[4] > 0.0
    assert about @ wrench(at(0.15, 0.05, 0.02), (0.0, 0.0, -1.0)) > 0.0
    inside = on_points((0.0, 0.0), (0.0, 0.1), (0.1, 0.0), (0.1, 0.1), weight=10.0, place=(0.08, 0.05))
    assert standing_motion(inside.system()) is None


def test_the_least_forces_on_three_supports_are_the_levers():
    """Statically determinate: 30 N at (0.05, 0.04), supports 0.2 along and 0.1 across: each by its own lever."""
    eq = on_points((0.0, 0.0), (0.2, 0.0), (0.0, 0.1), weight=30.0, place=(0.05, 0.04))
    least = least_forces(eq.system(), [0, 1, 2]) * SCALE.force
    at_x, at_y = 30.0 * 0.05 / 0.2, 30.0 * 0.04 / 0.1
    assert_allclose(least, [30.0 - at_x - at_y, at_x, at_y], rtol=1e-9)


def test_the_least_forces_on_four_supports_may_be_none():
    """Redundant: the weight in the middle can stand on either diagonal, so none of the four is sure of anything."""
    eq = on_points((0.0, 0.0), (0.2, 0.0), (0.2, 0.1), (0.0, 0.1), weight=30.0, place=(0.1, 0.05))
    assert_allclose(least_forces(eq.system(), [0, 1, 2, 3]), 0.0, atol=1e-9)


def test_what_nothing_resists_costs_more_than_any_hold():
    """Sideways on smooth points: no force along x at all."""
    eq = on_points((0.0, 0.0), (0.2, 0.0), (0.0, 0.1), weight=30.0, place=(0.05, 0.04))
    system = eq.system()
    hold = Gauge(system).at(SCALE.wrenches(wrench(at(0.05, 0.04, 0.0), (100.0, 0.0, 0.0))))
    assert hold.gauge >= 0.99 * GIVES_WAY
