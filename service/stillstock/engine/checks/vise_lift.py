"""How far a closing jaw takes the stock up with it."""

from collections.abc import Iterator

from stillstock.engine.checks.check import Check
from stillstock.engine.checks.limits import tolerance
from stillstock.engine.set_up import SetUp
from stillstock.tables.load import Tables

__all__ = ["vise_lift"]


def vise_lift(set_up: SetUp, tables: Tables) -> Iterator[Check]:
    """Give the lift of every holder whose jaw rises as it closes: those that state `jaw_lift`."""
    most, source = tolerance(set_up)
    for index, holder in enumerate(set_up.holders):
        states = getattr(holder, "jaw_lift", None)
        if states is None:
            continue
        lift = states(tables)
        yield Check(
            name="jaw_lift",
            holder=index,
            value=lift.high,
            limit=most,
            typical_ratio=lift.typical / most,
            breaks=False,
            detail="how far the closing jaw takes the stock up: tap it down until its parallels sit fast",
            source=lift.source or source,
            dimension="length",
        )
