"""Forces of the end of a cutter: drills, and end mills that plunge or ramp."""

from dataclasses import replace

import numpy as np

from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.force_curve import ForceCurve
from stillstock.engine.set_up import FloatArray, Helix, Tool, ToolKind
from stillstock.tables.scatter import Triple

__all__ = [
    "DRILL_THRUST",
    "PLUNGE_THRUST",
    "TORQUE_RISE",
    "break_through_pull",
    "breaking_through",
    "end_forces",
    "thrust_band",
]

# [-] thrust of a drill over kc f D / 2. Half is what the lips alone give (from memory); the chisel edge adds as much
# again, and a blunt or chisel-rich drill still more (common practice, no source; about 60 % of the thrust is the chisel
# edge's in Ghosh & Mallik, "Manufacturing Science", 2nd ed., ch. 4, quoted second hand).
DRILL_THRUST = Triple(low=0.5, typical=1.0, high=1.5, what="thrust of a drill", source="common_practice")

# [-] growth of a plunging end mill's thrust by its poorly cutting centre. Common practice, no source.
PLUNGE_THRUST = Triple(low=1.5, typical=1.75, high=2.0, what="thrust of a plunging end mill", source="common_practice")

# [-] torque over that of the lips alone: 0.6 in place of 0.5, Ghosh & Mallik, 2nd ed., ch. 4 (quoted second hand).
TORQUE_RISE = 1.2


def _end_radius(tool: Tool) -> float:
    """Radius of the part of the end that cuts downward. [m]"""
    if tool.kind is ToolKind.BALL_NOSE:
        return 0.0
    return (tool.tip_diameter if tool.kind is ToolKind.V_BIT else tool.diameter) / 2


def end_forces(tool: Tool, coefficients: Coefficients, *, sink: float, thrust: float) -> FloatArray:
    r"""Steady wrench on the workpiece of the end of a cutter that turns clockwise and goes down.

    Parameters
    ----------
    tool : Tool
        Its tip angle is a drill's point angle; an end mill's end is flat.
    coefficients : Coefficients
    sink : float
        Downward feed per revolution; nothing cuts where it is 0 or less. [m]
    thrust : float
        Factor on the thrust: of `DRILL_THRUST` or `PLUNGE_THRUST`. [-]

    Returns
    -------
    (6,) array
        Thrust down and torque about the axis, with the spindle; about the tool tip. [N, N m]

    Notes
    -----
    N lips of width b = (R / sin kappa) take h = (f / N) sin kappa each, kappa being half the point angle, so each is
    pushed along the cutting speed by F = (Ktc h + Kte) b at a mean radius R / 2:

    .. math:: M = 1.2 \, N F R / 2, \qquad F_z = -c \, N F

    which for two lips are kc f D^2 / 8 (times 1.2) and c kc f D / 2 (handbook forms, from memory). For an end mill the
    thrust takes the radial edge term in place of the tangential one, as the end rubs with its flank. Ghosh & Mallik
    give the 1.2.
    """
    radius = _end_radius(tool)
    if sink <= 0.0 or radius <= 0.0:
        return np.zeros(6)
    is_drill = tool.kind is ToolKind.DRILL
    lean = float(np.sin(tool.tip_angle / 2)) if is_drill else 1.0
    chip, width = sink / tool.flutes * lean, radius / lean
    lip = (coefficients.ktc * chip + coefficients.kte) * width
    pressed = lip if is_drill else (coefficients.ktc * chip + coefficients.kre) * width
    torque = TORQUE_RISE * tool.flutes * lip * radius / 2
    return np.array([0.0, 0.0, -thrust * tool.flutes * pressed, 0.0, 0.0, -torque])


def thrust_band(tool: Tool) -> Triple:
    """Return the factor on the thrust that fits the tool. [-]"""
    return DRILL_THRUST if tool.kind is ToolKind.DRILL else PLUNGE_THRUST


def break_through_pull(tool: Tool, *, torque: float) -> float:
    r"""Greatest upward pull as a fluted tool comes out below and screws itself into the rest.

    Parameters
    ----------
    tool : Tool
        Flutes that lift at the tip pull; straight and down-cut ones do not.
    torque : float
        On the workpiece, positive. [N m]

    Returns
    -------
    float
        2 M tan(helix) / D. [N]

    Notes
    -----
    Own derivation: M turns the helix as a nut without friction, M = F (D / 2) / tan(helix), tan(helix) being measured
    from the axis. Friction lowers it, so this is the upper bound. Common practice, no source.
    """
    if tool.helix not in (Helix.UP, Helix.COMPRESSION) or tool.kind is ToolKind.V_BIT:
        return 0.0
    return float(2 * torque * np.tan(tool.helix_angle) / tool.diameter)


def breaking_through(curve: ForceCurve, tool: Tool) -> ForceCurve:
    """Add the passing states of a tool that comes out below: torque without thrust, and torque with the pull.

    Parameters
    ----------
    curve : ForceCurve
        Of the plunge, spindle clockwise. [N, N m]
    tool : Tool

    Returns
    -------
    ForceCurve
        With two more rows of weight 0, which do not touch the means. [N, N m]
    """
    torque = float(curve.torque.max())
    force = np.array([(0.0, 0.0, 0.0), (0.0, 0.0, break_through_pull(tool, torque=torque))])
    moment = np.array([(0.0, 0.0, -torque)] * 2)
    return with_states(curve, force=force, moment=moment)


def with_states(curve: ForceCurve, *, force: FloatArray, moment: FloatArray) -> ForceCurve:
    """Return the curve with passing states (n, 3) of weight 0 behind its rows. [N, N m]"""
    return replace(
        curve,
        angle=np.concatenate((curve.angle, np.zeros(len(force)))),
        force=np.vstack((curve.force, force)),
        moment=np.vstack((curve.moment, moment)),
        weight=np.concatenate((curve.weight, np.zeros(len(force)))),
    )
