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
        One sentence.
    pointer : str
        JSON pointer to what it is about; empty for the whole document.
    line : int
        Line of the program; 0 for none.
    doubt : bool
        Whether the verdict can be no better than unknown because of it.
    """

    code: str
    detail: str
    pointer: str = ""
    line: int = 0
    doubt: bool = False
