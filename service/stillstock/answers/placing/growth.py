"""More and more holders from a pool of free places: first far apart, then where the last ones let go."""

from collections.abc import Generator, Sequence
from dataclasses import dataclass

import numpy as np

from stillstock.answers.placing.ground import Ground, Layout, NoPlace, Piece
from stillstock.engine.holding.resisting_work import resisting_work
from stillstock.engine.set_up import FloatArray

__all__ = ["LetsGo", "Tries", "grown"]


@dataclass(frozen=True, kw_only=True, eq=False)
class LetsGo:
    """How the last layout let go.

    Attributes
    ----------
    slope : (6,) array
        Gradient of the gauge with respect to the wrench about the origin. [1/N, 1/(N m)]
    friction : float
        Between stock and bed. [-]
    of_part : bool
        Whether a part that is free let go first, which more holders of the stock do not help.
    """

    slope: FloatArray
    friction: float
    of_part: bool


#: Yields layouts, from the one that makes least trouble; is told how each let go, or None where that is not known.
Tries = Generator[Layout, LetsGo | None, None]


def grown(ground: Ground, pool: Sequence[Piece], *, sizes: Sequence[int], taken: Layout = (), what: str) -> Tries:
    """Yield layouts of growing size, each holding the one before.

    Parameters
    ----------
    ground : Ground
    pool : sequence of Piece
        Each free by itself.
    sizes : sequence of int
        How many holders each layout has; those that the shop has not are left out. [-]
    taken : tuple of Piece
        What stands already.
    what : str
        The trade's word for one, for sentences.

    Raises
    ------
    NoPlace
        If fewer than the first size can stand or are there.
    """
    entry = pool[0].entry
    if not entry.enough(sizes[0]):
        detail = f"it takes {sizes[0]} of them at the least, and the shop has {entry.count}"
        raise NoPlace("count", detail, value=float(entry.count or 0), limit=float(sizes[0]))
    left = list(pool)
    chosen: list[Piece] = []
    told: LetsGo | None = None
    for size in (size for size in sizes if entry.enough(size)):
        while len(chosen) < size and left:
            best = _next(ground, chosen, left, told)
            told = None
            left.remove(best)
            if not ground.crowd([*chosen, best], taken=taken):
                chosen.append(best)
        if len(chosen) < sizes[0]:
            detail = f"only {len(chosen)} of {sizes[0]} {what}s find a place beside each other"
            raise NoPlace("no_place", detail, value=float(len(chosen)), limit=float(sizes[0]))
        if len(chosen) < size:
            return
        told = yield tuple(chosen)


def _next(ground: Ground, chosen: Sequence[Piece], left: Sequence[Piece], told: LetsGo | None) -> Piece:
    """Return the place that resists most how the others let go; without that the one farthest from them."""
    if told is not None:
        promise = [_promise(ground, piece, told) for piece in left]
        if max(promise) > 0.0:
            return left[int(np.argmax(promise))]
    if chosen:
        return left[int(np.argmax(_away(chosen, left)))]
    away = [float(_away([piece], left).max()) for piece in left]
    return left[int(np.argmax(away))]


def _away(chosen: Sequence[Piece], left: Sequence[Piece]) -> FloatArray:
    """Return how far each place is from the nearest that is taken. (n,) [m]"""
    here, there = np.array([piece.at for piece in left]), np.array([piece.at for piece in chosen])
    gaps: FloatArray = np.hypot(*(here[:, None, :] - there[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    return gaps


def _promise(ground: Ground, piece: Piece, told: LetsGo) -> float:
    contacts = piece.holder.contacts(0, ground.set_up, ground.tables)
    level = ground.set_up.stock.origin[2]
    return resisting_work(contacts, told.slope, friction=told.friction, level=level)
