"""How much a holder that is not there yet would resist the motion with which the stock lets go."""

from collections.abc import Iterable, Sequence

import numpy as np

from stillstock.engine.holding.contacts import Contact, Pin, Push, Rub
from stillstock.engine.set_up import FloatArray

__all__ = ["resisting_work"]

#: Stands for what a stop pushes back with, which has no bound of its own. [N]
STOP = 1e4


def _velocity(slope: FloatArray, at: Sequence[float]) -> FloatArray:
    return np.asarray(slope[:3] + np.cross(slope[3:], np.asarray(at)))


def _of(contact: Contact, slope: FloatArray, *, friction: float, level: float) -> float:
    if isinstance(contact, Push):
        down = -contact.direction[2] * contact.force.typical
        rubbing = friction * down * np.hypot(*_velocity(slope, (*contact.at[:2], level))[:2])
        return float(rubbing - contact.force.typical * np.dot(contact.direction, _velocity(slope, contact.at)))
    if isinstance(contact, Rub):
        against = -float(np.dot(contact.normal, _velocity(slope, contact.at)))
        return contact.preload.typical * against if contact.preload is not None else STOP * max(against, 0.0)
    if isinstance(contact, Pin):
        x, y, z = _velocity(slope, contact.at)
        pressed = contact.preload.typical if contact.preload is not None else 0.0
        sideways = (contact.lateral.typical + friction * pressed) * float(np.hypot(x, y))
        return sideways + contact.pull_out.typical * max(float(z), 0.0)
    return 0.0


def resisting_work(contacts: Iterable[Contact], slope: FloatArray, *, friction: float, level: float) -> float:
    """Return the work that contacts would do against a motion, by which places are told apart before any is tried.

    Parameters
    ----------
    contacts : iterable of Contact
        Of clamps, stops and fasteners; areas (vacuum, bonds) count nothing.
    slope : (6,) array
        Gradient of the gauge with respect to the wrench about the origin: the motion. [1/N, 1/(N m)]
    friction : float
        Between stock and bed. [-]
    level : float
        Of the bed's face. [m]

    Returns
    -------
    float
        Over the gauge it is about the share by which the load factor would grow. [-]

    Notes
    -----
    The dual of the gauge is a virtual motion in which all that resists does the work of the load (kinematic theorem of
    limit analysis). A holder added changes the motion too, so this is only a guide. Own derivation.
    """
    return sum(_of(contact, slope, friction=friction, level=level) for contact in contacts)
