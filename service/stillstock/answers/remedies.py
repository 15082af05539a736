"""What would help: changes of the set-up, each found by search and proved by running it."""

from collections.abc import Callable

from stillstock.answers.remedy import Remedy
from stillstock.answers.tightening import looser, more_tape, more_vacuum, tighter
from stillstock.answers.trials import Bench, OutOfWork

__all__ = ["WORK", "remedies"]

#: Programmes that the search for remedies may cost; it ends where they are spent, so that the same request always ends
#: the same way. [-]
WORK = 6000

_SEARCHES: tuple[Callable[[Bench], Remedy | None], ...] = (tighter, more_vacuum, more_tape)


def remedies(bench: Bench) -> tuple[Remedy, ...]:
    """Return the changes that were proved to help, those that hold in full first, then by what they reach.

    Parameters
    ----------
    bench : Bench
        With the stated set-up and its budget of work.
    """
    # What already reaches the factors, yet fails a check, is tightened too far: less is tried before more.
    searches = (looser, *_SEARCHES) if bench.stated.score >= 1.0 and bench.stated.failing else _SEARCHES
    found: list[Remedy] = []
    for search in searches:
        try:
            remedy = search(bench)
        except OutOfWork:
            break
        if remedy is not None:
            found.append(remedy)
    return tuple(sorted(found, key=lambda remedy: (not remedy.holds, -min(remedy.margin, remedy.pessimistic))))
