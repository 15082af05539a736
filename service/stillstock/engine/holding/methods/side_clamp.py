"""A side clamp: screw, cam or wedges that squeeze the stock against a stop."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import atan, radians, tan
from typing import ClassVar

from stillstock.engine.holding.body import Body, Keeping, block_behind
from stillstock.engine.holding.contacts import Contact, Push, Rub
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import choice, flag, point, pull_test, quantity, scatter
from stillstock.engine.holding.place import below_top, facing, touching
from stillstock.engine.holding.pull_test import PullTest, measured_force
from stillstock.engine.set_up import SetUp
from stillstock.tables.friction import friction
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["SideClamp", "self_locking_angle", "wedge_thrust"]

#: How far drive and body stand above the upper edge of the tip where the caller does not say; common practice, no
#: source. [m]
ABOVE_TIP = 0.006

CROSSWISE = {"+x": (0.0, 1.0, 0.0), "-x": (0.0, 1.0, 0.0), "+y": (1.0, 0.0, 0.0), "-y": (1.0, 0.0, 0.0)}

#: Drives that a caller may name, and the subjects of the table of side clamps that hold their force.
DRIVES = {"screw": "screw_side_clamp", "cam": "cam_plywood", "folding_wedges": "folding_wedges"}


def wedge_thrust(drive: float, *, angle: float, mu: float) -> float:
    r"""Return the thrust of a wedge that is driven by a push, :math:`N = P / (\tan(\alpha + \phi) + \tan\phi)`.

    Parameters
    ----------
    drive : float
        Push P on its thick end. [N]
    angle : float
        Of the wedge, alpha. [rad]
    mu : float
        Coefficient on both of its faces, tan phi. [-]

    Returns
    -------
    float
        [N]

    Notes
    -----
    Balance of a wedge between two rubbing faces: F. P. Beer and E. R. Johnston, "Vector Mechanics for Engineers:
    Statics", chapter on friction (from memory).
    """
    return drive / (tan(angle + atan(mu)) + mu)


def self_locking_angle(mu: float) -> float:
    """Return the greatest angle of a wedge that stays in by friction on both faces: the sum of both friction angles.

    `mu` is the coefficient on each. [rad]
    """
    return 2.0 * atan(mu)


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
    wedge_angle: float = quantity(
        "angle", doc="Angle of each of two folding wedges.", default=radians(7.0), least=0.01, most=0.8
    )
    drive_force: float | None = quantity(
        "force",
        doc="Push on the wedge that was driven last; a light hammer's if left out.",
        default=None,
        least=1.0,
        most=1e5,
        optional=True,
    )
    height: float = quantity("length", doc="Height of its tip above the bed.", default=0.006, least=0.0, most=0.5)
    down_force: Triple | None = scatter(
        "force", doc="Part of its push that presses the stock down, from the shop's own test.", most=1e6
    )
    tip: tuple[float, float] = point(2, doc="Width and height of the tip.", default=(0.02, 0.008))
    body_width: float = quantity("length", doc="Its width along the edge.", default=0.03, least=0.001, most=0.5)
    body_length: float = quantity(
        "length", doc="Its length away from the stock, screw and handle included.", default=0.06, least=0.001, most=1.0
    )
    body_top: float | None = quantity(
        "length",
        doc="Its highest point above the bed; a little above its tip if left out.",
        default=None,
        least=0.0,
        most=0.5,
        optional=True,
    )
    stiff_sideways: bool = flag(
        doc="Whether tip and drive are stiff across their push, so that friction at the tip counts.", default=False
    )
    friction: Triple | None = scatter("number", doc="Friction at its tip, from the shop's own test.", most=2.0)

    def push(self, tables: Tables) -> Triple:
        """Return its sideways force. [N]"""
        table = tables.value("side_clamps", DRIVES[self.drive], "jaw_force")
        if self.drive == "folding_wedges" and self.drive_force is not None:
            table = _driven(self.drive_force, angle=self.wedge_angle, faces=_wedge_friction(tables))
        return measured_force(self.pull_test, "push", given=self.force, named="force", table=table)

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return the pushing tip and, where proved, its down-thrust."""
        stock, normal = set_up.stock, facing(self.pushes)
        touching(stock, self.at, normal, what="side clamp")
        below_top(stock, self.height, what="side clamp")
        tip = Rub(
            holder=index,
            at=(*self.at, stock.origin[2] + self.height),
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
        """Return the dent under its tip, and whether its wedges stay in."""
        level = set_up.stock.origin[2] + self.height
        found = [self._stays_in(index, tables, level)] if self.drive == "folding_wedges" else []
        crush = set_up.stock.material.properties.get("crush")
        if crush is None:
            return found
        return [
            *found,
            Demand(
                name="crush",
                holder=index,
                value=replace(self.push(tables).times(1.0 / (self.tip[0] * self.tip[1])), dimension="pressure"),
                limit=crush,
                breaks=False,
                detail="pressure under the tip of the side clamp",
                at=(*self.at, level),
            ),
        ]

    def _stays_in(self, index: int, tables: Tables, level: float) -> Demand:
        """Return the angle of its wedges against the one at which they back out. [rad]"""
        faces, angle = _wedge_friction(tables), self.wedge_angle
        low, typical, high = (self_locking_angle(mu) for mu in (faces.low, faces.typical, faces.high))
        limit = replace(
            faces, low=low, typical=typical, high=high, what="angle at which wedges lock", dimension="angle"
        )
        stated = replace(limit, low=angle, typical=angle, high=angle, what="angle of a wedge", source="caller")
        detail = "angle of the folding wedges, against that at which they back out"
        return Demand(
            name="wedge", holder=index, value=stated, limit=limit, breaks=True, detail=detail, at=(*self.at, level)
        )

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:
        """Return one block behind its tip, up to its highest point."""
        top = self.height + self.tip[1] / 2.0 + ABOVE_TIP if self.body_top is None else self.body_top
        width = max(self.body_width, self.tip[0])
        return [
            Body(
                holder=index,
                part="body",
                core=block_behind(self.at, facing(self.pushes), width=width, depth=self.body_length),
                low=set_up.bed.top,
                high=set_up.bed.top + top,
                keeping=Keeping.HAND_SET,
            )
        ]


def _wedge_friction(tables: Tables) -> Triple:
    return friction(tables, stock="wood", bed="wood")


def _driven(drive: float, *, angle: float, faces: Triple) -> Triple:
    """Return the thrust of wedges that were driven by a known push: most where they rub least. [N]"""
    low, typical, high = (wedge_thrust(drive, angle=angle, mu=mu) for mu in (faces.high, faces.typical, faces.low))
    return replace(faces, low=low, typical=typical, high=high, what="thrust of driven wedges", dimension="force")
