"""A bolt through one of the part's own holes into a fixture plate or bed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi
from typing import ClassVar

from stillstock.engine.holding.bearing import hole_bearing, smaller
from stillstock.engine.holding.body import Body, Keeping, cylinder
from stillstock.engine.holding.contacts import Contact, Pin, Push
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.fastener_heads import HANDLE_SIZES, NOMINAL, head_height, head_radius
from stillstock.engine.holding.method import choice, point, quantity, scatter
from stillstock.engine.holding.place import on_stock, rectangle
from stillstock.engine.holding.threads import BOLTS, HANDLES, bolt_key, given_or, preload
from stillstock.engine.set_up import SetUp
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["FixturePlate", "bolt_shear"]

THREADS = ("plain_steel_dry", "oiled", "zinc_plated", "stainless_on_stainless")
GRADES = ("4.6", "4.8", "8.8", "10.9", "12.9", "grade 2", "grade 5", "grade 8")
ANCHORS = ("tapped_plate", "threaded_insert", "nut")

#: Shear strength of a bolt on its tensile strength, thread in the shear plane: 0.6, and 0.5 for the classes that have
#: little stretch; EN 1993-1-8, table 3.4, without its partial factor (from memory). [-]
SHEAR_SHARE, SHEAR_SHARE_BRITTLE = 0.6, 0.5
BRITTLE = ("4.8", "10.9", "12.9", "grade 8")

#: A bolt that is pulled as well bears V / V_R + T / (1.4 T_R) <= 1; EN 1993-1-8, table 3.4 (from memory). [-]
PULL_SHARE = 1.4

#: Give of bolt and hole at full sideways load, an estimate; only shares between fasteners rest on it. [m]
SLIP = 0.2e-3

#: Thickness of a washer on the diameter of its bolt: 1.6 mm for M6; ISO 7089 (from memory). [-]
WASHER_HEIGHT = 0.27
NONE = Triple(low=0.0, typical=0.0, high=0.0, what="no hold", dimension="force")


def bolt_shear(ultimate: Triple, *, grade: str, pull: Triple) -> Triple:
    """Return the shear that a bolt bears besides its pull.

    Parameters
    ----------
    ultimate : Triple
        Least ultimate tensile load. [N]
    grade : str
        Strength class.
    pull : Triple
        Preload; its high end counts. [N]

    Returns
    -------
    Triple
        [N]
    """
    share = SHEAR_SHARE_BRITTLE if grade in BRITTLE else SHEAR_SHARE
    spare = max(1.0 - pull.high / (PULL_SHARE * ultimate.low), 0.01)
    return replace(ultimate.times(share * spare), what="shear of a bolt that is pulled as well")


@dataclass(frozen=True, kw_only=True)
class FixturePlate:
    """One bolt with its washer; two at least, or the part spins."""

    kind: ClassVar[str] = "fixture_plate"
    title: ClassVar[str] = "bolt in a fixture plate"

    at: tuple[float, float] = point(2, doc="Middle of the part's hole.")
    bolt: str = choice(BOLTS, doc="Thread of the bolt.", default="M6")
    grade: str = choice(GRADES, doc="Strength class of the bolt.", default="8.8")
    thread: str = choice(THREADS, doc="State of the thread.", default="plain_steel_dry")
    torque: float | None = quantity(
        "torque",
        doc="Torque on the bolt; what a hand gives if left out.",
        default=None,
        least=0.05,
        most=500.0,
        optional=True,
    )
    handle: str = choice(HANDLES, doc="What the bolt is turned with.", default="hex_key")
    preload: Triple | None = scatter("force", doc="The bolt's pull, from the shop's own test.", least=0.1, most=1e6)
    washer: float = quantity("length", doc="Outer diameter of the washer.", default=0.012, least=0.003, most=0.1)
    hole: float | None = quantity(
        "length",
        doc="Diameter of the part's hole; the medium clearance hole if left out.",
        default=None,
        least=0.001,
        most=0.1,
        optional=True,
    )
    anchor: str = choice(ANCHORS, doc="What the bolt is screwed into.", default="tapped_plate")
    anchor_limit: Triple | None = scatter(
        "force", doc="Pull that the anchor bears, from the shop's own test.", least=1.0, most=1e6
    )

    def pull(self, tables: Tables) -> Triple:
        """Return the bolt's pull. [N]"""
        turned = preload(tables, bolt=self.bolt, thread=self.thread, torque=self.torque, handle=self.handle)
        return given_or(self.preload, turned)

    def _diameters(self, tables: Tables) -> tuple[float, float]:
        """Return the diameters of bolt and hole. [m, m]"""
        bolt = tables.value("bolts", bolt_key(self.bolt), "nominal_diameter").typical
        if self.hole is not None:
            return bolt, self.hole
        medium = tables.get("bolts", bolt_key(self.bolt), "clearance_hole")
        return bolt, medium.typical if medium is not None else 1.1 * bolt

    def _fits(self, tables: Tables) -> None:
        bolt, hole = self._diameters(tables)
        faults = []
        if hole < bolt:
            detail = f"an {self.bolt} bolt does not go through this hole"
            faults.append(_narrow("/hole", detail, limit=bolt, seen=hole))
        if self.washer <= hole:
            detail = "the washer falls through the hole"
            faults.append(_narrow("/washer", detail, limit=hole, seen=self.washer))
        if faults:
            raise ImpossibleSetUp(faults)

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return the washer's push, and the shank as a pin that helps once the stock has moved through its play."""
        stock = set_up.stock
        on_stock(stock, self.at, what="bolt")
        self._fits(tables)
        bolt, hole = self._diameters(tables)
        lateral = self._lateral(set_up, tables)
        washer = rectangle(self.at, along=self.washer, across=self.washer, angle=0.0)
        return [
            Push(
                holder=index,
                at=(*self.at, stock.top),
                direction=(0.0, 0.0, -1.0),
                force=self.pull(tables),
                toe=washer,
            ),
            Pin(
                holder=index,
                at=(*self.at, stock.origin[2]),
                lateral=lateral,
                pull_out=NONE,
                lateral_stiffness=lateral.typical / SLIP,
                axial_stiffness=0.0,
                clearance=(hole - bolt) / 2.0,
            ),
        ]

    def _lateral(self, set_up: SetUp, tables: Tables) -> Triple:
        """Return the weaker of the bolt in shear and the side of the part's hole. [N]"""
        bolt, _ = self._diameters(tables)
        shear = bolt_shear(self._strength(tables, "ultimate_load"), grade=self.grade, pull=self.pull(tables))
        side = hole_bearing(set_up.stock.material, diameter=bolt)
        if side is None:
            return shear
        return smaller(shear, replace(side.times(bolt * set_up.stock.thickness[0]), dimension="force"))

    def _strength(self, tables: Tables, row: str) -> Triple:
        """Return a strength of the bolt; of the weakest class where the stated one is not made in this thread. [N]"""
        key, suffix = bolt_key(self.bolt), self.grade.replace(".", "_").replace(" ", "_")
        known = tables.get("bolts", f"{key}_{suffix}", row)
        if known is not None:
            return known
        return tables.value("bolts", f"{key}_{'grade_2' if '/' in self.bolt else '4_6'}", row)

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:
        """Return the loads on bolt, anchor and on the stock under the washer."""
        at = (*self.at, set_up.stock.top)
        share = tables.value("clamps", "any_bolt", "proof_share").typical
        proof = self._strength(tables, "proof_load").times(share)
        found = [
            Demand(
                name="bolt",
                holder=index,
                value=self.pull(tables),
                limit=proof,
                breaks=True,
                detail=f"pull of the {self.bolt} bolt against {share:.0%} of its proof load",
                at=at,
            )
        ]
        anchor = self._anchor(set_up, tables)
        if anchor is not None:
            detail = f"pull of the bolt on its {self.anchor.replace('_', ' ')}"
            found.append(
                Demand(
                    name="anchor",
                    holder=index,
                    value=self.pull(tables),
                    limit=anchor,
                    breaks=True,
                    detail=detail,
                    at=at,
                )
            )
        crush = set_up.stock.material.properties.get("crush")
        if crush is not None:
            _, hole = self._diameters(tables)
            ring = pi / 4.0 * (self.washer**2 - hole**2)
            found.append(
                Demand(
                    name="crush",
                    holder=index,
                    value=replace(self.pull(tables).times(1.0 / ring), dimension="pressure"),
                    limit=crush,
                    breaks=False,
                    detail="pressure under the washer",
                    at=at,
                )
            )
        return found

    def _anchor(self, set_up: SetUp, tables: Tables) -> Triple | None:
        if self.anchor_limit is not None:
            return self.anchor_limit
        if self.anchor != "threaded_insert":
            return None
        bed = set_up.bed.material
        face = {"hardwood": "insert_hardwood", "panel": "insert_plywood_face"}.get(bed.family)
        board = bed.key in ("mdf", "particleboard") or face is None
        return tables.value("screws", "insert_steel_mdf_face" if board else str(face), "pull_out")

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:
        """Return its washer with what it is turned by, and its shank in the part's hole."""
        top = set_up.stock.origin[2] + set_up.stock.thickness[1]
        height, sweep = HANDLE_SIZES[self.handle]
        if self.handle == "hex_key":
            height, sweep = head_height(self.bolt), head_radius(self.bolt)
        at, shank = cylinder(self.at), NOMINAL[self.bolt] / 2.0
        above = top + WASHER_HEIGHT * NOMINAL[self.bolt]
        radius = max(sweep, self.washer / 2.0)
        keeping = Keeping.SCREW
        return [
            Body(holder=index, part="head", core=at, radius=radius, low=top, high=above + height, keeping=keeping),
            Body(
                holder=index, part="shank", core=at, radius=shank, low=set_up.stock.origin[2], high=top, keeping=keeping
            ),
        ]


def _narrow(pointer: str, detail: str, *, limit: float, seen: float) -> Fault:
    return Fault(pointer=pointer, code="range", detail=detail, limit=limit, seen=seen, dimension="length")
