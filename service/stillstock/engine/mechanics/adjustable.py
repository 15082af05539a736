"""Equilibria whose preloads can be set: how a finished programme moves with a few settings, as straight lines.

A preload t enters a system only on the right-hand side, in the dead wrench and in the bounds of friction:

    G x + (w0 + W t) = -F,   A x <= b + B t,   x >= 0 save where free

for a load that is held to its factor, F being the load times that factor. So the least preload that bears a number of
loads is one linear programme in t and in the contact forces of every load together. W and B are read off from systems
that were built at two settings, so that whoever builds them need not know. Own derivation.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stillstock.engine.mechanics.equilibrium import System
from stillstock.engine.set_up import FloatArray

__all__ = ["Adjustable", "Demand", "adjustable", "shift"]

#: Relative difference up to which two coefficients are one. [-]
SAME = 1e-9


@dataclass(frozen=True, kw_only=True)
class Adjustable:
    """A system in newtons, with its slope in each setting.

    Attributes
    ----------
    system : System
        As built at `at`.
    limits : (m, n) array
        A, each row over its greatest coefficient. [-]
    bounds, dead : (m,) and (6,) arrays
        b and w0 at `at`; lengths in the system's unit. [N]
    bounds_by, dead_by : (m, k) and (6, k) arrays
        Their growth with each setting. [N]
    at : (k,) array
        Settings. [-]
    """

    system: System
    limits: FloatArray
    bounds: FloatArray
    dead: FloatArray
    bounds_by: FloatArray
    dead_by: FloatArray
    at: FloatArray


@dataclass(frozen=True, kw_only=True)
class Demand:
    """A load, about the frame's origin, that a system must bear as it stands. (6,) [N, N m]"""

    held_by: Adjustable
    load: FloatArray


def _plain(system: System) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return limits, bounds and dead wrench in newtons: with no trace of the unit of force."""
    sizes = np.abs(system.limits).max(axis=1, initial=0.0)
    sizes = np.where(sizes > 0.0, sizes, 1.0)
    force = system.scale.force
    return system.limits / sizes[:, None], system.bounds * force / sizes, system.dead * force


def _alike(one: System, other: System) -> bool:
    """Return whether two systems differ in nothing but what is dead and bounded."""
    if one.balance.shape != other.balance.shape or one.limits.shape != other.limits.shape:
        return False
    (limits, *_), (others, *_) = _plain(one), _plain(other)
    close = np.allclose(one.balance, other.balance, rtol=SAME, atol=SAME)
    return close and np.allclose(limits, others, rtol=SAME, atol=SAME) and bool(np.all(one.free == other.free))


def adjustable(
    base: Sequence[System], moved: Sequence[Sequence[System]], *, at: FloatArray, step: FloatArray
) -> tuple[Adjustable, ...] | None:
    """Return systems with their slopes.

    Parameters
    ----------
    base : sequence of System
        Built at `at`.
    moved : sequence of sequence of System
        For each setting the same systems, built with it alone moved by its `step`.
    at, step : (k,) arrays
        [-]

    Returns
    -------
    tuple of Adjustable, or None
        None where a setting changes more than right-hand sides (which contacts there are, or where): then the least
        setting is no linear programme.
    """
    if any(len(each) != len(base) or not all(map(_alike, base, each)) for each in moved):
        return None
    found = []
    for number, system in enumerate(base):
        limits, bounds, dead = _plain(system)
        others = [_plain(each[number]) for each in moved]
        by = [((b - bounds) / by, (d - dead) / by) for (_, b, d), by in zip(others, step, strict=True)]
        found.append(
            Adjustable(
                system=system,
                limits=limits,
                bounds=bounds,
                dead=dead,
                bounds_by=np.column_stack([b for b, _ in by]),
                dead_by=np.column_stack([d for _, d in by]),
                at=at,
            )
        )
    return tuple(found)


def shift(held: Adjustable, system: System, settings: FloatArray) -> float:
    """Return by how much a system built at other settings differs from the straight lines, over its own size. [-]"""
    limits, bounds, dead = _plain(system)
    if limits.shape != held.limits.shape:
        return float("inf")
    move = settings - held.at
    off = np.concatenate([bounds - held.bounds - held.bounds_by @ move, dead - held.dead - held.dead_by @ move])
    return float(np.abs(off).max() / max(np.abs(bounds).max(initial=0.0), np.abs(dead).max(), 1e-12))
