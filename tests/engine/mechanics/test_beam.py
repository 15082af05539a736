"""Squeezed and bowed strips against printed examples, a boundary-value solver and a frame library."""

from itertools import pairwise

import numpy as np
import pytest
from anastruct import SystemElements  # type: ignore[attr-defined]
from numpy.testing import assert_allclose
from scipy.integrate import solve_bvp

from stillstock.engine.mechanics.beam import bowed_rise, eccentric_rise, euler_load, flattening_pressure, modulus_at

LENGTH, STIFFNESS = 0.37, 21.0  # [m], [N m2]
EULER = euler_load(STIFFNESS, second_moment=1.0, length=LENGTH)


def test_euler_load_of_a_printed_column():
    """E 10 GPa, I 400 cm4, 5 m, both ends clamped: 63 165.5 N. Printed exam item (column, fixed-fixed, K = 0.5)."""
    load = euler_load(10e9, second_moment=400e-8, length=5.0, effective=0.5)
    assert_allclose(load, 63_165.5, rtol=1e-4)


def test_secant_formula_of_a_printed_column():
    """Tube 6 by 5.5 in, 30 ft, one end free, 5 kip at 3 in: 6.34 ksi. Printed course example 9.3, from its factors.

    The stress follows from the deflection: P / A + P (e + y) c / I. Tolerance: three printed digits.
    """
    outer, inner, length, modulus = 3.0, 2.75, 360.0, 29_000.0
    area, second = np.pi * (outer**2 - inner**2), np.pi / 4 * (outer**4 - inner**4)
    share = 5.0 / euler_load(modulus, second_moment=second, length=length, effective=2.0)
    stress = 5.0 / area + 5.0 * (3.0 + eccentric_rise(3.0, share=share)) * outer / second
    assert_allclose(stress, 6.34, rtol=5e-3)


def solved_middle(*, push, eccentricity, bow):
    """Middle of a pinned strip after EI w'' + P (w + bow sin) = -P e, by scipy's boundary-value solver."""

    def slope(x, y):
        start = bow * np.sin(np.pi * x / LENGTH)
        return np.vstack([y[1], -push * (y[0] + start + eccentricity) / STIFFNESS])

    x = np.linspace(0.0, LENGTH, 41)
    found = solve_bvp(slope, lambda a, b: np.array([a[0], b[0]]), x, np.zeros((2, 41)), tol=1e-8)
    assert found.success
    return found.sol(LENGTH / 2.0)[0]


@pytest.mark.parametrize("share", [0.02, 0.25, 0.6, 0.9])
@pytest.mark.parametrize(("eccentricity", "bow"), [(0.003, 0.0), (0.0, 0.0012), (0.0021, 0.0005), (-0.0004, 0.002)])
def test_rise_agrees_with_the_boundary_value_solver(share, eccentricity, bow):
    """The beam-column equation itself, solved numerically. Tolerance: 0.5 %."""
    expected = solved_middle(push=share * EULER, eccentricity=eccentricity, bow=bow)
    got = eccentric_rise(eccentricity, share=share) + bowed_rise(bow, share=share)
    assert_allclose(got, expected, rtol=5e-3)


def test_euler_load_agrees_with_a_frame_library():
    """Load factor at which a general frame library finds a pinned column of 20 elements unstable. Tolerance: 1 %.

    Its deflections are not used: their sign of the axial force in the second-order terms is not that of compression.
    """
    frame = SystemElements(EA=1e9, EI=STIFFNESS)
    nodes = np.linspace(0.0, LENGTH, 21)
    for start, end in pairwise(nodes):
        frame.add_element(location=[[start, 0.0], [end, 0.0]])
    frame.add_support_hinged(node_id=1)
    frame.add_support_roll(node_id=21, direction="x")
    frame.point_load(node_id=21, Fx=-0.3 * EULER)
    frame.moment_load(node_id=1, Tz=1.0)
    frame.solve(geometrical_non_linear=True)
    assert frame.buckling_factor is not None
    assert_allclose(frame.buckling_factor, 1.0 / 0.3, rtol=1e-2)


def test_no_rise_is_left_beyond_the_euler_load():
    assert eccentric_rise(0.001, share=1.0) == np.inf
    assert bowed_rise(0.001, share=1.2) == np.inf
    assert eccentric_rise(0.0, share=2.0) == 0.0
    assert bowed_rise(0.0, share=2.0) == 0.0


def test_pressure_flattens_a_cupped_panel():
    """18 mm birch plywood of 9 GPa, cupped 10 mm over 600 mm: strip on two supports, q = 384 E I d / 5 L^4."""
    second = 0.018**3 / 12.0
    expected = 384.0 * 9e9 * second * 0.010 / (5.0 * 0.6**4)
    assert_allclose(flattening_pressure(0.010, span=0.6, modulus=9e9, thickness=0.018), expected, rtol=1e-12)


def test_modulus_between_the_grain_directions():
    """Hankinson at 30 degrees, written out: 12 x 1 / (12 x 1/4 + 1 x 3/4) = 3.2 GPa."""
    assert_allclose(modulus_at(12e9, across=1e9, angle=np.pi / 6), 3.2e9, rtol=1e-12)
