"""The way of the tool over the table: what it meets, how low its rapids may go, and where it starts too near."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillstock.answers.notices import Notice
from stillstock.answers.retract_run import Run
from stillstock.answers.retract_tools import SPINDLE_PARTS, Measure, Spindle
from stillstock.answers.retract_words import Speaker
from stillstock.engine.clearance.first_and_last import Order, order_of, path_notes
from stillstock.engine.clearance.holder_collision import (
    Against,
    Meeting,
    bed_meetings,
    holder_meetings,
    limit_meetings,
    stock_meetings,
    upper_meetings,
)
from stillstock.engine.clearance.lead_in import LeadIn, lead_ins
from stillstock.engine.clearance.legs import Leg
from stillstock.engine.clearance.margins import Margins
from stillstock.engine.clearance.obstacles import STOCK
from stillstock.engine.clearance.retract_height import RapidHeights, clearance_height, rapid_heights
from stillstock.engine.clearance.swept import TOUCH
from stillstock.engine.clearance.turned_body import lowest_bottom
from stillstock.engine.holding.body import Body
from stillstock.engine.set_up import SetUp

__all__ = ["Found", "RapidHeight", "Stickout", "Table", "Way", "way_of"]


@dataclass(frozen=True, kw_only=True)
class Found:
    """A meeting with what is said of it.

    Attributes
    ----------
    meeting : Meeting
    line : int
        Line of the program; 0 for none.
    cut : str
        Name of the described cut; empty for a program's.
    leg : Leg
        Part of the way that the move belongs to.
    order : Order
        Order of up and across that makes it meet.
    what : str
        In words.
    """

    meeting: Meeting
    line: int
    cut: str
    leg: Leg
    order: Order
    what: str


@dataclass(frozen=True, kw_only=True)
class RapidHeight:
    """A rapid across the table.

    Attributes
    ----------
    line : int
        Line of the program; 0 for none.
    cut : str
        Name of the described cut that it leads to.
    leg : Leg
        Part of the way that it belongs to.
    programmed, lowest : float
        Lowest height of the tip on it, and the lowest safe one. [m]
    ruled_by : Body or None
        What rules it; None for the bare bed.
    tool_part : str
        Part of the tool that would meet it.
    within : bool
        Whether it leads from a cut to another with one tool.
    ok : bool
    """

    line: int
    cut: str
    leg: Leg
    programmed: float
    lowest: float
    ruled_by: Body | None
    tool_part: str
    within: bool
    ok: bool


@dataclass(frozen=True, kw_only=True)
class Stickout:
    """A tool of which an upper part meets something: a length as it is, and as it would have to be. [m]"""

    tool: int
    measure: Measure
    now: float
    needed: float


@dataclass(frozen=True, kw_only=True)
class Table:
    """What stands on the table, and the tools that go over it."""

    set_up: SetUp
    bodies: tuple[Body, ...]
    stock: Body
    margins: Margins
    spindle: Spindle
    speaker: Speaker

    @property
    def everything(self) -> tuple[Body, ...]:
        """Return the bodies of all holders, and the stock's."""
        return (*self.bodies, self.stock)

    def clearance(self) -> tuple[float, Body]:
        """Return the lowest safe height over everything, and what rules it."""
        lowest = lowest_bottom(self.spindle.every_part)
        bed = self.set_up.bed.top
        height = clearance_height(self.everything, margins=self.margins, lowest_part=lowest, bed=bed)
        return height, max(self.everything, key=lambda body: body.high + self.margins.above(body))


def _meetings(table: Table, run: Run) -> list[Meeting]:
    moves, set_up = run.moves, table.set_up
    found = holder_meetings(moves, parts=table.spindle.parts, bodies=table.bodies)
    if run.removal is not None:
        found += stock_meetings(moves, run.removal)
    found += upper_meetings(moves, run.rubs)
    found += bed_meetings(moves, bed=set_up.bed.top, allowed=table.margins.into_bed)
    if set_up.machine.envelope is not None:
        found += limit_meetings(moves, envelope=set_up.machine.envelope)
    return sorted(found, key=lambda meeting: meeting.move)


def _sure(table: Table, meeting: Meeting) -> bool:
    """Tell whether a meeting is sure: a nut in the stock is not, where nobody said how far the tool sticks out."""
    in_stock = meeting.against is Against.STOCK and meeting.tool_part in SPINDLE_PARTS
    return not in_stock or meeting.tool in table.spindle.stated


def _found(table: Table, run: Run, meetings: Sequence[Meeting]) -> list[Found]:
    every = []
    for meeting in meetings:
        standing = meeting.against in (Against.HOLDER, Against.PUCK, Against.STOCK)
        order = order_of(run.journey, meeting) if standing else Order.NONE
        leg = run.leg(meeting.move)
        every.append(
            Found(
                meeting=meeting,
                line=run.line(meeting.line),
                cut=run.cut(meeting.line),
                leg=leg,
                order=order,
                what=table.speaker.meeting(meeting, leg, order),
            )
        )
    return every


