"""Printed worked examples of statics, solved by the equilibrium programme itself."""

from math import atan, cos, degrees, radians, sin, tan

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq, minimize_scalar

from stillstock.engine.holding.methods.side_clamp import wedge_thrust
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.equilibrium import Equilibrium
from stillstock.engine.mechanics.friction_cone import spokes
from stillstock.engine.mechanics.wrench import Scale, wrench
from stillstock.engine.set_up import FloatArray

#: A place that is neither the origin nor the reference, so that a moment taken about the wrong point shows. [m]
HERE = (0.4, -0.3, 0.2)
SCALE = Scale(reference=(0.1, 0.2, 0.0), length=0.5, force=100.0)
PLENTY = 1e6
FLAT = np.column_stack([spokes(), np.zeros(len(spokes()))])


def programme() -> Equilibrium:
    return Equilibrium(SCALE, ground=0.0)


def face(eq: Equilibrium, at: tuple[float, float, float], normal: FloatArray, along: FloatArray, mu: float) -> None:
    """Let a plane face push along its normal and rub both ways along a tangent."""
    column = int(eq.columns(wrench(at, normal), owner=0)[0])
    eq.rubbing_point(at, np.array([along, -along]), normal=column, mu=mu, most=PLENTY, owner=0)


def most(eq: Equilibrium, load: FloatArray) -> float:
    """Return the factor up to which a load is held."""
    return Capacity([[eq.system()]]).at(load).factor


def test_a_lever_with_its_load_between():
    """340 lb at 0.5 ft from the pivot is raised by 42.5 lb at 4 ft: printed examination item on a lever."""
    eq = programme()
    pivot, load, hands = (np.add(HERE, (x, 0.0, 0.0)) for x in (0.0, 0.5, 4.0))
    for direction in (1.0, -1.0):
        eq.columns(wrench(pivot, (0.0, 0.0, direction)), owner=0)
    eq.dead_load(wrench(load, (0.0, 0.0, -340.0)), owner=1)
    # The ground under the load is smooth, so that the lever rests until the hands raise it.
    eq.columns(wrench(load, (0.0, 0.0, 1.0)), owner=2)
    assert_allclose(most(eq, wrench(hands, (0.0, 0.0, 1.0))), 42.5, rtol=1e-9)


def raised_by_a_wedge(*, weight: float, angle: float, mu: float) -> float:
    """Return the push at which a wedge raises a block that a wall guides, from the balance of block and wedge."""
    phi = atan(mu)
    x, _, z = np.eye(3)
    block = programme()
    block.dead_load(wrench(HERE, -weight * z), owner=1)
    face(block, HERE, -x, z, mu)
    # About to slip, the wedge's face acts at the friction angle beside its normal, up and towards the wall.
    reaction = sin(angle + phi) * x + cos(angle + phi) * z
    lifted = most(block, wrench(HERE, reaction))
    wedge = programme()
    wedge.dead_load(wrench(HERE, -lifted * reaction), owner=1)
    face(wedge, HERE, z, x, mu)
    return most(wedge, wrench(HERE, x))


def test_a_wedge_raises_a_block_along_a_wall():
    """W 400 lb, wedge of 10 degrees, mu 0.25 on all faces and the wall: P = 313 lb.

    F. P. Beer and E. R. Johnston, "Vector Mechanics for Engineers: Statics", chapter on friction, as quoted. The
    tolerance is the printed three digits.
    """
    assert_allclose(raised_by_a_wedge(weight=400.0, angle=radians(10.0), mu=0.25), 313.0, rtol=2e-3)


@pytest.mark.parametrize(("angle", "mu"), [(7.0, 0.25), (10.0, 0.25), (12.0, 0.4)])
def test_the_thrust_of_a_driven_wedge_is_that_of_the_balance(angle, mu):
    """Two roads to one number: the closed form of a driven wedge against the programme, with the wall's share put in.

    Balance of the block: the wedge bears N = W / (1 - mu tan(alpha + phi)).
    """
    alpha = radians(angle)
    lifted = 400.0 / (1.0 - mu * tan(alpha + atan(mu)))
    push = lifted / wedge_thrust(1.0, angle=alpha, mu=mu)
    assert_allclose(raised_by_a_wedge(weight=400.0, angle=alpha, mu=mu), push, rtol=1e-9)


def test_the_least_push_up_a_rough_slope():
    """W 60 lb on a slope of 20 degrees, mu 0.30: 35.9 lb, at 36.7 degrees to the horizontal; printed exercise.

    Closed form W sin(alpha + phi) along alpha + phi. The polygon has a corner along the slope: no error there.
    """
    slope = radians(20.0)
    eq = programme()
    eq.dead_load(wrench(HERE, 60.0 * np.array([-sin(slope), 0.0, -cos(slope)])), owner=1)
    column = int(eq.columns(wrench(HERE, (0.0, 0.0, 1.0)), owner=0)[0])
    eq.rubbing_point(HERE, FLAT, normal=column, mu=0.30, most=PLENTY, owner=0)
    capacity = Capacity([[eq.system()]])

    def push(angle: float) -> float:
        """Return the push that moves the block, at an angle to the slope."""
        return capacity.at(wrench(HERE, (cos(angle), 0.0, sin(angle)))).factor

    least = minimize_scalar(push, bounds=(0.0, 1.2), method="bounded", options={"xatol": 1e-7})
    assert_allclose(least.fun, 35.9, rtol=2e-3)
    assert_allclose(degrees(slope + least.x), 36.7, atol=0.05)


@pytest.mark.parametrize(("mu", "lets_go_at", "exact"), [(0.60, 31.0, atan(0.60)), (0.70, 34.0, atan(0.60 / 0.90))])
def test_a_crate_on_a_rising_slope_slides_or_tips(mu, lets_go_at, exact):
    """A cube of 1.2 m with its mass 0.90 m above the base slides at 31 degrees (mu 0.60) or tips at 34 (mu 0.70).

    D. Halliday, R. Resnick and J. Walker, "Fundamentals of Physics", problem on a crate, answers from memory; closed
    form: the lesser of atan(mu) and atan(0.6 / 0.9).
    """
    eq = programme()
    for x in (0.0, 1.2):
        for y in (0.0, 1.2):
            corner = tuple(np.add(HERE, (x, y, 0.0)))
            column = int(eq.columns(wrench(corner, (0.0, 0.0, 1.0)), owner=0)[0])
            eq.rubbing_point(corner, FLAT, normal=column, mu=mu, most=PLENTY, owner=0)
    capacity, heart = Capacity([[eq.system()]]), np.add(HERE, (0.6, 0.6, 0.9))

    def lets_go(angle: float) -> float:
        """Return 1 where no force of the base balances the weight, else -1."""
        weight = 1000.0 * np.array([sin(angle), 0.0, -cos(angle)])
        return 1.0 if capacity.at(wrench(heart, weight)).factor < 1.0 else -1.0

    angle = brentq(lets_go, 0.1, 1.2, xtol=1e-6)
    assert_allclose(degrees(angle), lets_go_at, atol=0.5)
    assert_allclose(angle, exact, atol=1e-5)
