"""Spindle power of a cut."""

from math import pi

import pytest
from numpy.testing import assert_allclose

from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.engagement import slot
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.cutting.power import power_share, spindle_power
from stillstock.engine.set_up import Machine, Tool, ToolKind

TOOL = Tool(number=1, kind=ToolKind.END_MILL, diameter=12e-3, flutes=2)
MDF = Coefficients(ktc=26e6, krc=2.6e6, kac=15e6, kte=2.2e3, kre=2.2e3, kae=0.22e3)
SPEED = 18_000 * 2 * pi / 60
FEED = 0.35e-3 * 2 * 300
DEPTH = 18e-3


def curve(material=MDF):
    return cut_curve(TOOL, material, slot(depth=DEPTH), feed=FEED, speed=SPEED)


def test_computed_power():
    """C5, not published: 1.63 kW at 18 000 rev/min; power = specific force x volume per time, 35.9 N/mm2."""
    power = spindle_power(curve(), speed=SPEED)
    assert_allclose(power, 1630.0, rtol=3e-3)
    assert_allclose(power, 35.9e6 * 12e-3 * DEPTH * FEED, rtol=2e-3)
    assert_allclose(spindle_power(curve(), speed=-SPEED), power)


def test_share_of_the_spindle():
    """1.63 kW (C5) of what 2.2 kW at 80 % can give."""
    got = power_share(curve(), speed=SPEED, machine=Machine(spindle_power=2200.0, efficiency=0.8))
    assert got == pytest.approx(1.63e3 / (2200.0 * 0.8), rel=3e-3)


def test_share_of_a_spindle_of_unknown_power_is_unknown():
    assert power_share(curve(), speed=SPEED, machine=Machine()) is None
