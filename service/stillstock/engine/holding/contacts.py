"""The mechanical primitives that holders are made of: Push, Rest, Rub, Bond, Pin.

Holding methods produce them and know nothing of the solver; `mechanics` assembles them and knows no workholding word.
Points are in the work frame, forces act on the workpiece. Scattered numbers stay bands here; the corner at which they
are read is chosen when the equilibrium is assembled.
"""

from dataclasses import dataclass, field

from stillstock.engine.set_up import FloatArray
from stillstock.tables.scatter import Triple

__all__ = ["Bond", "Contact", "Contacts", "Pin", "Push", "Rest", "Rub"]


@dataclass(frozen=True, kw_only=True)
class Push:
    """A force of known direction that a holder puts on the stock (clamp preload, down-thrust).

    Attributes
    ----------
    holder : int
        Index of the holder it belongs to; -1 for weight.
    at : (3,) tuple
        Point of attack. [m]
    direction : (3,) tuple
        Unit vector of the force. [-]
    force : Triple
        Its size. [N]
    toe : (n, 2) array or None
        Plan outline of the area through which a downward push enters the top of the stock; None if it does not. [m]
    friction : Triple or None
        Coefficient under the toe, where the holder is stiff sideways; None where it may swing and rubs nothing. [-]
    """

    holder: int
    at: tuple[float, float, float]
    direction: tuple[float, float, float]
    force: Triple
    toe: FloatArray | None = None
    friction: Triple | None = None


@dataclass(frozen=True, kw_only=True)
class Rest:
    """An area of bed under its own even pressure (vacuum), that pushes back and rubs.

    Attributes
    ----------
    holder : int
    area : (n, 2) array
        Plan outline. [m]
    pressure : Triple
        Even suction on the area. [Pa]
    friction : Triple or None
        Coefficient of the area if it is not the bed's own. [-]
    """

    holder: int
    area: FloatArray
    pressure: Triple
    friction: Triple | None = None


@dataclass(frozen=True, kw_only=True)
class Rub:
    """A point that pushes back along its normal and may rub sideways.

    Attributes
    ----------
    holder : int
    at : (3,) tuple
        Contact point. [m]
    normal : (3,) tuple
        Unit vector of its push on the stock. [-]
    friction : Triple
        Coefficient. [-]
    preload : Triple or None
        Fixed normal force of a pushing side (a side clamp's tip); None where the normal is free (stop) and its friction
        rests on what the clamps alone put on it. [N]
    stated : Triple or None
        The whole force of which the preload is a share, as an answer tells it; None if it is all of it. [N]
    tangents : tuple of (3,) tuples
        Unit vectors along which friction may act; lift is left out unless the holder is proved to resist it.
    group : str
        Contacts of one group stand in one line and may not all touch (stops); empty for none.
    limit : Triple or None
        Greatest normal force it bears. [N]
    """

    holder: int
    at: tuple[float, float, float]
    normal: tuple[float, float, float]
    friction: Triple
    preload: Triple | None = None
    stated: Triple | None = None
    tangents: tuple[tuple[float, float, float], ...] = ()
    group: str = ""
    limit: Triple | None = None


@dataclass(frozen=True, kw_only=True)
class Bond:
    """A bonded area under the stock: linear stress field of one rigid motion, limited at its edge.

    Attributes
    ----------
    holder : int
    area : (n, 2) array
        Plan outline. [m]
    height : float
        Level of the bonded face. [m]
    shear, tension : Triple
        Strengths. [Pa]
    shear_stiffness, tension_stiffness : float
        Stress per unit of movement. [Pa/m]
    of_stock : bool
        Whether it is stock that is left standing, and not something that lies between stock and bed.
    """

    holder: int
    area: FloatArray
    height: float
    shear: Triple
    tension: Triple
    shear_stiffness: float
    tension_stiffness: float
    of_stock: bool = False


@dataclass(frozen=True, kw_only=True)
class Pin:
    """A point fastener that resists sideways and against pull-out.

    Attributes
    ----------
    holder : int
    at : (3,) tuple
        Where it crosses the bed's face. [m]
    lateral, pull_out : Triple
        Greatest sideways force and greatest lift; 0 where it gives none. [N]
    lateral_stiffness, axial_stiffness : float
        Force per unit of movement. [N/m]
    preload : Triple or None
        Force with which its head presses the stock on the bed. [N]
    head : (n, 2) array or None
        Plan outline under the head through which the preload enters the stock. [m]
    clearance : float
        Sideways play before it touches. [m]
    """

    holder: int
    at: tuple[float, float, float]
    lateral: Triple
    pull_out: Triple
    lateral_stiffness: float
    axial_stiffness: float
    preload: Triple | None = None
    head: FloatArray | None = None
    clearance: float = 0.0


Contact = Push | Rest | Rub | Bond | Pin


@dataclass(frozen=True, kw_only=True)
class Contacts:
    """All contacts of a set-up, by kind."""

    pushes: tuple[Push, ...] = field(default=())
    rests: tuple[Rest, ...] = field(default=())
    rubs: tuple[Rub, ...] = field(default=())
    bonds: tuple[Bond, ...] = field(default=())
    pins: tuple[Pin, ...] = field(default=())
