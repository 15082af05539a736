"""A machine vise: a fixed jaw, and a moving jaw that squeezes the stock against it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi
from typing import ClassVar

import numpy as np

from stillstock.engine.holding.body import Body, Keeping, block_behind
from stillstock.engine.holding.contacts import Contact, Rub
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.jaws import Jaws, jaws_on
from stillstock.engine.holding.method import choice, flag, point, pull_test, quantity, scatter
from stillstock.engine.holding.place import facing, touching
from stillstock.engine.holding.pull_test import PullTest, measured_force
from stillstock.engine.set_up import FloatArray, SetUp, Stock
from stillstock.tables.friction import friction
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Grade, Triple

__all__ = ["BITING", "Vise", "ideal_thrust"]

SIZES = ("small", "100_mm", "150_mm")

#: Faces of the jaws, and the faces of the table of friction that they are.
FACES = {"smooth": "steel", "serrated": "diamond_jaw", "coarse": "coarse_jaw"}

#: Half the width that the handle sweeps across its screw; common practice, no source. [m]
HANDLE = 0.06

#: Jaws whose teeth bite, so that they hold up and down as well as along.
BITING = ("serrated", "coarse")


def ideal_thrust(torque: float, *, lead: float) -> float:
    r"""Return the thrust of a screw without friction, :math:`F = 2 \pi T / l`. [N]

    `torque` in N m, `lead` in m: the work of one turn comes out along the lead.

    Examples
    --------
    >>> round(ideal_thrust(50.0, lead=0.005))
    62832
    """
    return 2.0 * pi * torque / lead


@dataclass(frozen=True, kw_only=True)
class Vise:
    """Two jaws that squeeze the stock; they hold it down only as far as they rub."""

    kind: ClassVar[str] = "vise"
    title: ClassVar[str] = "vise"

    at: tuple[float, float] = point(2, doc="Middle of the fixed jaw's face, on the stock's edge.")
    faces: str = choice(("+x", "-x", "+y", "-y"), doc="Which way the fixed jaw faces, towards the moving one.")
    size: str = choice(
        SIZES, doc="Width class of the vise; says its force where nothing better is stated.", default="100_mm"
    )
    torque: float | None = quantity(
        "torque", doc="Torque on its screw.", default=None, least=0.1, most=500.0, optional=True
    )
    lead: float = quantity("length", doc="Travel of its screw on one turn.", default=0.005, least=0.0005, most=0.05)
    force: Triple | None = scatter("force", doc="Push of its jaw, from the shop's own test.", least=1.0, most=1e6)
    pull_test: tuple[PullTest, ...] = pull_test(
        ("push",), doc="Its push on a load cell between the jaws, tightened as always."
    )
    jaw: str = choice(tuple(FACES), doc="Face of both jaws.", default="smooth")
    jaw_width: float = quantity("length", doc="Width of the jaws.", default=0.1, least=0.005, most=1.0)
    grip: float = quantity("length", doc="Height of stock between the jaws.", default=0.02, least=0.0005, most=0.5)
    jaw_depth: float = quantity(
        "length", doc="Depth of each jaw away from the stock.", default=0.04, least=0.001, most=0.5
    )
    jaw_top: float | None = quantity(
        "length",
        doc="How high above the bed the jaws stand; as high as they grip if left out.",
        default=None,
        least=0.0,
        most=0.5,
        optional=True,
    )
    handle_reach: float = quantity(
        "length", doc="How far screw and handle reach out behind the moving jaw.", default=0.1, most=1.0
    )
    handle_height: float = quantity(
        "length", doc="Highest point of the handle's swing above the bed.", default=0.05, most=0.5
    )
    seated: bool = flag(
        doc="Whether the jaw pulls down, or the stock was driven down after closing until its parallels sat fast.",
        default=False,
    )
    friction: Triple | None = scatter(
        "number", doc="Friction on its jaws, from the shop's own straight pull upward.", most=2.0
    )

    def push(self, tables: Tables) -> Triple:
        """Return the force with which its jaws squeeze. [N]"""
        table = tables.value("vise", f"vise_{self.size}", "jaw_force")
        if self.torque is not None:
            share = tables.value("vise", "vise_screw", "efficiency")
            turned = share.times(ideal_thrust(self.torque, lead=self.lead))
            table = replace(turned, what="push of a vise's jaw from the torque on its screw", dimension="force")
        return measured_force(self.pull_test, "push", given=self.force, named="force", table=table)

    @property
    def holds_down(self) -> bool:
        """Whether its jaws hold the stock down as well as along."""
        return self.seated or self.jaw in BITING or self.friction is not None

    def jaw_lift(self, tables: Tables) -> Triple:
        """Return how far the moving jaw takes the stock up as it closes. [m]"""
        return tables.value("vise", "pull_down_jaw" if self.seated else "plain_jaw", "lift")

    def _jaws(self, stock: Stock) -> Jaws:
        touching(stock, self.at, facing(self.faces), what="fixed jaw of the vise")
        return jaws_on(stock, self.at, facing(self.faces), width=self.jaw_width)

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return two places on each jaw: on the fixed jaw its ends, on the moving one the middles of its halves.

        Notes
        -----
        The moving jaw pushes with its known force; the fixed one pushes back, and rubs no more than that force gives:
        2 mu F in all. Friction upward counts only where the jaws bite, the stock is seated, or the shop pulled it up
        itself: a plain jaw lifts the stock as it closes and lets it slip down again. That the pressure moves to the
        upper or lower edge of the jaws when the stock is tipped is left out, on the safe side.
        """
        stock = set_up.stock
        jaws = self._jaws(stock)
        level = stock.origin[2] + min(self.grip, stock.thickness[0]) / 2.0
        mu = self.friction or friction(tables, stock=stock.material, bed=FACES[self.jaw])
        tangents = (jaws.across, (0.0, 0.0, 1.0)) if self.holds_down else (jaws.across,)
        push = self.push(tables)

        def rub(at: FloatArray, normal: tuple[float, float, float], preload: Triple | None) -> Rub:
            place = (float(at[0]), float(at[1]), level)
            return Rub(
                holder=index, at=place, normal=normal, friction=mu, preload=preload, stated=push, tangents=tangents
            )

        x, y, z = jaws.normal
        fixed = [rub(at, (x, y, z), None) for at in jaws.fixed]
        moving = [rub(at, (-x, -y, -z), push.times(0.5)) for at in jaws.halves]
        return [*fixed, *moving]

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:
        """Return the dent between the jaws, and whether enough of the stock stands in them."""
        stock = set_up.stock
        grip = min(self.grip, stock.thickness[0])
        above = stock.size[2] - grip
        at = (*self.at, stock.origin[2] + grip)
        stands = _stated(grip, "height of stock between the jaws")
        needed = tables.value("vise", "any_vise", "grip")
        found = [_demand("grip", index, at, (needed, stands), "height that the jaws should grip, against what they do")]
        if above > 0.0:
            most = replace(tables.value("vise", "any_vise", "overhang_on_grip").times(grip), dimension="length")
            proud = _stated(above, "height of stock above the jaws")
            found.append(_demand("overhang", index, at, (proud, most), "height of the stock above the jaws"))
        crush = stock.material.properties.get("crush")
        if crush is not None:
            face = float(np.hypot(*(self._jaws(stock).fixed[1] - self._jaws(stock).fixed[0]))) * grip
            pressure = replace(self.push(tables).times(1.0 / face), dimension="pressure")
            found.append(_demand("crush", index, at, (pressure, crush), "pressure between the jaws of the vise"))
        return found

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:
        """Return the jaws as high as they grip or are said to stand, the base under the stock, the handle's swing."""
        jaws = self._jaws(set_up.stock)
        opposite = jaws.halves.mean(axis=0)
        x, y, z = jaws.normal
        back = opposite + np.array([x, y]) * self.jaw_depth
        low, under = set_up.bed.top, set_up.stock.origin[2]
        high = under + min(self.grip, set_up.stock.thickness[0]) if self.jaw_top is None else low + self.jaw_top
        found = [
            Body(
                holder=index,
                part=part,
                core=block_behind(at, normal, width=self.jaw_width, depth=self.jaw_depth),
                low=low,
                high=high,
            )
            for part, at, normal in (
                ("fixed_jaw", self.at, (x, y, z)),
                ("moving_jaw", (float(opposite[0]), float(opposite[1])), (-x, -y, -z)),
            )
        ]
        if under > low:
            opening = float((opposite - np.asarray(self.at)) @ np.array([x, y]))
            core = block_behind(
                (float(opposite[0]), float(opposite[1])), (x, y, z), width=self.jaw_width, depth=opening
            )
            found.append(Body(holder=index, part="base", core=core, low=low, high=under))
        if self.handle_reach > 0.0 and self.handle_height > 0.0:
            swing = block_behind(
                (float(back[0]), float(back[1])), (-x, -y, -z), width=2.0 * HANDLE, depth=self.handle_reach
            )
            top = low + self.handle_height
            found.append(Body(holder=index, part="handle", core=swing, low=low, high=top, keeping=Keeping.HAND_SET))
        return found


def _stated(length: float, what: str) -> Triple:
    return Triple(
        low=length, typical=length, high=length, what=what, source="caller", grade=Grade.CALLER, dimension="length"
    )


def _demand(name: str, index: int, at: tuple[float, float, float], bands: tuple[Triple, Triple], detail: str) -> Demand:
    return Demand(name=name, holder=index, value=bands[0], limit=bands[1], breaks=False, detail=detail, at=at)
