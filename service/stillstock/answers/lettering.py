"""Text on a drawing: how much room it takes, how it is wrapped and cut, and where it stands in nobody's way."""

from collections.abc import Sequence

import numpy as np

from stillstock.engine.drawing import Label, Polyline
from stillstock.engine.set_up import FloatArray

__all__ = ["Free", "boxed", "cut_to", "room_of", "wrapped"]

#: Width of a letter over the height of a capital, in any plain sans-serif; common practice, no source. [-]
LETTER = 0.9

Box = tuple[float, float, float, float]


def room_of(text: str, height: float) -> float:
    """Return the width that a text takes at the most. [m]"""
    return LETTER * height * len(text)


def wrapped(text: str, width: int) -> Sequence[str]:
    """Return a text in rows of at most `width` characters, broken at blanks.

    Examples
    --------
    >>> wrapped("holds twice the worst load", 12)
    ['holds twice', 'the worst', 'load']
    """
    rows, row = [], ""
    for word in text.split():
        if row and len(row) + 1 + len(word) > width:
            rows.append(row)
            row = word
        else:
            row = f"{row} {word}".strip()
    return [*rows, row]


def cut_to(text: str, most: int) -> str:
    """Return a text of at most so many characters.

    Examples
    --------
    >>> cut_to("outline of the door", 10)
    'outline...'
    """
    return text if len(text) <= most else text[: max(most - 3, 0)].rstrip() + "..."


def boxed(text: str, center: tuple[float, float], height: float, *, frame: str, layer: str) -> tuple[Polyline, Label]:
    """Return a line of text on a ground of its own, so that it can be read over lines.

    Parameters
    ----------
    text : str
    center : (2,) tuple
        Of the ground. [m]
    height : float
        Of a capital. [m]
    frame, layer : str
        Layers of the ground and of the text.
    """
    half = np.array([room_of(text, height) / 2.0 + 0.5 * height, 1.1 * height])
    corners = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]) * half + np.asarray(center)
    at = (center[0], center[1] - height / 2.0)
    return (
        Polyline(layer=frame, points=corners, closed=True),
        Label(layer=layer, at=at, text=text, height=height, anchor="middle"),
    )


class Free:
    """Room that is taken already, and the first place that is not."""

    def __init__(self) -> None:
        """Start with an empty sheet."""
        self._taken: list[Box] = []

    def take(self, center: FloatArray, half: FloatArray) -> None:
        """Mark a box as taken; `center`, `half` its size: (2,). [m]"""
        self._taken.append((*(center - half).tolist(), *(center + half).tolist()))

    def place(self, wished: FloatArray, half: FloatArray, *, step: float) -> FloatArray:
        """Return the place nearest to a wished one at which a box overlaps nothing, and take it. (2,) [m]

        Parameters
        ----------
        wished : (2,) array
            Centre of the box. [m]
        half : (2,) array
            Half its width and height. [m]
        step : float
            By which it is moved. [m]
        """
        for ring in range(12):
            turns = np.arange(8 * ring) / max(8 * ring, 1) * 2.0 * np.pi if ring else np.zeros(1)
            for turn in turns:
                center = wished + ring * step * np.array([np.cos(turn), np.sin(turn)])
                if not self._meets(center, half):
                    self.take(center, half)
                    return center
        self.take(wished, half)
        return wished

    def _meets(self, center: FloatArray, half: FloatArray) -> bool:
        (x0, y0), (x1, y1) = (center - half).tolist(), (center + half).tolist()
        return any(x0 < b[2] and b[0] < x1 and y0 < b[3] and b[1] < y1 for b in self._taken)