def _rapid_rows(table: Table, run: Run, heights: RapidHeights) -> list[RapidHeight]:
    stock_floor = table.stock.high + table.margins.over_stock
    rows = []
    for k in range(len(heights)):
        move, ruled = int(heights.move[k]), int(heights.ruled_by[k])
        body = table.everything[ruled] if ruled >= 0 else None
        programmed, lowest = float(heights.programmed[k]), float(heights.lowest[k])
        # Over the stock alone, and over the bare bed, less than the full margin is a habit and no fault.
        floor = lowest if body is not None and body.holder != STOCK else min(lowest, stock_floor)
        line = int(run.moves.line[move])
        rows.append(
            RapidHeight(
                line=run.line(line),
                cut=run.cut(line),
                leg=run.leg(move),
                programmed=programmed,
                lowest=lowest,
                ruled_by=body,
                tool_part=table.spindle.parts[int(run.moves.tool[move])][int(heights.part[k])].name,
                within=bool(heights.within[k]),
                ok=programmed >= floor - TOUCH or body is None,
            )
        )
    return rows


def _path_notices(table: Table, run: Run, clearance: float) -> list[Notice]:
    if run.cuts:
        return []
    machine = table.set_up.machine
    judged = {"ends_low": machine.park is not None, "tool_change_low": machine.tool_change is not None}
    return [
        Notice(code=note.code, detail=table.speaker.note(note, clearance), pointer="/program/text", line=note.line)
        for note in path_notes(run.stated, clearance=clearance, stock_top=table.stock.high)
        if not judged.get(note.code, False)
    ]


def _short_notices(table: Table, run: Run, unsure: Sequence[Meeting]) -> list[Notice]:
    """Return how far tools whose stickout nobody stated have to stick out."""
    deepest: dict[int, Meeting] = {}
    for meeting in unsure:
        if meeting.tool not in deepest or meeting.rise > deepest[meeting.tool].rise:
            deepest[meeting.tool] = meeting
    found = []
    for number, meeting in deepest.items():
        needed = table.speaker.length(table.spindle.stickouts[number] + meeting.rise)
        detail = f"tool {number} has to stick out {needed} or its nut meets the stock; its stickout is not stated"
        pointer, line = f"/tools/{number}/stickout", run.line(meeting.line)
        found.append(Notice(code="stickout_needed", detail=detail, pointer=pointer, line=line))
    return found


@dataclass(frozen=True, kw_only=True)
class Way:
    """What the moves of a job came to; empty without moves."""

    run: Run | None = None
    meetings: tuple[Meeting, ...] = ()
    found: tuple[Found, ...] = ()
    rapids: tuple[RapidHeight, ...] = ()
    lead_ins: tuple[LeadIn, ...] = ()
    time_saved: float | None = None
    notices: tuple[Notice, ...] = ()

    def doubts(self, speaker: Speaker) -> list[str]:
        """Return what keeps the way from being clear, though nothing was met."""
        said = [
            f"line {one.line}: {one.detail}" if one.line else one.detail for one in self.notices if one.code in SOFT
        ]
        for rapid in self.rapids:
            if not rapid.ok and rapid.ruled_by is not None:
                where = f"line {rapid.line}" if rapid.line else rapid.cut
                low, asked = speaker.length(rapid.programmed), speaker.length(rapid.lowest)
                over = speaker.body(rapid.ruled_by)
                said.append(f"{where}: {speaker.leg(rapid.leg)} at {low} over {over}, {asked} would be safe")
        for lead in self.lead_ins:
            where = f"line {lead.line}: " if self.run is not None and not self.run.cuts else ""
            said.append(f"{where}starts {speaker.length(lead.gap)} from {speaker.body(lead.body)}")
        return said


#: Notes on the way that keep the verdict from being clear.
SOFT = ("park_unknown", "place_unknown", "never_retracts", "ends_low", "tool_change_low", "stickout_needed")


def way_of(table: Table, run: Run | None, *, clearance: float) -> Way:
    """Return what the moves of a job come to.

    Parameters
    ----------
    table : Table
    run : Run or None
        None where the set-up states no moves.
    clearance : float
        Lowest safe height over everything. [m]
    """
    if run is None:
        return Way()
    met = _meetings(table, run)
    meetings = [meeting for meeting in met if _sure(table, meeting)]
    unsure = [meeting for meeting in met if not _sure(table, meeting)]
    set_up, margins = table.set_up, table.margins
    heights = rapid_heights(
        run.moves, parts=table.spindle.parts, bodies=table.everything, margins=margins, bed=set_up.bed.top
    )
    return Way(
        run=run,
        meetings=tuple(met),
        found=tuple(_found(table, run, meetings)),
        rapids=tuple(_rapid_rows(table, run, heights)),
        lead_ins=tuple(lead_ins(run.moves, tools=set_up.tools, bodies=table.bodies, margins=margins)),
        time_saved=heights.time_saved(clearance=clearance, rate=set_up.machine.rapid_z),
        notices=(*run.notices, *_path_notices(table, run, clearance), *_short_notices(table, run, unsure)),
    )
