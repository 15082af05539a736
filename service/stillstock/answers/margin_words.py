"""The margin in words that a machinist reads."""

import math

from stillstock.engine.mechanics.motion import LetGo, Motion

__all__ = ["CAUTIONS", "in_ascii", "in_one_line", "motion_words", "summary", "with_help"]

LONGEST = 120

CAUTIONS = (
    "A calculation, not a promise: push hard at the stock by hand, and run the first pass with a hand on the stop.",
    "Stand out of the flight line of the stock; wear eye and ear protection; keep hands away from a turning cutter.",
    "Local rules, the machine's and the makers' instructions and trained people come first.",
    "Wood dust and fumes harm: extract dust, ventilate; loose stock that rubs on a tool can start a fire.",
)

_COMPASS = ("to the right", "to the back right", "to the back", "to the back left", "to the left", "to the front left",
            "to the front", "to the front right")  # fmt: skip


def in_ascii(text: str) -> str:
    """Return a text with every character that is not plain ASCII, or that ends a line, as a question mark."""
    return "".join(c if 32 <= ord(c) < 127 else "?" for c in text)


def _compass(x: float, y: float) -> str:
    return _COMPASS[round(math.atan2(y, x) / (math.pi / 4.0)) % 8]


def motion_words(motion: LetGo) -> str:
    """Return how the stock lets go, in words, seen from the front of the machine."""
    x, y, z = motion.direction
    if motion.kind is Motion.SLIDE:
        return f"by sliding {_compass(x, y)}"
    if motion.kind is Motion.LIFT:
        return "by lifting" if z > 0.0 else "by sinking"
    if motion.kind is Motion.TWIST:
        return f"by twisting {'counter-clockwise' if z > 0.0 else 'clockwise'}"
    # A tip about an axis a raises the side at a x z: the stock falls over towards where its far side sinks.
    return f"by tipping over {_compass(y, -x)}"


def _factor(value: float) -> str:
    return f"{value:.1f}" if value < 9.95 else f"{value:.0f}"


def summary(
    verdict: str,
    *,
    factor: float,
    required: float,
    motion: LetGo | None,
    place: str,
    first: str = "",
    pessimistic: float = math.inf,
) -> str:
    """Return the answer in one ASCII line of at most 120 characters.

    Parameters
    ----------
    verdict : str
        ``holds``, ``doubtful``, ``lets_go`` or ``unknown``.
    factor, required : float
        Typical load factor, infinite if nothing pulls the stock off, not a number if none was judged; and the one asked
        for. [-]
    motion : LetGo or None
    place : str
        Where, e.g. ``line 412`` or ``cut outline``.
    first : str
        What must be said before all else (a check that fails, what could not be read).
    pessimistic : float
        Load factor with everything against it; said if it alone is too small. [-]
    """
    if math.isnan(factor):
        said = "no load was judged"
    elif math.isinf(factor):
        said = "every load only presses the stock home"
    elif factor <= 0.0:
        said = f"nothing holds the stock against the worst load, {place}"
    elif factor < 1.0:
        said = f"lets go at {_factor(factor)} times the worst load, {place}"
    else:
        said = f"holds {_factor(factor)} times the worst load (asked {_factor(required)}), {place}"
        if pessimistic < 1.0 and factor >= required:
            said = f"holds {_factor(factor)} times, at worst {_factor(pessimistic)} times the worst load, {place}"
    lead = {"unknown": "could not tell: ", "doubtful": "doubtful: ", "lets_go": "DOES NOT HOLD: "}.get(verdict, "")
    motion_said = "" if motion is None else f"lets go first {motion_words(motion)}"
    return _fitting(in_ascii(lead), [in_ascii(clause) for clause in (first, said, motion_said) if clause])


def _fitting(lead: str, clauses: list[str]) -> str:
    """Return as many whole clauses as there is room for; of a first one that is too long, its whole words."""
    for count in range(len(clauses), 0, -1):
        line = lead + "; ".join(clauses[:count])
        if len(line) <= LONGEST:
            return line
    return in_one_line(lead + clauses[0])


def in_one_line(text: str) -> str:
    """Return a text of at most 120 characters: of a longer one its whole words.

    Examples
    --------
    >>> in_one_line("word " * 50)[-7:]
    'word...'
    """
    room = LONGEST - len("...")
    return text if len(text) <= LONGEST else f"{text[: room + 1].rpartition(' ')[0] or text[:room]}..."


def with_help(line: str, short: str) -> str:
    """Return a summary with what would make the stock hold, where there is room for it."""
    longer = in_ascii(f"{line}; would hold with {short}") if short else line
    return longer if len(longer) <= LONGEST else line
