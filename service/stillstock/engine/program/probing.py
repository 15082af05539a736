"""Probing moves: where they end, and what a zero that is set by them says.

G38.2 after NISTIR 6556, 2000, section 3.5.7 (from memory): towards the stated place until the probe trips, an error if
it never does. That G38.3 goes on to its end without one, and G38.4 and G38.5 move away until touch is lost, is common
practice, no source.
"""

import math
from collections.abc import Sequence

from stillstock.engine.program.findings import FindingList
from stillstock.engine.program.machine_frame import Point, Touch, touch_unknown
from stillstock.engine.program.track import Track

__all__ = ["PLATE", "Probing"]

PLATE = 1e-3
"""Offset between surface and probed zero from which a plate must lie between them: more than a board scatters. [m]"""


MOST_UPRIGHT = 20_000
MOST_ASLANT = 200
"""Probing moves straight up or down, and others, of which it is worked out where they touch. [-]"""


class Probing:
    """Where probing moves end, and the axes along which the tool has probed.

    Attributes
    ----------
    touch : Touch
    """

    def __init__(self, *, touch: Touch, track: Track, findings: FindingList) -> None:
        self.touch = touch
        self._track = track
        self._findings = findings
        self._towards: dict[int, float] = {}
        self._row = -1
        self._asked = {True: 0, False: 0}

    def end(
        self, number: int, code: int, *, tool: int, start: Sequence[float], target: Sequence[float]
    ) -> Sequence[float]:
        """Return where the move of a probing line ends, which is the next row of the track. [m]"""
        if code in (384, 385):
            # It stands on the surface already, and stops as soon as it has left it.
            return start
        self._row = len(self._track)
        self._towards.update({k: target[k] - start[k] for k in range(3) if target[k] != start[k]})
        if not math.isfinite(sum(start) + sum(target)):
            return touch_unknown(_point(start), _point(target), tool)
        found = self._touched(number, _point(start), _point(target), tool)
        if found is not None:
            return found
        said = "a probing move touches nothing on its way"
        if code == 382:
            self._findings.add(number, "probe_misses", f"{said}: the machine stops with an alarm", doubt=True)
        else:
            self._findings.add(number, "probe_misses", f"{said} and goes to its end", doubt=False)
        return target

    def _touched(self, number: int, start: Point, target: Point, tool: int) -> Point | None:
        """Return where a move touches, for as many as one request may cost."""
        upright = start[:2] == target[:2]
        self._asked[upright] += 1
        if self._asked[upright] <= (MOST_UPRIGHT if upright else MOST_ASLANT):
            return self.touch(start, target, tool)
        detail = f"of probing moves the first {MOST_UPRIGHT} straight down and {MOST_ASLANT} others were followed"
        self._findings.add(number, "probes", detail, doubt=True)
        return touch_unknown(start, target, tool)

    def sets_zero(self, axis: int) -> bool:
        """Tell whether a zero that is set along an axis rests on probing."""
        return axis in self._towards

    def place(self, number: int, axis: int, *, at: float, place: float) -> float:
        """Return where the tool stands along an axis once its probed zero is set. [m]

        Parameters
        ----------
        number : int
            Line.
        axis : int
        at : float
            Where it was taken to stand, on the surface; NaN if that is not known. [m]
        place : float
            Where the new coordinate says that it stands in the frame of the set-up. [m]

        Notes
        -----
        The caller states the set-up in the frame that the program has after probing, so what the program says of the
        place counts. A surface nearer than the set-up has it is a plate that lay between; one farther contradicts it.
        """
        sense = math.copysign(1.0, self._towards[axis])
        before = -(place - at) * sense
        if before > PLATE:
            detail = f"the probe was taken to touch a plate {before * 1e3:.4g} mm thick on what the set-up states"
            self._findings.add(number, "probe_plate", detail, doubt=False)
        elif before < -PLATE:
            detail = (
                f"the zero set by probing puts the surface {-before * 1e3:.4g} mm beyond where the set-up has it: "
                "check the stock's origin, the plate's thickness and the zero"
            )
            self._findings.add(number, "probe_zero", detail, doubt=True)
        self._track.amend(self._row, axis, place)
        return place


def _point(values: Sequence[float]) -> Point:
    x, y, z = values
    return x, y, z
