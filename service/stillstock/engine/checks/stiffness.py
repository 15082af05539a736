"""How stiff the stock is along the axes of the table, by its grain."""

import numpy as np

from stillstock.engine.mechanics.beam import modulus_at
from stillstock.engine.set_up import Stock
from stillstock.tables.scatter import Corner

__all__ = ["POISSON", "modulus_of", "thin"]

#: Poisson's ratio where nothing better is known: that of Roark's plate tables, right for metals and plastics. [-]
POISSON = 0.3

#: Longest side over thickness from which on stock bends more than it gives way otherwise; own judgement. [-]
THIN_FROM = 25.0


def modulus_of(stock: Stock, direction: float, corner: Corner) -> float | None:
    """Return the modulus of elasticity in a direction of the table, None if the material's is not known.

    Parameters
    ----------
    stock : Stock
    direction : float
        From +x. [rad]
    corner : Corner

    Returns
    -------
    float or None
        [Pa]
    """
    properties = stock.material.properties
    along, across = properties.get("modulus_along"), properties.get("modulus_across")
    if along is None or across is None:
        return None
    return modulus_at(along.at(corner), across=across.at(corner), angle=direction - stock.grain)


def thin(stock: Stock) -> bool:
    """Return whether stock is a sheet that bends, rather than a block."""
    return float(np.ptp(stock.plan, axis=0).max()) > THIN_FROM * stock.thickness[0]
