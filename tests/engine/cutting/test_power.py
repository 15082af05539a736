"""Spindle power, and the slot test that replaces the table's tangential coefficient."""

from dataclasses import replace
from math import pi

import pytest
from numpy.testing import assert_allclose

from stillstock.engine.cutting.coefficients import Box, Coefficients
from stillstock.engine.cutting.engagement import slot
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.cutting.power import box_from_cut_test, power_share, spindle_power, tangential_from_cut_test
from stillstock.engine.set_up import Machine, Tool, ToolKind
from stillstock.tables.scatter import Grade, Triple

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


def test_a_slot_test_gives_back_the_coefficient_that_made_it():
    """Round trip through the force curve's own mean power: the closed form and the integral are two roads."""
    power = spindle_power(curve(), speed=SPEED)
    ktc = tangential_from_cut_test(power, tool=TOOL, depth=DEPTH, feed=FEED, speed=SPEED, rubbing=MDF.kte / MDF.ktc)
    assert_allclose(ktc, MDF.ktc, rtol=1e-3)


@pytest.mark.parametrize("fault", ["depth", "feed", "speed"])
def test_a_slot_test_with_nothing_cut_is_refused(fault):
    good = {"depth": DEPTH, "feed": FEED, "speed": SPEED}
    with pytest.raises(ValueError, match="above 0"):
        tangential_from_cut_test(100.0, tool=TOOL, rubbing=1e-4, **(good | {fault: 0.0}))


def test_the_tested_coefficient_replaces_the_tangential_pair_alone():
    terms = {
        name: Triple(low=value / 2, typical=value, high=value * 2, source="table") for name, value in vars(MDF).items()
    }
    box = box_from_cut_test(Box(terms=terms), ktc=39e6)
    ktc, kte = box.terms["ktc"], box.terms["kte"]
    assert_allclose((ktc.low, ktc.typical, ktc.high), (39e6 * 0.85, 39e6, 39e6 * 1.15))
    assert_allclose(kte.typical, 2.2e3 * 1.5)
    assert ktc.grade is Grade.CALLER
    assert {n: box.terms[n] for n in ("krc", "kac", "kre", "kae")} == {
        n: replace(terms[n]) for n in ("krc", "kac", "kre", "kae")
    }
