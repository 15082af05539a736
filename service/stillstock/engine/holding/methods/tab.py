"""A tab: a bridge of uncut stock across the kerf, between a part and the waste around it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import ClassVar

from shapely.geometry import Point, Polygon

from stillstock.engine.holding.body import Body
from stillstock.engine.holding.bridging import (
    COUNTED_FROM,
    fibre_strength,
    left,
    lift_shear,
    loss,
    lost_height,
    of_bands,
    path_shear,
    stiffness_of_bridge,
)
from stillstock.engine.holding.contacts import Contact, Pin
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import choice, point, quantity, scatter
from stillstock.engine.holding.place import TOUCH, no_higher
from stillstock.engine.set_up import SetUp
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["Tab", "lift_strength", "path_strength"]


def path_strength(height: float, shear: float, fibre: float, *, width: float, kerf: float) -> float:
    r"""Return the greatest force along the path that a tab bears.

    Parameters
    ----------
    height : float
        Height h that is left. [m]
    shear, fibre : float
        Strengths of the stock in shear and bending, tau and sigma. [Pa]
    width : float
        Of the tab along the path, b. [m]
    kerf : float
        Its span across the kerf, d. [m]

    Returns
    -------
    float
        [N]

    Notes
    -----
    A beam held rigidly at both ends, one of which moves sideways: end moment F d / 2, section h b^2 / 6, so

    .. math:: F = \min(b h \tau, \; \sigma h b^2 / (3 d), \; b h \sigma)

    the last for a pull across the kerf. Beam formula: Roark's Formulas for Stress and Strain, table of beams, guided
    and fixed ends (from memory).

    Examples
    --------
    >>> path_strength(2e-3, 9e6, 25e6, width=6e-3, kerf=6e-3)
    100.0
    """
    area = width * height
    return min(area * shear, fibre * height * width**2 / (3.0 * kerf), area * fibre)


def lift_strength(height: float, shear: float, fibre: float, *, width: float, kerf: float) -> float:
    r"""Return the greatest lift that a tab bears, :math:`\min(b h \tau, \; \sigma b h^2 / (3 d))`. [N]

    Arguments as `path_strength`; the same beam, bent the other way.

    Examples
    --------
    >>> lift_strength(2e-3, 9e6, 25e6, width=6e-3, kerf=6e-3)
    33.33333333333333
    """
    return min(width * height * shear, fibre * width * height**2 / (3.0 * kerf))


@dataclass(frozen=True, kw_only=True)
class Tab:
    """One tab of the program; it holds a part that is cut free otherwise."""

    kind: ClassVar[str] = "tab"
    title: ClassVar[str] = "tab"

    at: tuple[float, float] = point(2, doc="Its middle, in the kerf or on the part's edge.")
    angle: float = quantity(
        "angle", doc="Direction of the path there, from +x.", default=0.0, least=-2.0 * pi, most=2.0 * pi
    )
    width: float = quantity(
        "length", doc="Of what stands, along the path: the program's width less the tool.", least=0.0002, most=0.1
    )
    height: float = quantity(
        "length", doc="As the program leaves it, from the nominal underside.", least=5e-5, most=0.1
    )
    kerf: float = quantity(
        "length", doc="Its span across the kerf: the tool's diameter.", default=0.006, least=0.0002, most=0.1
    )
    counted_from: str = choice(
        COUNTED_FROM,
        doc="What the program's heights are counted from: the stock's top and its nominal thickness, or the bed.",
        default="stock_top",
    )
    shear_strength: Triple | None = scatter(
        "pressure", doc="Shear strength of the stock, from the shop's own test.", least=1.0, most=1e10
    )
    bending_strength: Triple | None = scatter(
        "pressure", doc="Bending strength of the stock across the kerf, from the shop's own test.", least=1.0, most=1e10
    )

    def left(self, set_up: SetUp) -> Triple:
        """Return what is left of its height. [m]"""
        return left(self.height, lost=loss(set_up, counted_from=self.counted_from))

    def _to_grain(self, set_up: SetUp) -> float:
        """Return the angle between its span and the grain. [rad]"""
        return self.angle + pi / 2.0 - set_up.stock.grain

    def strengths(self, set_up: SetUp, tables: Tables) -> tuple[Triple, Triple]:
        """Return what it bears sideways and in lift. [N]"""
        material, angle = set_up.stock.material, self._to_grain(set_up)
        height = self.left(set_up)
        fibre = fibre_strength(material, tables, angle=angle, given=self.bending_strength)
        along = path_shear(material, given=self.shear_strength)
        upward = lift_shear(material, angle=angle, given=self.shear_strength)
        sideways = of_bands(
            lambda h, t, s: path_strength(h, t, s, width=self.width, kerf=self.kerf),
            height,
            along,
            fibre,
            what=f"sideways strength of a tab of {material.title}",
            dimension="force",
            ground=fibre,
        )
        lift = of_bands(
            lambda h, t, s: lift_strength(h, t, s, width=self.width, kerf=self.kerf),
            height,
            upward,
            fibre,
            what=f"strength of a tab of {material.title} in lift",
            dimension="force",
            ground=fibre,
        )
        return sideways, lift

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return a pin at half of what is left of its height; none where even the best case leaves nothing."""
        stock = set_up.stock
        gap = Polygon(stock.plan).exterior.distance(Point(self.at))
        if gap > self.kerf + TOUCH:
            fault = Fault(
                pointer="/at",
                code="not_touching",
                detail="the tab lies {0} from the edge of what it should hold",
                numbers=((gap, "length"),),
                limit=self.kerf + TOUCH,
                seen=gap,
                dimension="length",
            )
            raise ImpossibleSetUp([fault])
        no_higher(stock, self.height, member="height", what="tab")
        lateral, lift = self.strengths(set_up, tables)
        height = self.left(set_up)
        if height.high <= 0.0:
            return []
        angle = self._to_grain(set_up)
        sizes = (self.width, max(height.typical, height.high / 2.0))
        return [
            Pin(
                holder=index,
                at=(*self.at, stock.origin[2] + height.typical / 2.0),
                lateral=lateral,
                pull_out=lift,
                lateral_stiffness=stiffness_of_bridge(
                    stock.material, depth=sizes[0], breadth=sizes[1], span=self.kerf, angle=angle
                ),
                axial_stiffness=stiffness_of_bridge(
                    stock.material, depth=sizes[1], breadth=sizes[0], span=self.kerf, angle=angle
                ),
            )
        ]

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return whether anything is left of it."""
        at = (*self.at, set_up.stock.origin[2])
        return [lost_height(index, set_up, name="tab", nominal=self.height, counted_from=self.counted_from, at=at)]

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:  # noqa: ARG002
        """Return nothing: it is stock, and the program goes round it."""
        return []
