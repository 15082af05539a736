"""A job's loads: described cuts, loads that the caller knows, and the program, read once for both corners."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely

from stillstock.answers.cut_tests import cut_test_notices
from stillstock.answers.implausible import described_implausible, program_implausible
from stillstock.answers.machine_places import machine_frame
from stillstock.answers.notices import Notice
from stillstock.engine.clearance.holder_collision import beyond_limits
from stillstock.engine.clearance.swept import TOUCH
from stillstock.engine.cutting.coefficients import Box
from stillstock.engine.cutting.cut_test import cutting_boxes
from stillstock.engine.cutting.engagement import cutting_radius
from stillstock.engine.cutting.job_sweep import JobSweep, Places, cut_places, given_places, joined
from stillstock.engine.cutting.program_loads import Alike, alike, program_places
from stillstock.engine.cutting.stock_removal import Removal, remove_stock
from stillstock.engine.holding.free_part import skin_of
from stillstock.engine.program.moves import FEED, RAPID, Moves, Reading
from stillstock.engine.program.read import read_program
from stillstock.engine.set_up import THROUGH, SetUp
from stillstock.errors import Fault, NothingToJudge, TooMuchWork
from stillstock.settings import Limits
from stillstock.tables.scatter import Corner

__all__ = ["CELLS", "Job", "finding_notices", "job_of", "refuse_too_many_lines", "size_notices"]

#: A program whose extent is off by this is in the other unit. [-]
INCH = 25.4

#: Cells of the height map; at 8 bytes a cell and some copies it bounds memory. [-]
CELLS = 4_000_000


#: How far beside the stock a tool may be fed, in its diameters, and which share of the feed may lie farther off:
#: lead-in and overrun need no more. Own judgement. [-]
OVERRUN, STRAY = 2.0, 0.1


@dataclass(frozen=True, kw_only=True)
class Job:
    """What pulls at the stock.

    Attributes
    ----------
    set_up : SetUp
    boxes : mapping of int to Box
        Bands of cutting coefficients by tool; tools that the material has none for are left out.
    reading : Reading or None
        Of the program.
    removal : Removal or None
    groups : tuple of Alike
    notices : tuple of Notice
    only : int or None
        The one described cut whose loads count; None is all.
    """

    set_up: SetUp
    boxes: Mapping[int, Box]
    reading: Reading | None
    removal: Removal | None
    groups: tuple[Alike, ...]
    notices: tuple[Notice, ...]
    only: int | None = None

    def loads(self, corner: Corner) -> tuple[JobSweep | None, tuple[Notice, ...]]:
        """Return every load at a corner of the cutting coefficients; None if there is none."""
        parts: list[Places] = []
        limited = False
        set_up = self.set_up
        for number, cut in enumerate(set_up.cuts):
            if cut.tool in self.boxes and self.only in (None, number):
                found, held = cut_places(
                    cut,
                    number=number,
                    tool=set_up.tools[cut.tool],
                    box=self.boxes[cut.tool],
                    corner=corner,
                    push_limit=set_up.machine.push_limit,
                )
                parts += found
                limited |= held
        if self.reading is not None and self.removal is not None:
            found, held = program_places(
                self.reading.moves,
                self.removal,
                self.groups,
                cutters={number: (set_up.tools[number], box) for number, box in self.boxes.items()},
                corner=corner,
                push_limit=set_up.machine.push_limit,
            )
            parts += found
            limited |= held
        parts += given_places(set_up.loads, start=len(set_up.cuts))
        notices = (_push_notice(),) if limited else ()
        return (joined(parts) if parts else None), notices

    def name(self, cut: int) -> str:
        """Return the name of a described cut or given load; empty for the program's."""
        cuts = self.set_up.cuts
        if cut < 0:
            return ""
        return cuts[cut].name if cut < len(cuts) else self.set_up.loads[cut - len(cuts)].name


def _push_notice() -> Notice:
    return Notice(
        code="push_limit",
        detail="the machine's own push limit holds the sideways load down: it would stall before the hold gives way",
        pointer="/machine/push_limit",
    )


