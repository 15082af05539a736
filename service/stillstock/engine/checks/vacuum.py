"""How far vacuum falls as kerfs open, and the smallest part that it holds."""

from collections.abc import Iterator

import numpy as np
import shapely

from stillstock.engine.checks.check import Check
from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.friction import friction
from stillstock.tables.load import Tables

__all__ = ["area_needed", "fall", "smallest_part"]

#: Part of the vacuum that may be lost while cutting; own judgement: a stated gauge reading is then worth half. [-]
LOST_AT_MOST = 0.5


def fall(set_up: SetUp, tables: Tables) -> Iterator[Check]:
    """Give the part of each balanced vacuum that the open kerfs of the job take away."""
    for index, holder in enumerate(set_up.holders):
        if not getattr(holder, "balanced", lambda: False)():
            continue
        whole = holder.vacuum(set_up, tables, kerf=(0.0, 0.0))
        cut = holder.vacuum(set_up, tables, kerf=holder.open_kerf(set_up))
        yield Check(
            name="vacuum",
            holder=index,
            value=_lost(whole.low, cut.low),
            limit=LOST_AT_MOST,
            typical_ratio=_lost(whole.typical, cut.typical) / LOST_AT_MOST,
            breaks=False,
            detail="vacuum lost as the kerfs open: {0} before the first cut, {1} in the end",
            numbers=((whole.typical, "pressure"), (cut.typical, "pressure")),
            source=cut.source,
            dimension="number",
        )


def _lost(whole: float, cut: float) -> float:
    return 1.0 - cut / whole if whole > 0.0 else 1.0


def area_needed(push: float, *, mu: float, vacuum: float) -> float:
    r"""Return the area that suction must have to keep a push from sliding it, :math:`A = F / (\mu\,\Delta p)`. [m2]

    `push` in N, `mu` without unit, `vacuum` in Pa; infinite without grip.

    Examples
    --------
    >>> round(area_needed(50.0 * 2.5, mu=0.3, vacuum=20e3) * 1e4)
    208
    """
    return push / (mu * vacuum) if mu * vacuum > 0.0 else float("inf")


def smallest_part(set_up: SetUp, contacts: Contacts, tables: Tables, load: FloatArray | None) -> Iterator[Check]:
    """Give the area that each suction needs against the worst load's sideways push, where suction alone holds.

    A part that comes free on less than this needs tabs or a skin. At worst the low ends count, typically the required
    factor.
    """
    if load is None or contacts.rubs or contacts.bonds or contacts.pins or any(p.holder >= 0 for p in contacts.pushes):
        return
    bed, stock = set_up.bed, set_up.stock
    push = float(np.hypot(load[0], load[1]))
    for rest in contacts.rests:
        mu = rest.friction or friction(tables, stock=stock.material, bed=bed.material, condition=bed.condition)
        area = shapely.Polygon(rest.area).area
        worst = area_needed(push, mu=mu.low, vacuum=rest.pressure.low)
        usual = area_needed(push * set_up.required, mu=mu.typical, vacuum=rest.pressure.typical)
        if np.isinf(worst) or np.isinf(usual):
            continue
        yield Check(
            name="smallest_part",
            holder=rest.holder,
            value=worst,
            limit=area,
            typical_ratio=usual / area,
            breaks=False,
            detail="area that this suction needs against the worst load: smaller parts need tabs or a skin",
            source=rest.pressure.source,
            dimension="area",
        )
