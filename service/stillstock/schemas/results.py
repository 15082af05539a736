"""Answers as documents, in the caller's units and rounded so that the same answer has the same bytes."""

import math
from collections.abc import Iterable
from typing import Any

import numpy as np

from stillstock.answers.cutting_force import Band, CutForce, CuttingForceAnswer
from stillstock.answers.doubt import Doubt
from stillstock.answers.margin import HolderShare, MarginAnswer, PartMargin, WorstPlace
from stillstock.answers.move_margins import MoveMargins
from stillstock.answers.notices import Notice
from stillstock.answers.part_holding import PartHolding
from stillstock.answers.remedy import Change, Remedy
from stillstock.answers.said import said
from stillstock.answers.vacuum_course import VacuumCourse
from stillstock.engine.checks.check import Check, Effect
from stillstock.engine.mechanics.motion import LetGo
from stillstock.tables.scatter import Triple
from stillstock.units import System, present, unit_name

__all__ = [
    "assumption",
    "check_document",
    "cutting_force_document",
    "margin_document",
    "notice",
    "number",
    "numbers",
    "stated_units",
]

#: What the numbers of a margin measure.
MEASURED = ("length", "force", "torque", "pressure", "power", "angle")


def number(value: float, dimension: str, system: System) -> float | None:
    """Return an SI number in the caller's unit; null where there is none (unlimited, or not known)."""
    return present(value, dimension, system) if math.isfinite(value) else None


def numbers(values: Iterable[float], dimension: str, system: System) -> list[float]:
    """Return SI numbers, as of a point or a force, in the caller's unit."""
    return [present(float(value), dimension, system) for value in values]


def stated_units(system: System) -> dict[str, str]:
    """Return the units of an answer's numbers by what they measure."""
    return {dimension: unit_name(dimension, system) for dimension in MEASURED}


def margin_document(answer: MarginAnswer, system: System) -> dict[str, Any]:
    """Return the answer to the margin question.

    Parameters
    ----------
    answer : MarginAnswer
    system : {"metric", "inch"}
        Units of the document that asked.
    """
    return {
        "summary": answer.summary,
        "verdict": str(answer.verdict),
        "margin": {
            "typical": number(answer.typical, "number", system),
            "pessimistic": number(answer.pessimistic, "number", system),
            "required": number(answer.required, "number", system),
            "unlimited": math.isinf(answer.typical) and math.isinf(answer.pessimistic),
        },
        "worst": _worst(answer.worst, system),
        "let_go": None if answer.let_go is None else _let_go(answer.let_go, system),
        "holders": [_share(share, system) for share in answer.holders],
        "checks": [check_document(check, system) for check in answer.checks],
        "parts": [_part(part, system) for part in answer.parts],
        "vacuum": [_vacuum(one, system) for one in answer.vacuum],
        "moves": None if answer.each_move is None else _moves(answer.each_move, answer.listed, system),
        "doubt": None if answer.doubt is None else _doubt(answer.doubt, system),
        "remedies": [_remedy(one, system) for one in answer.remedies],
        "assumptions": [assumption(triple, system) for triple in answer.assumptions],
        "cautions": list(answer.cautions),
        "warnings": [notice(one, system) for one in answer.warnings],
        "programmes": answer.programmes,
        "units": stated_units(system),
        "fingerprint": answer.fingerprint,
    }


def cutting_force_document(answer: CuttingForceAnswer, system: System) -> dict[str, Any]:
    """Return the answer to the question how hard the tool pulls.

    Parameters
    ----------
    answer : CuttingForceAnswer
    system : {"metric", "inch"}
        Units of the document that asked.
    """
    return {
        "summary": answer.summary,
        "cuts": [_cut_force(force, system) for force in answer.cuts],
        "assumptions": [assumption(triple, system) for triple in answer.assumptions],
        "cautions": list(answer.cautions),
        "warnings": [notice(one, system) for one in answer.warnings],
        "units": stated_units(system),
        "fingerprint": answer.fingerprint,
    }


