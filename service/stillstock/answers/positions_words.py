"""What an answer about repeat parts says in words."""

from collections.abc import Iterator, Sequence

from stillstock.answers.margin_words import in_one_line
from stillstock.answers.positions_request import PositionsRequest
from stillstock.engine.positions.fit import Fit
from stillstock.engine.positions.layout import Room
from stillstock.engine.positions.location import Stack, Term
from stillstock.engine.positions.request import Dowels, Refer
from stillstock.engine.positions.two_sided import Way

__all__ = ["NO_MACHINE_ZERO", "cautions", "summary"]

NO_MACHINE_ZERO = (
    "/offsets/machine is not stated: the offsets count from the table's zero, which is hardly ever the machine's. DO "
    "NOT LOAD THEM: state the machine position of the table's zero."
)

_MET = {"always": "met", "usually": "met usually, not at worst", "no": "NOT MET"}
#: Chips of a router under an edge or a face (common practice, no source). [m]
_CHIP = (0.2e-3, 1e-3)


def summary(asked: PositionsRequest, room: Room, places: int, plan: Stack, meets: str) -> str:
    """Return one line of ASCII for a dialog."""
    fits = f"{room.count} fit ({room.x.count} x {room.y.count})"
    used = f", {places} used" if places < room.count else ""
    back = f"; come back within {asked.length(plan.rss)} (rss), {asked.length(plan.worst)} at worst"
    wanted = f"; asked {asked.length(asked.tolerance)}: {_MET[meets]}" if asked.tolerance is not None else ""
    # Whether it is met stands before the numbers, which may have no room.
    return in_one_line(f"{fits}{used}{wanted}{back}")


def cautions(
    asked: PositionsRequest, fits: Sequence[Fit], every_way: Sequence[Way], terms: Sequence[Term]
) -> tuple[str, ...]:
    """Return what the person at the machine should mind."""
    return tuple(_cautions(asked, fits, every_way, terms))


def _cautions(
    asked: PositionsRequest, fits: Sequence[Fit], every_way: Sequence[Way], terms: Sequence[Term]
) -> Iterator[str]:
    if asked.offsets.machine is None:
        yield NO_MACHINE_ZERO
    low, high = (asked.length(chip) for chip in _CHIP)
    yield (
        f"Sweep stops, dowels and table before each part: a chip of {low} to {high} is not in these numbers "
        "(common practice, no source)."
    )
    yield "Measure the first part before the batch, correct, then check every tenth (common practice, no source)."
    yield "Stops, lines and dowels place a part; they do not hold it down: ask for the margin of each set-up."
    largest = max(terms, key=lambda term: term.amount, default=None)
    if largest is not None and largest.amount > 0.0:
        yield f"The greatest single cause is {largest.what}: {asked.length(largest.amount)} either way."
    if any(fit.play[0] < 0.0 for fit in fits):
        yield "Within its limits this fit may turn out a press fit: try each dowel in its hole before the batch."
    plain = isinstance(asked.locating, Dowels) and asked.locating.flip is None
    if plain and len(every_way) > 1:
        yield f"The part goes onto its dowels in {len(every_way)} ways: mark a corner, or take unlike dowels."
    if not plain and len(every_way) == 2:
        yield "The part goes on in two ways only: as it lies, and turned over about the axis of the dowels."
    if asked.refer is Refer.LOCATORS and max(asked.part.tolerance) > 0.0:
        spread = asked.length(max(asked.part.tolerance))
        yield f"Blanks differ by up to {spread} either way: all of it shows at the edges away from the stops."
    yield "Set offsets overwrite what the controller has: note the old ones first, and run the first part in the air."
    yield "Local rules, the machine's and the makers' instructions and trained people come first."
