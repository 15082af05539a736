"""Letters and digits as single strokes, so that a bit engraves them with one pass along each.

The alphabet is of our own design: straight strokes on a net of 4 by 6 fields, capitals 6 high, no stroke drawn twice.
"""

from collections.abc import Sequence
from functools import cache

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = ["ALPHABET", "GAP", "letter_of", "text_strokes", "text_width"]

# Each glyph: strokes separated by blanks, each a run of points, each point its x and y in the net.
_GLYPHS = {
    " ": "",
    "0": "10 30 41 45 36 16 05 01 10 14-32",
    "1": "14 26 20 10-30",
    "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 33 42 41 30 10 01 13-33",
    "4": "30 36 02 42",
    "5": "46 06 03 33 42 41 30 10 01",
    "6": "45 36 16 05 01 10 30 41 42 33 03",
    "7": "06 46 10",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "01 10 30 41 45 36 16 05 04 13 43",
    "A": "00 26 40 12-32",
    "B": "00 06 36 45 44 33 42 41 30 00 03-33",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00",
    "E": "46 06 00 40 03-33",
    "F": "46 06 00 03-33",
    "G": "45 36 16 05 01 10 30 41 43 23",
    "H": "00 06 40-46 03-43",
    "I": "20 26 10-30 16-36",
    "J": "46 41 30 10 01",
    "K": "00 06 46-03-40",
    "L": "06 00 40",
    "M": "00 06 23 46 40",
    "N": "00 06 40 46",
    "O": "10 30 41 45 36 16 05 01 10",
    "P": "00 06 36 45 44 33 03",
    "Q": "10 30 41 45 36 16 05 01 10 22-40",
    "R": "00 06 36 45 44 33 03 23-40",
    "S": "45 36 16 05 04 13 33 42 41 30 10 01",
    "T": "06 46 26-20",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 10 24 30 46",
    "X": "00 46 06-40",
    "Y": "06 23 46 23-20",
    "Z": "06 46 00 40",
    "-": "13-33",
    "+": "13-33 22-24",
    ".": "20 21",
    "/": "00 46",
    '"': "15-16 35-36",
}
ALPHABET = frozenset(_GLYPHS)
_WIDTH, _HEIGHT = 4.0, 6.0
#: From one letter's box to the next, over the height of a capital. [-]
GAP = 2.0 / _HEIGHT


def text_width(text: str, *, height: float) -> float:
    """Return the width of a line of text whose capitals are `height` high. [m]"""
    if not text:
        return 0.0
    return (len(text) * _WIDTH / _HEIGHT + (len(text) - 1) * GAP) * height


def text_strokes(text: str, *, at: tuple[float, float], height: float) -> tuple[FloatArray, ...]:
    """Return the strokes of a line of text, each through two points or more.

    Parameters
    ----------
    text : str
        Of letters in `ALPHABET`; small letters are written as capitals.
    at : (2,) tuple
        Lower left corner of the first letter's box. [m]
    height : float
        Of a capital. [m]

    Returns
    -------
    tuple of (n, 2) arrays
        In the order of writing. [m]

    Raises
    ------
    ValueError
        If a letter is not in the alphabet.
    """
    missing = sorted(set(text.upper()) - ALPHABET)
    if missing:
        raise ValueError(f"letters that the alphabet does not have: {missing}")
    scale, step = height / _HEIGHT, height * (_WIDTH / _HEIGHT + GAP)
    return tuple(
        stroke * scale + np.array([at[0] + place * step, at[1]])
        for place, letter in enumerate(text.upper())
        for stroke in _glyph(letter)
    )


def letter_of(index: int) -> str:
    """Return the letters of a place as on a map or sheet: A to Z, then AA, AB ...; places below 0 get a minus.

    Examples
    --------
    >>> [letter_of(index) for index in (0, 25, 26, 701, 702, -1)]
    ['A', 'Z', 'AA', 'ZZ', 'AAA', '-A']
    """
    if index < 0:
        return "-" + letter_of(-index - 1)
    letters, rest = "", index + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


@cache
def _glyph(letter: str) -> Sequence[FloatArray]:
    strokes: list[list[tuple[float, float]]] = [[]]
    for run in _GLYPHS[letter].split():
        if "-" in run:
            strokes += [[_point(point) for point in run.split("-")], []]
        else:
            strokes[-1].append(_point(run))
    return tuple(np.array(stroke) for stroke in strokes if stroke)


def _point(text: str) -> tuple[float, float]:
    return float(text[0]), float(text[1])
