"""What a program cuts, as the checks need it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.cutting.engagement import Engagement
from stillstock.engine.program.moves import Moves

__all__ = ["CuttingState", "Worked"]

#: A tool in one state of cutting: its number, engagement, feed [m/s] and spindle speed [rad/s].
CuttingState = tuple[int, Engagement, float, float]


@dataclass(frozen=True, kw_only=True)
class Worked:
    """How and where a program cuts.

    Attributes
    ----------
    states : sequence of CuttingState
    moves : Moves
    cutting : (n,) bool array
        Moves that remove anything.
    """

    states: Sequence[CuttingState]
    moves: Moves
    cutting: NDArray[np.bool_]

    def rows(self, tool: int) -> NDArray[np.bool_]:
        """Return which moves cut with a tool. (n,)"""
        found: NDArray[np.bool_] = self.cutting & self.moves.known & (self.moves.tool == tool)
        return np.asarray(found)
