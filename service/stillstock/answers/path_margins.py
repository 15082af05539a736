"""The margin of every stretch along which something pulls: a program's moves, described cuts, loads that were given."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from stillstock.answers.hold import Assessed
from stillstock.answers.move_margins import BEYOND, MoveMargins, load_factors
from stillstock.engine.mechanics.brackets import brackets_of
from stillstock.engine.mechanics.sweep import worst_of_sweep
from stillstock.engine.set_up import FloatArray, SetUp

__all__ = ["PathMargins", "cut_margins", "of_moves"]

IntArray = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class PathMargins:
    """Stretches in the order in which they are cut, each with the bounds of its load factor at typical numbers.

    Attributes
    ----------
    start, end : (n, 3) arrays
        [m]
    lower, upper : (n,) arrays
        [-]
    line : (n,) int array
        Of the program; 0 for what is described.
    cut : (n,) int array
        Number of the described cut, then of the given load; -1 for the program's.
    """

    start: FloatArray
    end: FloatArray
    lower: FloatArray
    upper: FloatArray
    line: IntArray
    cut: IntArray

    def __len__(self) -> int:
        return len(self.lower)

    def only(self, rows: NDArray[np.bool_]) -> "PathMargins":
        """Return some of the stretches."""
        return PathMargins(**{item.name: getattr(self, item.name)[rows] for item in fields(self)})

    def beside(self, other: "PathMargins") -> "PathMargins":
        """Return these stretches and then others."""
        pairs = {item.name: (getattr(self, item.name), getattr(other, item.name)) for item in fields(self)}
        return PathMargins(**{name: np.concatenate(pair) for name, pair in pairs.items()})

    def least_by(self, number: IntArray) -> tuple[IntArray, FloatArray, FloatArray]:
        """Return each number that stretches have, ascending, with the least bounds of its stretches."""
        names, which = np.unique(number, return_inverse=True)
        lower, upper = np.full(len(names), np.inf), np.full(len(names), np.inf)
        np.minimum.at(lower, which, self.lower)
        np.minimum.at(upper, which, self.upper)
        return names, lower, upper


def of_moves(margins: MoveMargins) -> PathMargins:
    """Return the stretches of a program's moves."""
    return PathMargins(
        start=margins.start,
        end=margins.end,
        lower=margins.lower,
        upper=margins.upper,
        line=margins.line,
        cut=np.full(len(margins), -1),
    )


def _stretches(set_up: SetUp) -> tuple[FloatArray, FloatArray, IntArray]:
    """Return start, end and number of each stretch of cuts and loads; a single place ends as it starts."""
    paths = [cut.path for cut in set_up.cuts] + [np.array([load.at], dtype=float) for load in set_up.loads]
    start = [path[:-1] if len(path) > 1 else path for path in paths]
    end = [path[1:] if len(path) > 1 else path for path in paths]
    number = np.repeat(np.arange(len(paths)), [len(each) for each in start])
    return np.concatenate(start), np.concatenate(end), number


def cut_margins(bodies: Sequence[Assessed], *, set_up: SetUp, required: float, budget: int) -> PathMargins:
    """Return the margin of every stretch of the described cuts and of every given load; there must be one at least.

    Parameters
    ----------
    bodies : sequence of Assessed
        The whole stock, and each part that comes free, at typical numbers.
    set_up : SetUp
    required : float
        Factor that is asked for. [-]
    budget : int
        Linear programmes for all of them. [-]

    Notes
    -----
    The gauge is convex in the place at which a force attacks, so that along a straight stretch it is greatest at one of
    its ends: both were judged, of a stretch that acts on a part only here and there those of what acts on it.
    """
    start, end, number = _stretches(set_up)
    least, most = np.zeros(len(number)), np.zeros(len(number))
    judged = np.zeros(len(number), dtype=bool)
    for body in bodies:
        loads = body.loads.only(body.loads.cut >= 0)
        if not len(loads):
            continue
        worst = worst_of_sweep(body.capacity, loads.sweep)
        found = brackets_of(body.capacity, loads.sweep, worst, enough=1.0 / (BEYOND * required), budget=budget)
        budget -= found.programmes
        row = np.searchsorted(number, loads.cut) + loads.stretch
        np.maximum.at(least, row, found.lower)
        np.maximum.at(most, row, found.upper)
        judged[row] = True
    lower = load_factors(most[judged])
    return PathMargins(
        start=start[judged],
        end=end[judged],
        lower=lower,
        upper=np.where(lower > BEYOND * required, np.inf, load_factors(least[judged])),
        line=np.zeros(int(judged.sum()), dtype=np.int64),
        cut=number[judged],
    )
