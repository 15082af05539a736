"""Parts that come free during the job, each judged as a body of its own from the move that frees it."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from stillstock.answers.hold import (
    PESSIMIST_SLACK,
    Assessed,
    Stance,
    assess,
    held,
    pessimistic_readings,
    short_load,
    typical_reading,
)
from stillstock.answers.job import Job
from stillstock.answers.notices import Notice
from stillstock.engine.checks.check import Check, of_demands
from stillstock.engine.cutting.freeing import Freed, freed_by_cut, freed_by_program
from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.cutting.part_loads import loads_within
from stillstock.engine.holding.free_part import part_contacts, part_demands, part_set_up, skin_of
from stillstock.engine.mechanics.area import grown
from stillstock.engine.mechanics.work import left, need, spend
from stillstock.engine.set_up import THROUGH, Part, SetUp
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.load import Tables

#: What it costs to tell whether a part comes free, and to judge it at the least, by measurement. [units]
LOOSENING, A_PART = 50.0, 400.0

#: Share of the cheapest part so far that each of the others is taken to cost at the least, so that too many are refused
#: soon; own judgement. [-]
ALIKE = 0.5

__all__ = [
    "FreePart",
    "LoosePart",
    "free_part",
    "free_parts",
    "freed_parts",
    "loose_parts",
    "part_stance",
    "short_part",
]


@dataclass(frozen=True, kw_only=True)
class FreePart:
    """A part on its own.

    Attributes
    ----------
    number : int
        Among the set-up's parts.
    part : Part
        As stated.
    line : int
        Line of the program that frees it; 0 for none.
    tool : int
        Number of the tool that frees it.
    share : float
        Part of its outline that is cut. [-]
    set_up : SetUp
        In which the part is the stock.
    typical, pessimistic : Assessed
    checks : tuple of Check
    """

    number: int
    part: Part
    line: int
    tool: int
    share: float
    set_up: SetUp
    typical: Assessed
    pessimistic: Assessed
    checks: tuple[Check, ...]

    @property
    def name(self) -> str:
        """Name of the part."""
        return self.part.name


def _freed(part: Part, job: Job) -> Freed | None:
    set_up = job.set_up
    if job.removal is not None:
        return freed_by_program(job.removal, part.outline)
    floor = set_up.bed.top + skin_of(part) + THROUGH
    for number, cut in enumerate(set_up.cuts):
        reach = set_up.tools[cut.tool].diameter
        found = freed_by_cut(cut, number=number, outline=part.outline, floor=floor, reach=reach)
        if found is not None:
            return found
    return None


def _touching(loads: JobSweep, freed: Freed, near: BaseGeometry, *, by_program: bool) -> JobSweep:
    """Return the job's loads that act near a part once it is free.

    Nobody says when, beside a program, described cuts are made and given loads act: they count.
    """
    late = np.where(by_program, (loads.move < 0) | (loads.move >= freed.first), loads.cut >= freed.first)
    return loads_within(loads, late, near)


def _near(part: Part, set_up: SetUp) -> BaseGeometry:
    """Return where a tool's axis is when it works on a part."""
    reach = max((tool.diameter for tool in set_up.tools.values()), default=0.0) * 0.6
    return grown(Polygon(part.outline), by=reach)


def _notice(number: int, code: str, detail: str) -> Notice:
    return Notice(code=code, detail=f"{detail}: it was not judged as a part of its own", pointer=f"/parts/{number}")


def _tabs_gone(part: Part, freed: Freed) -> bool:
    """Return whether less of the outline is left uncut than half of what the stated tabs would leave."""
    tabs = sum(holder.width for holder in part.held_by if holder.kind == "tab")
    return bool(1.0 - freed.share < 0.5 * tabs / Polygon(part.outline).length)


def _tabs_not_left(number: int, part: Part) -> Notice:
    detail = f"the program cuts {part.name} all round: it leaves less than half of the tabs that are stated"
    return Notice(code="tabs_not_left", detail=detail, pointer=f"/parts/{number}/held_by", doubt=True)


@dataclass(frozen=True, kw_only=True)
class LoosePart:
    """A part from the move that frees it: what holds it then, and what pulls at it.

    Attributes
    ----------
    number : int
        Among the set-up's parts.
    part : Part
    freed : Freed
    stance : Stance
        In which the part is the stock.
    loads, hard_loads : JobSweep
        Typical, and at every corner of the band of cutting coefficients.
    """

    number: int
    part: Part
    freed: Freed
    stance: Stance
    loads: JobSweep
    hard_loads: JobSweep


