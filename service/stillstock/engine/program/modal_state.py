"""What stays in force from line to line: units, plane, modes, feed, speed, tool and the zero of the program.

Defaults and meanings after T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3",
NISTIR 6556, 2000, sections 3.5 to 3.7 (from memory).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

__all__ = ["INCH", "MILLIMETRE", "OFFSET_WORDS", "PLANES", "ModalState", "WorkOffsets"]

INCH = 0.0254
"""[m]"""

MILLIMETRE = 0.001
"""[m]"""

OFFSET_WORDS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
"""Work offsets in the order of the P word of G10."""

PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
"""Two axes along the plane and its normal, right-handed: G18 is the plane ZX seen from +Y, not XZ."""

_UNKNOWN = [math.nan, math.nan, math.nan]


@dataclass(kw_only=True)
class ModalState:
    """Modal words in force.

    Attributes
    ----------
    unit : float
        Length of a program unit. [m]
    unit_said : bool
        True once G20 or G21 was read.
    absolute, absolute_centres : bool
        G90 and G90.1; else G91 and G91.1.
    plane : int
        17, 18 or 19. [-]
    motion : int or None
        G word of the motion group; None after G80 and at the start, -1 after a motion word that was not read. [-]
    feed_mode : int
        93, 94 or 95. [-]
    feed : float
        F word: G94 [m/s], G95 [m per revolution], G93 [1/s]; 0 if not set.
    stale_feed : bool
        True if the unit changed and F was not stated again.
    turn, spindle : float
        Sense of rotation (1 M3, -1 M4, 0 M5) and S word. [-, rad/s]
    tool, selected : int
        Number in the spindle and last T word. [-]
    to_initial : bool
        G98; else G99.
    initial : float or None
        Level along the plane's normal before the present series of canned cycles; None outside of one. [m]
    sticky : dict of str to float
        R, Z, Q of the present series, in program units.
    """

    unit: float = MILLIMETRE
    unit_said: bool = False
    absolute: bool = True
    absolute_centres: bool = False
    plane: int = 17
    motion: int | None = None
    feed_mode: int = 94
    feed: float = 0.0
    stale_feed: bool = False
    turn: float = 0.0
    spindle: float = 0.0
    tool: int = 0
    selected: int = 0
    to_initial: bool = True
    initial: float | None = None
    sticky: dict[str, float] = field(default_factory=dict)

    @property
    def speed(self) -> float:
        """Speed of the spindle, negative for M4. [rad/s]"""
        return self.turn * self.spindle if self.spindle else 0.0

    @property
    def rate(self) -> float:
        """Rate along the path, save for G93. [m/s]"""
        if self.feed_mode == 95:
            return self.feed * abs(self.speed) / math.tau
        return self.feed

    def set_feed(self, value: float) -> None:
        """Take an F word, in the units and the feed mode in force."""
        self.stale_feed = False
        if self.feed_mode == 95:
            self.feed = value * self.unit
        else:
            self.feed = value / 60.0 * (self.unit if self.feed_mode == 94 else 1.0)


class WorkOffsets:
    """Where the zero of each work offset lies in the frame of the set-up.

    The first work offset that the program moves in is the frame, unless the caller stated where it lies.
    An offset written by G10 L2 is a machine position: it tells where one zero lies against another, no more.

    Parameters
    ----------
    given : mapping of str to (3,) tuple
        Zero of each work offset that the caller knows, by word. [m]
    """

    def __init__(self, given: Mapping[str, tuple[float, float, float]]) -> None:
        self.active = "G54"
        self.frame: str | None = None
        self.zeros: dict[str, list[float]] = {word: list(zero) for word, zero in given.items()}
        self.machine: dict[str, list[float]] = {}
        self.shift = [0.0, 0.0, 0.0]

    def origin(self) -> list[float]:
        """Program zero in the frame of the set-up, G92 included; NaN where it is not known. [m]"""
        return [a + b for a, b in zip(self._zero(), self.shift, strict=True)]

    def _zero(self) -> list[float]:
        """Zero of the active work offset in the frame of the set-up. [m]"""
        zero = self.zeros.get(self.active)
        if zero is None:
            zero = self._derived()
            if math.isfinite(sum(zero)):
                self.zeros[self.active] = zero
            elif self.frame is None:
                zero = self.zeros[self.active] = [0.0, 0.0, 0.0]
        if self.frame is None:
            self.frame = self.active
        return zero

    def set_machine(self, word: str, axis: int, value: float) -> None:
        """Take one axis of G10 L2. [m]"""
        row = self.machine.setdefault(word, list(_UNKNOWN))
        zero = self.zeros.get(word)
        if zero is not None and self.frame is not None:
            # NaN if the value before was not known: then the zero moves by an amount that nobody told.
            zero[axis] += value - row[axis]
        row[axis] = value

    def set_here(self, word: str, axis: int, *, position: float, value: float) -> None:
        """Take one axis of G10 L20: the tool's place becomes `value` in that work offset. [m]"""
        zero = self.zeros.setdefault(word, list(_UNKNOWN))
        zero[axis] = position - value - self.shift[axis]

    def set_shift(self, axis: int, *, position: float, value: float) -> None:
        """Take one axis of G92: the tool's place becomes `value`. [m]"""
        self.shift[axis] = position - value - self._zero()[axis]

    def _derived(self) -> list[float]:
        """Zero of the active work offset from another one of which zero and machine position are known."""
        mine = self.machine.get(self.active, _UNKNOWN)
        for word, zero in self.zeros.items():
            theirs = self.machine.get(word, _UNKNOWN)
            found = [z + m - t for z, m, t in zip(zero, mine, theirs, strict=True)]
            if not math.isnan(sum(found)):
                return found
        return list(_UNKNOWN)
