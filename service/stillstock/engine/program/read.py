"""Reading a program: text in, straight moves and findings out.

Words and their meaning follow ISO 6983-1 and T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter -
Version 3", NISTIR 6556, 2000 (both from memory). What is not read is told by line and never passed over.
"""

import math
from array import array
from collections.abc import Collection, Mapping

from stillstock.engine.mechanics.work import spend
from stillstock.engine.program import codes
from stillstock.engine.program.findings import FindingList
from stillstock.engine.program.machine_frame import NOT_STATED, MachineFrame
from stillstock.engine.program.modal_state import ModalState, WorkOffsets
from stillstock.engine.program.motion import Motion
from stillstock.engine.program.moves import Moves, Reading, ToolChange
from stillstock.engine.program.probing import Probing
from stillstock.engine.program.track import Track
from stillstock.engine.program.words import LINE_LIMIT, PLAIN, Line, split_line, text_lines

__all__ = ["read_program"]

_LETTERS = frozenset("XYZIJKRFSTHDPQL")
_GREATEST_NUMBER = 1e6

A_LINE = 0.012
"""What it costs to read a line, by measurement. [units]"""

MOST_CHANGES = 1000
"""Tool changes of which it is noted where they come. [-]"""


def read_program(
    text: str,
    *,
    chord_error: float = 2e-5,
    max_moves: int,
    offsets: Mapping[str, tuple[float, float, float]] = {},
    park: tuple[float, float, float] | None = None,
    tool_numbers: Collection[int] = (),
    machine: MachineFrame = NOT_STATED,
) -> Reading:
    """Read the moves of a program in the frame of the set-up.

    Parameters
    ----------
    text : str
        The program, any text at all.
    chord_error : float
        Greatest distance of an arc from its chords. [m]
    max_moves : int
        Straight moves that may be read. [-]
    offsets : mapping of str to (3,) tuple
        Zeros of the work offsets (``"G54"`` to ``"G59.3"``) in the frame of the set-up, as far as known; the first work
        offset in which the program moves is the frame if it is not given. [m]
    park : (3,) tuple or None
        Where the tool tip stands before the first move. [m]
    tool_numbers : collection of int
        Tools that the set-up describes.
    machine : MachineFrame
        Where the places lie that the program states in the machine's own frame, and where probing moves end.

    Returns
    -------
    Reading
        Where a move's ``known`` is False, an end that is not known stands at the end that is, or at 0.

    Raises
    ------
    TooMuchWork
        If the program has more than `max_moves` straight moves.
    ValueError
        If `chord_error` is not positive.
    """
    if not chord_error > 0.0:
        raise ValueError("the chord error must be positive")
    lines = text_lines(text)
    spend(A_LINE * len(lines))
    state, zeros, findings = ModalState(), WorkOffsets(offsets), FindingList()
    track = Track(start=park or (math.nan, math.nan, math.nan), limit=max_moves)
    motion = Motion(
        state=state,
        zeros=zeros,
        track=track,
        findings=findings,
        chord_error=chord_error,
        machine=machine,
        probing=Probing(touch=machine.touch, track=track, findings=findings),
    )
    reader = _Reader(motion, tools=frozenset(tool_numbers))
    reader.read(lines)
    return Reading(moves=reader.moves(), findings=findings.all(), changes=tuple(reader.changes), lines=len(lines))