def finding_notices(reading: Reading) -> list[Notice]:
    """Return what the reader found in a program."""
    return [
        Notice(code=f.code, detail=f.detail, pointer="/program/text", line=f.line, doubt=f.doubt)
        for f in reading.findings
    ]


def size_notices(moves: Moves, set_up: SetUp) -> list[Notice]:
    """Find a program in the other unit: its cutting extent is off from the stock's by about an inch's millimetres."""
    feed = (moves.kind == FEED) & moves.known
    if not feed.any():
        return []
    points = np.concatenate([moves.start[feed], moves.end[feed]])
    extent = float(np.ptp(points[:, :2], axis=0).max())
    size = max(set_up.stock.size[:2])
    for factor, words in ((INCH, "25.4 times as large as"), (1.0 / INCH, "25.4 times smaller than")):
        if 0.25 < extent / (factor * size) < 1.6 and not 0.25 < extent / size < 1.6:
            # What is wrong stands first: a summary has no room for the rest.
            detail = f"inch and mm may be swapped: the program's extent is about {words} what fits the stock"
            return [Notice(code="unit_mismatch", detail=detail, pointer="/program/text", doubt=True)]
    return []


def _stray_notices(moves: Moves, set_up: SetUp) -> list[Notice]:
    """Find a program of which much is fed beside the stock, at heights where it would cut: its zero lies elsewhere."""
    stock = set_up.stock
    top = stock.origin[2] + stock.thickness[1]
    rows = np.flatnonzero((moves.kind == FEED) & moves.known & (moves.start[:, 2] < top) & (moves.end[:, 2] < top))
    length = np.linalg.norm((moves.end - moves.start)[rows], axis=1)
    room = OVERRUN * max((tool.diameter for tool in set_up.tools.values()), default=0.0)
    low, high = stock.plan.min(axis=0) - room, stock.plan.max(axis=0) + room
    ends = np.stack([moves.start[rows], (moves.start + moves.end)[rows] / 2.0, moves.end[rows]])[..., :2]
    beside = ((ends < low) | (ends > high)).any(axis=2).mean(axis=0)
    if not len(rows) or beside @ length <= STRAY * length.sum():
        return []
    share = float(beside @ length / length.sum())
    detail = f"{share:.0%} of what is fed below the stock's top lies beside it: does the program's zero lie elsewhere?"
    line = int(moves.line[rows[np.argmax(beside > 0.0)]])
    return [Notice(code="beside_the_stock", detail=detail, pointer="/program/text", line=line, doubt=True)]


def refuse_too_many_lines(text: str, limits: Limits) -> None:
    """Refuse a program of more lines than the limit before any of it is read.

    Raises
    ------
    TooMuchWork
    """
    lines = max(text.count("\n"), text.count("\r")) + 1
    if lines > limits.program_lines:
        detail = f"the program has {lines} lines, more than {limits.program_lines}: split it"
        fault = Fault(
            pointer="/program/text", code="too_many_lines", detail=detail, limit=limits.program_lines, seen=lines
        )
        raise TooMuchWork([fault])


def _travel_notices(moves: Moves, set_up: SetUp) -> list[Notice]:
    """Find moves that the machine's axes cannot make, where it is known how far they reach."""
    envelope = set_up.machine.envelope
    if envelope is None:
        return []
    rows = np.nonzero((beyond_limits(moves, envelope=envelope) > TOUCH).any(axis=1))[0]
    if not len(rows):
        return []
    detail = f"a move ends beyond what the machine's axes reach ({len(rows)} such moves)"
    line = int(moves.line[rows[0]])
    return [Notice(code="outside_travel", detail=detail, pointer="/program/text", line=line, doubt=True)]


def _first_place_notices(moves: Moves, set_up: SetUp) -> list[Notice]:
    """Find a first rapid, from a place that is not known, that ends inside the stock, which nothing has cut yet."""
    leading = int(np.argmax(moves.known)) if moves.known.any() else 0
    if leading == 0 or moves.kind[leading - 1] != RAPID:
        return []
    x, y, z = moves.start[leading]
    tool = set_up.tools.get(int(moves.tool[leading]))
    height = set_up.stock.top - z
    if tool is None or height <= TOUCH:
        return []
    reach = cutting_radius(tool, height=height) - TOUCH
    if not shapely.dwithin(shapely.Point(x, y), shapely.Polygon(set_up.stock.plan), max(reach, 0.0)):
        return []
    detail = "the first rapid move ends inside uncut stock"
    line = int(moves.line[leading - 1])
    return [Notice(code="rapid_into_stock", detail=detail, pointer="/program/text", line=line, doubt=True)]


