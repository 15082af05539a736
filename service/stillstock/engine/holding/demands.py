"""What a holder asks of its own parts and of the stock under it, besides holding."""

from dataclasses import dataclass

from stillstock.tables.scatter import Triple

__all__ = ["Demand", "plain"]


@dataclass(frozen=True, kw_only=True)
class Demand:
    """A strength that a holder uses.

    Attributes
    ----------
    name : str
        Constant word: ``"bolt"``, ``"insert"``, ``"arm"``, ``"crush"``, ...
    holder : int
    value : Triple
        What is asked. [SI]
    limit : Triple
        What it bears. [same]
    breaks : bool
        Whether passing the limit lets the stock go (a bolt), or only spoils it (a dent).
    detail : str
        One sentence for the person at the machine; where there are `numbers`, ``{0}``, ``{1}`` ... stand for them.
    at : (3,) tuple or None
        Where. [m]
    numbers : tuple of (float, str)
        Value and dimension of each number in `detail`. [SI]
    """

    name: str
    holder: int
    value: Triple
    limit: Triple
    breaks: bool
    detail: str
    at: tuple[float, float, float] | None = None
    numbers: tuple[tuple[float, str], ...] = ()


def plain(text: str) -> str:
    """Return a caller's text such that no brace in it stands for a number of the sentence it comes into."""
    return text.replace("{", "(").replace("}", ")")
