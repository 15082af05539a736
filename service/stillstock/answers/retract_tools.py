"""Tools in their spindle, with what was not stated taken from common practice and named."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from stillstock.answers.notices import Notice
from stillstock.engine.clearance.margins import Margins
from stillstock.engine.clearance.turned_body import TIP, ToolPart, tool_parts
from stillstock.engine.clearance.z_budget import gauge_length
from stillstock.engine.set_up import Collet, SetUp, Tool
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Grade, Triple

__all__ = ["SPINDLE_PARTS", "Measure", "Spindle", "margins_of", "spindle_of"]


SPINDLE_PARTS = ("collet_nut", "spindle_nose")


class Measure(StrEnum):
    """A length of a tool that keeps what is above its cutter clear."""

    STICKOUT = "stickout"
    CUTTING_LENGTH = "cutting_length"
    SHOE_HEIGHT = "shoe_height"


@dataclass(frozen=True, kw_only=True)
class Spindle:
    """Every tool with what stands above it.

    Attributes
    ----------
    parts : mapping of int to tuple of ToolPart
    stickouts : mapping of int to float
        From tip to nut, as stated or as taken. [m]
    stated : frozenset of int
        Tools whose stickout the caller states.
    longest : mapping of int to float
        The same, as long as it may be where it is not stated. [m]
    gauges : mapping of int to float
        From tip to spindle nose; the longest that it may be where the stickout is not stated. [m]
    assumptions : tuple of Triple
    notices : tuple of Notice
    """

    parts: Mapping[int, tuple[ToolPart, ...]]
    stickouts: Mapping[int, float]
    stated: frozenset[int]
    longest: Mapping[int, float]
    gauges: Mapping[int, float]
    assumptions: tuple[Triple, ...]
    notices: tuple[Notice, ...]

    @property
    def every_part(self) -> tuple[ToolPart, ...]:
        """Return the parts of all tools; a bare tip where no tool is described."""
        return tuple(part for parts in self.parts.values() for part in parts) or (TIP,)

    def length(self, number: int, measure: Measure) -> float:
        """Return a length of a tool as it is: what lies below its nut, its shank or its shoe. [m]"""
        lengths = {part.name: part.bottom for part in self.parts[number]}
        return lengths[{"cutting_length": "shank", "shoe_height": "dust_shoe"}.get(measure, "collet_nut")]


def _stickout(tool: Tool, ratio: float) -> float:
    """Return a stickout that is not stated: a multiple of the diameter, but no less than the edge. [m]"""
    return max(ratio * tool.diameter, tool.cutting_length or 0.0)


def spindle_of(set_up: SetUp, tables: Tables) -> Spindle:
    """Return the tools of a set-up in their spindle.

    A stickout that is not stated is taken as short as it gets where the nut may meet something, and as long as it gets
    for the Z budget: the safe side each time.
    """
    ratio = tables.value("practice", "tool", "stickout_on_diameter")
    width, length = (tables.value("practice", "collet_nut", name) for name in ("diameter", "length"))
    usual = Collet(diameter=width.typical, length=length.typical)
    parts, stickouts, longest, gauges = {}, {}, {}, {}
    assumptions: dict[str, Triple] = {}
    notices = []
    for number, tool in set_up.tools.items():
        nut = tool.collet or usual
        if tool.collet is None:
            assumptions.update({"width": width, "length": length})
        stickout = tool.stickout or _stickout(tool, ratio.low)
        if tool.stickout is None:
            assumptions["ratio"] = ratio
            detail = (
                f"tool {number} has no stickout stated: taken as {ratio.low:g} diameters (no less than its edge) "
                f"for what its nut may meet, and {ratio.high:g} for the Z budget"
            )
            notices.append(Notice(code="stickout_assumed", detail=detail, pointer=f"/tools/{number}/stickout"))
        parts[number] = tool_parts(tool, stickout=stickout, collet=nut, shoe=set_up.machine.shoe)
        stickouts[number] = stickout
        longest[number] = tool.stickout or _stickout(tool, ratio.high)
        gauges[number] = gauge_length(stickout=longest[number], nut=nut.length)
    return Spindle(
        parts=parts,
        stickouts=stickouts,
        stated=frozenset(number for number, tool in set_up.tools.items() if tool.stickout is not None),
        longest=longest,
        gauges=gauges,
        assumptions=tuple(assumptions.values()),
        notices=tuple(notices),
    )


def margins_of(set_up: SetUp, tables: Tables) -> tuple[Margins, tuple[Triple, ...]]:
    """Return the margins to keep, the shop's own or common practice, and their ground."""
    asked = set_up.clearances

    def settled(given: float | None, row: str, what: str) -> Triple:
        table = replace(tables.value("practice", "retract", row), what=what)
        if given is None:
            return table
        return replace(table, low=given, typical=given, high=given, source="caller", grade=Grade.CALLER, note="")

    over = settled(asked.over, "clearance_over_obstacle", "margin above stock and fixed holders")
    hand_set = settled(asked.over_hand_set, "clearance_over_hand_set_clamps", "margin above clamps that a hand set")
    stock = settled(None, "clearance_on_thin_boards", "margin above the stock from cut to cut, below which tools break")
    beside = settled(asked.beside, "clearance_beside_holder", "margin beside holders")
    screws = settled(asked.around_screws, "clearance_around_screw", "margin round screws")
    bed = settled(asked.into_bed, "cut_into_bed", "depth that a cut may go into the bed")
    margins = Margins(
        over=over.typical,
        over_hand_set=hand_set.typical,
        over_stock=min(stock.typical, over.typical),
        beside=beside.typical,
        around_screws=screws.typical,
        into_bed=bed.typical,
    )
    return margins, (over, hand_set, stock, beside, screws, bed)