def _cut_force(force: CutForce, system: System) -> dict[str, Any]:
    share = force.spindle
    return {
        "cut": force.cut,
        "tool": force.tool,
        "mean": numbers(force.mean, "force", system),
        "peak": _band(force.peak, "force", system),
        "lift": _band(force.lift, "force", system),
        "press": _band(force.press, "force", system),
        "torque": _band(force.torque, "torque", system),
        "power": _band(force.power, "power", system),
        "spindle": None if share is None else {"share": _band(share, "number", system), "enough": share.high <= 1.0},
    }


def _band(band: Band, dimension: str, system: System) -> dict[str, float]:
    low, typical, high = numbers((band.low, band.typical, band.high), dimension, system)
    return {"low": low, "typical": typical, "high": high}


def _doubt(doubt: Doubt, system: System) -> dict[str, Any]:
    def plain(value: float) -> float | None:
        return number(value, "number", system)

    return {
        "samples": doubt.samples,
        "lets_go": plain(doubt.lets_go),
        "short": plain(doubt.short),
        "quantiles": [{"share": plain(share), "margin": plain(margin)} for share, margin in doubt.quantiles],
        "inputs": [
            {"name": one.name, "first_order": plain(one.first), "total": plain(one.total)} for one in doubt.inputs
        ],
    }


def _remedy(remedy: Remedy, system: System) -> dict[str, Any]:
    return {
        "kind": remedy.kind,
        "detail": said(remedy.detail, remedy.numbers, system),
        "margin": number(remedy.margin, "number", system),
        "pessimistic": number(remedy.pessimistic, "number", system),
        "holds": remedy.holds,
        "changes": [_change(change, system) for change in remedy.changes],
    }


def _change(change: Change, system: System) -> dict[str, Any]:
    """Return an operation of RFC 6902, its numbers bare in the document's units."""
    if change.copied:
        return {"op": "copy", "from": change.copied, "path": change.pointer}
    value: Any = change.value
    if isinstance(value, Triple):
        value = {name: present(getattr(value, name), change.dimension, system) for name in ("low", "typical", "high")}
    elif isinstance(value, np.ndarray):
        rows = [numbers(row, change.dimension, system) for row in np.atleast_2d(value)]
        value = rows if value.ndim == 2 else rows[0]
    elif isinstance(value, tuple):
        value = list(value)
    elif isinstance(value, float):
        value = present(value, change.dimension, system)
    return {"op": "add", "path": change.pointer, "value": value}


def _vacuum(course: VacuumCourse, system: System) -> dict[str, Any]:
    return {
        "holder": course.holder,
        "working": _triple(course.working, system),
        "course": [
            {
                "kerf": number(point.kerf, "length", system),
                "cut": point.cut,
                "line": point.line or None,
                "vacuum": _triple(point.vacuum, system),
            }
            for point in course.course
        ],
        "smallest_part": None
        if course.part_area is None or course.part_area_at_worst is None
        else {
            "typical": number(course.part_area, "area", system),
            "pessimistic": number(course.part_area_at_worst, "area", system),
        },
    }


def _triple(band: Triple, system: System) -> dict[str, float | None]:
    ends = (("low", band.low), ("typical", band.typical), ("high", band.high))
    return {name: number(value, band.dimension, system) for name, value in ends}


def _part(part: PartMargin, system: System) -> dict[str, Any]:
    return {
        "name": part.name,
        "line": part.line or None,
        "margin": _margins(part.typical, part.pessimistic, system),
        "worst": _worst(part.worst, system),
        "let_go": None if part.let_go is None else _let_go(part.let_go, system),
        "cut": number(part.share, "number", system),
        "holding": None if part.holding is None else _holding(part.holding, system),
    }


