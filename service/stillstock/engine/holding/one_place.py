"""Holders of one sort in one place, which would count twice."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from stillstock.engine.holding.contacts import Bond, Contact, Pin, Push, Rest
from stillstock.engine.holding.place import TOUCH
from stillstock.errors import Fault

__all__ = ["in_one_place"]

#: What rounding of outlines may shift. [m]
ROUNDING = 1e-6

Area = Bond | Rest


@dataclass(frozen=True, kw_only=True)
class _Shared:
    """A holder in the place of another, and what is said of it."""

    holder: int
    other: int
    detail: str
    numbers: tuple[tuple[float, str], ...] = ()


def in_one_place(contacts: Iterable[Contact], *, under: str = "/holders", first: int = 0) -> list[Fault]:
    """Return the fault of each holder that shares its place with an earlier one of its sort.

    Parameters
    ----------
    contacts : iterable of Contact
    under : str
        Pointer of the list that the holders stand in.
    first : int
        Number under which the first of them counts.

    Notes
    -----
    Tapes (or zones of vacuum) that share ground under the stock, and fasteners or toes at one point: only one of them
    can be there, and both would be counted.
    """
    every = list(contacts)
    bonds = [c for c in every if isinstance(c, Bond) and not c.of_stock]
    rests = [c for c in every if isinstance(c, Rest)]
    pins = [c for c in every if isinstance(c, Pin)]
    toes = [c for c in every if isinstance(c, Push) and c.toe is not None]
    shared = [*_areas(bonds, "tape"), *_areas(rests, "vacuum"), *_points(pins, "fasteners"), *_points(toes, "toes")]
    return [
        Fault(
            pointer=f"{under}/{one.holder - first}",
            code="overlap",
            detail=one.detail.format(other=one.other - first + 1),
            numbers=one.numbers,
            seen=f"{under}/{one.other - first}",
        )
        for _, one in sorted({each.holder: each for each in reversed(shared)}.items())
    ]


def _areas(contacts: Sequence[Area], what: str) -> Iterator[_Shared]:
    shapes = [Polygon(contact.area) for contact in contacts]
    if len(shapes) < 2:
        return
    told: set[int] = set()
    ones, others = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    for one, other in sorted(zip(ones.tolist(), others.tolist(), strict=True)):
        first, second = contacts[other].holder, contacts[one].holder
        common = float(shapes[one].intersection(shapes[other]).area)
        if first >= second or second in told or common <= ROUNDING * min(shapes[one].length, shapes[other].length):
            continue
        told.add(second)
        yield _Shared(
            holder=second,
            other=first,
            detail=f"it shares {{{{0}}}} with the {what} of holder {{other}}: two cannot hold the same ground",
            numbers=((common, "area"),),
        )


def _points(contacts: Sequence[Pin | Push], what: str) -> Iterator[_Shared]:
    """Give the faults of points within a touch of an earlier one; each looks round in cells of that size."""
    cells: dict[tuple[int, int], list[Pin | Push]] = {}
    for contact in contacts:
        i, j = (int(np.floor(x / TOUCH)) for x in contact.at[:2])
        near = [c for a in (-1, 0, 1) for b in (-1, 0, 1) for c in cells.get((i + a, j + b), ())]
        same = [c for c in near if c.holder != contact.holder and np.hypot(*np.subtract(c.at, contact.at)[:2]) < TOUCH]
        if same:
            detail = f"it stands where holder {{other}} stands: two {what} cannot be in one place"
            yield _Shared(holder=contact.holder, other=min(c.holder for c in same), detail=detail)
        cells.setdefault((i, j), []).append(contact)
