"""Spindle power of a cut, and what a shop's own slot test says about the material."""

from dataclasses import replace

import numpy as np

from stillstock.engine.cutting.coefficients import Box
from stillstock.engine.cutting.force_curve import ForceCurve
from stillstock.engine.set_up import Machine, Tool
from stillstock.tables.scatter import Grade, Triple

__all__ = ["CUT_TEST_SPREAD", "box_from_cut_test", "power_share", "spindle_power", "tangential_from_cut_test"]

# [-] spread given to a coefficient that one slot test found: reading of the meter, and cutting speed, on whose
# influence in panels the published sources disagree by about this much. Common practice, no source.
CUT_TEST_SPREAD = 0.15


def spindle_power(curve: ForceCurve, *, speed: float) -> float:
    """Mean power at the cutter.

    Parameters
    ----------
    curve : ForceCurve
    speed : float
        Of the spindle, either sense. [rad/s]

    Returns
    -------
    float
        Mean torque times speed. [W]
    """
    return curve.mean_torque * abs(speed)


def power_share(curve: ForceCurve, *, speed: float, machine: Machine) -> float | None:
    """Share of what the spindle can give that a cut takes.

    Parameters
    ----------
    curve : ForceCurve
    speed : float
        Of the spindle, either sense. [rad/s]
    machine : Machine
        Rated power and the share of it that reaches the cutter.

    Returns
    -------
    float or None
        Above 1 the spindle stalls, or an input is wrong; None where the rated power is not known. [-]
    """
    if machine.spindle_power is None:
        return None
    return spindle_power(curve, speed=speed) / (machine.spindle_power * machine.efficiency)


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


def box_from_cut_test(box: Box, *, ktc: float) -> Box:
    """Put a tested tangential coefficient in place of the table's.

    Parameters
    ----------
    box : Box
        Of the material and the tool.
    ktc : float
        From `tangential_from_cut_test` with this box's typical ratio. [Pa]

    Returns
    -------
    Box
        Tangential terms with `CUT_TEST_SPREAD` on either side; radial and axial ones as they were, for the test did not
        see them.
    """
    ratio = ktc / box.terms["ktc"].typical

    def tested(band: Triple) -> Triple:
        value = band.typical * ratio
        return replace(
            band,
            low=value * (1 - CUT_TEST_SPREAD),
            typical=value,
            high=value * (1 + CUT_TEST_SPREAD),
            source="caller",
            grade=Grade.CALLER,
            note="from the shop's slot test, given 15 % of spread",
        )

    return Box(terms={**box.terms, "ktc": tested(box.terms["ktc"]), "kte": tested(box.terms["kte"])})
