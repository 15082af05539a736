"""What would help: changes of the set-up, each found by search and proved by running it."""

from collections.abc import Callable

from stillstock.answers.gentler_cuts import climb, down_cut, shallower, slower, slower_program
from stillstock.answers.one_more_holder import KINDS, one_more
from stillstock.answers.remedy import Remedy
from stillstock.answers.stronger_bridges import stronger_bridges
from stillstock.answers.surer_vise import biting, seated
from stillstock.answers.tightening import looser, more_tape, more_vacuum, tighter, tighter_alone
from stillstock.answers.trials import Bench
from stillstock.engine.mechanics.work import OutOfWork, budget

__all__ = ["MOST", "WORK", "remedies"]

#: What the search for remedies may cost; it ends where that is spent, so that the same request always ends the same
#: way. [units]
WORK = 28_000.0

#: Of that, what one search may cost: half, which the search for two more clamps takes nearly. [units]
SHARE = 14_000.0

#: Remedies that an answer has at the most. [-]
MOST = 6

#: In the order of the trouble that they make: a mallet, a wrench or a knob, then the drawing, then other gear. Own
#: judgement.
_SEARCHES: tuple[Callable[[Bench], Remedy | None], ...] = (
    seated,
    tighter,
    stronger_bridges,
    slower_program,
    slower,
    climb,
    more_vacuum,
    shallower,
    *(one_more(kind) for kind in KINDS),
    tighter_alone,
    more_tape,
    down_cut,
    biting,
)


#: Searches that only add to the hold, which is no help where a check fails that the hold has nothing to do with.
_FOR_HOLD = (seated, biting, tighter, tighter_alone, more_vacuum)


def _within_its_share(search: Callable[[Bench], Remedy | None], bench: Bench) -> Remedy | None:
    try:
        with budget(SHARE):
            return search(bench)
    except OutOfWork:
        return None


def remedies(bench: Bench) -> tuple[Remedy, ...]:
    """Return the changes that were proved to help: those that hold in full first, then those that reach what is asked.

    Among equals the one that makes less trouble comes first, for each is as small as serves.

    Parameters
    ----------
    bench : Bench
        With the stated set-up.
    """
    # What already reaches the factors, yet fails a check, may be tightened too far; more of it is no help. Where less
    # of it mends all, gentler cuts and more gear have nothing left to mend.
    enough_hold = bench.stated.score >= 1.0
    searches = (looser, *(one for one in _SEARCHES if one not in _FOR_HOLD)) if enough_hold else _SEARCHES
    found: list[Remedy] = []
    with budget(WORK):
        for search in searches:
            remedy = _within_its_share(search, bench)
            if remedy is not None and (remedy.holds or not enough_hold):
                found.append(remedy)
                if search is looser and remedy.holds:
                    break
    required = bench.stated.required
    enough = {id(one): one.margin >= required and one.pessimistic >= 1.0 for one in found}
    return tuple(sorted(found, key=lambda one: (not one.holds, not enough[id(one)]))[:MOST])
