"""A skin: the last few tenths left uncut all round a part, broken or cut with a knife afterwards."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np
from shapely.geometry import Polygon

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
from stillstock.engine.holding.contacts import Bond, Contact
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import choice, outline, quantity, scatter
from stillstock.engine.holding.place import no_higher, within_outline
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["Skin", "hold_along", "hold_in_lift"]

#: Width of the strip that stands for the line along which a skin holds; results do not depend on it while it is thin
#: against the part. [m]
STRIP = 0.5e-3

#: Sides that an outline is simplified to, its own corners kept: each side is one bond of the programme. [-]
MOST_SIDES = 24


def hold_along(thickness: float, shear: float, fibre: float) -> float:
    r"""Return the sideways force that a skin bears on a length of edge, :math:`s \min(\tau, \sigma)`. [N/m]

    Parameters
    ----------
    thickness : float
        Of what is left, s. [m]
    shear, fibre : float
        Strengths of the stock, tau along the edge and sigma across it. [Pa]
    """
    return thickness * min(shear, fibre)


def hold_in_lift(thickness: float, shear: float, fibre: float, *, kerf: float) -> float:
    r"""Return the lift that a skin bears on a length of edge.

    Parameters
    ----------
    thickness, shear, fibre : float
        As `hold_along`; s, tau, sigma. [m], [Pa], [Pa]
    kerf : float
        Width over which it spans, d. [m]

    Returns
    -------
    float
        [N/m]

    Notes
    -----
    .. math:: q = \min(s \tau, \; \sigma s^2 / (3 d))

    a strip held rigidly at both edges, one of which lifts. That a tough skin goes on as a membrane once it has bent is
    left out, on the safe side.

    Examples
    --------
    >>> round(hold_in_lift(0.5e-3, 7e6, 25e6, kerf=6e-3), 1)
    347.2
    """
    return min(thickness * shear, fibre * thickness**2 / (3.0 * kerf))


@dataclass(frozen=True, kw_only=True, eq=False)
class Skin:
    """A skin all round the part."""

    kind: ClassVar[str] = "skin"
    title: ClassVar[str] = "skin"

    thickness: float = quantity(
        "length", doc="As the program leaves it, from the nominal underside.", least=2e-5, most=0.02
    )
    kerf: float = quantity(
        "length", doc="Width of the cut that it spans: the tool's diameter.", default=0.006, least=0.0002, most=0.1
    )
    area: FloatArray | None = outline(
        doc="Outline that it runs along; the part's own if left out.", default=None, optional=True
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
        """Return what is left of its thickness. [m]"""
        return left(self.thickness, lost=loss(set_up, counted_from=self.counted_from))

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return a thin bonded strip along each side of the outline; none where even the best case leaves nothing."""
        no_higher(set_up.stock, self.thickness, member="thickness", what="skin")
        if self.area is not None:
            within_outline(set_up.stock, self.area, what="skin")
        if self.left(set_up).high <= 0.0:
            return []
        corners = _simplified(set_up.stock.plan if self.area is None else self.area)
        sides = zip(corners, np.roll(corners, -1, axis=0), strict=True)
        return [self._side(index, set_up, tables, np.array(side)) for side in sides]

    def _side(self, index: int, set_up: SetUp, tables: Tables, side: FloatArray) -> Bond:
        """Return the strip along one side, (2, 2), inside of it. [m]"""
        stock = set_up.stock
        along = (side[1] - side[0]) / np.hypot(*(side[1] - side[0]))
        inward = np.array([-along[1], along[0]])
        angle = float(np.arctan2(inward[1], inward[0])) - stock.grain
        height = self.left(set_up)
        fibre = fibre_strength(stock.material, tables, angle=angle, given=self.bending_strength)
        along_edge = of_bands(
            hold_along,
            height,
            path_shear(stock.material, given=self.shear_strength),
            fibre,
            what=f"hold of a skin of {stock.material.title} along its edge",
            dimension="pressure",
            ground=fibre,
        )
        in_lift = of_bands(
            lambda s, t, f: hold_in_lift(s, t, f, kerf=self.kerf),
            height,
            lift_shear(stock.material, angle=angle, given=self.shear_strength),
            fibre,
            what=f"hold of a skin of {stock.material.title} in lift",
            dimension="pressure",
            ground=fibre,
        )
        thick = max(height.typical, height.high / 2.0)
        length = float(np.hypot(*(side[1] - side[0])))
        sideways = stiffness_of_bridge(stock.material, depth=length, breadth=thick, span=self.kerf, angle=angle)
        upward = stiffness_of_bridge(stock.material, depth=thick, breadth=length, span=self.kerf, angle=angle)
        return Bond(
            holder=index,
            area=np.array([side[0], side[1], side[1] + inward * STRIP, side[0] + inward * STRIP]),
            height=stock.origin[2],
            shear=along_edge.times(1.0 / STRIP),
            tension=in_lift.times(1.0 / STRIP),
            shear_stiffness=sideways / (length * STRIP),
            tension_stiffness=upward / (length * STRIP),
            of_stock=True,
        )

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return whether anything is left of it."""
        middle = set_up.stock.plan.mean(axis=0)
        at = (float(middle[0]), float(middle[1]), set_up.stock.origin[2])
        found = lost_height(index, set_up, name="skin", nominal=self.thickness, counted_from=self.counted_from, at=at)
        return [replace(found, detail=f"{found.detail}; a skin must exceed what thickness, bow and bed take from it")]

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:  # noqa: ARG002
        """Return nothing: it is stock, below the cut."""
        return []


def _simplified(plan: FloatArray) -> FloatArray:
    """Return an outline of few sides, from its own corners, so that round ones come out shorter and not longer."""
    shape = Polygon(plan)
    tolerance = 1e-3 * float(np.sqrt(shape.area))
    while len(shape.exterior.coords) - 1 > MOST_SIDES:
        shape = Polygon(plan).simplify(tolerance)
        tolerance *= 1.5
    return np.asarray(shape.exterior.coords)[:-1, :2]
