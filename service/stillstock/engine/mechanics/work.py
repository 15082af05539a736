"""Work that is counted, not timed: what reckoning costs, told from sizes and steps alone.

One unit is what a small linear programme costs, about half a millisecond of one core. Whatever may take long says what
it costs by `spend`, before it starts where its size tells, else step by step. Whoever may not wait opens a `budget`:
what is spent within it beyond that ends in `OutOfWork`, always at the same place for the same question. Budgets nest;
an inner one never has more than is left of the outer. As the units of a document, they belong to the question at hand
and not to any value: every function between would only hand them on.
"""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

__all__ = ["Budget", "OutOfWork", "budget", "left", "need", "spend"]


class OutOfWork(Exception):
    """The budget of work is spent."""


@dataclass
class Budget:
    """What may still be spent. [units]"""

    left: float


_OPEN: ContextVar[tuple[Budget, ...]] = ContextVar("budgets", default=())


@contextmanager
def budget(most: float) -> Iterator[Budget]:
    """Let what is done within the block cost so much, and no more than is left of the budgets around it. [units]

    Examples
    --------
    >>> with budget(10.0) as mine:
    ...     spend(4.0)
    >>> mine.left
    6.0
    """
    one = Budget(left=min(most, left()))
    token = _OPEN.set((*_OPEN.get(), one))
    try:
        yield one
    finally:
        _OPEN.reset(token)


def left() -> float:
    """Return what may still be spent; infinite outside every budget. [units]"""
    return min((one.left for one in _OPEN.get()), default=math.inf)


def spend(units: float) -> None:
    """Count work that is done, or about to be.

    Parameters
    ----------
    units : float
        [units]

    Raises
    ------
    OutOfWork
        If a budget has not so much left.
    """
    for one in _OPEN.get():
        one.left -= units
    need(0.0)


def need(units: float) -> None:
    """See that so much may still be spent, and spend nothing: for what is known beforehand to cost at least that.

    Parameters
    ----------
    units : float
        [units]

    Raises
    ------
    OutOfWork
        If a budget has not so much left.
    """
    if units > left():
        raise OutOfWork
