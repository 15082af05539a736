"""How high must the tool go, and what does it meet on its way?"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import partial

import numpy as np

from stillstock.answers.notices import Notice
from stillstock.answers.retract_run import Run, run_of
from stillstock.answers.retract_tools import SPINDLE_PARTS, Measure, margins_of, spindle_of
from stillstock.answers.retract_way import Found, RapidHeight, Stickout, Table, way_of
from stillstock.answers.retract_words import Speaker
from stillstock.engine.clearance.first_and_last import Order
from stillstock.engine.clearance.holder_collision import Against, Meeting
from stillstock.engine.clearance.keep_out import KeepOut, keep_outs
from stillstock.engine.clearance.lead_in import LeadIn
from stillstock.engine.clearance.legs import Leg
from stillstock.engine.clearance.obstacles import PUCK, STOCK, overlaps, puck_body, standing, stock_body
from stillstock.engine.clearance.retract_height import over_stock
from stillstock.engine.clearance.swept import TOUCH
from stillstock.engine.clearance.z_budget import ZBudget, z_budget
from stillstock.engine.holding.body import Body
from stillstock.engine.program.moves import Moves
from stillstock.engine.set_up import SetUp
from stillstock.settings import Limits
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple
from stillstock.units import System

__all__ = ["RetractAnswer", "RetractVerdict", "answer_retract_height", "heights_of"]

MOST_RAPIDS = 2000
MOST_MEETINGS = 1000
"""Longest lists of an answer; how many there are in all stands beside them. [-]"""


class RetractVerdict(StrEnum):
    """The answer in a word."""

    CLEAR = "clear"
    DOUBTFUL = "doubtful"
    MEETS = "meets"
    UNKNOWN = "unknown"


@dataclass(frozen=True, kw_only=True)
class RetractAnswer:
    """Everything that the retract question answers.

    Attributes
    ----------
    summary : str
        One ASCII line of at most 120 characters.
    verdict : RetractVerdict
    clearance, retract : float
        Lowest safe height of the tip over everything, and between the cuts of one operation. [m]
    clearance_ruled_by, retract_ruled_by : Body
    advice : tuple of str
        The two heights explained.
    meetings : tuple of Found
    meetings_total : int
        How many there are, listed or not. [-]
    rapids : tuple of RapidHeight
    rapids_total : int
        How many rapids go across, listed or not. [-]
    time_saved : float or None
        By retracts as low as is safe against one height for all; None without moves. [s]
    lead_ins : tuple of LeadIn
    stickouts : tuple of Stickout
    budget : ZBudget or None
    changes : tuple of str
        What would make the tools fit.
    keep_outs : tuple of KeepOut
    assumptions : tuple of Triple
    cautions : tuple of str
    warnings : tuple of Notice
    fingerprint : str
    bodies : tuple of Body
        Of the holders, for pictures.
    moves : Moves or None
        For pictures.
    reasons : tuple of str
        All that keeps the verdict from being clear, the gravest first, as far as meetings are listed.
    """

    summary: str
    verdict: RetractVerdict
    clearance: float
    retract: float
    clearance_ruled_by: Body
    retract_ruled_by: Body
    advice: tuple[str, ...]
    meetings: tuple[Found, ...]
    meetings_total: int
    rapids: tuple[RapidHeight, ...]
    rapids_total: int
    time_saved: float | None
    lead_ins: tuple[LeadIn, ...]
    stickouts: tuple[Stickout, ...]
    budget: ZBudget | None
    changes: tuple[str, ...]
    keep_outs: tuple[KeepOut, ...]
    assumptions: tuple[Triple, ...]
    cautions: tuple[str, ...]
    warnings: tuple[Notice, ...]
    fingerprint: str
    bodies: tuple[Body, ...]
    moves: Moves | None
    reasons: tuple[str, ...]


CAUTIONS = (
    "Holders stand where and as high as they were said to: measure the tallest again once all are tight.",
    "Cables, hoses and what lies about on the table are not judged.",
    "Rapids were taken as straight lines; some controls move each axis at its own full rate.",
    "Run the program once in the air, with a hand on the stop.",
)


def _measure(meeting: Meeting) -> Measure | None:
    """Return which length of the tool would keep clear what meets something; None if none would."""
    if meeting.tool_part in SPINDLE_PARTS:
        return Measure.STICKOUT
    if meeting.tool_part == "dust_shoe":
        return Measure.SHOE_HEIGHT
    return Measure.CUTTING_LENGTH if (meeting.tool_part, meeting.against) == ("shank", Against.STOCK) else None


def _stickouts(table: Table, meetings: Sequence[Meeting]) -> tuple[Stickout, ...]:
    """Return how long tools would have to be for all above the cutter to clear, in full as they stand now."""
    rises: dict[tuple[int, Measure], float] = {}
    for meeting in meetings:
        measure = _measure(meeting)
        if measure is not None:
            key = (meeting.tool, measure)
            rises[key] = max(rises.get(key, 0.0), meeting.rise)
    found = []
    for (number, measure), rise in rises.items():
        now = table.spindle.length(number, measure)
        found.append(Stickout(tool=number, measure=measure, now=now, needed=now + rise))
    return tuple(found)


def _retract(table: Table, rapids: Sequence[RapidHeight]) -> tuple[float, Body]:
    """Return the height between the cuts of one operation: as the moves need it, else from any place to any other."""
    inside = [rapid for rapid in rapids if rapid.within]
    if not inside:
        return over_stock(table.stock, parts=table.spindle.every_part, bodies=table.bodies, margins=table.margins)
    highest = max(inside, key=lambda rapid: rapid.lowest)
    return highest.lowest, highest.ruled_by or table.stock


def _lowest(table: Table, run: Run | None) -> dict[int, float]:
    """Return the lowest height of each tool's tip in the job; the stock's bottom where nothing says it. [m]"""
    found = dict.fromkeys(table.set_up.tools, table.stock.low)
    if run is None:
        return found
    for number in found:
        mine = run.moves.known & (run.moves.tool == number)
        if mine.any():
            found[number] = float(np.minimum(run.moves.start[mine, 2], run.moves.end[mine, 2]).min())
    return found


def _general_notices(table: Table) -> list[Notice]:
    notices = list(table.spindle.notices)
    if not table.set_up.holders:
        detail = "no holder is stated: the heights are those over the stock alone, and what holds it may stand higher"
        notices.append(Notice(code="no_holders", detail=detail, pointer="/holders", doubt=True))
    if not table.set_up.tools:
        detail = "no tool is described: only the tip was judged, not nut, nose or shoe"
        notices.append(Notice(code="no_tools", detail=detail, pointer="/tools"))
    for overlap in overlaps(table.bodies):
        one, other = table.speaker.body(overlap.one), table.speaker.body(overlap.other)
        detail = (
            f"{one} and {other} stand in one place, by {table.speaker.length(overlap.depth)}: one of them is elsewhere"
        )
        pointer = "/machine/puck/at" if overlap.other.holder == PUCK else f"/holders/{overlap.other.holder}"
        notices.append(Notice(code="holders_overlap", detail=detail, pointer=pointer, doubt=True))
    return notices


def _budget(
    table: Table, tables: Tables, *, lowest: dict[int, float], clearance: tuple[float, Body]
) -> tuple[ZBudget | None, tuple[str, ...]]:
    """Return the column, and what would make the tools fit that do not."""
    short = tables.value("practice", "retract", "short_of_switch").typical
    budget = z_budget(
        table.set_up, gauges=table.spindle.gauges, lowest=lowest, clearance=clearance[0], short_of_switch=short
    )
    if budget is None:
        return None, ()
    changes: list[str] = []
    for one in budget.tools:
        needed = max(table.stock.high - lowest[one.tool], 0.0)
        now = table.spindle.longest[one.tool]
        changes += table.speaker.changes(one, stickout=now, needed=needed, clearance=clearance[0], highest=clearance[1])
    return budget, tuple(dict.fromkeys(changes))


def _unfit(table: Table, budget: ZBudget | None, *, clearance: float, needed: float) -> list[Found]:
    """Return a meeting with an end of travel for each tool that cannot rise as high as even local retracts need.

    A tool whose stickout is not stated meets nothing for sure: it only leaves the answer in doubt.
    """
    found = []
    for one in budget.tools if budget is not None else ():
        if one.tool not in table.spindle.stated:
            continue
        up = -(one.left + clearance - needed)
        down = -(one.below if one.below is not None else 0.0)
        for depth, part in ((up, "z_end"), (down, "z_start")):
            if depth <= TOUCH:
                continue
            meeting = Meeting(
                against=Against.LIMIT, move=-1, line=0, rapid=False, tool=one.tool, tool_part="tip", holder=STOCK,
                part=part, at=(0.0, 0.0, needed), depth=depth, rise=0.0,
            )  # fmt: skip
            what = f"tool {one.tool} {table.speaker.meeting(meeting, Leg.NONE, Order.NONE)}"
            found.append(Found(meeting=meeting, line=0, cut="", leg=Leg.NONE, order=Order.NONE, what=what))
    return found


def _advice(
    table: Table, clearance: tuple[float, Body], retract: tuple[float, Body], *, moves: bool
) -> tuple[str, ...]:
    say = table.speaker.height_ruled_by
    ground = "over the ways between the cuts" if moves else "from any place of the stock to any other"
    above = [table.margins.above(body) for _, body in (clearance, retract)]
    return (
        f"clearance, over everything on the table, {say(*clearance, above[0])}",
        f"retract, {ground}, {say(*retract, above[1])}",
    )


def _verdict(found: Sequence[Found], notices: Sequence[Notice], doubts: Sequence[str]) -> RetractVerdict:
    if found:
        return RetractVerdict.MEETS
    if any(notice.doubt for notice in notices):
        return RetractVerdict.UNKNOWN
    return RetractVerdict.DOUBTFUL if doubts else RetractVerdict.CLEAR


def _said_first(reasons: Sequence[Sequence[str]]) -> tuple[str, int]:
    """Return what the summary says first, and how many more there are of its kind."""
    gravest = next((kind for kind in reasons if kind), [""])
    return gravest[0], len(gravest) - 1


def _reasons(
    found: Sequence[Found], notices: Sequence[Notice], doubts: Sequence[str]
) -> tuple[Sequence[str], Sequence[str], Sequence[str]]:
    """Return what is met, what was not judged and what is in doubt, in words."""
    met = [_where(one.line, one.cut) + one.what.partition(";")[0] for one in found]
    return met, [_where(one.line, "") + one.detail for one in notices if one.doubt], doubts


def _where(line: int, cut: str) -> str:
    return f"line {line}: " if line else (f"{cut}: " if cut else "")


def _listed(rapids: Sequence[RapidHeight]) -> tuple[RapidHeight, ...]:
    """Return the rapids that an answer lists: all, or first of all those that are too low."""
    if len(rapids) <= MOST_RAPIDS:
        return tuple(rapids)
    order = sorted(range(len(rapids)), key=lambda k: (rapids[k].ok, k))[:MOST_RAPIDS]
    return tuple(rapids[k] for k in sorted(order))


def _standing(set_up: SetUp) -> tuple[Body, ...]:
    """Return the bodies of all holders, and the touch puck's."""
    puck = set_up.machine.puck
    pucks = () if puck is None else (puck_body(puck, bed=set_up.bed.top),)
    return (*standing(set_up), *pucks)


