"""Bare contacts asked for their best set of fasteners over some loads."""

from collections.abc import Sequence

import numpy as np
from tests.engine.holding.slabs import MU, TYPICAL, bed, exactly, slab

from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.holding.left_out import Choice, Grip, choice_of_all, sturdiest
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.sweep import Fan, Sweep
from stillstock.engine.set_up import FloatArray


def grip(contacts: Contacts, *, mu: float = MU) -> Grip:
    return Grip(contacts=contacts, stock=slab(), bed=bed(), friction=exactly(mu), reading=TYPICAL)


def sweep_of(loads: Sequence[FloatArray]) -> Sweep:
    """Return wrenches about the origin (6,) as a sweep: each the force and couple of a fan of its own, at the origin.

    Where a force has a line of action, it acts at the point of it that is nearest to the origin.
    """
    fans, points = [], []
    for load in loads:
        force, moment = load[:3], load[3:]
        point = np.cross(force, moment) / (force @ force)
        points.append(point)
        fans.append(Fan(force=force[None], couple=(moment - np.cross(point, force))[None]))
    return Sweep(fans=tuple(fans), fan=np.arange(len(fans)), point=np.array(points), heading=np.zeros(len(fans)))


def choice(contacts: Contacts, *loads: FloatArray, mu: float = MU) -> Choice:
    """Return the set of fasteners that counts."""
    one, sweep = grip(contacts, mu=mu), sweep_of(loads)
    ways = one.ways()
    every = choice_of_all((ways, Capacity([way.systems for way in ways])), sweep, slack=0.0)
    return sturdiest(one, every, sweep)


def best_factor(contacts: Contacts, *loads: FloatArray, mu: float = MU) -> float:
    """Return how many times the worst load is held by the best set of fasteners."""
    return choice(contacts, *loads, mu=mu).worst.worst.factor
