"""The shop's own slot test: what it says of the tangential cutting coefficient, in place of the table's."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from stillstock.engine.cutting.coefficients import Box, coefficient_box
from stillstock.engine.readings import mean_and_deviation, tolerance_factor
from stillstock.engine.set_up import CutTest, SetUp, Tool
from stillstock.tables.scatter import Corner, Grade, Triple

__all__ = ["CUT_TEST_SPREAD", "box_of_test", "cutting_boxes", "force_on_table", "tangential_from_cut_test"]

# [-] spread given to a coefficient that a slot test found: reading of the meter, and cutting speed, on whose influence
# in panels the published sources disagree by about this much. Common practice, no source.
CUT_TEST_SPREAD = 0.15


def tangential_from_cut_test(
    net_power: float, *, tool: Tool, depth: float, feed: float, speed: float, rubbing: float
) -> float:
    r"""Tangential cutting coefficient from the net spindle power of a slot.

    Parameters
    ----------
    net_power : float
        Power while cutting less power while idling. [W]
    tool : Tool
        Cylindrical cutter that made the slot.
    depth : float
        Of the slot. [m]
    feed : float
        Along the slot. [m/s]
    speed : float
        Of the spindle, either sense. [rad/s]
    rubbing : float
        Kte / Ktc, kept from the table: the chip at which rubbing and cutting are equal. [m]

    Returns
    -------
    float
        Ktc. [Pa]

    Raises
    ------
    ValueError
        If power, depth, feed or speed is not positive.

    Notes
    -----
    .. math:: P = v \bar F_t, \quad \bar F_t = N a (K_{tc} f_z / \pi + K_{te} / 2), \quad v = \omega D / 2

    the mean of a full slot (Altintas 2012, ch. 2, from memory), solved for Ktc with Kte = rubbing Ktc. One test cannot
    tell the two apart; tests at two feeds could.
    """
    if min(net_power, depth, feed, abs(speed)) <= 0.0:
        raise ValueError("a cut test needs power, depth, feed and speed above 0")
    chip = 2 * np.pi * feed / (abs(speed) * tool.flutes)
    force = net_power / (abs(speed) * tool.diameter / 2)
    return float(force / (tool.flutes * depth * (chip / np.pi + rubbing / 2)))


def _found(test: CutTest, power: float, *, tool: Tool, box: Box) -> float:
    rubbing = box.terms["kte"].typical / box.terms["ktc"].typical
    return tangential_from_cut_test(
        power, tool=tool, depth=test.depth, feed=test.feed, speed=test.speed, rubbing=rubbing
    )


def force_on_table(test: CutTest, *, tool: Tool, box: Box) -> tuple[float, float]:
    """Return the mean tangential force that a slot test found, on the least and on the greatest that the table allows.

    Parameters
    ----------
    test : CutTest
    tool : Tool
        With which the slot was cut.
    box : Box
        Of the stock's material under it, as the tables have it.

    Returns
    -------
    (2,) tuple
        Below 1 the first is less than the table's least; above 1 the second is more than its greatest. [-]
    """
    chip = 2 * np.pi * test.feed / (abs(test.speed) * tool.flutes)
    power = float(np.mean(test.net_power))
    found = power / (abs(test.speed) * tool.diameter / 2) / (tool.flutes * test.depth)
    ktc, kte = box.terms["ktc"], box.terms["kte"]
    least, most = (ktc.at(end) * chip / np.pi + kte.at(end) / 2 for end in (Corner.LOW, Corner.HIGH))
    return float(found / least), float(found / most)


def _spread(test: CutTest) -> float:
    """Return by what share of its mean the coefficient may lie beside it. [-]

    The readings' own tolerance bound, as for a pull test, but never less than what meter and cutting speed may do to
    all of them alike.
    """
    if len(test.net_power) < 2:
        return CUT_TEST_SPREAD
    mean, deviation = mean_and_deviation(test.net_power)
    return max(tolerance_factor(len(test.net_power)) * deviation / mean, CUT_TEST_SPREAD)


def box_of_test(box: Box, test: CutTest, *, tool: Tool) -> Box:
    """Put a tested tangential coefficient in place of the table's.

    Parameters
    ----------
    box : Box
        Of the material and the tool.
    test : CutTest
        Made with that tool in that material.
    tool : Tool

    Returns
    -------
    Box
        Tangential terms from the test, with its spread on either side, nowhere below 0; radial and axial ones as they
        were, for the test did not see them.
    """
    ratio = _found(test, float(np.mean(test.net_power)), tool=tool, box=box) / box.terms["ktc"].typical
    spread, readings = _spread(test), len(test.net_power)
    count = "one reading" if readings == 1 else f"{readings} readings"
    when = f" of {test.date}" if test.date else ""
    note = (
        f"slot test{when} with tool {tool.number}, {count} of net spindle power, given {spread:.0%} of spread either "
        "way; radial and axial forces keep the tables' spread, for the test did not see them"
    )

    def tested(band: Triple) -> Triple:
        value = band.typical * ratio
        return replace(
            band,
            low=value * max(1.0 - spread, 0.0),
            typical=value,
            high=value * (1.0 + spread),
            source="caller",
            grade=Grade.CALLER,
            note=note,
        )

    return Box(terms={**box.terms, "ktc": tested(box.terms["ktc"]), "kte": tested(box.terms["kte"])})


def cutting_boxes(set_up: SetUp) -> Mapping[int, Box]:
    """Return the band of cutting coefficients of the stock under each tool; tools that none is known for are left out.

    A tool with a slot test takes its tangential coefficient from there; the test says nothing of another's edge.
    """
    boxes: dict[int, Box] = {}
    for number, tool in set_up.tools.items():
        box = coefficient_box(set_up.stock.material, tool)
        if box is not None:
            boxes[number] = box
    for test in set_up.cut_tests:
        if test.tool in boxes:
            boxes[test.tool] = box_of_test(boxes[test.tool], test, tool=set_up.tools[test.tool])
    return boxes
