"""A bench for holding methods: a lopsided stock on a bed, and the load factor that holders give it."""

from collections.abc import Sequence

import numpy as np

from stillstock.engine.holding.contacts import Bond, Contacts, Pin, Push, Rest, Rub
from stillstock.engine.holding.method import HoldingMethod
from stillstock.engine.holding.reading import Reading
from stillstock.engine.holding.resistance import ways
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import Bed, FloatArray, Material, SetUp, Stock
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Corner, Triple

TABLES = load_tables()

#: Where the stock's lowest corner lies; not at zero, so that no moment about the wrong point goes unseen. [m]
ORIGIN = (0.03, -0.05, -0.018)


def material(key: str) -> Material:
    found = TABLES.material(key)
    assert found is not None
    return found


def exactly(value: float, dimension: str = "force") -> Triple:
    return Triple(low=value, typical=value, high=value, dimension=dimension, source="caller")


def rectangle(x0: float, y0: float, x1: float, y1: float) -> FloatArray:
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def bench(
    *,
    stock: str = "mdf",
    bed: str = "mdf",
    size: tuple[float, float, float] = (0.3, 0.2, 0.018),
    thickness: tuple[float, float] | None = None,
    condition: str = "clean",
    grain: float = 0.0,
    bow: float = 0.0,
    error: float = 0.0,
) -> SetUp:
    """Return a set-up whose stock rests on the bed at `ORIGIN`."""
    workpiece = Stock(
        material=material(stock),
        size=size,
        thickness=thickness or (size[2], size[2]),
        origin=ORIGIN,
        grain=grain,
        bow=bow,
    )
    board = Bed(material=material(bed), thickness=0.025, top=ORIGIN[2], condition=condition, error=error)
    return SetUp(stock=workpiece, bed=board)


def contacts_of(holders: Sequence[HoldingMethod], set_up: SetUp, *, weight: float = 0.0) -> Contacts:
    found = [c for number, holder in enumerate(holders) for c in holder.contacts(number, set_up, TABLES)]
    stock = set_up.stock
    middle = tuple(o + s / 2.0 for o, s in zip(stock.origin, stock.size, strict=True))
    if weight > 0.0:
        x, y, z = middle
        found.append(Push(holder=-1, at=(x, y, z), direction=(0.0, 0.0, -1.0), force=exactly(weight)))
    return Contacts(
        pushes=tuple(c for c in found if isinstance(c, Push)),
        rests=tuple(c for c in found if isinstance(c, Rest)),
        rubs=tuple(c for c in found if isinstance(c, Rub)),
        bonds=tuple(c for c in found if isinstance(c, Bond)),
        pins=tuple(c for c in found if isinstance(c, Pin)),
    )


def factor(
    holders: Sequence[HoldingMethod],
    set_up: SetUp,
    *,
    at: Sequence[float],
    force: Sequence[float],
    couple: Sequence[float] = (0.0, 0.0, 0.0),
    corner: Corner = Corner.TYPICAL,
    friction: float = 0.3,
    weight: float = 0.0,
) -> float:
    """Return how many times the load is held; infinite if it only presses home."""
    reading = Reading(strength=corner, preload=corner)
    found = ways(
        contacts_of(holders, set_up, weight=weight),
        stock=set_up.stock,
        bed=set_up.bed,
        friction=exactly(friction, "number"),
        reading=reading,
    )
    return Capacity([way.systems for way in found]).at(wrench(at, force, couple)).factor


def middle(set_up: SetUp, *, z: float | None = None) -> tuple[float, float, float]:
    """Return the middle of the stock's underside, or of the level `z`. [m]"""
    origin, size = set_up.stock.origin, set_up.stock.size
    return origin[0] + size[0] / 2.0, origin[1] + size[1] / 2.0, origin[2] if z is None else z
