"""Plunges and starts of cuts that stand too near a holder for the tool's own radius and run-out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stillstock.engine.clearance.margins import Margins
from stillstock.engine.clearance.plan import segment_distance
from stillstock.engine.clearance.swept import TOUCH
from stillstock.engine.holding.body import Body
from stillstock.engine.program.moves import FEED, Moves
from stillstock.engine.set_up import Tool

__all__ = ["LeadIn", "lead_ins"]


@dataclass(frozen=True, kw_only=True)
class LeadIn:
    """A start of a cut that leaves less room than the margin.

    Attributes
    ----------
    line, move : int
    body : Body
        What it is too near to.
    gap : float
        From the turning edge, run-out included, to the body in plan; negative where they meet. [m]
    wanted : float
        Margin that it should have. [m]
    """

    line: int
    move: int
    body: Body
    gap: float
    wanted: float


def lead_ins(moves: Moves, *, tools: Mapping[int, Tool], bodies: Sequence[Body], margins: Margins) -> list[LeadIn]:
    """Find the plunges, and first moves after a rapid, that come too near a body at their own depth.

    Returns
    -------
    list of LeadIn
        By line; of one line and holder the nearest.

    Notes
    -----
    The edge turns on a circle of the tool's radius and half its total indicated run-out. A body counts if it reaches
    above the tip on that move.
    """
    step = moves.end - moves.start
    upright = (step[:, 2] < 0.0) & (np.hypot(step[:, 0], step[:, 1]) <= TOUCH)
    feed = (moves.kind == FEED) & moves.known
    opens = feed & (upright | ~np.concatenate(([False], feed[:-1])))
    nearest: dict[tuple[int, int], LeadIn] = {}
    for number, tool in tools.items():
        index = np.flatnonzero(opens & (moves.tool == number))
        start, end = moves.start[index], moves.end[index]
        low = np.minimum(start[:, 2], end[:, 2])
        radius = (tool.diameter + tool.run_out) / 2.0
        for body in bodies:
            away = segment_distance(start[:, :2], end[:, :2], core=body.core) - body.radius - radius
            wanted = margins.around(body)
            for k in np.flatnonzero((away < wanted - TOUCH) & (low < body.high)).tolist():
                move = int(index[k])
                key, gap = (int(moves.line[move]), body.holder), float(away[k])
                if key not in nearest or gap < nearest[key].gap:
                    nearest[key] = LeadIn(line=key[0], move=move, body=body, gap=gap, wanted=wanted)
    return sorted(nearest.values(), key=lambda one: one.move)
