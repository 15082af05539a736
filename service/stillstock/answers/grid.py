"""The spoilboard: pattern, holes and skim, with the programs that cut them."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillstock.answers.grid_drawing import board_drawing, cut_layers
from stillstock.answers.grid_faults import check_moves, check_request
from stillstock.answers.grid_layout import Layout
from stillstock.answers.grid_request import GridRequest, Program
from stillstock.answers.grid_words import cautions, hole_notes, line_notes, summary
from stillstock.engine.drawing import Drawing
from stillstock.engine.grid.cutting_time import cutting_time, path_lengths
from stillstock.engine.grid.insert_hole import HoleCut
from stillstock.engine.grid.marks import BrokenLine, LeftOut
from stillstock.engine.grid.order import travel, travel_floor
from stillstock.engine.grid.passes import bore_moves, bore_passes, line_passes
from stillstock.engine.grid.rates import BORING, ENGRAVING, SURFACING, rates_used
from stillstock.engine.grid.request import Mark, SkimWanted
from stillstock.engine.grid.skim import row_count, skim_strokes
from stillstock.engine.grid.tool_path import Pass, Plunge, ToolPath
from stillstock.engine.grid.v_groove import edge_speed, skims_outlived
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.scatter import Grade, Triple

__all__ = ["GridAnswer", "Groove", "Job", "grid"]

#: Where the caller says nothing (common practice, no source). [m/s2], [m]
_ACCELERATION = Triple(
    low=0.1,
    typical=0.3,
    high=1.0,
    what="acceleration of the axes",
    source="common_practice",
    grade=Grade.PRACTICE,
    dimension="acceleration",
)
_SKIM = Triple(
    low=0.2e-3,
    typical=0.3e-3,
    high=0.5e-3,
    what="depth of a usual skim",
    source="common_practice",
    grade=Grade.PRACTICE,
    dimension="length",
)


@dataclass(frozen=True, kw_only=True)
class Groove:
    """The line that the V-bit makes.

    Attributes
    ----------
    depth, width, major_depth, major_width : float
        [m]
    edge_speed : float
        At the face of the board, where the edge runs fastest. [m/s]
    tip_speed : float
        At the tip. [m/s]
    chip : float
        Feed of one tooth. [m]
    skims : int
        Skims that leave something of a fine line. [-]
    """

    depth: float
    width: float
    major_depth: float
    major_width: float
    edge_speed: float
    tip_speed: float
    chip: float
    skims: int


@dataclass(frozen=True, kw_only=True)
class Job:
    """One program: its path, time [s] and the lengths of its moves [m]."""

    program: Program
    path: ToolPath
    time: float
    lengths: dict[str, float]


@dataclass(frozen=True, kw_only=True)
class GridAnswer:
    """All that is to be said of a spoilboard.

    Attributes
    ----------
    asked : GridRequest
    summary : str
    drawing : Drawing
        All geometry; also what is not cut.
    cut_layers : dict of str to float
        Depth of every layer that is cut. [m]
    marks : dict of str to int
        How many of each kind are cut. [-]
    groove : Groove or None
    hole : HoleCut or None
    hole_skims : int or None
        Skims until what is sunk in the holes is reached. [-]
    board_skims : int
        Skims until the board is changed. [-]
    broken, left_out : tuples
    dropped : int
        Pieces too short to cut. [-]
    jobs : tuple of Job
    chosen : Job
        Whose program is wanted as RS-274.
    hole_travel, hole_travel_floor : float
        Way between holes, and a length below which no order can be. [m]
    assumptions : tuple of Triple
    cautions : tuple of str
    """

    asked: GridRequest
    summary: str
    drawing: Drawing
    cut_layers: dict[str, float]
    marks: dict[str, int]
    groove: Groove | None
    hole: HoleCut | None
    hole_skims: int | None
    board_skims: int
    broken: tuple[BrokenLine, ...]
    left_out: tuple[LeftOut, ...]
    dropped: int
    jobs: tuple[Job, ...]
    chosen: Job
    hole_travel: float
    hole_travel_floor: float
    assumptions: tuple[Triple, ...]
    cautions: tuple[str, ...]


def grid(asked: GridRequest) -> GridAnswer:
    """Return the spoilboard that is asked for.

    Raises
    ------
    TooMuchWork
        If it would have more marks than the limit.
    ImpossibleSetUp
        If it cannot be cut.
    """
    check_request(asked)
    work = Layout(asked)
    work.mark_lines()
    work.mark_points()
    if work.nothing_left():
        detail = "the keep-outs and their clearances leave no mark on the table"
        raise ImpossibleSetUp([Fault(pointer="/keep_outs", code="nothing_left", detail=detail)])
    return _answer(work, _jobs(work))


def _jobs(work: Layout) -> tuple[Job, ...]:
    asked, jobs = work.asked, []
    dots: list[Pass] = [Plunge(at=(x, y), bottom=-asked.depth, step=asked.depth) for x, y in work.dots.tolist()]
    engraving = [*line_passes(work.cuts), *dots]
    if engraving:
        rates, assumed = rates_used(asked.engraving, usual=ENGRAVING)
        work.assumptions += assumed
        tool = f"V-bit {math.degrees(asked.bit.angle):.4g} deg, {asked.length(asked.bit.diameter)}"
        jobs.append(_job(work, Program.LINES, engraving, (tool, rates, line_notes(asked, work.width))))
    tool_diameter = asked.end_mill.diameter
    check_moves("/end_mill", sum(_moves_of_bores(work).values()))
    boring = bore_passes(work.bores, tool=tool_diameter)
    if boring:
        rates, assumed = rates_used(asked.boring, usual=BORING)
        work.assumptions += assumed
        tool = f"end mill {asked.length(tool_diameter)}, {asked.end_mill.flutes} flutes"
        jobs.append(_job(work, Program.HOLES, boring, (tool, rates, hole_notes(asked, work.hole))))
    if asked.skim:
        rates, assumed = rates_used(asked.facing, usual=SURFACING)
        work.assumptions += assumed
        check_moves("/skim", _skim_rows(asked, asked.skim))
        strokes = skim_strokes(asked.table.box, wanted=asked.skim)
        notes = (f"{asked.length(asked.skim.depth)} off the whole board in {asked.skim.passes} passes",)
        jobs.append(
            _job(work, Program.SKIM, strokes, (f"surfacing cutter {asked.length(asked.skim.cutter)}", rates, notes))
        )
    return tuple(jobs)


def _moves_of_bores(work: Layout) -> dict[HoleCut, int]:
    counts = Counter(bore.cut for bore in work.bores)
    return {cut: count * bore_moves(cut, tool=work.asked.end_mill.diameter) for cut, count in counts.items()}


def _skim_rows(asked: GridRequest, skim: SkimWanted) -> int:
    return skim.passes * row_count(min(asked.table.size), cutter=skim.cutter, stepover=skim.stepover)


def _job(
    work: Layout, program: Program, passes: Sequence[Pass], how: tuple[str, dict[str, float], tuple[str, ...]]
) -> Job:
    asked, (tool, rates, notes) = work.asked, how
    acceleration = _ACCELERATION.typical if asked.acceleration is None else asked.acceleration
    path = ToolPath(
        title=f"{asked.title}: {program.value}",
        tool=tool,
        zero="X and Y at the work zero of the drawing, Z on the face of the board",
        clearance=asked.clearance,
        passes=tuple(passes),
        speed=rates["speed"],
        feed=rates["feed"],
        plunge=rates["plunge"],
    )
    lengths = path_lengths(path)
    time = cutting_time(path, lengths=lengths, rapid=asked.rapid, rapid_z=asked.rapid_z, acceleration=acceleration)
    minutes = f"about {time / 60.0:.1f} min without start-up"
    path = replace(path, notes=(*notes, minutes))
    return Job(
        program=program,
        path=path,
        time=time,
        lengths={kind: float(moves.sum()) for kind, moves in lengths.items()},
    )


def _answer(work: Layout, jobs: tuple[Job, ...]) -> GridAnswer:
    asked = work.asked
    if asked.acceleration is None:
        work.assumptions.append(_ACCELERATION)
    if asked.skim_depth is None and asked.skim is None:
        work.assumptions.append(_SKIM)
    chosen = next((job for job in jobs if asked.program in (None, job.program)), None)
    if chosen is None:
        detail = "the keep-outs leave nothing of the program that is wanted"
        raise ImpossibleSetUp([Fault(pointer="/program", code="nothing_left", detail=detail)])
    skim = asked.skim_depth or (asked.skim.depth if asked.skim else _SKIM.typical)
    hole_skims = skims_outlived(asked.hole.sunk, skim=skim) if asked.hole else None
    stops = np.array([bore.at for bore in work.bores]).reshape(-1, 2)
    said = cautions(asked, work.grid, work.hole, work.dropped)
    return GridAnswer(
        asked=asked,
        summary=summary(asked, work.marks, jobs[0].time if len(jobs) == 1 else sum(job.time for job in jobs)),
        drawing=board_drawing(work),
        cut_layers=cut_layers(work),
        marks=work.marks,
        groove=_groove(work, skim) if asked.engraves else None,
        hole=work.hole if asked.pattern.mark is Mark.HOLES else None,
        hole_skims=hole_skims,
        board_skims=max(0, math.floor(round((asked.table.thickness - asked.table.least_thickness) / skim, 6))),
        broken=tuple(work.broken),
        left_out=tuple(work.left_out),
        dropped=work.dropped,
        jobs=jobs,
        chosen=chosen,
        hole_travel=travel(np.repeat(stops[:, None], 2, axis=1), start=(0.0, 0.0)),
        hole_travel_floor=travel_floor(stops, start=(0.0, 0.0)),
        assumptions=tuple(work.assumptions),
        cautions=said,
    )


def _groove(work: Layout, skim: float) -> Groove:
    asked = work.asked
    rates, _ = rates_used(asked.engraving, usual=ENGRAVING)
    turns = rates["speed"] / (2.0 * math.pi)
    return Groove(
        depth=asked.depth,
        width=work.width,
        major_depth=asked.major_depth,
        major_width=work.major_width,
        edge_speed=edge_speed(work.width, speed=rates["speed"]),
        tip_speed=edge_speed(asked.bit.tip, speed=rates["speed"]),
        chip=rates["feed"] / (turns * asked.bit.flutes),
        skims=skims_outlived(asked.depth, skim=skim),
    )
