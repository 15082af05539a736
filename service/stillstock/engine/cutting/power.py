"""Spindle power of a cut."""

from stillstock.engine.cutting.force_curve import ForceCurve
from stillstock.engine.set_up import Machine

__all__ = ["power_share", "spindle_power"]


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
