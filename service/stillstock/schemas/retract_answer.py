"""Safe heights and meetings as a document, in the caller's units."""

from typing import Any

from stillstock.answers.retract_height import RetractAnswer
from stillstock.answers.retract_way import Found, RapidHeight, Stickout
from stillstock.engine.clearance.keep_out import KeepOut
from stillstock.engine.clearance.lead_in import LeadIn
from stillstock.engine.clearance.z_budget import ZBudget
from stillstock.engine.holding.body import Body
from stillstock.engine.set_up import SetUp
from stillstock.schemas.results import assumption, notice, number, numbers, stated_units
from stillstock.units import System

__all__ = ["retract_document"]


def retract_document(answer: RetractAnswer, set_up: SetUp, system: System) -> dict[str, Any]:
    """Return the answer to the retract question.

    Parameters
    ----------
    answer : RetractAnswer
    set_up : SetUp
        That was asked about.
    system : {"metric", "inch"}
        Units of the document that asked.
    """
    kinds = [str(holder.kind) for holder in set_up.holders]
    budget = answer.budget
    return {
        "summary": answer.summary,
        "verdict": str(answer.verdict),
        "clearance": number(answer.clearance, "length", system),
        "retract": number(answer.retract, "length", system),
        "clearance_ruled_by": _body(answer.clearance_ruled_by, kinds),
        "retract_ruled_by": _body(answer.retract_ruled_by, kinds),
        "advice": list(answer.advice),
        "meetings": [_meeting(found, kinds, system) for found in answer.meetings],
        "meetings_total": answer.meetings_total,
        "rapids": [_rapid(rapid, kinds, system) for rapid in answer.rapids],
        "rapids_total": answer.rapids_total,
        "time_saved": None if answer.time_saved is None else round(answer.time_saved, 2),
        "lead_ins": [_lead_in(one, kinds, system) for one in answer.lead_ins],
        "stickouts": [_stickout(one, system) for one in answer.stickouts],
        "z_budget": None if budget is None else _budget(budget, answer.changes, system),
        "keep_outs": [_keep_out(one, kinds, system) for one in answer.keep_outs],
        "assumptions": [assumption(triple, system) for triple in answer.assumptions],
        "cautions": list(answer.cautions),
        "warnings": [notice(one, system) for one in answer.warnings],
        "units": stated_units(system),
        "fingerprint": answer.fingerprint,
    }


def _body(body: Body | None, kinds: list[str]) -> dict[str, Any]:
    """Return what rules a height: a holder's part, the puck, the stock, or the bare bed."""
    if body is None or body.holder < 0:
        return {"holder": None, "kind": "bed" if body is None else body.part, "part": ""}
    return {"holder": body.holder, "kind": kinds[body.holder], "part": body.part}


def _meeting(found: Found, kinds: list[str], system: System) -> dict[str, Any]:
    meeting = found.meeting
    return {
        "line": found.line or None,
        "what": found.what,
        "cut": found.cut,
        "leg": str(found.leg),
        "against": str(meeting.against),
        "rapid": meeting.rapid,
        "tool": meeting.tool or None,
        "tool_part": meeting.tool_part,
        "holder": meeting.holder if meeting.holder >= 0 else None,
        "kind": kinds[meeting.holder] if meeting.holder >= 0 else "",
        "part": meeting.part,
        "at": numbers(meeting.at, "length", system),
        "depth": number(meeting.depth, "length", system),
        "rise": number(meeting.rise, "length", system),
        "order": str(found.order),
    }


def _rapid(rapid: RapidHeight, kinds: list[str], system: System) -> dict[str, Any]:
    return {
        "line": rapid.line or None,
        "cut": rapid.cut,
        "leg": str(rapid.leg),
        "height": number(rapid.programmed, "length", system),
        "lowest": number(rapid.lowest, "length", system),
        "ruled_by": _body(rapid.ruled_by, kinds),
        "tool_part": rapid.tool_part,
        "within": rapid.within,
        "ok": rapid.ok,
    }


def _lead_in(one: LeadIn, kinds: list[str], system: System) -> dict[str, Any]:
    return {
        "line": one.line or None,
        **_body(one.body, kinds),
        "gap": number(one.gap, "length", system),
        "wanted": number(one.wanted, "length", system),
    }


def _stickout(one: Stickout, system: System) -> dict[str, Any]:
    return {
        "tool": one.tool,
        "measure": str(one.measure),
        "now": number(one.now, "length", system),
        "needed": number(one.needed, "length", system),
    }


def _budget(budget: ZBudget, changes: tuple[str, ...], system: System) -> dict[str, Any]:
    return {
        "available": number(budget.available, "length", system),
        "rows": [{"what": row.what, "length": number(row.length, "length", system)} for row in budget.rows],
        "left": number(budget.left, "length", system),
        "tools": [
            {
                "tool": one.tool,
                "gauge": number(one.gauge, "length", system),
                "left": number(one.left, "length", system),
                "below": None if one.below is None else number(one.below, "length", system),
            }
            for one in budget.tools
        ],
        "changes": list(changes),
    }


def _keep_out(one: KeepOut, kinds: list[str], system: System) -> dict[str, Any]:
    return {
        "holder": one.holder if one.holder >= 0 else None,
        "kind": kinds[one.holder] if one.holder >= 0 else "puck",
        "tool_part": one.tool_part,
        "outline": [numbers(point, "length", system) for point in one.outline],
    }
