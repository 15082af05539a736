"""A dowel or locating pin through the stock into the bed: it places, and holds nothing down."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi
from typing import ClassVar

from stillstock.engine.holding.bearing import hole_bearing, smaller
from stillstock.engine.holding.body import Body, Keeping, cylinder
from stillstock.engine.holding.contacts import Contact, Pin
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import choice, point, quantity, scatter
from stillstock.engine.holding.place import on_stock, within_bed
from stillstock.engine.holding.threads import given_or
from stillstock.engine.set_up import SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["DowelPin"]

#: Materials of a dowel, and the rows of the table of tabs that hold their shear strength. Wood is taken along its
#: grain, the weaker way.
MATERIALS = {"steel": "mild_steel", "aluminium": "aluminium_6061_t6", "wood": "hardwood", "pom": "pom"}
METALS = ("steel", "aluminium")

#: Give of pin and holes at full load; an estimate, only shares between fasteners rest on it. [m]
SLIP = 0.3e-3
NONE = Triple(low=0.0, typical=0.0, high=0.0, what="no hold", dimension="force")


@dataclass(frozen=True, kw_only=True)
class DowelPin:
    """A plain pin in two holes; the stock lifts off it freely."""

    kind: ClassVar[str] = "dowel_pin"
    title: ClassVar[str] = "dowel or locating pin"

    at: tuple[float, float] = point(2, doc="Middle of the pin.")
    diameter: float = quantity("length", doc="Of the pin.", default=0.008, least=0.001, most=0.05)
    material: str = choice(tuple(MATERIALS), doc="What the pin is made of.", default="steel")
    depth: float = quantity("length", doc="Length of it in the bed.", default=0.012, least=0.001, most=0.2)
    reach: float | None = quantity(
        "length",
        doc="Length of it in the stock; the whole thickness if left out.",
        default=None,
        least=0.0005,
        most=0.5,
        optional=True,
    )
    play: float | None = quantity(
        "length",
        doc="Stock's hole less the pin, in diameter; a worn hole in board, a reamed one in metal, if left out.",
        default=None,
        least=0.0,
        most=0.01,
        optional=True,
    )
    lateral: Triple | None = scatter(
        "force", doc="Sideways force that it bears, from the shop's own test.", least=1.0, most=1e6
    )

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return a pin that resists sideways alone, once the stock has moved through its play."""
        stock = set_up.stock
        on_stock(stock, self.at, what="dowel")
        within_bed(set_up.bed, self.depth, what="dowel")
        lateral = given_or(self.lateral, self._lateral(set_up, tables))
        return [
            Pin(
                holder=index,
                at=(*self.at, stock.origin[2]),
                lateral=lateral,
                pull_out=NONE,
                lateral_stiffness=lateral.typical / SLIP,
                axial_stiffness=0.0,
                clearance=self._play(set_up, tables) / 2.0,
            )
        ]

    def _play(self, set_up: SetUp, tables: Tables) -> float:
        """Return the play in diameter, at the high end where the table has to say it. [m]"""
        if self.play is not None:
            return self.play
        reamed = set_up.stock.material.family == "metal" and set_up.bed.material.family == "metal"
        return tables.value("vise", "ground_dowels" if reamed else "dowel_in_mdf", "play").high

    def _lateral(self, set_up: SetUp, tables: Tables) -> Triple:
        """Return the weakest of the pin in shear and the sides of both holes. [N]"""
        stock, bed = set_up.stock, set_up.bed
        section = pi / 4.0 * self.diameter**2
        shear = tables.value("tabs", MATERIALS[self.material], "shear").times(section)
        bands = [replace(shear, what=f"shear of a {self.material} pin", dimension="force")]
        inside = min(self.reach or stock.thickness[0], stock.thickness[0])
        for member, length in ((stock.material, inside), (bed.material, self.depth)):
            side = hole_bearing(member, diameter=self.diameter)
            if side is not None:
                bands.append(replace(side.times(self.diameter * length), dimension="force"))
        return smaller(*bands)

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return nothing: its strength is part of the balance."""
        return []

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:
        """Return the pin inside the stock, if it is of metal; a cutter passes through wood and plastic."""
        if self.material not in METALS:
            return []
        inside = min(self.reach or set_up.stock.thickness[1], set_up.stock.thickness[1])
        return [
            Body(
                holder=index,
                part="pin",
                core=cylinder(self.at),
                radius=self.diameter / 2.0,
                low=set_up.bed.top - self.depth,
                high=set_up.stock.origin[2] + inside,
                keeping=Keeping.SCREW,
            )
        ]
