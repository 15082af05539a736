"""Holes in the spoilboard: what an insert, dowel or tee nut wants, from its own measures and the board."""

from dataclasses import dataclass

from stillstock.engine.grid.request import Board, HoleKind, HoleWanted

__all__ = ["CHIP_ROOM", "COUNTERBORE_ROOM", "THREAD_SHARE", "HoleCut", "hole_cut", "pilot_diameter"]

#: Room below an insert for dust and for the bolt's end; what a counterbore is wider than what sinks into it.
#: Common practice, no source. [m]
CHIP_ROOM = 0.002
COUNTERBORE_ROOM = 0.001
#: Share of an insert's thread that bites, by board: soft boards want the most, hard ones would split or jam.
#: Common practice, no source; a trial in scrap of the same board decides. [-]
THREAD_SHARE = {
    Board.MDF: 0.9,
    Board.CHIPBOARD: 1.0,
    Board.PLYWOOD: 0.8,
    Board.SOFTWOOD: 1.0,
    Board.HARDWOOD: 0.7,
    Board.PLASTIC: 0.7,
}


@dataclass(frozen=True, kw_only=True)
class HoleCut:
    """What is cut for one hole.

    Attributes
    ----------
    diameter, depth : float
        Of the hole itself, its depth from the face of the board. [m]
    counterbore : (2,) tuple or None
        Diameter and depth of what is cut wider from the face. [m]
    underside : (2,) tuple or None
        Diameter and depth of what has to be cut from below, by hand or with the board turned. [m]
    through : bool
        Whether the hole leaves the board.
    needed : float
        Thickness of board that the fitting itself takes up, from the face. [m]
    """

    diameter: float
    depth: float
    counterbore: tuple[float, float] | None
    underside: tuple[float, float] | None
    through: bool
    needed: float

    @property
    def widest(self) -> float:
        """Greatest diameter, above or below. [m]"""
        return max(self.diameter, *(bore[0] for bore in (self.counterbore, self.underside) if bore), 0.0)


def pilot_diameter(outer: float, *, core: float, share: float) -> float:
    r"""Return the hole for a threaded insert.

    Parameters
    ----------
    outer, core : float
        Diameter over the insert's outer thread and under it, from its maker. [m]
    share : float
        Of the thread's depth that shall bite. [-]

    Returns
    -------
    float
        Diameter of the hole, :math:`d_o - s (d_o - d_k)`. [m]

    Examples
    --------
    >>> round(1e3 * pilot_diameter(0.010, core=0.008, share=0.9), 3)
    8.2
    """
    return outer - share * (outer - core)


def hole_cut(wanted: HoleWanted, *, board: Board, thickness: float) -> HoleCut:
    """Return what is cut for one hole.

    Parameters
    ----------
    wanted : HoleWanted
        Measures of the fitting.
    board : Board
        What it goes into.
    thickness : float
        Of the board. [m]

    Returns
    -------
    HoleCut
        Not deeper than the board; `needed` tells whether the fitting has room in it.
    """
    flange_diameter, flange = wanted.flange
    if wanted.kind is HoleKind.TEE_NUT:
        return HoleCut(
            diameter=wanted.diameter,
            depth=thickness,
            counterbore=None,
            underside=(flange_diameter + COUNTERBORE_ROOM, flange),
            through=True,
            needed=flange + wanted.length + wanted.sunk,
        )
    seat, needed = wanted.sunk + flange, wanted.sunk + flange + wanted.length
    room = CHIP_ROOM if wanted.kind is HoleKind.INSERT else 0.0
    counterbore = (max(flange_diameter, wanted.diameter) + COUNTERBORE_ROOM, seat) if seat > 0.0 else None
    depth = min(thickness, needed + room)
    return HoleCut(
        diameter=_bore(wanted, board),
        depth=depth,
        counterbore=counterbore,
        underside=None,
        through=depth >= thickness,
        needed=needed,
    )


def _bore(wanted: HoleWanted, board: Board) -> float:
    if wanted.kind is HoleKind.INSERT:
        return pilot_diameter(wanted.diameter, core=wanted.core, share=THREAD_SHARE[board])
    return wanted.diameter + wanted.fit
