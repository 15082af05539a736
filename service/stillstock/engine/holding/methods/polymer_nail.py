"""A nail of glass-filled polymer, shot through the stock into the bed: a cutter may pass through it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from stillstock.engine.holding.body import Body
from stillstock.engine.holding.bridging import of_bands
from stillstock.engine.holding.contacts import Contact, Pin
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import choice, point, pull_test, quantity, scatter
from stillstock.engine.holding.place import on_stock, within_bed
from stillstock.engine.holding.pull_test import PullTest, measured_force
from stillstock.engine.set_up import SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["PolymerNail", "nail_withdrawal"]

GAUGES = ("18", "15")

#: Movement at which a nail's loads are reached: 0.4 mm is the slip of the Wood Handbook's lateral tests (from memory).
#: The other is an estimate. [m]
LATERAL_SLIP, AXIAL_SLIP = 0.4e-3, 0.5e-3


def nail_withdrawal(coefficient: float, *, gravity: float, diameter: float, depth: float) -> float:
    r"""Return the pull that a smooth nail bears in side grain, :math:`p = C G^{5/2} D L`. [N]

    USDA Wood Handbook, FPL-GTR-190, eq. 8-1. The National Design Specification has the same form with its own C.

    Parameters
    ----------
    coefficient : float
        C. [Pa]
    gravity : float
        Oven-dry specific gravity of the wood. [-]
    diameter, depth : float
        Of the nail, and its length in the wood. [m]

    Examples
    --------
    >>> nail_withdrawal(54.12e6, gravity=0.5, diameter=2e-3, depth=20e-3)
    382.68
    """
    return float(coefficient * gravity**2.5 * diameter * depth)


@dataclass(frozen=True, kw_only=True)
class PolymerNail:
    """A polymer nail or brad; it locates more than it holds, and presses nothing down."""

    kind: ClassVar[str] = "polymer_nail"
    title: ClassVar[str] = "polymer nail"

    at: tuple[float, float] = point(2, doc="Where it stands.")
    gauge: str = choice(GAUGES, doc="Size: 18 is about 1.1 mm thick, 15 about 1.7 mm.", default="18")
    depth: float = quantity("length", doc="Length of it in the bed.", default=0.012, least=0.002, most=0.1)
    pull_out: Triple | None = scatter("force", doc="Pull that it bears, from the shop's own test.", least=1.0, most=1e5)
    lateral: Triple | None = scatter(
        "force", doc="Sideways force that it bears, from the shop's own test.", least=1.0, most=1e5
    )
    pull_test: tuple[PullTest, ...] = pull_test(
        ("shear", "lift"), doc="The shop's own pulls on such nails in this stock and bed."
    )

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return a pin without preload: it has no head that could press."""
        on_stock(set_up.stock, self.at, what="nail")
        within_bed(set_up.bed, self.depth, what="nail")
        lateral = measured_force(
            self.pull_test,
            "shear",
            given=self.lateral,
            named="lateral",
            table=tables.value("screws", f"polymer_nail_{self.gauge}_gauge", "lateral"),
        )
        pull_out = measured_force(
            self.pull_test, "lift", given=self.pull_out, named="pull_out", table=self._pull_out(set_up, tables)
        )
        return [
            Pin(
                holder=index,
                at=(*self.at, set_up.stock.origin[2]),
                lateral=lateral,
                pull_out=pull_out,
                lateral_stiffness=lateral.typical / LATERAL_SLIP,
                axial_stiffness=pull_out.typical / AXIAL_SLIP,
            )
        ]

    def _pull_out(self, set_up: SetUp, tables: Tables) -> Triple:
        """Return the table's pull-out; in solid wood no more than a smooth nail times the factor for polymer. [N]"""
        table = tables.value("screws", f"polymer_nail_{self.gauge}_gauge", "withdrawal")
        gravity = set_up.bed.material.properties.get("specific_gravity")
        if set_up.bed.material.family not in ("softwood", "hardwood") or gravity is None:
            return table
        width = tables.value("screws", f"polymer_nail_{self.gauge}_gauge", "width")
        nail = of_bands(
            lambda c, g, d, f: f * nail_withdrawal(c, gravity=g, diameter=d, depth=self.depth),
            tables.value("screws", "smooth_nail", "withdrawal_coefficient"),
            gravity,
            width,
            tables.value("screws", "polymer_nail", "withdrawal_factor"),
            what=table.what,
            dimension="force",
        )
        return replace(
            nail,
            low=min(nail.low, table.low),
            typical=min(nail.typical, table.typical),
            high=min(nail.high, table.high),
        )

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return nothing: its strength is part of the balance."""
        return []

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:  # noqa: ARG002
        """Return nothing: a cutter passes through it unharmed."""
        return []
