"""Sentences of the engine with their numbers in the caller's units."""

from collections.abc import Sequence

from stillstock.units import System, present, unit_name

__all__ = ["said", "written"]


def written(value: float, dimension: str, system: System) -> str:
    """Return a quantity [SI] in the caller's unit, as a sentence has it."""
    return f"{present(value, dimension, system):.3g} {unit_name(dimension, system)}".rstrip()


def said(sentence: str, numbers: Sequence[tuple[float, str]], system: System) -> str:
    """Return a sentence with its numbers in place of ``{0}``, ``{1}`` ...; one without numbers as it stands.

    Parameters
    ----------
    sentence : str
        May hold anything, braces too, if there are no numbers.
    numbers : sequence of (float, str)
        Value and dimension of each. [SI]
    system : {"metric", "inch"}

    Examples
    --------
    >>> said("it stands {0} beside the stock", [(0.0127, "length")], "inch")
    'it stands 0.5 in beside the stock'
    """
    if not numbers:
        return sentence
    return sentence.format(*(written(value, dimension, system) for value, dimension in numbers))
