"""What is asked of a recommendation: a job without holders, what stands in the shop, how many pieces, what matters."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from stillstock.engine.holding.register import methods
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.units import System

__all__ = ["MATTERS", "PLACED", "UNDERSIDES", "Entry", "Question", "Shop"]

#: Members of holders that say where one stands: the search finds them, so a shop does not state them.
PLACED = ("at", "angle", "faces", "pushes", "area")

#: What may matter; the first two and the movement under `finish` rank, the others rule out.
MATTERS = ("time", "cost", "finish", "both_faces", "no_marks")

#: States of the face by which the stock lies on the bed.
UNDERSIDES = ("clean", "dusty", "oily", "waxy", "rough")


@dataclass(frozen=True, kw_only=True)
class Entry:
    """Holders of one kind that the shop has, alike in all but their places.

    Attributes
    ----------
    number : int
        In the shop's list.
    kind : str
    pattern : mapping
        Members as the method takes them, those of `PLACED` left out. [SI]
    count : int or None
        How many there are; None is as many as it takes.
    set_up_time, removal_time, mounting_time : float or None
        The shop's own: to put them on and off one piece of stock, and once for the batch. [s]
    cost : float or None
        The shop's own: of one, or of a square metre of what lies on an area. [money]
    """

    number: int
    kind: str
    pattern: Mapping[str, Any] = field(default_factory=dict)
    count: int | None = None
    set_up_time: float | None = None
    removal_time: float | None = None
    mounting_time: float | None = None
    cost: float | None = None

    def holder(self, members: Mapping[str, Any]) -> Any:
        """Return a holder of this kind at a place."""
        return methods()[self.kind](**{**self.pattern, **members})

    def enough(self, wanted: int) -> bool:
        """Return whether the shop has as many."""
        return self.count is None or self.count >= wanted


@dataclass(frozen=True, kw_only=True, eq=False)
class Shop:
    """What stands in the shop, and where things can be fixed to its table.

    Attributes
    ----------
    entries : sequence of Entry
    inserts : (n, 2) array or None
        Places of threaded inserts or tapped holes; None if the shop did not say. [m]
    tracks : sequence of (2, 2) arrays or None
        Both ends of each track or slot. [m]
    zones : sequence of (n, 2) arrays
        Vacuum zones of the table, that can be opened one by one; none for one under the stock alone. [m]
    table : (2, 2) array or None
        Least and greatest corner of the table. [m]
    locating_time : float or None
        The shop's own, to find the zero of a piece that nothing puts in its place. [s]
    """

    entries: Sequence[Entry]
    inserts: FloatArray | None = None
    tracks: Sequence[FloatArray] | None = None
    zones: Sequence[FloatArray] = ()
    table: FloatArray | None = None
    locating_time: float | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Question:
    """What is to be recommended.

    Attributes
    ----------
    set_up : SetUp
        The job, without holders.
    shop : Shop
    batch : int
        Pieces of stock that are loaded one after another. [-]
    matters : sequence of str
        Of `MATTERS`, the weightiest first.
    underside : str
        Of `UNDERSIDES`.
    holes : sequence of (2,) tuples
        Middles of holes that the stock has, for bolts. [m]
    system : {"metric", "inch"}
        Units of the document, in which places come out round.
    """

    set_up: SetUp
    shop: Shop
    batch: int = 1
    matters: Sequence[str] = ("time",)
    underside: str = "clean"
    holes: Sequence[tuple[float, float]] = ()
    system: System = "metric"
