"""The slot test that replaces the table's tangential coefficient."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.cutting.coefficients import Box, Coefficients, coefficient_box
from stillstock.engine.cutting.cut_test import (
    box_of_test,
    cutting_boxes,
    force_on_table,
    tangential_from_cut_test,
)
from stillstock.engine.cutting.engagement import slot
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.cutting.power import spindle_power
from stillstock.engine.set_up import Bed, CutTest, SetUp, Stock, Tool, ToolKind
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Corner, Grade, Triple

TABLES = load_tables()
TOOL = Tool(number=1, kind=ToolKind.END_MILL, diameter=12e-3, flutes=2)
MDF = Coefficients(ktc=26e6, krc=2.6e6, kac=15e6, kte=2.2e3, kre=2.2e3, kae=0.22e3)
BOX = Box(
    terms={
        name: Triple(low=value / 2, typical=value, high=value * 2, source="table") for name, value in vars(MDF).items()
    }
)
SPEED = 18_000 * 2 * pi / 60
FEED = 0.35e-3 * 2 * 300
DEPTH = 18e-3


def power_of(material):
    curve = cut_curve(TOOL, material, slot(depth=DEPTH), feed=FEED, speed=SPEED)
    return spindle_power(curve, speed=SPEED)


def slot_of(*net_power, **more):
    return CutTest(tool=1, depth=DEPTH, feed=FEED, speed=SPEED, net_power=net_power, **more)


def test_a_printed_slot_gives_its_specific_force_back():
    """H. A. El-Hofy, "Fundamentals of Machining Processes", 2013, p. 189 (page seen, equations partly garbled).

    End mill D 30, 8 teeth, slot 4 deep, 120 mm/min at 150 rev/min (0.1 mm a tooth), ks 1000 N/mm2: 1019 N, 0.24 kW
    printed. Read backwards, without rubbing: the printed power must give ks. Tolerance: the printed digits, 0.24.
    """
    tool = Tool(number=1, kind=ToolKind.END_MILL, diameter=30e-3, flutes=8)
    ktc = tangential_from_cut_test(240.0, tool=tool, depth=4e-3, feed=0.12 / 60, speed=150 * 2 * pi / 60, rubbing=0.0)
    assert_allclose(ktc, 1000e6, rtol=0.02)
    assert_allclose(8 * 4e-3 * ktc * 0.1e-3 / pi, 1019.0, rtol=5e-3)


def test_a_slot_test_gives_back_the_coefficient_that_made_it():
    """Round trip through the force curve's own mean power: the closed form and the integral are two roads."""
    ktc = tangential_from_cut_test(
        power_of(MDF), tool=TOOL, depth=DEPTH, feed=FEED, speed=SPEED, rubbing=MDF.kte / MDF.ktc
    )
    assert_allclose(ktc, MDF.ktc, rtol=1e-3)


@pytest.mark.parametrize("fault", ["depth", "feed", "speed"])
def test_a_slot_test_with_nothing_cut_is_refused(fault):
    good = {"depth": DEPTH, "feed": FEED, "speed": SPEED}
    with pytest.raises(ValueError, match="above 0"):
        tangential_from_cut_test(100.0, tool=TOOL, rubbing=1e-4, **(good | {fault: 0.0}))


def test_the_tested_coefficient_replaces_the_tangential_pair_alone():
    box = box_of_test(BOX, slot_of(1.5 * power_of(MDF)), tool=TOOL)
    ktc, kte = box.terms["ktc"], box.terms["kte"]
    assert_allclose((ktc.low, ktc.typical, ktc.high), (39e6 * 0.85, 39e6, 39e6 * 1.15), rtol=1e-3)
    assert_allclose(kte.typical, 2.2e3 * 1.5, rtol=1e-3)
    assert (ktc.grade, ktc.source) == (Grade.CALLER, "caller")
    others = ("krc", "kac", "kre", "kae")
    assert {name: box.terms[name] for name in others} == {name: replace(BOX.terms[name]) for name in others}


def test_scattered_readings_widen_the_band_beyond_what_a_meter_does():
    """By hand: 400, 500, 600 W have mean 500 and deviation 100; k of three is 3.152 (EN 14358, from memory)."""
    box = box_of_test(BOX, slot_of(400.0, 500.0, 600.0), tool=TOOL)
    ktc = box.terms["ktc"]
    assert_allclose((ktc.high - ktc.typical) / ktc.typical, 3.152 * 0.2, rtol=1e-3)
    calm = box_of_test(BOX, slot_of(499.0, 500.0, 501.0), tool=TOOL).terms["ktc"]
    assert_allclose(calm.high / calm.typical, 1.15)
    wild = box_of_test(BOX, slot_of(100.0, 900.0), tool=TOOL).terms["ktc"]
    assert wild.low == 0.0


def test_the_tables_own_ends_are_the_ends_of_its_band():
    """A test that took just what the table's low and high ends take: ratios of 1, by the force curve's own power."""
    low, high = (
        Coefficients(ktc=BOX.terms["ktc"].at(end), kte=BOX.terms["kte"].at(end)) for end in (Corner.LOW, Corner.HIGH)
    )
    assert_allclose(force_on_table(slot_of(power_of(low)), tool=TOOL, box=BOX)[0], 1.0, rtol=1e-3)
    assert_allclose(force_on_table(slot_of(power_of(high)), tool=TOOL, box=BOX)[1], 1.0, rtol=1e-3)


def test_a_test_counts_for_the_tool_that_made_it_and_no_other():
    mdf = TABLES.material("mdf")
    assert mdf is not None
    stock = Stock(material=mdf, size=(0.3, 0.2, 0.018), thickness=(0.018, 0.018), origin=(0.0, 0.0, -0.018))
    other = replace(TOOL, number=2)
    set_up = SetUp(
        stock=stock,
        bed=Bed(material=mdf, thickness=0.018, top=-0.018),
        tools={1: TOOL, 2: other},
        cut_tests=(slot_of(1200.0),),
    )
    boxes = cutting_boxes(set_up)
    assert boxes[1].terms["ktc"].source == "caller"
    assert boxes[2] == coefficient_box(mdf, other)
    assert np.isclose(power_of(boxes[1].typical()), 1200.0, rtol=1e-3)  # and the same slot asks the same power again
