"""The manners in which fasteners may turn the stock on the bed: free of its edges, or about one of them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stillstock.engine.holding.contacts import Pin
from stillstock.engine.holding.fasteners import edge_twists
from stillstock.engine.mechanics.wrench import Scale
from stillstock.engine.set_up import FloatArray

__all__ = ["Pivot", "free_pivot", "pivots"]

#: Edges of the bed that are tried; of more corners, so many spread evenly. [-]
EDGES = 8


@dataclass(frozen=True, kw_only=True)
class Pivot:
    """One manner in which fasteners may turn the stock on the bed.

    Attributes
    ----------
    name : str
    corners : (k, 2) array
        Where the bed may push up without limit. [m]
    capped : bool
        Whether what else the bed pushes up is held to what presses down without any load.
    twists : (6, k) array or None
        Motions that are possible about the origin; None is all. [m, rad]
    """

    name: str
    corners: FloatArray
    capped: bool
    twists: FloatArray | None


def free_pivot(corners: FloatArray) -> Pivot:
    """Return the manner of stock that no fastener holds down: any corner (k, 2) may push up. [m]"""
    return Pivot(name="", corners=corners, capped=False, twists=None)


def pivots(pins: Sequence[Pin], corners: FloatArray, *, level: float, scale: Scale) -> Iterator[Pivot]:
    """Give each manner in which the stock may turn: free of the bed's edges, or about one of them.

    Fasteners that resist lift share it by the rigid motion of the stock. An edge of the bed may help them as a heel
    only if that motion turns about it; else fastener and bed would be free to press against each other.

    Parameters
    ----------
    pins : sequence of Pin
    corners : (k, 2) array
        Of what supports the stock. [m]
    level : float
        Of the bed's face. [m]
    scale : Scale
    """
    if not any(pin.pull_out.high > 0.0 for pin in pins):
        yield free_pivot(corners)
        return
    yield Pivot(name=" level", corners=corners[:0], capped=True, twists=None)
    count = len(corners)
    chosen = range(count) if count <= EDGES else sorted({round(i * count / EDGES) for i in range(EDGES)})
    for start in chosen:
        edge = corners[[start, (start + 1) % count]]
        twists = edge_twists(edge, level=level, scale=scale)
        yield Pivot(name=f" about edge {start + 1}", corners=edge, capped=True, twists=twists)
