"""Sentences of the engine in the caller's units: answers, and refusals with what came and what was allowed."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from stillstock.errors import DocumentError, Fault
from stillstock.units import System, present, unit_name

__all__ = ["refusal", "said"]

Refusal = TypeVar("Refusal", bound=DocumentError)


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
    return sentence.format(*(_written(value, dimension, system) for value, dimension in numbers))


def refusal(error: Refusal, system: System) -> Refusal:
    """Return a refusal whose sentences and numbers are in the caller's units."""
    faults = [_fault(fault, system) for fault in error.faults]
    own = "" if not error.faults or error.detail == error.faults[0].detail else error.detail
    return type(error)(faults, own)


def _fault(fault: Fault, system: System) -> Fault:
    def stated(value: object) -> object:
        if isinstance(value, list | tuple):
            return [stated(item) for item in value]
        return present(float(value), fault.dimension, system) if isinstance(value, int | float) else value

    return replace(
        fault,
        detail=said(fault.detail, fault.numbers, system),
        limit=stated(fault.limit) if fault.dimension else fault.limit,
        seen=stated(fault.seen) if fault.dimension else fault.seen,
        numbers=(),
        dimension="",
    )


def _written(value: float, dimension: str, system: System) -> str:
    return f"{present(value, dimension, system):.3g} {unit_name(dimension, system)}".rstrip()
