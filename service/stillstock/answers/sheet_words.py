"""The sheet in words: steps in order, what to check, how to take the part off, cautions."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from stillstock.answers.margin_words import CAUTIONS
from stillstock.answers.sheet_consumables import BLANK
from stillstock.answers.sheet_speaker import SheetSpeaker
from stillstock.answers.sheet_tables import number_words
from stillstock.engine.set_up import SetUp
from stillstock.tables.catalogue import Entry

__all__ = ["IF_IT_SLIPS", "cautions", "checks", "line_count", "release", "shortened", "steps"]

Group = tuple[str, tuple[str, ...]]

#: All of these are common practice, no source.
_FIRST = "Clear the table. Sweep bed, stops and the stock's underside: one chip tilts the stock."
_PUSH = "Push hard at the stock by hand from each side. If it moves, stop here."
_TRY = "Run the program in the air above all holders, or trace its extent, with a hand on the stop."
IF_IT_SLIPS = (
    "Feed hold or emergency stop; stay out of the line of flight. Do not reach in while the spindle turns. "
    "Find out why before a second try; the torn hold is weaker than the first."
)
_CHECKS = (
    "Right program, right version; units match",
    "X, Y and Z zero set, Z again after each tool change",
    "Collet clean, shank gripped far enough, not on the flutes",
    "All holders set as in the table; nothing loose on the table",
    "Tool, nut and dust shoe clear the tallest holder",
    "Axes homed, limits on, Z travel enough",
    "Eyes, ears and dust extraction; extinguisher at hand; nobody in the line of flight",
)
_RELEASE = (
    "Spindle stopped and tool parked before a hand goes near; vacuum stays on until then.",
    "Take chips off before lifting the part.",
    "Count screws, nails and clamps back; look at the bed for new marks.",
)
_LOCAL = (
    "Local rules, the machine's and the makers' instructions, and trained people come first; this sheet after them."
)


def _kinds(set_up: SetUp, entries: Mapping[str, Entry]) -> list[str]:
    """Return the kinds of the holders in the order in which they are put on: what places first, then the rest."""
    kinds = dict.fromkeys(holder.kind for holder in set_up.holders)
    return sorted(kinds, key=lambda kind: (entries[kind].facts["in_program"], not entries[kind].facts["places"]))


def _named(kind: str, set_up: SetUp) -> str:
    numbers = [n for n, holder in enumerate(set_up.holders) if holder.kind == kind]
    return f"{set_up.holders[numbers[0]].title} {number_words(numbers)}"


def steps(set_up: SetUp, entries: Mapping[str, Entry], zero: str, speaker: SheetSpeaker) -> tuple[Group, ...]:
    """Return the steps in order: a heading each, with its sentences."""
    low, high = set_up.stock.thickness
    thick = f"{speaker.length(low)}" if low == high else f"{speaker.length(low)} to {speaker.length(high)}"
    measure = f"Measure the thickness at three places: {thick} was reckoned with."
    found: list[Group] = [("Table and stock", (_FIRST, measure))]
    found += [
        (_named(kind, set_up), (*_said(kind, "put_on", entries), *_turned(kind, set_up)))
        for kind in _kinds(set_up, entries)
    ]
    found.append(("Zero and tool", tuple(_zero_steps(set_up, zero, speaker))))
    found.append(("Before the start", (_PUSH, _TRY)))
    return tuple(found)


def _said(kind: str, section: str, entries: Mapping[str, Entry]) -> tuple[str, ...]:
    return tuple(one.text for one in entries[kind].sections[section])


def _turned(kind: str, set_up: SetUp) -> Iterator[str]:
    """Yield how the torque of the table is kept: no torque wrench fits a knob (common practice, no source)."""
    measured = {
        getattr(holder, "handle", "")
        for holder in set_up.holders
        if holder.kind == kind and getattr(holder, "torque", None) is not None
    }
    for handle in sorted(measured - {""}):
        if handle == "hex_key":
            yield "Set the torque of the table with a torque wrench."
        else:
            knob = handle.replace("_", " ")
            yield f"On a {knob} the hand is the gauge: check the pull that it gives once with a scale under the toe."


def _zero_steps(set_up: SetUp, zero: str, speaker: SheetSpeaker) -> Iterator[str]:
    tools = sorted(set_up.tools.items())
    if tools:
        number, tool = tools[0]
        out = BLANK if tool.stickout is None else speaker.length(tool.stickout)
        yield f"Put T{number} in, {out} out of the collet; tighten."
    face = "the face of the bed" if zero == "bed" else "the top of the stock"
    yield f"Set X and Y where the plan shows the zero, Z on {face}."
    if len(tools) > 1:
        yield f"Set Z again after each of the {len(tools)} tools."


def checks(set_up: SetUp) -> tuple[str, ...]:
    """Return what is ticked before the start."""
    kinds = {holder.kind for holder in set_up.holders}
    vacuum = (f"Gauge read while cutting: {BLANK}",) if "vacuum" in kinds else ()
    return (*_CHECKS, *vacuum)


def release(set_up: SetUp, entries: Mapping[str, Entry]) -> tuple[Group, ...]:
    """Return how the part is taken off: a heading each, with its sentences; last put on, first taken off."""
    found: list[Group] = [("First and last", _RELEASE)]
    found += [(_named(kind, set_up), _said(kind, "take_off", entries)) for kind in reversed(_kinds(set_up, entries))]
    return tuple(found)


def cautions(set_up: SetUp, entries: Mapping[str, Entry]) -> tuple[str, ...]:
    """Return what can hurt, local rules and trained people first; each sentence once."""
    hurts = [one.text for kind in _kinds(set_up, entries) for one in entries[kind].sections["hurts"]]
    kept = [line for line in CAUTIONS if "Local rules" not in line]
    return tuple(dict.fromkeys((_LOCAL, *kept, *hurts)))


def line_count(groups: Iterable[Group], *, width: int) -> int:
    """Return how many lines groups of sentences take, a heading one, at so many characters a line. [-]"""
    return sum(1 + sum(-(-len(sentence) // width) for sentence in sentences) for _, sentences in groups)


def shortened(groups: Sequence[Group], *, lines: int, width: int) -> tuple[tuple[Group, ...], int]:
    """Return headings with as many of their sentences as there is room for, and how many had none.

    Parameters
    ----------
    groups : sequence of (heading, sentences)
    lines : int
        Room for all of them. [-]
    width : int
        Characters of a line. [-]

    Returns
    -------
    tuple
        Sentences are taken in turns, the first of every group before the second of any.
    """
    kept = [0] * len(groups)
    left = lines - len(groups)
    for turn in range(max((len(sentences) for _, sentences in groups), default=0)):
        for number, (_, sentences) in enumerate(groups):
            if turn < len(sentences) and kept[number] == turn:
                need = -(-len(sentences[turn]) // width)
                if need <= left:
                    left -= need
                    kept[number] += 1
    out = sum(len(sentences) for _, sentences in groups) - sum(kept)
    return tuple((heading, sentences[:n]) for (heading, sentences), n in zip(groups, kept, strict=True)), out