def loose_parts(
    stance: Stance, job: Job, tables: Tables, *, loads: JobSweep, hard_loads: JobSweep, numbers: Iterable[int]
) -> tuple[tuple[LoosePart, ...], tuple[Notice, ...]]:
    """Return those of some parts that come free and that loads act on then, and notices about those that do not.

    Parameters
    ----------
    stance : Stance
        Of the whole stock.
    job : Job
    tables : Tables
    loads, hard_loads : JobSweep
        The job's loads at typical coefficients and at every corner of their band.
    numbers : iterable of int
        Of the parts.

    Raises
    ------
    ImpossibleSetUp
        If a part's holder cannot stand as stated.
    """
    found: list[LoosePart] = []
    notices: list[Notice] = []
    for number in numbers:
        spend(LOOSENING)
        part = stance.set_up.parts[number]
        freed = _freed(part, job)
        if freed is None:
            notices.append(_notice(number, "never_free", f"no cut goes round {part.name} to the bed"))
            continue
        if job.removal is not None and _tabs_gone(part, freed):
            notices.append(_tabs_not_left(number, part))
        near = _near(part, stance.set_up)
        usual, hard = (_touching(each, freed, near, by_program=job.removal is not None) for each in (loads, hard_loads))
        if not len(usual) or not len(hard):
            notices.append(_notice(number, "untouched", f"nothing acts on {part.name} once it is free"))
            continue
        try:
            own = part_stance(stance, part, tables)
        except ImpossibleSetUp as error:
            raise ImpossibleSetUp(
                [replace(fault, pointer=f"/parts/{number}{fault.pointer}") for fault in error.faults]
            ) from None
        found.append(
            LoosePart(
                number=number,
                part=part,
                freed=freed,
                stance=own,
                loads=usual,
                hard_loads=hard,
            )
        )
    return tuple(found), tuple(notices)


def free_part(loose: LoosePart, whole: SetUp, job: Job, tables: Tables, *, shaken: float) -> FreePart:
    """Return a part judged.

    Parameters
    ----------
    loose : LoosePart
    whole : SetUp
        Of the whole stock.
    job : Job
    tables : Tables
    shaken : float
        Factor on friction for the pessimist. [-]
    """
    own, moves = loose.stance, None if job.reading is None else job.reading.moves
    ends = pessimistic_readings(own.contacts, shaken=shaken)
    return FreePart(
        number=loose.number,
        part=loose.part,
        line=0 if moves is None else int(moves.line[loose.freed.first]),
        tool=_tool(loose.freed, job),
        share=loose.freed.share,
        set_up=own.set_up,
        typical=assess(own, [typical_reading()], loose.loads),
        pessimistic=assess(own, ends, loose.hard_loads, slack=PESSIMIST_SLACK),
        checks=of_demands(part_demands(whole, loose.part, tables, first=len(whole.holders))),
    )


def free_parts(
    stance: Stance, job: Job, tables: Tables, *, loads: JobSweep, hard_loads: JobSweep, shaken: float
) -> tuple[tuple[FreePart, ...], tuple[Notice, ...]]:
    """Return every part that comes free, judged, and notices about those that do not; arguments as in `loose_parts`.

    Raises
    ------
    ImpossibleSetUp
        If a part's holder cannot stand as stated.
    """
    every = range(len(stance.set_up.parts))
    found, notices = loose_parts(stance, job, tables, loads=loads, hard_loads=hard_loads, numbers=every)
    need(A_PART * len(found))
    judged: list[FreePart] = []
    least = math.inf
    for one in found:
        before = left()
        judged.append(free_part(one, stance.set_up, job, tables, shaken=shaken))
        least = min(least, before - left())
        need(ALIKE * least * (len(found) - len(judged)))
    return tuple(judged), notices


def freed_parts(job: Job) -> dict[int, int]:
    """Return the numbers of the stated parts that come free in a job, and of the tool that frees each."""
    found = [(number, _freed(part, job)) for number, part in enumerate(job.set_up.parts)]
    return {number: _tool(freed, job) for number, freed in found if freed is not None}


def _tool(freed: Freed, job: Job) -> int:
    if job.reading is None:
        return job.set_up.cuts[freed.first].tool
    return int(job.reading.moves.tool[freed.first])


def short_part(stance: Stance, job: Job, tables: Tables, *, loads: JobSweep, factor: float) -> tuple[str, float] | None:
    """Return name and typical factor of the first part that is held to less than a factor; None if none is. [-]

    Only the loads that may be too much are solved, so that this costs less than judging every part.

    Raises
    ------
    ImpossibleSetUp
        If a part's holder cannot stand as stated; the pointer is relative to the part.
    """
    every = range(len(stance.set_up.parts))
    for loose in loose_parts(stance, job, tables, loads=loads, hard_loads=loads, numbers=every)[0]:
        (own,) = held(loose.stance, [typical_reading()])
        worst, _ = short_load(own, loose.loads, factor=factor)
        if worst is not None:
            return loose.part.name, worst.factor
    return None


def part_stance(stance: Stance, part: Part, tables: Tables) -> Stance:
    """Return what holds a part once it is free.

    Raises
    ------
    ImpossibleSetUp
        If one of its holders cannot stand as stated; the pointer is relative to the part.
    """
    first = len(stance.set_up.holders)
    contacts = part_contacts(stance.set_up, part, stance.contacts, tables, first=first)
    return replace(stance, contacts=contacts, set_up=part_set_up(stance.set_up, part))
