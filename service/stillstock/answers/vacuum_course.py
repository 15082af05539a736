"""The vacuum that a job works with, how it falls as the kerfs open, and the smallest part that it holds."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillstock.answers.job import Job
from stillstock.answers.kerfs import IntArray, openings
from stillstock.engine.checks.check import Check
from stillstock.engine.holding.methods.vacuum import Vacuum
from stillstock.engine.holding.vacuum_balance import described_kerf
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["VacuumCourse", "VacuumPoint", "vacuum_courses"]

#: Points of a course after its first, evenly along the kerf. [-]
POINTS = 10


@dataclass(frozen=True, kw_only=True)
class VacuumPoint:
    """Vacuum once some of the kerf is open.

    Attributes
    ----------
    kerf : float
        Length that is open. [m]
    cut : str
        Described cut that opened the last of it; empty for none.
    line : int
        Line of the program that did; 0 for none.
    vacuum : Triple
        [Pa]
    """

    kerf: float
    cut: str
    line: int
    vacuum: Triple


@dataclass(frozen=True, kw_only=True)
class VacuumCourse:
    """What one vacuum does during the job.

    Attributes
    ----------
    holder : int
        Its number.
    working : Triple
        The least that the job comes to, with which the margin is reckoned. [Pa]
    course : tuple of VacuumPoint
        How it falls, where it comes from pump and leaks; empty where a gauge or the table stands for it.
    part_area, part_area_at_worst : float or None
        Area that a part needs to be held by it alone: typically with the factor that is asked for, and with the low
        ends; None where other holders help or no push is known. [m2]
    """

    holder: int
    working: Triple
    course: tuple[VacuumPoint, ...]
    part_area: float | None
    part_area_at_worst: float | None


def vacuum_courses(
    stated: SetUp, cut: SetUp, job: Job, checks: Sequence[Check], tables: Tables
) -> Iterator[VacuumCourse]:
    """Give the course of each vacuum of a set-up.

    Parameters
    ----------
    stated : SetUp
        As the caller stated it.
    cut : SetUp
        The same with the kerfs that the program opens.
    job : Job
    checks : sequence of Check
        Those of the answer, among them the smallest part of each suction.
    tables : Tables
    """
    for number, holder in enumerate(cut.holders):
        if not isinstance(holder, Vacuum):
            continue
        part = next((check for check in checks if check.name == "smallest_part" and check.holder == number), None)
        steps = _steps(stated, stated.holders[number], job) if holder.balanced() else ()
        yield VacuumCourse(
            holder=number,
            working=holder.vacuum(cut, tables, kerf=holder.open_kerf(cut)),
            course=tuple(
                VacuumPoint(kerf=length, cut=name, line=line, vacuum=holder.vacuum(cut, tables, kerf=(length, width)))
                for length, width, name, line in steps
            ),
            part_area=None if part is None else part.typical_ratio * part.limit,
            part_area_at_worst=None if part is None else part.value,
        )


Step = tuple[float, float, str, int]


def _steps(set_up: SetUp, holder: Vacuum, job: Job) -> tuple[Step, ...]:
    """Return length, width, cut and line of the kerf at some points of the job. [m], [m]"""
    if holder.kerf is not None:
        return ((0.0, holder.kerf_width, "", 0), (holder.kerf, holder.kerf_width, "", 0))
    lengths, widths, lines = openings(job)
    if len(lengths) and lengths.sum() > 0.0:
        return _of_program(lengths, widths, lines)
    ends = np.unique(np.linspace(0, len(set_up.cuts), POINTS + 1).round().astype(int))
    kerfs = [(end, *described_kerf(replace(set_up, cuts=set_up.cuts[:end]))) for end in ends.tolist()]
    return tuple((length, width, set_up.cuts[end - 1].name if end else "", 0) for end, length, width in kerfs)


def _of_program(lengths: FloatArray, widths: FloatArray, lines: IntArray) -> tuple[Step, ...]:
    opened, area = np.cumsum(lengths), np.cumsum(lengths * widths)
    rows = np.unique(np.searchsorted(opened, np.linspace(0.0, 1.0, POINTS + 1)[1:] * opened[-1] * (1.0 - 1e-12)))
    reached = ((float(opened[k]), float(area[k] / opened[k]), "", int(lines[k])) for k in rows.tolist())
    return ((0.0, float(widths[0]), "", 0), *reached)
