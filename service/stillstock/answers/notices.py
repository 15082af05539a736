"""Something that the caller should know beside the answer."""

from dataclasses import dataclass

__all__ = ["Notice"]


@dataclass(frozen=True, kw_only=True)
class Notice:
    """A warning: what was assumed, what could not be judged, what a program holds.

    Attributes
    ----------
    code : str
        Constant word.
    detail : str
        One sentence; where there are `numbers`, ``{0}``, ``{1}`` ... stand for them.
    pointer : str
        JSON pointer to what it is about; empty for the whole document.
    line : int
        Line of the program; 0 for none.
    doubt : bool
        Whether the verdict can be no better than unknown because of it.
    fails : bool
        Whether the stock cannot be said to hold because of it, whatever the factors are.
    numbers : tuple of (float, str)
        Value and dimension of each number in `detail`. [SI]
    """

    code: str
    detail: str
    pointer: str = ""
    line: int = 0
    doubt: bool = False
    fails: bool = False
    numbers: tuple[tuple[float, str], ...] = ()
