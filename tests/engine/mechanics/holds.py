"""Small holds with several ways and systems, and random loads on them, for tests of the search."""

import numpy as np
from tests.engine.holding.slabs import (
    LONG,
    THICK,
    WIDE,
    X0,
    Y0,
    Z0,
    at,
    capacity_of,
    clamp,
    gathered,
    screw,
    stop,
    strip,
    ways_of,
    weight,
)

from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.mechanics.capacity import Capacity, Loads
from stillstock.engine.mechanics.linear_program import Gauge
from stillstock.engine.set_up import FloatArray

#: A weight, clamps and three stops (one way, eight systems); a tape beside a clamp (two ways); screws (five ways).
HOLDS: dict[str, Contacts] = {
    "stops": gathered(
        weight(14.0, 0.14, 0.11),
        clamp(350.0, 0.05, 0.04, holder=0),
        clamp(500.0, 0.27, 0.13, holder=1, friction=0.15),
        *(stop(at(0.0, y, 0.006), (1.0, 0.0, 0.0), group="+x", holder=2) for y in (0.03, 0.11, 0.17)),
    ),
    "tape": gathered(
        weight(14.0, 0.14, 0.11), strip(0.09, force=260.0, width=0.08), clamp(400.0, 0.22, 0.15, holder=1)
    ),
    "screws": gathered(
        weight(14.0, 0.14, 0.11),
        screw(0.03, 0.05, holder=0),
        screw(0.25, 0.16, pull_out=700.0, preload=100.0, holder=1),
        screw(0.21, 0.02, preload=0.0, holder=2),
    ),
}

#: By weight alone. Lopsided, it resists a couple about +y five times as well as about -y; in the middle, a push in
#: plane is as good in all directions.
WEIGHTS = {"lopsided": gathered(weight(100.0, 0.05, 0.04)), "middle": gathered(weight(100.0, LONG / 2.0, WIDE / 2.0))}


def contacts(name: str) -> Contacts:
    return (HOLDS | WEIGHTS)[name]


def capacity(name: str) -> Capacity:
    return capacity_of(ways_of(contacts(name)))


def random_loads(count: int, *, seed: int, couple: float = 0.3) -> Loads:
    draw = np.random.default_rng(seed)
    return Loads(
        force=draw.normal(size=(count, 3)) * draw.uniform(5.0, 40.0, size=(count, 1)),
        point=draw.uniform((X0, Y0, Z0), (X0 + LONG, Y0 + WIDE, Z0 + THICK), size=(count, 3)),
        couple=draw.normal(size=(count, 3)) * couple,
    )


def gauges(name: str, wrenches: FloatArray) -> FloatArray:
    """Return the gauge of each load by itself, each system with a solver of its own: least over ways of greatest."""
    ways = [[(Gauge(system), system) for system in way.systems] for way in ways_of(contacts(name))]
    return np.array(
        [
            min(max(gauge.value(system.scale.wrenches(load))[0] for gauge, system in way) for way in ways)
            for load in wrenches
        ]
    )
