"""How long a tool path takes on a machine that has to speed up and slow down."""

import math
from itertools import pairwise

import numpy as np

from stillstock.engine.grid.tool_path import Pass, Plunge, Stroke, ToolPath
from stillstock.engine.set_up import FloatArray

__all__ = ["cutting_time", "move_times", "path_lengths", "peck_levels"]


def move_times(length: FloatArray, *, rate: float, acceleration: float) -> FloatArray:
    r"""Return the time of moves that start and end at rest.

    Parameters
    ----------
    length : (n,) array
        Of each move. [m]
    rate : float
        Wanted along the move. [m/s]
    acceleration : float
        Of the axes. [m/s2]

    Returns
    -------
    (n,) array
        Time of each. [s]

    Notes
    -----
    Constant acceleration: :math:`L / v + v / a` where the rate is reached, that is from :math:`L = v^2 / a` on, and
    :math:`2 \sqrt{L / a}` below. Controllers that look ahead do not stop between moves that go on nearly straight, so
    the true time of a bent path is a little less.
    """
    slow = 2.0 * np.sqrt(length / acceleration)
    fast = length / rate + rate / acceleration
    return np.where(length * acceleration >= rate**2, fast, slow)


def path_lengths(path: ToolPath) -> dict[str, FloatArray]:
    """Return the lengths of all moves by kind: ``cut``, ``plunge``, ``rapid`` (level) and ``rapid_z``. [m]"""
    moves: dict[str, list[float]] = {"cut": [], "plunge": [], "rapid": [], "rapid_z": []}
    place = (0.0, 0.0)
    for item in path.passes:
        first, last = _ends(item)
        moves["rapid"].append(math.dist(first, place))
        for kind, lengths in _moves(item, path.clearance).items():
            moves[kind] += lengths
        place = last
    return {kind: np.array(lengths) for kind, lengths in moves.items()}


def cutting_time(
    path: ToolPath, *, lengths: dict[str, FloatArray], rapid: float, rapid_z: float, acceleration: float
) -> float:
    """Return the time of a tool path, from the program's zero to the last lift.

    Parameters
    ----------
    path : ToolPath
        With its feeds.
    lengths : dict of str to (n,) array
        Of its moves, from `path_lengths`. [m]
    rapid, rapid_z : float
        Rates of level and of upright rapid moves. [m/s]
    acceleration : float
        Of the axes. [m/s2]

    Returns
    -------
    float
        Without start-up of the spindle. [s]
    """
    rates = {"cut": path.feed, "plunge": path.plunge, "rapid": rapid, "rapid_z": rapid_z}
    times = [move_times(moves, rate=rates[kind], acceleration=acceleration).sum() for kind, moves in lengths.items()]
    return float(sum(times))


def _ends(item: Pass) -> tuple[tuple[float, float], tuple[float, float]]:
    if isinstance(item, Stroke):
        (xa, ya, _), (xb, yb, _) = item.points[0].tolist(), item.points[-1].tolist()
        return (xa, ya), (xb, yb)
    if isinstance(item, Plunge):
        return item.at, item.at
    x, y = item.at
    return (x + item.radii[0], y), (x + item.radii[-1], y)


def _moves(item: Pass, clearance: float) -> dict[str, list[float]]:
    if isinstance(item, Stroke):
        rows = item.points.tolist()  # a stroke has few points, and arrays of few are slow
        down, up = clearance - rows[0][2], clearance - rows[-1][2]
        return {"cut": [math.dist(*pair) for pair in pairwise(rows)], "plunge": [down], "rapid_z": [up]}
    depth = clearance - item.bottom
    if isinstance(item, Plunge):
        return _pecks(item, clearance)
    turns = [float(np.hypot(2.0 * np.pi * r, (item.top - item.bottom) / item.turns)) for r in item.radii]
    cut = [turn for r, turn in zip(item.radii, turns, strict=True) for turn in [turn] * item.turns + [2.0 * np.pi * r]]
    hops = np.diff(item.radii).tolist()
    count = len(item.radii)
    return {"cut": cut, "plunge": [clearance - item.top] * count, "rapid_z": [depth] * count, "rapid": hops}


def _pecks(item: Plunge, clearance: float) -> dict[str, list[float]]:
    levels = peck_levels(item)
    downs, ups, reached = [], [], clearance
    for level in levels:
        if reached < clearance:
            ups.append(clearance - reached)  # the rapid back down to where the last peck ended
        downs.append(reached - level)
        ups.append(clearance - level)
        reached = level
    return {"plunge": downs, "rapid_z": ups}


def peck_levels(item: Plunge) -> list[float]:
    """Return the depths reached peck by peck, in even steps from the face of the board at 0. [m]"""
    return [item.bottom * (peck + 1) / item.pecks for peck in range(item.pecks)]
