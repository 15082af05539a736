"""Carrying out a line: where the tool goes in each motion mode, and what moves the program's zero."""

import math
from collections.abc import Sequence

from stillstock.engine.program import codes
from stillstock.engine.program.arcs import arc_points, centre_from_radius, chord_count, radii_agree, swept_angle
from stillstock.engine.program.canned_cycles import CYCLES, Cycle, cycle_moves, least_count
from stillstock.engine.program.findings import FindingList
from stillstock.engine.program.machine_frame import MachineFrame
from stillstock.engine.program.modal_state import OFFSET_WORDS, PLANES, ModalState, WorkOffsets
from stillstock.engine.program.moves import FEED, PROBE, RAPID
from stillstock.engine.program.probing import Probing
from stillstock.engine.program.track import GREATEST, Track

__all__ = ["Motion"]

AXES = "XYZ"
CENTRES = "IJK"
_SLACK = 1e-9
"""Two levels closer than this are one. [m]"""


class Motion:
    """The tool tip, and the moves that bring it there.

    Attributes
    ----------
    at : list of 3 floats
        Tool tip in the frame of the set-up, NaN where not known. [m]
    ready_for_plain : bool
        True if a line of plain G0 and G1 words may take the short way.
    """

    def __init__(
        self,
        *,
        state: ModalState,
        zeros: WorkOffsets,
        track: Track,
        findings: FindingList,
        chord_error: float,
        machine: MachineFrame,
        probing: Probing,
    ) -> None:
        self.machine = machine
        self.probing = probing
        self.state = state
        self.zeros = zeros
        self.track = track
        self.findings = findings
        self.chord_error = chord_error
        self.at = list(track.start)
        self.ready_for_plain = False
        self._origin = [0.0, 0.0, 0.0]

    def plain(self, number: int, g: str | None, x: str | None, y: str | None, z: str | None, f: str | None) -> None:
        """Carry out a line of G0 or G1, X, Y, Z and F, with the feed per minute: the short way."""
        state, at = self.state, self.at
        unit, origin = state.unit, (self._origin if state.absolute else at)
        if f is not None:
            state.feed = float(f) * unit / 60.0
        if g is not None:
            state.motion = int(g)
        target = (
            at[0] if x is None else float(x) * unit + origin[0],
            at[1] if y is None else float(y) * unit + origin[1],
            at[2] if z is None else float(z) * unit + origin[2],
        )
        if x is not None or y is not None or z is not None:
            self._add(number, FEED if state.motion else RAPID, target, state.feed)

    def carry_out(self, number: int, g: Sequence[int], values: dict[str, float]) -> None:
        """Zero settings, returns to the reference point and motion of a line; `values` are used up."""
        self._select(g)
        axes = [axis for axis, letter in enumerate(AXES) if letter in values]
        if 100 in g:
            self._write_offset(number, values)
        elif 920 in g:
            self._shift(number, axes, values)
        elif 280 in g or 300 in g:
            self._go_home(number, axes, values, stated=280 in g)
        elif axes and self._words_of_unread(number, g):
            self.lose(number, "".join(AXES[axis] for axis in axes))
        elif 530 in g:
            self._machine_frame(number, axes, values)
        else:
            self._move(number, g, values)
        self._left_over(number, g, values)
        self._settle()

    def lose(self, number: int, letters: str) -> None:
        """Forget where the tool is along these axes."""
        self._add(number, RAPID, [math.nan if AXES[k] in letters else self.at[k] for k in range(3)], 0.0)

    def _add(self, number: int, kind: int, target: Sequence[float], feed: float) -> None:
        """Note a straight move; one that goes nowhere is none."""
        at = self.at
        if target[0] == at[0] and target[1] == at[1] and target[2] == at[2]:
            return
        track, state = self.track, self.state
        track.line.append(number)
        track.kind.append(kind)
        track.end.extend(target)
        track.feed.append(feed)
        track.speed.append(state.speed)
        track.tool.append(state.tool)
        at[0], at[1], at[2] = target
        if len(track.line) > track.limit:
            track.refuse(number, len(track.line))

    def _settle(self) -> None:
        """Work out anew what the short way relies on."""
        state = self.state
        self.ready_for_plain = (
            state.unit_said
            and state.feed_mode == 94
            and not state.stale_feed
            and state.motion in (0, 1)
            and self.zeros.frame is not None
        )
        if self.ready_for_plain:
            self._origin = self.zeros.origin()
            self.ready_for_plain = math.isfinite(sum(self._origin))

    def _select(self, g: Sequence[int]) -> None:
        """Put the motion word of the line in force."""
        state = self.state
        for code in g:
            if code in codes.MOTIONS:
                state.motion = codes.MOTIONS[code]
            elif code in codes.UNREAD_MOTIONS:
                state.motion = -1
        if state.motion not in CYCLES:
            state.initial = None

    def _words_of_unread(self, number: int, g: Sequence[int]) -> bool:
        """Tell whether coordinates on this line may belong to a G word that does not take them, or is not read."""
        if 40 in g:
            self.findings.add(
                number, "unread_word", "coordinates beside G4 are a dwell to some controllers", doubt=True
            )
            return True
        unread = any(code not in codes.GROUPS and code not in codes.QUIET for code in g)
        return self.state.motion == -1 or (unread and not any(code in codes.MOTIONS for code in g))

    def _length(self, number: int, letter: str, value: float) -> float:
        """Length of a word; NaN if it cannot be believed. [m]"""
        length = value * self.state.unit
        if abs(length) <= GREATEST:
            return length
        self.findings.add(number, "number", f"the number of the {letter} word is beyond 1e6 mm", doubt=True)
        return math.nan

    def _target(self, number: int, values: dict[str, float]) -> list[float]:
        """Where the axis words of a line lead; uses them up. [m]"""
        state = self.state
        if not state.unit_said:
            self.findings.add(number, "no_unit", "motion before any G20 or G21 said the unit", doubt=True)
        origin = self.zeros.origin()
        target = list(self.at)
        for axis, letter in enumerate(AXES):
            if letter in values:
                length = self._length(number, letter, values.pop(letter))
                target[axis] = (origin[axis] if state.absolute else self.at[axis]) + length
                if state.absolute and math.isnan(origin[axis]):
                    detail = f"the zero of {self.zeros.active} is not known in the frame of the set-up"
                    self.findings.add(number, "work_offset", detail, doubt=True)
        return target

    def _move(self, number: int, g: Sequence[int], values: dict[str, float]) -> None:
        """Motion in the mode in force, if the line asks for any."""
        motion = self.state.motion
        axes = [letter for letter in AXES if letter in values]
        if motion in CYCLES and (axes or 10 * motion in g):
            self._cycle(number, motion, values)
        elif motion in (2, 3) and (axes or any(letter in values for letter in CENTRES)):
            self._arc(number, values, clockwise=motion == 2)
        elif axes and motion in codes.PROBES:
            self._probe(number, motion, values)
        elif axes and motion in (0, 1):
            target = self._target(number, values)
            if motion == 0:
                self._add(number, RAPID, target, 0.0)
            else:
                self._add(number, FEED, target, self._rate(number, math.dist(self.at, target)))
        elif axes:
            self.findings.add(number, "no_motion_word", "coordinates with no motion word in force", doubt=True)
            self.lose(number, "".join(axes))
            for letter in axes:
                del values[letter]

    def _rate(self, number: int, length: float) -> float:
        """Feed of a cutting move of this length. [m/s]"""
        state = self.state
        if state.stale_feed:
            detail = "the unit changed and the feed was not stated again: controllers read it differently"
            self.findings.add(number, "unit_change", detail, doubt=True)
        return state.feed * length if state.feed_mode == 93 else state.rate

    def _probe(self, number: int, code: int, values: dict[str, float]) -> None:
        """G38.2 to G38.5: the move ends where the probe touches."""
        target = self._target(number, values)
        end = self.probing.end(number, code, tool=self.state.tool, start=self.at, target=target)
        self._add(number, PROBE, end, self._rate(number, math.dist(self.at, end)))

    def _machine_frame(self, number: int, axes: Sequence[int], values: dict[str, float]) -> None:
        """G53: the coordinates count from the machine's own zero."""
        state = self.state
        if state.motion not in (0, 1):
            self.findings.add(number, "machine_frame", "G53 without G0 or G1 in force", doubt=True)
        target = list(self.at)
        for axis in axes:
            value = self._length(number, AXES[axis], values.pop(AXES[axis]))
            target[axis] = self.machine.from_zero(axis, value, tool=state.tool)
        if self.machine.zero is None:
            detail = "a move in the machine's frame (G53) ends where the work frame does not know: state machine.zero"
            self.findings.add(number, "machine_frame", detail, doubt=False)
        self._add(number, FEED if state.motion == 1 else RAPID, target, state.rate)

    def _go_home(self, number: int, axes: Sequence[int], values: dict[str, float], *, stated: bool) -> None:
        """G28, G30: by way of the stated point to the reference point.

        NISTIR 6556 moves every axis; that most controllers move only the ones named is common practice, no source. So
        all count as unknown afterwards where the reference point is not stated, and only the named move where it is.
        """
        if axes:
            self._add(number, RAPID, self._target(number, values), 0.0)
        place = self.machine.at_reference(tool=self.state.tool)
        if not stated or self.machine.reference is None:
            detail = (
                "a return to the reference point (G28, G30) ends where the work frame does not know: state "
                "machine.reference for G28"
            )
            self.findings.add(number, "machine_frame", detail, doubt=False)
            self.lose(number, AXES)
            return
        self._add(number, RAPID, [place[k] if k in axes or not axes else self.at[k] for k in range(3)], 0.0)

    def _write_offset(self, number: int, values: dict[str, float]) -> None:
        """G10 L2 and L20."""
        kind, p = values.pop("L", 0.0), values.pop("P", 0.0)
        if kind not in (2.0, 20.0) or p not in range(len(OFFSET_WORDS) + 1):
            self.findings.add(
                number, "unread_word", "a G10 that is not L2 or L20 with P0 to P9 is not read", doubt=True
            )
            for letter in AXES:
                values.pop(letter, None)
            return
        word = OFFSET_WORDS[int(p) - 1] if p else self.zeros.active
        for axis, letter in enumerate(AXES):
            if letter not in values:
                continue
            value = self._length(number, letter, values.pop(letter))
            if kind == 2.0:
                self.zeros.set_machine(word, axis, value)
            elif word == self.zeros.active and self._probed(number, axis, value):
                continue
            elif word == self.zeros.active and not len(self.track):
                self._touch_off(number, axis, value)
            else:
                self.zeros.origin()
                self.zeros.set_here(word, axis, position=self.at[axis], value=value)

    def _shift(self, number: int, axes: Sequence[int], values: dict[str, float]) -> None:
        """G92: the place where the tool stands gets new coordinates."""
        self.findings.add(
            number, "zero_shift", "G92 moves the zero of the program to where the tool then stands", doubt=False
        )
        for axis in axes:
            value = self._length(number, AXES[axis], values.pop(AXES[axis]))
            if self._probed(number, axis, value):
                continue
            if not len(self.track):
                self._touch_off(number, axis, value)
                continue
            if math.isnan(self.at[axis]):
                self.findings.add(number, "zero_shift", "G92 where the place of the tool is not known", doubt=True)
            self.zeros.set_shift(axis, position=self.at[axis], value=value)

    def _touch_off(self, number: int, axis: int, value: float) -> None:
        """Before any motion: the zero that is set here is the frame, and the tool's place is known by it."""
        place = self.zeros.origin()[axis] + value
        if math.isnan(self.at[axis]):
            self.at[axis] = place
            self.track.start = (self.at[0], self.at[1], self.at[2])
        elif abs(self.at[axis] - place) > _SLACK:
            detail = "the program sets its zero where the tool stands, which is not where the set-up parks the tool"
            self.findings.add(number, "zero_shift", detail, doubt=True)

    def _probed(self, number: int, axis: int, value: float) -> bool:
        """Take the zero of an axis along which the tool has probed, if it is known where that zero lies."""
        place = self.zeros.origin()[axis] + value
        if not (self.probing.sets_zero(axis) and math.isfinite(place)):
            return False
        self.at[axis] = self.probing.place(number, axis, at=self.at[axis], place=place)
        return True

    def _arc(self, number: int, values: dict[str, float], *, clockwise: bool) -> None:
        """G2 and G3."""
        a, b, c = PLANES[self.state.plane]
        target = self._target(number, values)
        start, end = (self.at[a], self.at[b]), (target[a], target[b])
        if "R" in values:
            centre = self._centre_by_radius(number, values, start=start, end=end, clockwise=clockwise)
        else:
            centre = self._centre_by_offsets(number, values, (a, b))
        radius = math.dist(start, centre) if centre else 0.0
        if centre is None or not 0.0 < radius < math.inf or not math.isfinite(sum(end)):
            self.findings.add(
                number, "arc_centre", "an arc whose centre is not known was read as a straight move", doubt=True
            )
            self._add(number, FEED, target, self._rate(number, math.dist(self.at, target)))
            return
        if not radii_agree(radius, end=math.dist(end, centre)):
            detail = "the ends of an arc are not equally far from its centre, by more than controllers forgive"
            self.findings.add(number, "arc_radius", detail, doubt=True)
        angle = swept_angle(start, end=end, centre=centre, clockwise=clockwise)
        count = chord_count(angle, radius=max(radius, math.dist(end, centre)), chord_error=self.chord_error)
        if len(self.track) + count > self.track.limit:
            self.track.refuse(number, len(self.track) + count)
        rate = self._rate(number, math.hypot(radius * angle, target[c] - self.at[c]))
        points = arc_points((*start, self.at[c]), end=(*end, target[c]), centre=centre, angle=angle, count=count)
        for point in points:
            self._add(number, FEED, _in_xyz(point, (a, b, c)), rate)

    def _centre_by_offsets(
        self, number: int, values: dict[str, float], plane: tuple[int, int]
    ) -> tuple[float, float] | None:
        """Centre from two of I, J, K; None if none of them is there. [m]"""
        if not any(CENTRES[axis] in values for axis in plane):
            return None
        origin = self.zeros.origin()
        centre = []
        for axis in plane:
            letter = CENTRES[axis]
            if letter in values:
                from_where = origin[axis] if self.state.absolute_centres else self.at[axis]
                centre.append(from_where + self._length(number, letter, values.pop(letter)))
            else:
                centre.append(self.at[axis])
                if self.state.absolute_centres:
                    self.findings.add(number, "arc_centre", f"{letter} is missing beside G90.1", doubt=True)
        return centre[0], centre[1]

    def _centre_by_radius(
        self,
        number: int,
        values: dict[str, float],
        *,
        start: tuple[float, float],
        end: tuple[float, float],
        clockwise: bool,
    ) -> tuple[float, float] | None:
        """Centre from R; None if there is none. [m]"""
        radius = self._length(number, "R", values.pop("R"))
        half = math.dist(start, end) / 2.0
        if not (half > 0.0 and math.isfinite(half + radius) and radius != 0.0):
            return None
        if half > abs(radius) and not radii_agree(half, end=abs(radius)):
            self.findings.add(
                number, "arc_radius", "R is too short to reach from one end of the arc to the other", doubt=True
            )
        return centre_from_radius(start, end=end, radius=radius, clockwise=clockwise)

    def _cycle(self, number: int, code: int, values: dict[str, float]) -> None:
        """Canned cycles."""
        state = self.state
        axes = PLANES[state.plane]
        normal = axes[2]
        cycle = self._cycle_words(number, code, values)
        if cycle is None:
            self.lose(number, AXES)
            return
        if not state.absolute and abs(self.at[normal] - cycle.initial) > _SLACK:
            detail = "R in a series of cycles under G91 and G99: controllers count it from different levels"
            self.findings.add(number, "cycle_level", detail, doubt=True)
        if least_count(cycle) > self.track.limit:
            self.track.refuse(number, least_count(cycle))
        rate = self._rate(number, 0.0)
        start = (self.at[axes[0]], self.at[axes[1]], self.at[normal])
        for kind, point in cycle_moves(cycle, start=start):
            self._add(number, kind, _in_xyz(point, axes), rate if kind == FEED else 0.0)

    def _cycle_words(self, number: int, code: int, values: dict[str, float]) -> Cycle | None:
        """Put together the cycle that a line asks for; None if it lacks a word or makes no sense."""
        state = self.state
        a, b, normal = PLANES[state.plane]
        if state.initial is None:
            state.initial = self.at[normal]
            state.sticky = {}
        depth = AXES[normal]
        for letter in ("R", "Q", depth):
            if letter in values:
                state.sticky[letter] = self._length(number, letter, values.pop(letter))
        values.pop("P", None)
        if "R" not in state.sticky or depth not in state.sticky:
            self.findings.add(number, "cycle_word", f"a canned cycle needs R and {depth}", doubt=True)
            return None
        before = self.at
        target = self._target(number, values)
        origin = self.zeros.origin()[normal]
        plane = state.sticky["R"] + (origin if state.absolute else before[normal])
        bottom = state.sticky[depth] + (origin if state.absolute else plane)
        if not (bottom <= plane and math.isfinite(plane)):
            self.findings.add(number, "cycle_word", "the bottom of a canned cycle is not below its R plane", doubt=True)
            return None
        step = (0.0, 0.0) if state.absolute else (target[a] - before[a], target[b] - before[b])
        return Cycle(
            code=code,
            first=(target[a], target[b]),
            step=step,
            plane=plane,
            bottom=bottom,
            initial=state.initial,
            to_initial=state.to_initial,
            peck=self._peck(number, code),
            repeats=self._repeats(number, values),
        )

    def _peck(self, number: int, code: int) -> float:
        """Q word of the series. [m]"""
        peck = self.state.sticky.get("Q", 0.0)
        if code in (73, 83) and not peck > 0.0:
            self.findings.add(
                number, "cycle_word", f"G{code} needs a positive Q; it was read as one plunge", doubt=True
            )
            return 0.0
        return peck

    def _repeats(self, number: int, values: dict[str, float]) -> int:
        """L word, or K as other controllers have it. [-]"""
        repeats = values.pop("K", 1.0)
        repeats = values.pop("L", repeats)
        if not 0.0 <= repeats < 1e9 or repeats != int(repeats):
            self.findings.add(number, "cycle_word", "the repeats of a canned cycle are no whole number", doubt=True)
            return 1
        if repeats == 0.0:
            self.findings.add(number, "cycle_word", "a canned cycle with no repeats drills nothing", doubt=False)
        return int(repeats)

    def _left_over(self, number: int, g: Sequence[int], values: dict[str, float]) -> None:
        """Tell of words that nothing on the line takes."""
        for letter in values:
            if letter in "IJKR":
                self.findings.add(number, "unread_word", f"{letter} on a line that has no use for it", doubt=True)
            elif letter in "PQL" and not any(code in (40, 640) for code in g):
                # P beside an arc is a number of turns to some controllers.
                turns = letter == "P" and self.state.motion in (2, 3)
                self.findings.add(number, "unread_word", f"{letter} on a line that has no use for it", doubt=turns)
        h = values.get("H", 0.0)
        if 430 in g and h not in (0.0, self.state.tool):
            detail = f"G43 takes the length of tool {h:.6g} while tool {self.state.tool} is in the spindle"
            self.findings.add(number, "tool_length", detail, doubt=False)


def _in_xyz(point: tuple[float, float, float], axes: tuple[int, int, int]) -> list[float]:
    """Back from a plane's own axes."""
    placed = [0.0, 0.0, 0.0]
    for axis, value in zip(axes, point, strict=True):
        placed[axis] = value
    return placed