def answer_retract_height(
    set_up: SetUp, tables: Tables, *, limits: Limits, fingerprint: str, system: System
) -> RetractAnswer:
    """Return the safe heights of a set-up, and what its moves meet.

    Parameters
    ----------
    set_up : SetUp
    tables : Tables
    limits : Limits
        Of the work that one request may cost.
    fingerprint : str
        Digest of the document and the model's version.
    system : {"metric", "inch"}
        In which sentences say lengths.

    Raises
    ------
    TooMuchWork
        If the program is longer than the limit.
    """
    spindle = spindle_of(set_up, tables)
    run_at = partial(run_of, set_up, spindle=spindle, limits=limits)
    return heights_of(set_up, tables, lambda height: run_at(height=height), fingerprint=fingerprint, system=system)


def heights_of(
    set_up: SetUp, tables: Tables, run_at: Callable[[float], Run | None], *, fingerprint: str, system: System
) -> RetractAnswer:
    """Return the same of moves that are known already: what `run_at` gives for the height between described cuts."""
    margins, grounds = margins_of(set_up, tables)
    spindle = spindle_of(set_up, tables)
    table = Table(
        set_up=set_up,
        bodies=_standing(set_up),
        stock=stock_body(set_up.stock),
        margins=margins,
        spindle=spindle,
        speaker=Speaker(system, [holder.kind for holder in set_up.holders]),
    )
    clearance = table.clearance()
    way = way_of(table, run_at(clearance[0]), clearance=clearance[0])
    retract = _retract(table, way.rapids)
    lowest = _lowest(table, way.run)
    budget, changes = _budget(table, tables, lowest=lowest, clearance=clearance)
    needed = max([retract[0], *(rapid.lowest for rapid in way.rapids)])
    found = [*way.found, *_unfit(table, budget, clearance=clearance[0], needed=needed)]
    notices = [*_general_notices(table), *way.notices]
    doubts = [*way.doubts(table.speaker), *changes]
    verdict = _verdict(found, notices, doubts)
    met, unjudged, doubtful = _reasons(found, notices, doubts)
    first, more = _said_first((met, unjudged, doubtful))
    deepest = min(lowest.values(), default=table.stock.low)
    return RetractAnswer(
        summary=table.speaker.summary(verdict, clearance=clearance[0], retract=retract[0], first=first, more=more),
        verdict=verdict,
        clearance=clearance[0],
        retract=retract[0],
        clearance_ruled_by=clearance[1],
        retract_ruled_by=retract[1],
        advice=_advice(table, clearance, retract, moves=bool(way.rapids)),
        meetings=tuple(found[:MOST_MEETINGS]),
        meetings_total=len(found),
        rapids=_listed(way.rapids),
        rapids_total=len(way.rapids),
        time_saved=way.time_saved,
        lead_ins=way.lead_ins[:MOST_MEETINGS],
        stickouts=_stickouts(table, way.meetings),
        budget=budget,
        changes=changes,
        keep_outs=keep_outs(table.bodies, tools=tuple(spindle.parts.values()), margins=margins, lowest=deepest),
        assumptions=(*grounds, *spindle.assumptions),
        cautions=CAUTIONS,
        warnings=tuple(notices),
        fingerprint=fingerprint,
        bodies=table.bodies,
        moves=way.run.moves if way.run is not None else None,
        reasons=tuple(dict.fromkeys((*met[:MOST_MEETINGS], *unjudged, *doubtful))),
    )
