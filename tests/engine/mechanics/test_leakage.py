"""Air: the standard atmosphere, holes, slots and porous board against tables and a fluid-flow library."""

import numpy as np
import pytest
from ambiance import Atmosphere  # type: ignore[import-untyped]
from fluids import ATMOSPHERE_1976
from fluids.compressible import P_critical_flow
from fluids.flow_meter import flow_meter_discharge, nozzle_expansibility
from numpy.testing import assert_allclose

from stillstock.engine.mechanics.leakage import (
    CRITICAL_RATIO,
    GAS_CONSTANT,
    HEAT_RATIO,
    TEMPERATURE,
    VISCOSITY,
    orifice_flow,
    porous_flow,
    slot_flow,
    standard_pressure,
)

SEA = 101_325.0


@pytest.mark.parametrize(
    ("height", "printed", "rtol"),
    [(10_000.0, 26_436.0, 1e-3), (914.4, 90.8e3, 3e-3), (1524.0, 84.3e3, 3e-3), (3048.0, 69.7e3, 3e-3)],
)
def test_standard_atmosphere_as_printed(height, printed, rtol):
    """Open tables of ISO 2533: 10 km in an example, 3000, 5000 and 10 000 ft."""
    assert_allclose(standard_pressure(height), printed, rtol=rtol)


@pytest.mark.parametrize("height", [-300.0, 0.0, 450.0, 1600.0, 2850.0])
def test_standard_atmosphere_as_two_libraries(height):
    """Two general atmosphere libraries. Tolerance: they take the map's height, 1.3 m off at 2850 m."""
    assert_allclose(standard_pressure(height), Atmosphere(height).pressure[0], rtol=3e-4)
    assert_allclose(standard_pressure(height), ATMOSPHERE_1976(height).P, rtol=3e-4)


def test_a_pump_at_altitude_as_printed():
    """24 inHg at sea level makes 17.6 inHg where the air has 22 inHg: printed in a vacuum handbook."""
    assert_allclose(24.0 * 22.0 / 29.92, 17.6, rtol=1e-2)


@pytest.mark.parametrize("vacuum", [2e3, 15e3, 30e3, 45e3])
def test_holes_flow_as_in_a_fluid_flow_library(vacuum):
    """Nozzle with its expansibility after ISO 5167, in a pipe so wide that the speed of approach is none.

    Tolerance 0.1 %: the hole takes 1e-4 of the pipe's area.
    """
    wide, hole, density = 1.0, 0.01, SEA / (GAS_CONSTANT * TEMPERATURE)
    expansibility = nozzle_expansibility(D=wide, Do=hole, P1=SEA, P2=SEA - vacuum, k=HEAT_RATIO)
    mass = flow_meter_discharge(
        D=wide, Do=hole, P1=SEA, P2=SEA - vacuum, rho=density, C=0.61, expansibility=expansibility
    )
    flow = orifice_flow(np.pi * hole**2 / 4.0, discharge=0.61, outside=SEA, inside=SEA - vacuum)
    assert_allclose(flow * density, mass, rtol=1e-3)


def test_critical_ratio_as_a_fluid_flow_library():
    """Pressure at which a hole chokes, by a general fluid-flow library: 0.528 of the pressure before it."""
    assert_allclose(CRITICAL_RATIO, P_critical_flow(SEA, HEAT_RATIO) / SEA, rtol=1e-9)
    assert_allclose(CRITICAL_RATIO, 0.528, atol=5e-4)


def test_choked_hole_passes_the_printed_mass():
    """0.0404 Cd A p / sqrt(T) kg/s, any text on gas dynamics; 11.9 Cd L/min on each mm2 at 20 C.

    Tolerance: three printed digits.
    """
    density = SEA / (GAS_CONSTANT * TEMPERATURE)
    flow = orifice_flow(3e-6, discharge=0.61, outside=SEA, inside=20e3)
    assert_allclose(flow * density, 0.0404 * 0.61 * 3e-6 * SEA / np.sqrt(TEMPERATURE), rtol=3e-3)
    assert_allclose(flow * 60e3, 3.0 * 0.61 * 11.9, rtol=1e-2)


@pytest.mark.parametrize("vacuum", [200.0, 1000.0])
def test_small_pressure_drops_go_as_bernoulli(vacuum):
    """Q = Cd A sqrt(2 dp / rho). Tolerance: the gas expands by dp / p, 1 % at most here."""
    density = SEA / (GAS_CONSTANT * TEMPERATURE)
    expected = 0.61 * 2e-4 * np.sqrt(2.0 * vacuum / density)
    assert_allclose(orifice_flow(2e-4, discharge=0.61, outside=SEA, inside=SEA - vacuum), expected, rtol=1e-2)


def test_a_hole_passes_no_more_once_it_is_choked():
    flows = [orifice_flow(1e-4, discharge=0.6, outside=SEA, inside=SEA - v) for v in (47.9e3, 60e3, 100e3)]
    assert_allclose(flows, flows[0], rtol=1e-4)


def test_porous_flow_agrees_with_the_flow_equation():
    """Darcy's law dp/dx = -mu u / k with u growing as the gas thins, integrated step by step. Tolerance: the steps."""
    inside, area, k, length = 55e3, 0.24, 2.3e-13, 0.017
    flow = porous_flow(area, permeability=k, thickness=length, outside=SEA, inside=inside)
    pressure, steps = SEA, 20_000
    for _ in range(steps):
        speed = flow / area * SEA / pressure
        pressure -= VISCOSITY * speed / k * length / steps
    assert_allclose(pressure, inside, rtol=1e-3)


def test_a_narrow_gap_is_slow_and_a_wide_one_a_hole():
    """Plane flow w h^3 dp / 12 mu l for a small drop; an open gap is a hole without loss."""
    narrow = slot_flow(0.8, gap=3e-5, length=0.006, outside=SEA, inside=SEA - 200.0)
    assert_allclose(narrow, 0.8 * (3e-5) ** 3 * 200.0 / (12.0 * VISCOSITY * 0.006), rtol=2e-3)
    wide = slot_flow(0.8, gap=2e-3, length=0.006, outside=SEA, inside=SEA - 20e3)
    assert wide == orifice_flow(0.8 * 2e-3, discharge=1.0, outside=SEA, inside=SEA - 20e3)