class _Reader:
    """Goes through the lines once and keeps what is in force."""

    def __init__(self, motion: Motion, *, tools: frozenset[int]) -> None:
        self.motion = motion
        self.findings = motion.findings
        self.state = motion.state
        self.zeros = motion.zeros
        self.track = motion.track
        self.tools = tools
        self.changes: list[ToolChange] = []
        self.called: set[int] = set()
        self.selected: dict[int, int] = {}
        self.percents = 0
        self.ended = False

    def read(self, lines: list[str]) -> None:
        """Read every line to the end of the program."""
        plain, ready = PLAIN.fullmatch, False
        for number, text in enumerate(lines, 1):
            if ready and len(text) <= LINE_LIMIT:
                match = plain(text)
                if match is not None:
                    self.motion.plain(number, *match.groups())
                    continue
            self._line(number, text)
            if self.ended:
                self._rest(lines, number)
                return
            ready = self.motion.ready_for_plain

    def moves(self) -> Moves:
        """All moves, once the program is read."""
        if not self.called and len(self.selected) == 1:
            number, line = next(iter(self.selected.items()))
            detail = f"T{number} is selected but no M6 puts it in; the whole program was taken to run with it"
            self.findings.add(line, "no_tool_change", detail, doubt=False)
            self._missing(line, number)
            self.track.tool = array("q", [number]) * len(self.track)
        elif not self.called and self.selected:
            line = min(self.selected.values())
            self.findings.add(line, "no_tool_change", "several tools are selected but no M6 puts one in", doubt=True)
        if not len(self.track):
            self.findings.add(0, "no_motion", "the program moves nothing", doubt=True)
        return self.track.moves(self.findings)

    def _rest(self, lines: list[str], end: int) -> None:
        """Tell of anything that stands after the end of the program."""
        for number in range(end, len(lines)):
            if split_line(lines[number]):
                self.findings.add(
                    number + 1, "after_end", "words after the end of the program were not read", doubt=True
                )
                return

    def _line(self, number: int, text: str) -> None:
        """Read one line, in the order in which a controller carries it out."""
        line = split_line(text)
        for code, detail in line.problems:
            self.findings.add(number, code, detail, doubt=True)
        if line.percent:
            self.percents += 1
            self.ended = self.percents > 1
        if line.deleted and line:
            self.findings.add(
                number, "block_delete", "a line with block delete (/) was read as if it were carried out", doubt=False
            )
        if line.lost:
            self.motion.lose(number, line.lost)
        if not line:
            return
        g = self._g_words(number, line)
        for word in g:
            self._mode(word)
        self._numbers(number, line)
        self._m_words(number, line)
        self.motion.carry_out(number, g, line.values)
        self.ended = self.ended or any(m in (2.0, 30.0) for m in line.m)

    def _g_words(self, number: int, line: Line) -> list[int]:
        """G words by tenths; tells of those that are not read, or contradict each other."""
        found: list[int] = []
        groups: set[str] = set()
        for value in line.g:
            code = codes.tenths(value)
            group = codes.GROUPS.get(code, "")
            if group in groups:
                self.findings.add(number, "modal_group", f"two G words of one group ({group}) on a line", doubt=True)
            if group:
                groups.add(group)
            if code in codes.UNREAD_MOTIONS or (not group and code not in codes.QUIET):
                self.findings.add(number, "unread_word", f"G{value:.6g} is not read", doubt=True)
            found.append(code)
        for letter in sorted(line.values.keys() - _LETTERS):
            self.findings.add(number, "unread_word", f"the word {letter} is not read", doubt=True)
        return found

    def _mode(self, code: int) -> None:
        """Put a modal G word in force."""
        state = self.state
        if code in codes.MODES:
            name, value = codes.MODES[code]
            if name == "plane" and value != state.plane:
                state.initial = None
            setattr(state, name, value)
        elif code in codes.UNITS:
            unit = codes.UNITS[code]
            # Whether the feed in force is read anew in the new unit differs between controllers.
            state.stale_feed = state.stale_feed or (state.feed > 0.0 and unit != state.unit and state.feed_mode != 93)
            state.unit, state.unit_said = unit, True
        elif code in codes.FEED_MODES and codes.FEED_MODES[code] != state.feed_mode:
            state.feed_mode, state.feed = codes.FEED_MODES[code], 0.0
        elif code in codes.OFFSETS:
            self.zeros.active = codes.OFFSETS[code]
        elif code in codes.CANCEL_SHIFT:
            self.zeros.shift = [0.0, 0.0, 0.0]

    def _numbers(self, number: int, line: Line) -> None:
        """Take F, S and T."""
        values, state = line.values, self.state
        if state.feed_mode == 93:
            state.feed = 0.0  # inverse time must be stated on every line
        if "F" in values:
            state.set_feed(self._believed(number, "F", values.pop("F")))
        if "S" in values:
            state.spindle = self._believed(number, "S", values.pop("S")) * math.tau / 60.0
        if "T" in values:
            tool = self._believed(number, "T", values.pop("T"))
            if tool != int(tool):
                self.findings.add(number, "number", "the T word is no whole number", doubt=True)
            state.selected = int(tool)
            self.selected.setdefault(state.selected, number)

    def _believed(self, number: int, letter: str, value: float) -> float:
        """Give the number of a word that cannot be negative or huge, or 0 in its place."""
        if 0.0 <= value <= _GREATEST_NUMBER:
            return value
        self.findings.add(
            number, "number", f"the number of the {letter} word cannot be: it is negative or beyond 1e6", doubt=True
        )
        return 0.0

    def _m_words(self, number: int, line: Line) -> None:
        """Carry out the M words."""
        # A tool change comes before the spindle starts, wherever it stands on the line.
        for value in sorted(line.m, key=lambda m: m != 6.0):
            if value == 6.0:
                self._change_tool(number)
            elif value in (3.0, 4.0, 5.0):
                self.state.turn = {3.0: 1.0, 4.0: -1.0, 5.0: 0.0}[value]
            elif value in codes.SUBPROGRAM_M:
                self.findings.add(
                    number, "subprogram", f"M{value:.6g} calls or ends a subprogram; it was not followed", doubt=True
                )
            elif value not in codes.AUXILIARY:
                self.findings.add(number, "unread_word", f"M{value:.6g} is not read", doubt=True)

    def _change_tool(self, number: int) -> None:
        """Put the selected tool in the spindle, which stops for it (NISTIR 6556, section 3.6.3, from memory)."""
        self.state.turn = 0.0
        self.state.tool = self.state.selected
        self.called.add(self.state.tool)
        if len(self.changes) < MOST_CHANGES:
            self.changes.append(ToolChange(line=number, before=len(self.track), tool=self.state.tool))
        else:
            detail = f"the ways to the first {MOST_CHANGES} tool changes are followed, no more"
            self.findings.add(number, "tool_changes", detail, doubt=True)
        self._missing(number, self.state.tool)

    def _missing(self, number: int, tool: int) -> None:
        """Tell of a tool that the set-up does not describe; tool 0 is an empty spindle."""
        if tool and tool not in self.tools:
            self.findings.add(
                number, "missing_tool", f"tool {tool} is called but not described in the set-up", doubt=True
            )
