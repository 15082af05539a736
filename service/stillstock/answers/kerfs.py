"""Kerfs that a program opens through the stock, told to the vacuum that they let down."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stillstock.answers.job import Job
from stillstock.engine.program.moves import FEED
from stillstock.engine.set_up import FloatArray, SetUp

__all__ = ["IntArray", "openings", "with_open_kerfs"]

IntArray = NDArray[np.int64]

#: How far above the bed a cut may stay and still count as through. [m]
THROUGH = 1e-5


def openings(job: Job) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return of each move that cuts through to the bed its length, its tool's width and its line, in order. [m], [m]"""
    if job.reading is None or job.removal is None:
        return np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.int64)
    moves, removal = job.reading.moves, job.removal
    through = removal.cutting & (moves.kind == FEED) & (removal.through >= -THROUGH)
    along = np.hypot(*(moves.end - moves.start)[:, :2].T) * np.ptp(removal.span, axis=1)
    through &= along > 0.0
    tools = job.set_up.tools
    width = [tools[int(number)].diameter if int(number) in tools else 0.0 for number in moves.tool[through]]
    return along[through], np.array(width), moves.line[through]


def _kerf(job: Job) -> tuple[float, float]:
    """Return the length that the program's moves cut through to the bed, and its mean width. [m], [m]"""
    along, width, _ = openings(job)
    length = float(along.sum())
    return length, float(along @ width) / length if length > 0.0 else 0.0


def with_open_kerfs(set_up: SetUp, job: Job) -> SetUp:
    """Return a set-up whose pumps know the kerf that the program opens, where the caller has not stated it."""
    length, width = _kerf(job)
    if length <= 0.0 or width <= 0.0:
        return set_up
    holders = tuple(
        replace(holder, kerf=length, kerf_width=width)
        if getattr(holder, "balanced", lambda: False)() and holder.kerf is None
        else holder
        for holder in set_up.holders
    )
    return replace(set_up, holders=holders)
