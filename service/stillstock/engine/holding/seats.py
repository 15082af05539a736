"""Which of several stops in one line the stock really touches."""

from collections.abc import Sequence
from itertools import combinations, product
from math import comb, prod

import numpy as np

from stillstock.engine.holding.contacts import Rub
from stillstock.engine.mechanics.work import need

__all__ = ["seats"]

#: What a hold costs at the least for each seat, by measurement. [units]
A_SEAT = 200.0


def _along(rub: Rub) -> float:
    """Return how far along its line a stop stands. [m]"""
    return float(np.dot(np.cross((0.0, 0.0, 1.0), rub.normal), rub.at))


def _of_line(members: Sequence[int], rubs: Sequence[Rub]) -> list[frozenset[int]]:
    if len(members) < 3:
        return [frozenset(members)]
    order = sorted(members, key=lambda i: (_along(rubs[i]), i))
    return [frozenset(pair) for pair in combinations(order, 2)] + [frozenset([i]) for i in order[1:-1]]


def _count(members: int) -> int:
    return 1 if members < 3 else comb(members, 2) + members - 2


def seats(rubs: Sequence[Rub]) -> tuple[frozenset[int], ...]:
    """Return every set of contacts that the stock may rest against, by their numbers.

    Notes
    -----
    A straight edge touches one or two of several stops in a line: any pair, or one between others that stands proud.
    With one or two in a line it touches all. Contacts outside a line always touch. The least margin over the seats
    counts.

    Raises
    ------
    OutOfWork
        If there are more than could be judged, before any is written down.
    """
    lines: dict[str, list[int]] = {}
    for number, rub in enumerate(rubs):
        lines.setdefault(rub.group or f"alone {number}", []).append(number)
    if any(len(members) > 2 for members in lines.values()):
        need(A_SEAT * prod(_count(len(members)) for members in lines.values()))
    choices = [_of_line(members, rubs) for members in lines.values()]
    return tuple(frozenset().union(*choice) for choice in product(*choices)) if choices else (frozenset(),)
