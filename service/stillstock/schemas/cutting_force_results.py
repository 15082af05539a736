"""The answer to the cutting-force question as a document."""

from typing import Any

from stillstock.answers.cutting_force import Band, CutForce, CuttingForceAnswer
from stillstock.schemas.results import assumption, notice, numbers, stated_units
from stillstock.units import System, present

__all__ = ["cutting_force_document"]


def cutting_force_document(answer: CuttingForceAnswer, system: System) -> dict[str, Any]:
    """Return the answer in the caller's units."""
    return {
        "summary": answer.summary,
        "cuts": [_cut(force, system) for force in answer.cuts],
        "assumptions": [assumption(band, system) for band in answer.assumptions],
        "cautions": list(answer.cautions),
        "warnings": [notice(one) for one in answer.warnings],
        "units": stated_units(system),
        "fingerprint": answer.fingerprint,
    }


def _band(band: Band, dimension: str, system: System) -> dict[str, float]:
    return {name: present(getattr(band, name), dimension, system) for name in ("low", "typical", "high")}


def _cut(force: CutForce, system: System) -> dict[str, Any]:
    spindle = force.spindle
    return {
        "cut": force.cut,
        "tool": force.tool,
        "mean": numbers(force.mean, "force", system),
        "peak": _band(force.peak, "force", system),
        "lift": _band(force.lift, "force", system),
        "press": _band(force.press, "force", system),
        "torque": _band(force.torque, "torque", system),
        "power": _band(force.power, "power", system),
        "spindle": None
        if spindle is None
        else {"share": _band(spindle, "number", system), "enough": spindle.high <= 1.0},
    }
