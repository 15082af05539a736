"""A strap clamp: an arm with its toe on the stock, its heel on packing, a bolt between."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from stillstock.engine.holding.body import Body, Keeping, cylinder
from stillstock.engine.holding.contacts import Contact, Push
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.fastener_heads import HANDLE_SIZES, NOMINAL
from stillstock.engine.holding.method import choice, flag, point, quantity, scatter
from stillstock.engine.holding.place import on_stock, rectangle
from stillstock.engine.holding.threads import BOLTS, HANDLES, bolt_key, given_or, preload
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.friction import friction
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["StrapClamp"]

ANCHORS = ("threaded_insert", "t_track", "t_slot", "through_bolt", "wood_screw")
ARMS = ("aluminium", "steel", "pom", "hdpe", "plywood", "mdf", "hardwood")
THREADS = ("plain_steel_dry", "oiled", "zinc_plated", "stainless_on_stainless")
FACES = {"aluminium": "aluminium", "steel": "steel", "plywood": "plywood", "mdf": "board", "hardwood": "wood"}
GRADES = ("4.6", "4.8", "8.8", "10.9", "12.9", "grade 2", "grade 5", "grade 8")


@dataclass(frozen=True, kw_only=True)
class StrapClamp:
    """An arm that presses the stock down with its toe."""

    kind: ClassVar[str] = "strap_clamp"
    title: ClassVar[str] = "strap clamp"

    at: tuple[float, float] = point(2, doc="Middle of the toe on the stock.")
    angle: float = quantity(
        "angle", doc="Direction from the bolt to the toe, from +x.", default=0.0, least=-7.0, most=7.0
    )
    bolt: str = choice(BOLTS, doc="Thread of its bolt.", default="M6")
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
    handle: str = choice(HANDLES, doc="What the bolt is turned with.", default="star_knob")
    preload: Triple | None = scatter("force", doc="The bolt's pull, from the shop's own test.", most=1e6)
    anchor: str = choice(ANCHORS, doc="What the bolt pulls at.", default="t_slot")
    anchor_limit: Triple | None = scatter(
        "force", doc="Pull that the anchor bears, from the shop's own test.", most=1e6
    )
    arm: str = choice(ARMS, doc="Material of the arm.", default="aluminium")
    arm_width: float = quantity("length", doc="Width of the arm.", default=0.03, least=0.003, most=0.3)
    arm_height: float = quantity("length", doc="Thickness of the arm.", default=0.012, least=0.001, most=0.2)
    slot: float = quantity(
        "length", doc="Width of the slot in the arm at the bolt.", default=0.007, least=0.0, most=0.1
    )
    toe_reach: float = quantity("length", doc="From bolt to toe.", default=0.03, least=0.001, most=1.0)
    heel_reach: float = quantity("length", doc="From bolt to heel.", default=0.04, least=0.001, most=1.0)
    bolt_end: float | None = quantity(
        "length",
        doc="How far bolt, nut or knob stand above the arm; by the handle if left out.",
        default=None,
        least=0.0,
        most=0.5,
        optional=True,
    )
    handle_swing: float | None = quantity(
        "length",
        doc="Radius that knob, nut or handle sweep when turned; by the handle if left out.",
        default=None,
        least=0.0,
        most=0.5,
        optional=True,
    )
    heel_block: float = quantity("length", doc="Length of the packing under the heel.", default=0.02, most=0.3)
    toe: tuple[float, float] = point(2, doc="Length and width of the toe's face.", default=(0.015, 0.03))
    stiff_sideways: bool = flag(
        doc="Whether the arm cannot swing (keyed, or two bolts), so that friction under the toe counts.", default=False
    )
    friction: Triple | None = scatter("number", doc="Friction under the toe, from the shop's own test.", most=2.0)

    def pull(self, tables: Tables) -> Triple:
        """Return the bolt's pull. [N]"""
        turned = preload(tables, bolt=self.bolt, thread=self.thread, torque=self.torque, handle=self.handle)
        return given_or(self.preload, turned)

    def toe_force(self, tables: Tables) -> Triple:
        """Return what the toe presses on the stock: the bolt's pull, shared with the heel by the lever. [N]"""
        share = self.heel_reach / (self.toe_reach + self.heel_reach)
        return replace(self.pull(tables).times(share), what="push of a strap clamp's toe")

    def toe_outline(self) -> FloatArray:
        """Return the toe's face in plan. (4, 2) [m]"""
        return rectangle(self.at, along=self.toe[0], across=self.toe[1], angle=self.angle)

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return the toe's push and, where the arm cannot swing, its friction."""
        stock = set_up.stock
        on_stock(stock, self.at, what="toe of the strap clamp")
        toe = None
        if self.stiff_sideways:
            toe = self.friction or friction(tables, stock=stock.material, bed=FACES.get(self.arm, "plastic"))
        return [
            Push(
                holder=index,
                at=(*self.at, stock.top),
                direction=(0.0, 0.0, -1.0),
                force=self.toe_force(tables),
                toe=self.toe_outline(),
                friction=toe,
            )
        ]

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:
        """Return the loads on bolt, anchor, arm and on the stock under the toe."""
        at = (*self.at, set_up.stock.top)
        found = [self._bolt(index, tables, at), self._arm(index, tables, at)]
        limit = self._anchor_limit(set_up, tables)
        if limit is not None:
            found.append(
                Demand(
                    name="anchor",
                    holder=index,
                    value=self.pull(tables),
                    limit=limit,
                    breaks=True,
                    detail=f"pull of the bolt on its {self.anchor.replace('_', ' ')}",
                    at=at,
                )
            )
        crush = set_up.stock.material.properties.get("crush")
        if crush is not None:
            pressure = self.toe_force(tables).times(1.0 / (self.toe[0] * self.toe[1]))
            found.append(
                Demand(
                    name="crush",
                    holder=index,
                    value=replace(pressure, dimension="pressure"),
                    limit=crush,
                    breaks=False,
                    detail="pressure under the toe of the strap clamp",
                    at=at,
                )
            )
        return found

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:
        """Return arm, heel block, bolt and what the bolt is turned with.

        The arm lies level on the stock at its greatest measured thickness; the bolt goes down to the bed.
        """
        top, bed = set_up.stock.origin[2] + set_up.stock.thickness[1], set_up.bed.top
        height, swing = HANDLE_SIZES[self.handle]
        height = height if self.bolt_end is None else self.bolt_end
        swing = swing if self.handle_swing is None else self.handle_swing
        toe, heel = self.toe[0] / 2.0, self.heel_block / 2.0
        toward = (math.cos(self.angle), math.sin(self.angle))

        def along(distance: float) -> tuple[float, float]:
            """Place on the arm's axis at a distance from the toe towards the heel. [m]"""
            return self.at[0] - distance * toward[0], self.at[1] - distance * toward[1]

        def slab(first: float, last: float) -> FloatArray:
            middle = along((first + last) / 2.0)
            return rectangle(middle, along=last - first, across=self.arm_width, angle=self.angle)

        reach = self.toe_reach + self.heel_reach
        arm = top + self.arm_height
        bolt = cylinder(along(self.toe_reach))
        thickness = NOMINAL[self.bolt] / 2.0
        found = [
            Body(holder=index, part="arm", core=slab(-toe, reach + heel), low=top, high=arm, keeping=Keeping.HAND_SET),
            Body(holder=index, part="bolt", core=bolt, radius=thickness, low=bed, high=arm, keeping=Keeping.HAND_SET),
        ]
        if heel > 0.0:
            found.append(
                Body(holder=index, part="heel_block", core=slab(reach - heel, reach + heel), low=bed, high=top)
            )
        if height > 0.0:
            radius, knob = max(swing, thickness), "nut" if self.handle == "hex_key" else self.handle
            found.append(
                Body(
                    holder=index, part=knob, core=bolt, radius=radius, low=arm, high=arm + height,
                    keeping=Keeping.HAND_SET,
                )
            )  # fmt: skip
        return found

    def _bolt(self, index: int, tables: Tables, at: tuple[float, float, float]) -> Demand:
        suffix = self.grade.replace(".", "_").replace(" ", "_")
        proof = tables.get("bolts", f"{bolt_key(self.bolt)}_{suffix}", "proof_load")
        if proof is None:  # a metric class on an inch bolt or the reverse: the weakest one that the table has
            fallback = "grade_2" if "/" in self.bolt else "4_6"
            proof = tables.value("bolts", f"{bolt_key(self.bolt)}_{fallback}", "proof_load")
        share = tables.value("clamps", "any_bolt", "proof_share").typical
        return Demand(
            name="bolt",
            holder=index,
            value=self.pull(tables),
            limit=proof.times(share),
            breaks=True,
            detail=f"pull of the {self.bolt} bolt against {share:.0%} of its proof load",
            at=at,
        )

    def _arm(self, index: int, tables: Tables, at: tuple[float, float, float]) -> Demand:
        """Return the arm's bending at the bolt: M = F_toe a, section (w - slot) h^2 / 6."""
        section = max(self.arm_width - self.slot, 1e-4) * self.arm_height**2 / 6.0
        stress = self.toe_force(tables).times(self.toe_reach / section)
        return Demand(
            name="arm",
            holder=index,
            value=replace(stress, what="bending of the clamp's arm", dimension="pressure"),
            limit=tables.value("clamps", f"arm_{self.arm}", "allowable_bending"),
            breaks=True,
            detail=f"bending of the {self.arm} arm at its bolt",
            at=at,
        )

    def _anchor_limit(self, set_up: SetUp, tables: Tables) -> Triple | None:
        if self.anchor_limit is not None:
            return self.anchor_limit
        if self.anchor == "through_bolt":
            return None
        if self.anchor == "threaded_insert":
            face = {"hardwood": "insert_hardwood", "panel": "insert_plywood_face"}.get(set_up.bed.material.family)
            board = set_up.bed.material.key in ("mdf", "particleboard")
            return tables.value("screws", "insert_steel_mdf_face" if board or face is None else face, "pull_out")
        if self.anchor == "wood_screw":
            return tables.value("screws", "panel_screw_mdf_18_mm_face", "withdrawal")
        return tables.value("screws", "t_track_lip", "lip_yield")
