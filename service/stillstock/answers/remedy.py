"""What a remedy is: a change of the set-up, and the margin that it was proved to give."""

from collections.abc import Mapping
from dataclasses import dataclass

from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Triple

__all__ = ["Change", "Remedy"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Change:
    """One change of the document, as an operation of RFC 6902: ``add``, or ``copy`` where `copied` says from where.

    Attributes
    ----------
    pointer : str
        JSON pointer to what is set; a member that is there already is replaced.
    value : float, str, bool, Triple, array, mapping, tuple of mapping or None
        What to put there: numbers in SI, points as rows; mappings hold words only. [SI unit of `dimension`]
    dimension : str
        Of the numbers in the value; empty for words.
    copied : str
        JSON pointer to what is copied; empty if the value counts.
    """

    pointer: str
    value: float | str | bool | Triple | FloatArray | Mapping[str, str] | tuple[Mapping[str, str], ...] | None = None
    dimension: str = ""
    copied: str = ""


@dataclass(frozen=True, kw_only=True)
class Remedy:
    """A change that was run, not guessed.

    Attributes
    ----------
    kind : str
        Constant word: ``"tighten"``, ``"vacuum"``, ``"tape_area"``, ``"feed"``, ``"depth"``, ``"climb"``,
        ``"down_cut"``, ``"bridge"``, ``"one_more_holder"``, ``"seated"``, ``"jaw"``.
    detail : str
        One sentence for the person at the machine; ``{0}``, ``{1}`` ... stand for `numbers`.
    numbers : tuple of (float, str)
        Value and dimension of each. [SI]
    short : str
        The same in a few words without a unit, for the summary.
    changes : tuple of Change
        In the order in which they are made.
    margin, pessimistic : float
        Load factors of the changed set-up. [-]
    holds : bool
        Whether the changed set-up holds in full: both factors, and every check.
    """

    kind: str
    detail: str
    numbers: tuple[tuple[float, str], ...]
    short: str
    changes: tuple[Change, ...]
    margin: float
    pessimistic: float
    holds: bool
