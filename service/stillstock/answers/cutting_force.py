"""How hard does the tool pull? Force, torque and power of each described cut, without any holder."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from stillstock.answers.cut_tests import cut_test_notices
from stillstock.answers.implausible import described_implausible
from stillstock.answers.margin_words import CAUTIONS, in_ascii, in_one_line
from stillstock.answers.notices import Notice
from stillstock.engine.cutting.coefficients import Box
from stillstock.engine.cutting.cut_test import cutting_boxes
from stillstock.engine.cutting.engagement import described_engagements
from stillstock.engine.cutting.force_curve import ForceCurve
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.cutting.power import spindle_power
from stillstock.engine.set_up import Cut, FloatArray, Machine, SetUp, Tool
from stillstock.errors import Fault, NothingToJudge
from stillstock.tables.scatter import Triple
from stillstock.units import System, present, unit_name

__all__ = ["CutForce", "CuttingForceAnswer", "answer_cutting_force"]


@dataclass(frozen=True, kw_only=True)
class Band:
    """Low, typical and high of one figure. [SI]"""

    low: float
    typical: float
    high: float


@dataclass(frozen=True, kw_only=True)
class CutForce:
    """Force of one described cut on the workpiece, of the hardest of its engagements.

    Attributes
    ----------
    cut : str
    tool : int
    mean : (3,) array
        Typical mean force in the feed frame: along the feed, to its left, up. [N]
    peak, lift, press : Band
        Greatest sideways, upward and downward force within a revolution. [N]
    torque : Band
        Mean torque on the tool. [N m]
    power : Band
        Mean power at the cutter. [W]
    spindle : Band or None
        Share of what the spindle gives at the cutter; None if its power is not stated. [-]
    """

    cut: str
    tool: int
    mean: FloatArray
    peak: Band
    lift: Band
    press: Band
    torque: Band
    power: Band
    spindle: Band | None


@dataclass(frozen=True, kw_only=True)
class CuttingForceAnswer:
    """The forces of every described cut."""

    summary: str
    cuts: tuple[CutForce, ...]
    assumptions: tuple[Triple, ...]
    cautions: tuple[str, ...]
    warnings: tuple[Notice, ...]
    fingerprint: str


def _band(
    figure: Callable[[ForceCurve], float], typical: Sequence[ForceCurve], corners: Sequence[Sequence[ForceCurve]]
) -> Band:
    """Return a figure's band: of each set of coefficients the hardest engagement, over all sets."""
    middle = max(figure(curve) for curve in typical)
    ends = [max(figure(curve) for curve in curves) for curves in corners]
    return Band(low=min(middle, *ends), typical=middle, high=max(middle, *ends))


def _cut_force(cut: Cut, tool: Tool, box: Box, machine: Machine) -> CutForce:
    engagements = described_engagements(cut, tool)
    typical, *corners = [
        [cut_curve(tool, coefficients, engagement, feed=cut.feed, speed=cut.speed) for engagement in engagements]
        for coefficients in (box.typical(), *box.vertices())
    ]
    hardest = max(typical, key=lambda curve: curve.peak_horizontal)
    power = _band(lambda curve: spindle_power(curve, speed=cut.speed), typical, corners)
    return CutForce(
        cut=cut.name,
        tool=cut.tool,
        mean=hardest.mean,
        peak=_band(lambda curve: curve.peak_horizontal, typical, corners),
        lift=_band(lambda curve: curve.lift, typical, corners),
        press=_band(lambda curve: max(0.0, -float(curve.force[:, 2].min())), typical, corners),
        torque=_band(lambda curve: curve.mean_torque, typical, corners),
        power=power,
        spindle=_share(power, machine),
    )


def _share(power: Band, machine: Machine) -> Band | None:
    if machine.spindle_power is None:
        return None
    given = machine.spindle_power * machine.efficiency
    return Band(low=power.low / given, typical=power.typical / given, high=power.high / given)


def _notices(forces: Sequence[CutForce], machine: Machine) -> tuple[Notice, ...]:
    found = []
    for number, force in enumerate(forces):
        if force.spindle is not None and force.spindle.high > 1.0:
            likely = "does not have" if force.spindle.typical > 1.0 else "may not have"
            detail = (
                f"the spindle {likely} the power for {force.cut}: {force.spindle.typical:.0%} of it is taken typically"
            )
            found.append(Notice(code="spindle_power", detail=detail, pointer=f"/cuts/{number}"))
        sideways = float(np.hypot(*force.mean[:2]))
        if machine.push_limit is not None and sideways > machine.push_limit:
            detail = f"the axes cannot push {force.cut}: the machine stalls or loses steps before the hold gives way"
            found.append(Notice(code="push_limit", detail=detail, pointer=f"/cuts/{number}"))
    return tuple(found)


def _summary(forces: Sequence[CutForce], system: System) -> str:
    hardest = max(forces, key=lambda force: force.peak.typical)
    low, typical, high, lift = (
        f"{present(value, 'force', system):.3g}"
        for value in (hardest.peak.low, hardest.peak.typical, hardest.peak.high, hardest.lift.typical)
    )
    unit = unit_name("force", system)
    most = max((force.spindle.high for force in forces if force.spindle is not None), default=0.0)
    short = f"SPINDLE MAY BE TOO WEAK, up to {most:.0%} of its power; " if most > 1.0 else ""
    line = in_ascii(
        f"{short}{hardest.cut}: peaks of {typical} {unit} sideways ({low} to {high}), {lift} {unit} up, "
        f"{present(hardest.power.typical, 'power', system):.2g} {unit_name('power', system)}"
    )
    return in_one_line(line)


def answer_cutting_force(set_up: SetUp, *, fingerprint: str, system: System) -> CuttingForceAnswer:
    """Return the force, torque and power of every described cut of a set-up.

    Parameters
    ----------
    set_up : SetUp
    fingerprint : str
        Digest of the document and the model's version.
    system : {"metric", "inch"}
        Units of the summary.

    Raises
    ------
    NothingToJudge
        If no cut is described, or the material's cutting coefficients are not known.
    """
    if not set_up.cuts:
        fault = Fault(pointer="/cuts", code="nothing_to_judge", detail="describe one cut at least")
        raise NothingToJudge([fault])
    boxes = cutting_boxes(set_up)
    forces, used = [], []
    for cut in set_up.cuts:
        box = boxes.get(cut.tool)
        if box is None:
            detail = f"no cutting coefficients are known for {set_up.stock.material.title}"
            raise NothingToJudge([Fault(pointer="/stock/material", code="no_coefficients", detail=detail)])
        forces.append(_cut_force(cut, set_up.tools[cut.tool], box, set_up.machine))
        used += list(box.terms.values())
    return CuttingForceAnswer(
        summary=_summary(forces, system),
        cuts=tuple(forces),
        assumptions=tuple({(band.what, band.low, band.high): band for band in used}.values()),
        cautions=CAUTIONS,
        warnings=(*cut_test_notices(set_up), *described_implausible(set_up), *_notices(forces, set_up.machine)),
        fingerprint=fingerprint,
    )
