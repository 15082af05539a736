"""Toes and heads that stand on a place which the job cuts away."""

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from stillstock.answers.job import Job
from stillstock.answers.notices import Notice
from stillstock.engine.cutting.engagement import cutting_radius
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.program.moves import Moves
from stillstock.engine.set_up import FloatArray, SetUp, Tool

__all__ = ["cut_away"]


def cut_away(set_up: SetUp, contacts: Contacts, job: Job) -> Iterator[Notice]:
    """Give a notice for each holder that presses on a place which the job cuts: first by the program, then by cuts.

    Such a clamp loses what it presses on, and the tool meets it: the set-up does not hold, whatever the others do.
    """
    faces = [(push.holder, push.toe) for push in contacts.pushes if push.toe is not None]
    faces += [(pin.holder, pin.head) for pin in contacts.pins if pin.head is not None]
    for holder, face in faces:
        what = "head" if any(pin.holder == holder for pin in contacts.pins) else "toe"
        kind = set_up.holders[holder].kind.replace("_", " ")
        line = _first_line(shapely.Polygon(face), job)
        cut = "" if line else _first_cut(shapely.Polygon(face), set_up)
        if line or cut:
            by = "the program" if line else cut
            detail = f"{by} cuts away what the {what} of this {kind} presses on: it loses its hold there"
            pointer = f"/holders/{holder}"
            yield Notice(code="cut_away", detail=detail, pointer=pointer, line=line, doubt=True, fails=True)


def _first_line(face: shapely.Polygon, job: Job) -> int:
    """Return the line of the program that first cuts into a face, 0 if none does."""
    if job.reading is None or job.removal is None:
        return 0
    moves = job.reading.moves
    rows = np.flatnonzero(job.removal.cutting & moves.known)
    low, high = np.array(face.bounds[:2]), np.array(face.bounds[2:])
    widest = max((tool.diameter for tool in job.set_up.tools.values()), default=0.0) / 2.0
    ends = np.stack([moves.start[rows], moves.end[rows]])
    near = np.all((ends.max(axis=0)[:, :2] >= low - widest) & (ends.min(axis=0)[:, :2] <= high + widest), axis=1)
    rows = rows[near]
    hits = rows[shapely.dwithin(_cutting_part(moves, job, rows), face, _reach(moves, job, rows))]
    return int(moves.line[hits[0]]) if len(hits) else 0


def _cutting_part(moves: Moves, job: Job, rows: NDArray[np.int64]) -> NDArray[np.object_]:
    """Return the stretch in plan along which each move cuts."""
    removal = job.removal
    span = np.zeros((len(rows), 2)) if removal is None else removal.span[rows]
    start, step = moves.start[rows, :2], (moves.end - moves.start)[rows, :2]
    ends = np.stack([start + span[:, :1] * step, start + span[:, 1:] * step], axis=1)
    lines: NDArray[np.object_] = shapely.linestrings(ends)
    return lines


def _reach(moves: Moves, job: Job, rows: NDArray[np.int64]) -> FloatArray:
    """Return the radius with which each move cuts the stock's top face; a little less, so that a touch is none. [m]"""
    tools, top = job.set_up.tools, job.set_up.stock.top
    tips = np.minimum(moves.start[rows, 2], moves.end[rows, 2])
    radii = [
        _radius(tools[int(number)], top - tip) if int(number) in tools else 0.0
        for number, tip in zip(moves.tool[rows], tips, strict=True)
    ]
    return np.array(radii)


def _radius(tool: Tool, depth: float) -> float:
    return cutting_radius(tool, height=depth) * (1.0 - 1e-6) if depth > 0.0 else 0.0


def _first_cut(face: shapely.Polygon, set_up: SetUp) -> str:
    """Return the name of the described cut that first cuts into a face, empty if none does."""
    for cut in set_up.cuts:
        tool = set_up.tools[cut.tool]
        reach = _radius(tool, set_up.stock.top - float(cut.path[:, 2].min()))
        plan = cut.path[:, :2]
        way = shapely.LineString(plan) if len(plan) > 1 else shapely.Point(plan[0])
        if reach > 0.0 and shapely.dwithin(way, face, reach):
            return cut.name
    return ""