def _holding(holding: PartHolding, system: System) -> dict[str, Any]:
    tabs, skin = holding.tabs, holding.skin
    return {
        "without": holding.without,
        "tabs": None
        if tabs is None
        else {
            "count": len(tabs.places),
            "width": number(tabs.width, "length", system),
            "height": number(tabs.height, "length", system),
            "places": [
                {"at": numbers((x, y), "length", system), "angle": number(angle, "angle", system)}
                for x, y, angle in tabs.places
            ],
            "margin": _margins(tabs.typical, tabs.pessimistic, system),
        },
        "skin": None
        if skin is None
        else {
            "thickness": number(skin.thickness, "length", system),
            "margin": _margins(skin.typical, skin.pessimistic, system),
        },
    }


def _margins(typical: float, pessimistic: float, system: System) -> dict[str, Any]:
    return {"typical": number(typical, "number", system), "pessimistic": number(pessimistic, "number", system)}


def _moves(margins: MoveMargins, listed: Iterable[int], system: System) -> list[dict[str, Any]]:
    """Return the moves that are to be listed, each with its bounds; null where a bound is not finite."""
    return [
        {
            "line": int(margins.line[k]),
            "lower": number(float(margins.lower[k]), "number", system),
            "upper": number(float(margins.upper[k]), "number", system),
            "kind": str(margins.kind[k]),
            "depth": number(float(margins.depth[k]), "length", system),
            "arc": numbers(margins.arc[k], "angle", system),
            "enters": bool(margins.enters[k]),
            "exits": bool(margins.exits[k]),
        }
        for k in listed
    ]


def _worst(place: WorstPlace, system: System) -> dict[str, Any] | None:
    """Return where the margin is least; null where no load could be judged."""
    if not place.cut and not place.line:
        return None
    return {
        "cut": place.cut,
        "line": place.line or None,
        "at": numbers(place.at, "length", system),
        "force": numbers(place.force, "force", system),
    }


def _let_go(motion: LetGo, system: System) -> dict[str, Any]:
    return {
        "kind": str(motion.kind),
        "direction": numbers(motion.direction, "number", system),
        "pivot": None if motion.pivot is None else numbers(motion.pivot, "length", system),
    }


def _share(share: HolderShare, system: System) -> dict[str, Any]:
    return {
        "holder": share.holder if share.holder >= 0 else None,
        "kind": share.kind,
        "share": number(share.share, "number", system),
        "force": numbers(share.force, "force", system),
    }


def check_document(check: Check, system: System) -> dict[str, Any]:
    """Return a check."""
    return {
        "name": check.name,
        "holder": check.holder,
        "value": number(check.value, check.dimension, system),
        "limit": number(check.limit, check.dimension, system),
        "unit": unit_name(check.dimension, system),
        "ratio": number(check.ratio, "number", system),
        "ok": check.ok,
        "breaks": check.breaks,
        "judged": check.judged,
        "detail": said(check.detail, check.numbers, system),
        "source": check.source,
        "at": None if check.at is None else numbers(check.at, "length", system),
        "effects": [_effect(effect, system) for effect in check.effects],
    }


def _effect(effect: Effect, system: System) -> dict[str, Any]:
    return {
        "name": effect.name,
        "value": number(effect.value, effect.dimension, system),
        "unit": unit_name(effect.dimension, system),
    }


def assumption(triple: Triple, system: System) -> dict[str, Any]:
    """Return a number that was not stated, with its ground."""
    low, typical, high = numbers((triple.low, triple.typical, triple.high), triple.dimension, system)
    return {
        "what": triple.what,
        "low": low,
        "typical": typical,
        "high": high,
        "unit": unit_name(triple.dimension, system),
        "source": triple.source,
        "grade": str(triple.grade),
        "note": triple.note,
    }


def notice(one: Notice, system: System) -> dict[str, Any]:
    """Return a warning, its numbers in the caller's units."""
    return {
        "code": one.code,
        "detail": said(one.detail, one.numbers, system),
        "pointer": one.pointer,
        "line": one.line or None,
        "doubt": one.doubt,
    }