def _removal_notices(moves: Moves, removal: Removal) -> list[Notice]:
    found = []
    hits = np.nonzero(removal.rapid_hit)[0]
    if len(hits):
        detail = f"a rapid move goes through uncut stock ({len(hits)} such moves)"
        found.append(
            Notice(
                code="rapid_into_stock",
                detail=detail,
                pointer="/program/text",
                line=int(moves.line[hits[0]]),
                doubt=True,
            )
        )
    if not removal.cutting.any():
        found.append(
            Notice(
                code="no_cut",
                detail="no move of the program touches the stock: check the zero and the stock's origin",
                pointer="/program/text",
                doubt=True,
            )
        )
    return found


def _with_known_tools(moves: Moves, set_up: SetUp) -> Moves:
    """Return the moves, those of a tool that is not described as of unknown place: the reader has said so already."""
    return replace(moves, known=moves.known & np.isin(moves.tool, list(set_up.tools)))


def _boxes(set_up: SetUp) -> tuple[Mapping[int, Box], list[Notice]]:
    boxes = cutting_boxes(set_up)
    notices = cut_test_notices(set_up)
    if set_up.tools and not boxes:
        detail = f"no cutting coefficients are known for {set_up.stock.material.title}: give loads"
        notices.append(Notice(code="no_coefficients", detail=detail, pointer="/stock/material", doubt=True))
    return boxes, notices


def _skin(set_up: SetUp) -> float:
    """Return how far above the bed a cut still frees a part: by the thickest skin of any, and a little more. [m]"""
    skins = [skin_of(part) for part in set_up.parts]
    return max(skins, default=0.0) + THROUGH if any(skins) else 0.0


def job_of(set_up: SetUp, *, limits: Limits) -> Job:
    """Return what pulls at the stock of a set-up; a program is read and its stock removed once.

    Raises
    ------
    NothingToJudge
        If the document states neither cuts nor loads nor a program.
    TooMuchWork
        If the program has more lines or moves than the limit.
    """
    if not set_up.cuts and not set_up.loads and set_up.program is None:
        fault = Fault(
            pointer="",
            code="nothing_to_judge",
            detail="state cuts, loads or a program: something must pull at the stock",
        )
        raise NothingToJudge([fault])
    boxes, notices = _boxes(set_up)
    notices += described_implausible(set_up)
    reading: Reading | None = None
    removal: Removal | None = None
    groups: tuple[Alike, ...] = ()
    if set_up.program is not None:
        refuse_too_many_lines(set_up.program, limits)
        park = set_up.machine.park
        reading = read_program(
            set_up.program,
            max_moves=limits.program_moves,
            park=park,
            tool_numbers=tuple(set_up.tools),
            machine=machine_frame(set_up),
        )
        notices += finding_notices(reading)
        notices += size_notices(reading.moves, set_up)
        notices += _stray_notices(reading.moves, set_up)
        notices += _travel_notices(reading.moves, set_up)
        notices += _first_place_notices(reading.moves, set_up)
        reading = replace(reading, moves=_with_known_tools(reading.moves, set_up))
        removal = remove_stock(
            reading.moves, set_up.stock, set_up.bed, set_up.tools, max_cells=CELLS, skin=_skin(set_up)
        )
        notices += _removal_notices(reading.moves, removal)
        notices += program_implausible(reading.moves, removal, set_up)
        alikes = alike(reading.moves, removal, tools=set_up.tools)
        groups = tuple(replace(g, feed=g.feed * set_up.feed_override) for g in alikes if g.tool in boxes)
    return Job(set_up=set_up, boxes=boxes, reading=reading, removal=removal, groups=groups, notices=tuple(notices))
