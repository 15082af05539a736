"""What it takes to press tape home, so that it has the strength that it is reckoned with."""

from collections.abc import Iterator

import numpy as np
import shapely

from stillstock.engine.checks.check import Check
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.holding.ground import CONE
from stillstock.engine.set_up import SetUp
from stillstock.tables.load import Tables

__all__ = ["LEANING", "seating"]

#: Force of a person who leans on the stock; common practice, no source. [N]
LEANING = 700.0

#: Side of the rubber block or heel of the hand through which they lean, place after place; own estimate. [m]
BLOCK = 0.05


def seating(set_up: SetUp, contacts: Contacts, tables: Tables) -> Iterator[Check]:
    """Give the force that presses each tape home, place after place, against that of a person who leans on it.

    Notes
    -----
    The pressure that tape makers ask for, on the patch that a block presses: through thick stock it spreads 30 degrees
    to each side, so that a thick stock takes a clamp or a press. The detail says the force on the whole face at once.
    """
    pressure = tables.value("tape", "any_tape", "roll_down_pressure")
    for bond in contacts.bonds:
        kind = set_up.holders[bond.holder].kind
        if tables.get("tape", kind, "shear_modulus_slow") is None:
            continue
        area = shapely.Polygon(bond.area).area
        patch = min((BLOCK + 2.0 * set_up.stock.thickness[0] * float(np.tan(CONE))) ** 2, area)
        force = pressure.typical * patch
        how = (
            "lean on a block or roll it, place after place"
            if force <= LEANING
            else "take clamps and a caul, or a press"
        )
        yield Check(
            name="seating",
            holder=bond.holder,
            value=force,
            limit=LEANING,
            typical_ratio=force / LEANING,
            breaks=False,
            detail=f"force that presses the tape home: {how} ({{0}} for all of it at once)",
            numbers=((pressure.typical * area, "force"),),
            source=pressure.source,
            dimension="force",
        )
