"""A margin whose value is known, reckoned once at start to show that the engine reckons at all."""

import math

from stillstock.answers.hold import Stance, assess, typical_reading
from stillstock.engine.cutting.job_sweep import given_places, joined
from stillstock.engine.holding.contacts import Contacts, Rest
from stillstock.engine.set_up import Bed, Load, SetUp, Stock
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["known_answer"]

SIDE, SUCTION, LIFT = 0.2, 30e3, 100.0


def _certain(value: float) -> Triple:
    return Triple(low=value, typical=value, high=value)


def known_answer(tables: Tables) -> bool:
    """Return whether a square under vacuum lifts off just where pressure times area says.

    Notes
    -----
    Closed form: p A / F = 30 kPa x 0.04 m2 / 100 N = 12, the stock's weight left out.
    """
    board = tables.materials["mdf"]
    stock = Stock(material=board, size=(SIDE, SIDE, 0.018), thickness=(0.018, 0.018), origin=(0.0, 0.0, -0.018))
    set_up = SetUp(stock=stock, bed=Bed(material=board, thickness=0.018, top=-0.018))
    suction = Rest(holder=0, area=stock.plan, pressure=_certain(SUCTION))
    stance = Stance(contacts=Contacts(rests=(suction,)), set_up=set_up, friction=_certain(0.3))
    lift = Load(name="lift", at=(SIDE / 2.0, SIDE / 2.0, 0.0), force=(0.0, 0.0, LIFT))
    found = assess(stance, [typical_reading()], joined(given_places([lift], start=0)))
    return math.isclose(found.factor, SUCTION * SIDE**2 / LIFT, rel_tol=1e-6)
