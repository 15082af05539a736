"""The answer to the question how to hold, as a document: each placed set-up ready for every other endpoint."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from stillstock.answers.batch import Effort
from stillstock.answers.placing.ground import Piece
from stillstock.answers.recommendation import Recommendation, RecommendationAnswer, RuledOut
from stillstock.answers.trying import Reason
from stillstock.answers.ways_to_hold import Method
from stillstock.schemas.results import assumption, check_document, notice, number, numbers, stated_units
from stillstock.schemas.shop import ENTRY_MEMBERS, OWN, Asking
from stillstock.tables.scatter import Triple
from stillstock.tables.suitability import Fact
from stillstock.units import System, present, unit_name

__all__ = ["recommendation_document"]

#: Dimension of the members that the search finds; those that are words have none.
PLACED_IN = {"at": "length", "area": "length", "angle": "angle", "kerf": "length", "torque": "torque"}


def recommendation_document(answer: RecommendationAnswer, asking: Asking) -> dict[str, Any]:
    """Return the answer to the question how to hold.

    Parameters
    ----------
    answer : RecommendationAnswer
    asking : Asking
        The question, with the document as it came: what of it makes the set-up is handed on word for word.
    """
    system = asking.document.system
    return {
        "summary": answer.summary,
        "verdict": answer.verdict,
        "ranked": [_ranked(one, asking) for one in answer.ranked],
        "ruled_out": [_ruled_out(one, system) for one in answer.ruled_out],
        "missing": list(answer.missing),
        "cautions": list(answer.cautions),
        "warnings": [notice(one, system) for one in answer.warnings],
        "programmes": answer.programmes,
        "judged": answer.judged,
        "units": {**stated_units(system), "time": unit_name("time", system)},
        "fingerprint": answer.fingerprint,
    }


def _method(method: Method) -> dict[str, Any]:
    return {
        "method": method.name,
        "title": method.title,
        "entries": [entry.number for entry in method.entries],
        "why": method.why,
    }


def _ranked(one: Recommendation, asking: Asking) -> dict[str, Any]:
    placed, system = one.placed, asking.document.system
    found, worst = placed.found, placed.worst_check
    return {
        **_method(placed.method),
        "verdict": str(found.verdict),
        "margin": {
            "typical": number(found.factor, "number", system),
            "pessimistic": number(found.pessimistic, "number", system),
            "required": number(found.set_up.required, "number", system),
            "unlimited": math.isinf(found.factor) and math.isinf(found.pessimistic),
        },
        "worst_check": None if worst is None else check_document(worst, system),
        "heights": {
            "verdict": str(placed.heights.verdict),
            "clearance": number(placed.heights.clearance, "length", system),
            "retract": number(placed.heights.retract, "length", system),
        },
        "effort": _effort(placed.effort, system),
        "cautions": [_fact(fact) for fact in one.cautions],
        "set_up": _set_up(one, asking),
    }


def _effort(effort: Effort, system: System) -> dict[str, Any]:
    return {
        "time_per_piece": _band(effort.time, system),
        "loading": _band(effort.loading, system),
        "unloading": _band(effort.unloading, system),
        "mounting": _band(effort.mounting, system),
        "cost_per_piece": _band(effort.cost, system),
        "grounds": [assumption(ground, system) for ground in effort.grounds],
    }


def _band(band: Triple, system: System) -> dict[str, float]:
    low, typical, high = numbers((band.low, band.typical, band.high), band.dimension, system)
    return {"low": low, "typical": typical, "high": high}


def _fact(fact: Fact) -> dict[str, Any]:
    return {"fact": fact.key, "detail": fact.words, "source": fact.source, "grade": str(fact.grade)}


def _ruled_out(one: RuledOut, system: System) -> dict[str, Any]:
    return {**_method(one.method), "reason": _reason(one.reason, system)}


def _reason(reason: Reason, system: System) -> dict[str, Any]:
    def given(value: float | None) -> float | None:
        return None if value is None else number(value, reason.dimension, system)

    return {
        "code": reason.code,
        "fact": reason.fact,
        "detail": reason.detail,
        "value": given(reason.value),
        "limit": given(reason.limit),
        "unit": unit_name(reason.dimension, system),
        "source": reason.source,
    }


def _set_up(one: Recommendation, asking: Asking) -> dict[str, Any]:
    """Return the set-up document with its holders put in; all else stands as it came."""
    stated = {name: value for name, value in asking.stated.items() if name not in OWN}
    layout = one.placed.layout
    stated["holders"] = [_holder(piece, asking) for piece in layout if piece.part is None]
    held = {piece.part for piece in layout if piece.part is not None}
    if held:
        stated["parts"] = [
            {**part, "held_by": [*part.get("held_by", ()), *_of_part(number, layout, asking)]}
            if number in held
            else part
            for number, part in enumerate(stated["parts"])
        ]
    return stated


def _of_part(part: int, layout: tuple[Piece, ...], asking: Asking) -> list[dict[str, Any]]:
    return [_holder(piece, asking) for piece in layout if piece.part == part]


def _holder(piece: Piece, asking: Asking) -> dict[str, Any]:
    """Return a holder as a document: what the shop states of it, and where it stands."""
    entry: Mapping[str, Any] = asking.stated["shop"]["holders"][piece.entry.number]
    like = {name: value for name, value in entry.items() if name not in ENTRY_MEMBERS}
    system = asking.document.system
    return {**like, **{name: _written(name, value, system) for name, value in piece.members.items()}}


def _written(name: str, value: Any, system: System) -> Any:
    if isinstance(value, str):
        return value
    dimension = PLACED_IN[name]
    if isinstance(value, np.ndarray):
        return [numbers(row, dimension, system) for row in value]
    if isinstance(value, tuple):
        return numbers(value, dimension, system)
    return present(value, dimension, system)
