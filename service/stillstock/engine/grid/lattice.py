"""Places of marks along an axis, reckoned in whole numbers so that nothing drifts.

One tick is 0.1 nm: both 0.001 mm (10,000 ticks) and 0.000001 in (254 ticks) are whole numbers of it, and so is every
fraction of an inch down to 1/128 (1,984,375 ticks). The thousandth line of a grid is as true as the first.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.set_up import FloatArray

__all__ = ["TICK", "Lattice", "lattice", "lattice_count", "metres", "ticks"]

TICK = 1e-10  # [m]


@dataclass(frozen=True, kw_only=True)
class Lattice:
    """Marks along one axis.

    Attributes
    ----------
    index : (n,) int array
        Number of each mark, 0 at the anchor. [-]
    tick : (n,) int array
        Its place. [0.1 nm]
    """

    index: NDArray[np.int64]
    tick: NDArray[np.int64]

    @property
    def place(self) -> FloatArray:
        """Places in the work frame, (n,). [m]"""
        return metres(self.tick)

    def is_major(self, every: int) -> NDArray[np.bool_]:
        """Return which marks are major ones, counted from the anchor; none if `every` is 0."""
        if every == 0:
            return np.zeros(len(self.index), dtype=bool)
        major: NDArray[np.bool_] = self.index % every == 0
        return major


def ticks(length: float) -> int:
    """Return a length in whole ticks.

    Examples
    --------
    >>> ticks(0.001 / 1000), ticks(0.0254 / 64)
    (10000, 3968750)
    """
    return round(length / TICK)


def metres(count: NDArray[np.int64]) -> FloatArray:
    """Return whole ticks as the nearest floats. [m]"""
    place: FloatArray = count / 1e10  # correctly rounded, as multiplying by TICK would not be
    return place


def lattice_count(low: float, *, high: float, pitch: float, anchor: float) -> int:
    """Return how many marks `lattice` would make, without making them. [-]"""
    first, last = _ends(ticks(low), high=ticks(high), pitch=ticks(pitch), anchor=ticks(anchor))
    return max(0, last - first + 1)


def lattice(low: float, *, high: float, pitch: float, anchor: float) -> Lattice:
    """Return all marks between two ends, both allowed.

    Parameters
    ----------
    low : float
        Least place. [m]
    high : float
        Greatest place. [m]
    pitch : float
        From mark to mark, at least one tick. [m]
    anchor : float
        Where mark 0 lies or would lie. [m]

    Returns
    -------
    Lattice
        In rising order; empty if no mark fits.

    Raises
    ------
    ValueError
        If the pitch is less than a tick: the document's check comes first.
    """
    step, start = ticks(pitch), ticks(anchor)
    first, last = _ends(ticks(low), high=ticks(high), pitch=step, anchor=start)
    index = np.arange(first, last + 1, dtype=np.int64)
    return Lattice(index=index, tick=start + index * step)


def _ends(low: int, *, high: int, pitch: int, anchor: int) -> tuple[int, int]:
    if pitch < 1:
        raise ValueError("a pitch of less than one tick")
    return -((anchor - low) // pitch), (high - anchor) // pitch
