"""Vacuum as a balance: what the pump draws against what leaks in through board, gaps and open kerfs."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from stillstock.engine.mechanics.leakage import RATED_AT, between_boards, orifice_flow, porous_flow, slot_flow
from stillstock.engine.set_up import SetUp
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner, Triple

__all__ = ["PUMPS", "Leaks", "Pump", "balance", "check_curve", "described_kerf", "pump_of_kind", "working_vacuum"]

#: Kinds of pump that a caller may name; each is a subject of the table on vacuum.
PUMPS = (
    "regenerative_blower",
    "regenerative_blower_two_stage",
    "rotary_vane_dry",
    "rotary_vane_oiled",
    "venturi",
    "shop_vacuum",
)

#: Corner of the pump that belongs to the low, typical and high vacuum, and that of the leaks.
CORNERS = ((Corner.LOW, Corner.HIGH), (Corner.TYPICAL, Corner.TYPICAL), (Corner.HIGH, Corner.LOW))


@dataclass(frozen=True, kw_only=True)
class Pump:
    """What a pump draws, as rated at sea level.

    Attributes
    ----------
    vacuum, flow : (k,) tuples
        Vacuum below the air around, rising, and volume of outside air drawn at it, not rising. [Pa], [m3/s]
    """

    vacuum: tuple[float, ...]
    flow: tuple[float, ...]

    def shared(self, zones: int) -> "Pump":
        """Return what is left for each of several zones on one pump."""
        return Pump(vacuum=self.vacuum, flow=tuple(flow / zones for flow in self.flow))

    def draws(self, vacuum: float, *, outside: float) -> float:
        """Return what it draws at a vacuum where the air has the pressure `outside` [Pa]. [m3/s]

        Notes
        -----
        A pump keeps its ratio of pressures and its volume, so thin air scales the vacuum of its curve by p / p0. Past
        the curve's end it draws nothing. No pump takes in more of the thinner air at its inlet than it did of the
        thicker: a curve of outside air that is flatter than a fixed volume of inlet air is read as that volume.
        """
        rated = vacuum * RATED_AT / outside
        if rated >= self.vacuum[-1]:
            return 0.0
        passed = np.array(self.vacuum) <= rated
        inlet = np.array(self.flow)[passed] / (1.0 - np.array(self.vacuum)[passed] / RATED_AT)
        most = float(inlet.min(initial=np.inf)) * (1.0 - rated / RATED_AT)
        return min(float(np.interp(rated, self.vacuum, self.flow)), most)


@dataclass(frozen=True, kw_only=True)
class Leaks:
    """Where air gets in.

    Attributes
    ----------
    open_area : float
        Of bare porous board, all of whose air goes to the pump. [m2]
    thickness : float
        Of the board; 0 for a pod, which has none. [m]
    permeability : Triple or None
        Of the board; None for a pod. [m2]
    seal : float
        Length of gasket round a pod; 0 without one. [m]
    lip : float
        Width of the gasket. [m]
    gap : Triple
        Under the gasket, from dust and rough faces. [m]
    kerf_length, kerf_width : float
        Kerf that stands open through the stock. [m]
    discharge : Triple
        Coefficient of discharge of a kerf. [-]
    covered, stock_thickness : float
        What the stock covers, and its own thickness. [m2], [m]
    stock_permeability : Triple or None
        Of the stock; None for one that lets no air through. [m2]
    """

    open_area: float
    thickness: float
    permeability: Triple | None
    seal: float
    lip: float
    gap: Triple
    kerf_length: float
    kerf_width: float
    discharge: Triple
    covered: float
    stock_thickness: float
    stock_permeability: Triple | None

    def flow(self, inside: float, *, outside: float, corner: Corner) -> float:
        """Return what leaks in at one corner of the scatter, pressures absolute in Pa. [m3/s]

        Notes
        -----
        Under a kerf a board lies bare on the kerf's width and draws from half its own thickness on either side of it
        (45 degrees, own estimate), but no more than the kerf itself passes. A pod has no board to hold the air back.
        Air that comes through the stock passes the board as well.
        """
        through = self._through_stock(inside, outside=outside, corner=corner)
        kerf = orifice_flow(
            self.kerf_length * self.kerf_width, discharge=self.discharge.at(corner), outside=outside, inside=inside
        )
        permeability = self.permeability
        if permeability is None:
            gasket = slot_flow(self.seal, gap=self.gap.at(corner), length=self.lip, outside=outside, inside=inside)
            return through + kerf + gasket

        def board(area: float) -> float:
            return porous_flow(
                area,
                permeability=permeability.at(corner),
                thickness=self.thickness,
                outside=outside,
                inside=inside,
            )

        bare = board(self.open_area) + min(kerf, board(self.kerf_length * (self.kerf_width + self.thickness)))
        return through + bare

    def under_stock(self, inside: float, *, outside: float, corner: Corner) -> float:
        """Return the pressure under the stock where the pump holds `inside` beneath the board, absolute. [Pa]"""
        return between_boards(self._resistances(corner), outside=outside, inside=inside)

    def _resistances(self, corner: Corner) -> tuple[float, float]:
        """Return L / k of stock and board; both boards at one end of the scatter, as if of one make. [1/m]"""
        stock = self.stock_permeability
        return (
            np.inf if stock is None else self.stock_thickness / stock.at(corner),
            0.0 if self.permeability is None else self.thickness / self.permeability.at(corner),
        )

    def _through_stock(self, inside: float, *, outside: float, corner: Corner) -> float:
        stock, board = self._resistances(corner)
        return porous_flow(self.covered, permeability=1.0, thickness=stock + board, outside=outside, inside=inside)


def balance(draws: Callable[[float], float], leaks: Callable[[float], float], *, most: float) -> float:
    """Return the vacuum at which a pump draws what leaks in, by halving.

    Parameters
    ----------
    draws, leaks : callables
        Flow at a vacuum, the first falling and the second rising with it. [Pa] to [m3/s]
    most : float
        Vacuum beyond which the pump cannot go. [Pa]

    Returns
    -------
    float
        `most` if the leaks never reach what the pump draws. [Pa]

    Examples
    --------
    >>> round(balance(lambda v: 3.0 - v, lambda v: 0.5 * v, most=3.0), 6)
    2.0
    """
    low, high = 0.0, most
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if draws(middle) >= leaks(middle) else (low, middle)
    return (low + high) / 2.0


def pump_of_kind(tables: Tables, kind: str, corner: Corner) -> Pump:
    """Return the usual curve of a kind of pump: straight from its free flow to its greatest vacuum.

    A pump that moves a fixed volume of thin air draws just so; a blower's curve bulges above the straight line, which
    is the safe side.
    """
    most = tables.value("vacuum", kind, "max_vacuum").at(corner)
    flow = tables.value("vacuum", kind, "free_flow").at(corner)
    return Pump(vacuum=(0.0, most), flow=(flow, 0.0))


def check_curve(points: Sequence[tuple[float, float]]) -> None:
    """Refuse a pump curve that no pump has.

    Raises
    ------
    ImpossibleSetUp
        With the pointer ``/pump_curve``: vacuum that does not rise from point to point or is more than the air weighs,
        or flow that rises.
    """
    for number, (vacuum, _) in enumerate(points):
        if vacuum > RATED_AT:
            detail = "no pump draws a vacuum beyond the air itself, which has {0} at sea level"
            raise ImpossibleSetUp(
                [
                    Fault(
                        pointer=f"/pump_curve/{number}/0", code="beyond_the_air", detail=detail,
                        numbers=((RATED_AT, "pressure"),), limit=RATED_AT, seen=vacuum, dimension="pressure",
                    )
                ]
            )  # fmt: skip
    for number, (before, after) in enumerate(pairwise(points), start=1):
        if after[0] <= before[0]:
            detail = "the points of a pump curve go from little vacuum to much"
            raise ImpossibleSetUp([Fault(pointer=f"/pump_curve/{number}", code="order", detail=detail)])
        if after[1] > before[1]:
            detail = "a pump draws less air the more vacuum it holds: this curve rises"
            raise ImpossibleSetUp([Fault(pointer=f"/pump_curve/{number}", code="rising_curve", detail=detail)])
    if len(points) == 1:
        detail = "a pump curve takes two points or more"
        raise ImpossibleSetUp([Fault(pointer="/pump_curve", code="length", detail=detail, limit=2, seen=1)])


def described_kerf(set_up: SetUp) -> tuple[float, float]:
    """Return the length of kerf that described cuts open through the stock, and its mean width. [m], [m]"""
    length = opening = 0.0
    for cut in set_up.cuts:
        steps = np.diff(cut.path, axis=0)
        through = np.maximum(cut.path[:-1, 2], cut.path[1:, 2]) <= set_up.stock.origin[2] + 1e-6
        tool = set_up.tools.get(cut.tool)
        along = float(np.hypot(*steps[:, :2].T) @ through) if len(steps) else 0.0
        length += along
        opening += along * (tool.diameter if tool is not None else cut.width)
    return length, opening / length if length > 0.0 else 0.0


def working_vacuum(pumps: Sequence[Pump], leaks: Leaks, *, outside: float) -> Triple:
    """Return the band of vacuum that is left under the stock where pump and leaks balance.

    Parameters
    ----------
    pumps : (3,) sequence of Pump
        At the low, typical and high end of their scatter.
    leaks : Leaks
        Read at the opposite ends.
    outside : float
        Pressure of the air around. [Pa]

    Returns
    -------
    Triple
        [Pa]
    """
    found = []
    for pump, (_, leaking) in zip(pumps, CORNERS, strict=True):
        held = balance(
            lambda vacuum, pump=pump: pump.draws(vacuum, outside=outside),  # type: ignore[misc]
            lambda vacuum, corner=leaking: leaks.flow(outside - vacuum, outside=outside, corner=corner),  # type: ignore[misc]
            most=min(pump.vacuum[-1] * outside / RATED_AT, outside),
        )
        found.append(outside - leaks.under_stock(outside - held, outside=outside, corner=leaking))
    low, typical, high = sorted(found)
    band = Triple(low=low, typical=typical, high=high, dimension="pressure", source="own_derivation")
    return replace(band, what="vacuum under the stock, pump against leaks")
