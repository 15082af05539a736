"""A screw through the stock into the bed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from stillstock.engine.holding.body import Body, Keeping, cylinder
from stillstock.engine.holding.contacts import Contact, Pin
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import point, pull_test, quantity, scatter
from stillstock.engine.holding.place import on_stock, rectangle, within_bed
from stillstock.engine.holding.pull_test import PullTest, measured_force
from stillstock.engine.holding.screw_strength import lateral_strength, withdrawal_strength
from stillstock.engine.set_up import SetUp
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["Screw"]

#: Share of the pull-out that a screw driven home by hand or clutch presses with: low, typical, high; own judgement,
#: the stripping torque of MDF being about three times its seating torque. [-]
SEATED = (0.1, 0.25, 0.4)

#: Movement at which the published lateral and withdrawal loads are reached; 0.4 mm is the slip of the Wood Handbook's
#: lateral tests (from memory), the other an estimate. [m]
LATERAL_SLIP, AXIAL_SLIP = 0.4e-3, 0.5e-3

#: Families of materials whose hold on a thread the tables know.
THREADED = ("softwood", "hardwood", "panel")

#: Stands in for the table where it has no row and the shop's own test counts alone. [N]
UNKNOWN = Triple(low=0.0, typical=0.0, high=0.0, what="pull-out of a screw", dimension="force")


@dataclass(frozen=True, kw_only=True)
class Screw:
    """A screw whose head holds the stock and whose thread sits in the bed."""

    kind: ClassVar[str] = "screw"
    title: ClassVar[str] = "screw"

    at: tuple[float, float] = point(2, doc="Where it stands.")
    diameter: float = quantity("length", doc="Nominal diameter.", default=0.004, least=0.001, most=0.02)
    depth: float = quantity("length", doc="Length of thread in the bed.", default=0.015, least=0.001, most=0.2)
    head: float = quantity("length", doc="Diameter of head or washer.", default=0.008, least=0.002, most=0.08)
    proud: float = quantity(
        "length",
        doc="How far its head stands above the stock; negative if it is sunk below.",
        default=0.005,
        least=-0.2,
        most=0.1,
    )
    play: float = quantity("length", doc="Hole in the stock less the screw, in diameter.", default=0.0, most=0.01)
    pull_out: Triple | None = scatter("force", doc="Pull that it bears, from the shop's own test.", least=1.0, most=1e6)
    lateral: Triple | None = scatter(
        "force", doc="Sideways force that it bears, from the shop's own test.", least=1.0, most=1e6
    )
    pull_test: tuple[PullTest, ...] = pull_test(
        ("shear", "lift"), doc="The shop's own pulls on such screws in this bed."
    )

    def strength(self, set_up: SetUp, tables: Tables) -> Triple:
        """Return its pull-out. [N]"""
        member = set_up.bed.material
        known = member.family in THREADED
        tried = self.pull_out is not None or any(test.direction == "lift" for test in self.pull_test)
        if not known and not tried:
            fault = Fault(
                pointer="/pull_out",
                code="not_known",
                detail=f"no table has the pull-out of a screw from {member.title}: give the shop's own pull test",
            )
            raise ImpossibleSetUp([fault])
        table = (
            withdrawal_strength(tables, member=member, diameter=self.diameter, depth=self.depth) if known else UNKNOWN
        )
        return measured_force(self.pull_test, "lift", given=self.pull_out, named="pull_out", table=table)

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return a pin with the preload of its head."""
        on_stock(set_up.stock, self.at, what="screw")
        within_bed(set_up.bed, self.depth, what="thread")
        pull_out = self.strength(set_up, tables)
        lateral = measured_force(
            self.pull_test,
            "shear",
            given=self.lateral,
            named="lateral",
            table=self._lateral(set_up, tables, pull_out),
        )
        low, typical, high = (share * pull_out.low for share in SEATED)
        return [
            Pin(
                holder=index,
                at=(*self.at, set_up.stock.origin[2]),
                lateral=lateral,
                pull_out=pull_out,
                lateral_stiffness=lateral.typical / LATERAL_SLIP,
                axial_stiffness=pull_out.typical / AXIAL_SLIP,
                preload=replace(pull_out, low=low, typical=typical, high=high, what="press of a screw's head"),
                head=rectangle(self.at, along=self.head, across=self.head, angle=0.0),
                clearance=self.play / 2.0,
            )
        ]

    def _lateral(self, set_up: SetUp, tables: Tables, pull_out: Triple) -> Triple:
        member = set_up.bed.material
        if member.family in THREADED:
            return lateral_strength(tables, member=member, diameter=self.diameter)
        return pull_out

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return nothing: its strength is part of the balance."""
        return []

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:
        """Return its head, and its shank down to the end of the thread."""
        top = set_up.stock.origin[2] + set_up.stock.thickness[1] + self.proud
        # A pan head is about 0.6 of the thread's diameter high; ISO 7045, k (from memory).
        under, end = top - 0.6 * self.diameter, set_up.bed.top - self.depth
        at, keeping = cylinder(self.at), Keeping.SCREW
        head = Body(holder=index, part="head", core=at, radius=self.head / 2.0, low=under, high=top, keeping=keeping)
        if under <= end:
            return [head]
        shank = Body(
            holder=index, part="shank", core=at, radius=self.diameter / 2.0, low=end, high=under, keeping=keeping
        )
        return [head, shank]
