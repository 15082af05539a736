"""A lopsided slab on a bed, held by bare contacts, and the load factor that they give it."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from stillstock.engine.holding.contacts import Bond, Contacts, Pin, Push, Rest, Rub
from stillstock.engine.holding.reading import Reading
from stillstock.engine.holding.resistance import Way, ways
from stillstock.engine.mechanics.capacity import Capacity, Worst
from stillstock.engine.set_up import Bed, FloatArray, Material, Stock
from stillstock.tables.scatter import Corner, Triple

#: Lowest corner of the slab and its size; not at zero and no square, so that no wrong sign goes unseen. [m]
X0, Y0, Z0 = 0.03, -0.05, -0.018
LONG, WIDE, THICK = 0.3, 0.2, 0.018
MIDDLE = (X0 + LONG / 2.0, Y0 + WIDE / 2.0, Z0 + THICK / 2.0)

MU = 0.3
TYPICAL = Reading(strength=Corner.TYPICAL, preload=Corner.TYPICAL)
WOOD = Material(key="m", title="m", family="panel", properties={})


def exactly(value: float) -> Triple:
    return Triple(low=value, typical=value, high=value)


def band(low: float, typical: float, high: float) -> Triple:
    return Triple(low=low, typical=typical, high=high)


def box(x0: float, y0: float, x1: float, y1: float) -> FloatArray:
    """Return a rectangle by two corners counted from the slab's own corner. (4, 2) [m]"""
    return np.array([(X0 + x, Y0 + y) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])


def at(x: float, y: float, z: float) -> tuple[float, float, float]:
    """Return a place counted from the slab's own lowest corner. (3,) [m]"""
    return X0 + x, Y0 + y, Z0 + z


def slab(size: tuple[float, float, float] = (LONG, WIDE, THICK), *, bow: float = 0.0) -> Stock:
    return Stock(material=WOOD, size=size, thickness=(size[2], size[2]), origin=(X0, Y0, Z0), bow=bow)


def bed(*voids: FloatArray) -> Bed:
    return Bed(material=WOOD, thickness=0.018, top=Z0, voids=voids)


def weight(newtons: float, x: float, y: float, *, z: float = THICK / 2.0) -> Push:
    return Push(holder=-1, at=at(x, y, z), direction=(0.0, 0.0, -1.0), force=exactly(newtons))


def clamp(newtons: float, x: float, y: float, *, holder: int = 0, friction: float | None = None) -> Push:
    """Return a clamp with a toe of 30 by 20 mm."""
    toe = box(x - 0.015, y - 0.01, x + 0.015, y + 0.01)
    rubs = None if friction is None else exactly(friction)
    where = at(x, y, THICK)
    return Push(holder=holder, at=where, direction=(0.0, 0.0, -1.0), force=exactly(newtons), toe=toe, friction=rubs)


def suction(pascal: float, area: FloatArray | None = None, *, holder: int = 0) -> Rest:
    outline = box(0.0, 0.0, LONG, WIDE) if area is None else area
    return Rest(holder=holder, area=outline, pressure=exactly(pascal))


def stop(
    place: tuple[float, float, float],
    normal: tuple[float, float, float],
    *,
    mu: float = 0.2,
    group: str = "",
    holder: int = 5,
    lift: bool = False,
) -> Rub:
    """Return a stop; with `lift` its friction may also act upright, which no holder here claims of itself."""
    along = (abs(normal[1]), abs(normal[0]), 0.0)
    tangents = (along, (0.0, 0.0, 1.0)) if lift else (along,)
    return Rub(holder=holder, at=place, normal=normal, friction=exactly(mu), tangents=tangents, group=group)


def strip(x: float, *, force: float, holder: int = 0, width: float = 2e-4, shear: float = 1e6) -> Bond:
    """Return a narrow strip of tape over the whole width of the slab, that bears a force in straight lift."""
    return Bond(
        holder=holder,
        area=box(x - width / 2.0, 0.0, x + width / 2.0, WIDE),
        height=Z0,
        shear=exactly(shear),
        tension=exactly(force / (width * WIDE)),
        shear_stiffness=1e9,
        tension_stiffness=1e9,
    )


def screw(
    x: float,
    y: float,
    *,
    pull_out: float = 1000.0,
    lateral: float = 200.0,
    preload: float = 300.0,
    holder: int = 0,
    clearance: float = 0.0,
) -> Pin:
    return Pin(
        holder=holder,
        at=at(x, y, 0.0),
        lateral=exactly(lateral),
        pull_out=exactly(pull_out),
        lateral_stiffness=1e6,
        axial_stiffness=1e6,
        preload=exactly(preload) if preload > 0.0 else None,
        head=box(x - 0.005, y - 0.005, x + 0.005, y + 0.005) if preload > 0.0 else None,
        clearance=clearance,
    )


def gathered(*found: object) -> Contacts:
    return Contacts(
        pushes=tuple(c for c in found if isinstance(c, Push)),
        rests=tuple(c for c in found if isinstance(c, Rest)),
        rubs=tuple(c for c in found if isinstance(c, Rub)),
        bonds=tuple(c for c in found if isinstance(c, Bond)),
        pins=tuple(c for c in found if isinstance(c, Pin)),
    )


def ways_of(
    contacts: Contacts,
    *,
    stock: Stock | None = None,
    on: Bed | None = None,
    mu: float = MU,
    reading: Reading = TYPICAL,
    side: float = 1.0,
) -> tuple[Way, ...]:
    return ways(contacts, stock=stock or slab(), bed=on or bed(), friction=exactly(mu), reading=reading, side=side)


def capacity_of(found: Sequence[Way]) -> Capacity:
    return Capacity([way.systems for way in found])


def held(
    contacts: Contacts, load: ArrayLike, *, stock: Stock | None = None, mu: float = MU, reading: Reading = TYPICAL
) -> Worst:
    """Return what governs a load, a wrench about the origin (6,). [N, N m]"""
    return capacity_of(ways_of(contacts, stock=stock, mu=mu, reading=reading)).at(np.asarray(load, dtype=float))


def factor(
    contacts: Contacts, load: ArrayLike, *, stock: Stock | None = None, mu: float = MU, reading: Reading = TYPICAL
) -> float:
    """Return how many times the load is held; infinite if it only presses home."""
    return held(contacts, load, stock=stock, mu=mu, reading=reading).factor
