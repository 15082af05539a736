"""The G and M words that are read, by tenths of their number (G59.1 is 591), and their modal groups.

Groups after NISTIR 6556, 2000, table 4 (from memory).
"""

from stillstock.engine.program.canned_cycles import CYCLES
from stillstock.engine.program.modal_state import INCH, MILLIMETRE, OFFSET_WORDS

__all__ = [
    "AUXILIARY",
    "CANCEL_SHIFT",
    "FEED_MODES",
    "GROUPS",
    "MODES",
    "MOTIONS",
    "OFFSETS",
    "PROBES",
    "QUIET",
    "SUBPROGRAM_M",
    "UNITS",
    "UNREAD_MOTIONS",
    "tenths",
]

UNITS = {200: INCH, 210: MILLIMETRE}
FEED_MODES = {930: 93, 940: 94, 950: 95}
OFFSETS = {tenths: word for word in OFFSET_WORDS for tenths in [round(float(word[1:]) * 10)]}
PROBES = frozenset({382, 383, 384, 385})
MOTIONS = (
    {0: 0, 10: 1, 20: 2, 30: 3, 800: None} | {10 * code: code for code in CYCLES} | {code: code for code in PROBES}
)
MODES: dict[int, tuple[str, object]] = {
    170: ("plane", 17),
    180: ("plane", 18),
    190: ("plane", 19),
    900: ("absolute", True),
    910: ("absolute", False),
    901: ("absolute_centres", True),
    911: ("absolute_centres", False),
    980: ("to_initial", True),
    990: ("to_initial", False),
}

CANCEL_SHIFT = frozenset({921, 922})

QUIET = frozenset({40, 150, 281, 301, 400, 430, 490, 610, 611, 640, 670, 690, 970})
"""Read, and without effect on where the tool tip goes: dwell, path control, tool length (tool-tip frame), and what ends
a mode that this reader does not read (its beginning is told as unread)."""

UNREAD_MOTIONS = frozenset({50, 51, 52, 53, 120, 130, 330, 331, 740, 760, 840, 860, 870, 880})
"""Motion words that are not read: coordinates that follow them belong to them, not to the motion before."""

AUXILIARY = frozenset({0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30, 48, 49, 60})
"""M words that are read, or have no effect on the path: stops, spindle, coolant, overrides."""

SUBPROGRAM_M = frozenset({97, 98, 99})

_GROUP_MEMBERS = {
    "motion": [*MOTIONS, *UNREAD_MOTIONS],
    "plane": [170, 180, 190],
    "distance": [900, 910],
    "centre": [901, 911],
    "feed mode": list(FEED_MODES),
    "unit": list(UNITS),
    "work offset": list(OFFSETS),
    "return level": [980, 990],
    "non-modal": [40, 100, 280, 281, 300, 301, 530, 920, 921, 922],
}

GROUPS = {code: group for group, members in _GROUP_MEMBERS.items() for code in members}


def tenths(number: float) -> int:
    """Ten times the number of a G word, -1 if it is none."""
    if not 0.0 <= number < 1000.0:
        return -1
    code = round(number * 10.0)
    return code if abs(number * 10.0 - code) < 1e-6 else -1
