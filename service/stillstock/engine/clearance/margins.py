"""Margins that the tool keeps from what stands on the table."""

from dataclasses import dataclass

from stillstock.engine.holding.body import Body, Keeping

__all__ = ["Margins"]


@dataclass(frozen=True, kw_only=True)
class Margins:
    """Every margin, settled.

    Attributes
    ----------
    over, over_hand_set : float
        Above stock and fixed holders; above those whose height depends on the hand that set them. [m]
    over_stock : float
        Above the stock on the way from cut to cut, less than which breaks tools. [m]
    beside, around_screws : float
        In plan, from the cutter's edge to a holder, and to a screw. [m]
    into_bed : float
        How deep a cut may go into the bed. [m]
    """

    over: float
    over_hand_set: float
    over_stock: float
    beside: float
    around_screws: float
    into_bed: float

    def above(self, body: Body) -> float:
        """Return the margin above a body. [m]"""
        return self.over_hand_set if body.keeping is Keeping.HAND_SET else self.over

    def around(self, body: Body) -> float:
        """Return the margin round a body in plan. [m]"""
        return self.around_screws if body.keeping is Keeping.SCREW else self.beside
