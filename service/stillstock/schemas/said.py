"""Refusals in the caller's units: their sentences, what came and what was allowed."""

from dataclasses import replace
from typing import TypeVar

from stillstock.answers.said import said
from stillstock.errors import DocumentError, Fault
from stillstock.units import System, present

__all__ = ["refusal"]

Refusal = TypeVar("Refusal", bound=DocumentError)


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
