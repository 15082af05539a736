"""A side clamp: screw, cam or wedges that squeeze the stock against a stop."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from stillstock.engine.holding.contacts import Contact, Push, Rub
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import choice, flag, point, pull_test, quantity, scatter
from stillstock.engine.holding.place import facing, touching
from stillstock.engine.holding.pull_test import PullTest, measured_force
from stillstock.engine.set_up import SetUp
from stillstock.tables.friction import friction
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["SideClamp"]

CROSSWISE = {"+x": (0.0, 1.0, 0.0), "-x": (0.0, 1.0, 0.0), "+y": (1.0, 0.0, 0.0), "-y": (1.0, 0.0, 0.0)}

#: Drives that a caller may name, and the subjects of the table of side clamps that hold their force.
DRIVES = {"screw": "screw_side_clamp", "cam": "cam_plywood", "folding_wedges": "folding_wedges"}


@dataclass(frozen=True, kw_only=True)
class SideClamp:
    """A clamp that pushes sideways; without a stop opposite it pushes the stock off the bed."""

    kind: ClassVar[str] = "side_clamp"
    title: ClassVar[str] = "side clamp"

    at: tuple[float, float] = point(2, doc="Where its tip touches the stock's edge.")
    pushes: str = choice(("+x", "-x", "+y", "-y"), doc="Which way it pushes the stock.")
    drive: str = choice(tuple(DRIVES), doc="What drives it.", default="screw")
    force: Triple | None = scatter("force", doc="Its push, from the shop's own test.", most=1e6)
    pull_test: tuple[PullTest, ...] = pull_test(
        ("push",), doc="Its push on a scale between tip and stop, tightened as always."
    )
    height: float = quantity("length", doc="Height of its tip above the bed.", default=0.006, least=0.0, most=0.5)
    down_force: Triple | None = scatter(
        "force", doc="Part of its push that presses the stock down, from the shop's own test.", most=1e6
    )
    tip: tuple[float, float] = point(2, doc="Width and height of the tip.", default=(0.02, 0.008))
    stiff_sideways: bool = flag(
        doc="Whether tip and drive are stiff across their push, so that friction at the tip counts.", default=False
    )
    friction: Triple | None = scatter("number", doc="Friction at its tip, from the shop's own test.", most=2.0)

    def push(self, tables: Tables) -> Triple:
        """Return its sideways force. [N]"""
        table = tables.value("side_clamps", DRIVES[self.drive], "jaw_force")
        return measured_force(self.pull_test, "push", given=self.force, named="force", table=table)

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return the pushing tip and, where proved, its down-thrust."""
        stock, normal = set_up.stock, facing(self.pushes)
        touching(stock, self.at, normal, what="side clamp")
        tip = Rub(
            holder=index,
            at=(*self.at, stock.origin[2] + min(self.height, stock.thickness[0])),
            normal=normal,
            friction=self.friction or friction(tables, stock=stock.material, bed="steel"),
            preload=self.push(tables),
            tangents=(CROSSWISE[self.pushes],) if self.stiff_sideways else (),
        )
        if self.down_force is None:
            return [tip]
        down = Push(holder=index, at=tip.at, direction=(0.0, 0.0, -1.0), force=self.down_force)
        return [tip, down]

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:
        """Return the dent under its tip."""
        crush = set_up.stock.material.properties.get("crush")
        if crush is None:
            return []
        level = set_up.stock.origin[2] + self.height
        return [
            Demand(
                name="crush",
                holder=index,
                value=self.push(tables).times(1.0 / (self.tip[0] * self.tip[1])),
                limit=crush,
                breaks=False,
                detail="pressure under the tip of the side clamp",
                at=(*self.at, level),
            )
        ]
