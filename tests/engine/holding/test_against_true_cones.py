"""The load factor against a general-purpose conic solver, on random set-ups of every kind of contact.

Friction by a polygon inscribed in the circle lies between circles of mu cos(pi / 16) and mu (plane geometry), and so
must every load factor, whatever else is in the set-up.
"""

from collections.abc import Callable

import numpy as np
import pytest
from tests.engine.holding.cone_model import CORNER, load_factors
from tests.engine.holding.slabs import (
    LONG,
    THICK,
    WIDE,
    at,
    box,
    clamp,
    exactly,
    factor,
    gathered,
    screw,
    stop,
    strip,
    suction,
    weight,
)

from stillstock.engine.holding.contacts import Bond, Contacts, Pin, Push, Rest, Rub
from stillstock.engine.mechanics.wrench import wrench

COS = np.cos(np.pi / 16.0)
Draw = np.random.Generator
Found = list[Push | Rest | Rub | Bond | Pin]
#: Relative; the conic solver's own accuracy is 1e-9 of feasibility.
WITHIN = 1e-6


def own_weight(draw: Draw) -> Push:
    return weight(draw.uniform(5.0, 60.0), draw.uniform(0.1, 0.2), draw.uniform(0.07, 0.13))


def clamps(draw: Draw) -> Found:
    found: Found = []
    for holder in range(int(draw.integers(1, 4))):
        rubs = draw.uniform(0.1, 0.4) if draw.random() < 0.4 else None
        place = draw.uniform(0.01, LONG - 0.01), draw.uniform(0.01, WIDE - 0.01)
        found.append(clamp(draw.uniform(100.0, 900.0), *place, holder=holder, friction=rubs))
    return found


def vacuum(draw: Draw) -> Found:
    x0, y0 = draw.uniform(0.0, 0.12), draw.uniform(0.0, 0.08)
    zone = box(x0, y0, x0 + draw.uniform(0.05, 0.15), y0 + draw.uniform(0.04, 0.1))
    return [suction(draw.uniform(5e3, 60e3), zone)]


def clamped_stops(draw: Draw) -> Found:
    line = [
        stop(at(0.0, y, draw.uniform(0.003, 0.012)), (1.0, 0.0, 0.0), mu=draw.uniform(0.1, 0.4), group="+x", holder=8)
        for y in np.linspace(0.03, 0.17, int(draw.integers(1, 4)))
    ]
    return [*clamps(draw), *line]


def squeezed(draw: Draw) -> Found:
    height = draw.uniform(0.003, 0.012)
    tip = Rub(
        holder=4,
        at=at(LONG, draw.uniform(0.07, 0.13), height),
        normal=(-1.0, 0.0, 0.0),
        friction=exactly(draw.uniform(0.1, 0.4)),
        preload=exactly(draw.uniform(50.0, 500.0)),
        tangents=((0.0, 1.0, 0.0), (0.0, 0.0, 1.0)) if draw.random() < 0.5 else ((0.0, 1.0, 0.0),),
    )
    line = [
        stop(at(0.0, y, height), (1.0, 0.0, 0.0), mu=0.3, group="+x", holder=5, lift=draw.random() < 0.5)
        for y in (0.02, 0.18)
    ]
    side = [stop(at(draw.uniform(0.05, 0.25), 0.0, height), (0.0, 1.0, 0.0), mu=0.2, group="+y", holder=6)]
    return [tip, *line, *(side if draw.random() < 0.4 else [])]


def tapes(draw: Draw) -> Found:
    found: Found = []
    for holder in range(int(draw.integers(1, 3))):
        place, width = draw.uniform(0.06, 0.24), draw.uniform(0.01, 0.08)
        shear = draw.uniform(2e3, 5e4)
        found.append(strip(place, force=draw.uniform(50.0, 400.0), width=width, shear=shear, holder=holder))
    return found


def taped_clamp(draw: Draw) -> Found:
    return [*tapes(draw), *clamps(draw)[:1]]


def screws(draw: Draw) -> Found:
    return [
        screw(
            draw.uniform(0.02, LONG - 0.02),
            draw.uniform(0.02, WIDE - 0.02),
            pull_out=draw.uniform(300.0, 1500.0),
            lateral=draw.uniform(100.0, 400.0),
            preload=draw.uniform(30.0, 250.0) if draw.random() < 0.7 else 0.0,
            holder=holder,
        )
        for holder in range(int(draw.integers(2, 5)))
    ]


def pins_in_shear(draw: Draw) -> Found:
    """Give dowels, which resist no lift, beside a clamp."""
    dowels = [
        screw(draw.uniform(0.02, 0.28), draw.uniform(0.02, 0.18), pull_out=0.0, preload=0.0, holder=holder)
        for holder in range(2)
    ]
    return [*dowels, *clamps(draw)[:1]]


def taped_screw(draw: Draw) -> Found:
    return [*tapes(draw)[:1], screw(draw.uniform(0.02, 0.28), 0.13, preload=0.0, clearance=0.0, holder=7)]


KINDS: list[tuple[Callable[[Draw], Found], int]] = [
    (clamps, 60),
    (vacuum, 50),
    (clamped_stops, 25),
    (squeezed, 45),
    (tapes, 15),
    (taped_clamp, 8),
    (pins_in_shear, 15),
    (screws, 5),
    (taped_screw, 4),
]


def compared(kind: Callable[[Draw], Found], seed: int) -> tuple[float, float, float]:
    """Return the load factor between those of shrunk and of full cones, for one random set-up and load."""
    draw = np.random.default_rng(seed)
    contacts: Contacts = gathered(own_weight(draw), *kind(draw))
    place = at(draw.uniform(0.0, LONG), draw.uniform(0.0, WIDE), draw.uniform(0.0, THICK))
    force, couple = draw.normal(size=3), draw.normal(size=3) * 0.02
    low, high = load_factors(contacts, wrench(np.subtract(place, CORNER), force, couple), mu=0.3, shrinks=(COS, 1.0))
    return low, factor(contacts, wrench(place, force, couple)), high


def test_there_are_two_hundred_set_ups():
    assert sum(count for _, count in KINDS) >= 200


@pytest.mark.parametrize(("kind", "count"), KINDS, ids=lambda value: getattr(value, "__name__", None))
def test_the_load_factor_lies_between_the_cones(kind, count):
    """Between the conic solutions with mu cos(pi / 16) and with mu, to 1e-6; some loads must be really held."""
    held = 0
    for seed in range(count):
        low, got, high = compared(kind, seed)
        assert low * (1.0 - WITHIN) <= got <= high * (1.0 + WITHIN), f"set-up {seed}"
        held += 0.0 < got < 1e6
    assert held > count / 2
