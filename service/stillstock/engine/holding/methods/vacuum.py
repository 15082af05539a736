"""Vacuum under the stock: a table's zone, or a pod."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

import shapely

from stillstock.engine.holding.body import Body
from stillstock.engine.holding.contacts import Contact, Rest
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import choice, curve, outline, quantity, scatter
from stillstock.engine.holding.place import within_stock
from stillstock.engine.holding.threads import given_or
from stillstock.engine.holding.vacuum_balance import (
    PUMPS,
    Leaks,
    Pump,
    check_curve,
    described_kerf,
    pump_of_kind,
    working_vacuum,
)
from stillstock.engine.mechanics.leakage import RATED_AT, standard_pressure
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.errors import Fault, ImpossibleSetUp
from stillstock.tables.friction import friction
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Corner, Grade, Triple

__all__ = ["Vacuum"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Vacuum:
    """Suction on an area under the stock."""

    kind: ClassVar[str] = "vacuum"
    title: ClassVar[str] = "vacuum"

    area: FloatArray | None = outline(doc="Opened zone; the whole stock if left out.", default=None, optional=True)
    pressure: Triple | None = scatter(
        "pressure", doc="Reading of the gauge under the stock while cutting, below the air around.", most=101325.0
    )
    friction: Triple | None = scatter(
        "number", doc="Friction on the bed or gasket, from the shop's own test.", most=2.0
    )
    seal: str = choice(
        ("board", "gasket"), doc="Porous board under the stock, or a pod with a gasket.", default="board"
    )
    pump: str | None = choice(PUMPS, doc="Kind of the pump, where no gauge was read.", default=None, optional=True)
    pump_curve: tuple[tuple[float, float], ...] = curve(
        ("pressure", "flow"),
        doc="The pump's own curve as rated at sea level: vacuum and flow of outside air, point by point. Where it "
        "falls less than a fixed volume of the thinned air would, that volume counts.",
    )
    board_thickness: float | None = quantity(
        "length", doc="Of the porous board; the bed's if left out.", default=None, least=0.001, most=0.2, optional=True
    )
    permeability: Triple | None = scatter(
        "area",
        doc="Of the porous board for air, from the shop's own test; that of the bed's material if left out. A board of "
        "which none is known is refused, unless a gauge was read.",
        least=1e-16,
        most=1e-8,
    )
    open_area: float = quantity(
        "area", doc="Bare board on the same pump besides what the zone shows.", default=0.0, most=20.0
    )
    lip: float = quantity("length", doc="Width of the gasket.", default=0.006, least=0.0005, most=0.1)
    kerf: float | None = quantity(
        "length",
        doc="Length of kerf that stands open through the stock; that of the cuts themselves if left out.",
        default=None,
        most=1e4,
        optional=True,
    )
    kerf_width: float = quantity("length", doc="Width of that kerf.", default=0.006, least=0.0001, most=0.1)

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return the sucked area under the least vacuum that the job comes to: with every kerf open.

        A gauge that was read wins over any reckoning. Without gauge and pump the table's working vacuum is taken,
        less in thin air.
        """
        stock = set_up.stock
        area = stock.plan if self.area is None else within_stock(stock, self.area, what="vacuum zone")
        rubs = self.friction
        if rubs is None and self.seal == "gasket":
            rubs = friction(tables, stock=stock.material, bed="gasket_rubber")
        pressure = self.vacuum(set_up, tables, kerf=self.open_kerf(set_up))
        return [Rest(holder=index, area=area, pressure=self._effective(pressure, tables), friction=rubs)]

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return nothing: the suction is part of the balance."""
        return []

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:  # noqa: ARG002
        """Return nothing: it lies under the stock."""
        return []

    def balanced(self) -> bool:
        """Return whether its vacuum comes from pump and leaks."""
        return self.pressure is None and (self.pump is not None or bool(self.pump_curve))

    def open_kerf(self, set_up: SetUp) -> tuple[float, float]:
        """Return length and width of the kerf that stands open in the end. [m], [m]"""
        return (self.kerf, self.kerf_width) if self.kerf is not None else described_kerf(set_up)

    def vacuum(self, set_up: SetUp, tables: Tables, *, kerf: tuple[float, float]) -> Triple:
        """Return the vacuum under the stock with a kerf of a length and width open. [Pa]

        Raises
        ------
        ImpossibleSetUp
            If a gauge is said to have shown more than the air weighs there, no air is known to pass the board, or the
            pump's curve rises.
        """
        outside = standard_pressure(set_up.machine.altitude)
        if self.pressure is not None:
            if self.pressure.typical > outside:
                raise ImpossibleSetUp([_beyond_the_air(outside, self.pressure.typical)])
            read = given_or(self.pressure, tables.value("vacuum", "full_mdf_table", "working_vacuum"))
            return replace(read, high=min(read.high, outside), what="vacuum under the stock while cutting")
        if self.seal == "board" and self._board_permeability(set_up) is None:
            raise ImpossibleSetUp([_tight_board(set_up.bed.material.title)])
        if self.balanced():
            return working_vacuum(self._pumps(set_up, tables), self._leaks(set_up, tables, kerf), outside=outside)
        table = tables.value("vacuum", "full_mdf_table", "working_vacuum")
        return replace(table.times(min(outside / RATED_AT, 1.0)), what="vacuum under the stock while cutting")

    def _effective(self, pressure: Triple, tables: Tables) -> Triple:
        """Return the even pressure that makes the same force on the whole area of a pod, whose gasket takes some."""
        if self.seal == "board":
            return pressure
        part = tables.value("vacuum", "pod", "effective_area")
        return replace(
            pressure,
            low=pressure.low * part.low,
            typical=pressure.typical * part.typical,
            high=pressure.high * part.high,
            grade=Grade.PRACTICE,
            note="times the part of the pod inside its lip",
        )

    def _pumps(self, set_up: SetUp, tables: Tables) -> tuple[Pump, Pump, Pump]:
        """Return the pump at the low, typical and high end; zones of the same pump share its flow evenly."""
        zones = sum(
            isinstance(other, Vacuum) and other.balanced() and self._same_pump(other) for other in set_up.holders
        )
        if self.pump_curve:
            check_curve(self.pump_curve)
            vacuum, flow = zip(*self.pump_curve, strict=True)
            own = Pump(vacuum=vacuum, flow=flow).shared(max(zones, 1))
            return own, own, own
        low, typical, high = (
            pump_of_kind(tables, self.pump or PUMPS[0], corner).shared(max(zones, 1))
            for corner in (Corner.LOW, Corner.TYPICAL, Corner.HIGH)
        )
        return low, typical, high

    def _same_pump(self, other: "Vacuum") -> bool:
        return self.pump == other.pump and self.pump_curve == other.pump_curve

    def _board_permeability(self, set_up: SetUp) -> Triple | None:
        """Return that of the porous board: as stated here, else of the bed's material; None if none is known. [m2]"""
        return self.permeability or set_up.bed.material.properties.get("permeability")

    def _leaks(self, set_up: SetUp, tables: Tables, kerf: tuple[float, float]) -> Leaks:
        stock = shapely.Polygon(set_up.stock.plan)
        zone = stock if self.area is None else shapely.Polygon(self.area)
        covered, board = zone.intersection(stock), self.seal == "board"
        thickness = (self.board_thickness or set_up.bed.thickness) if board else 0.0
        return Leaks(
            # air also comes round the stock's edge, from half the board's thickness beside it: own estimate
            open_area=zone.area - covered.area + self.open_area + covered.length * thickness / 2.0,
            thickness=thickness,
            permeability=self._board_permeability(set_up) if board else None,
            seal=0.0 if board else zone.length,
            lip=self.lip,
            gap=tables.value("vacuum", "gasket", "gap"),
            kerf_length=kerf[0],
            kerf_width=kerf[1],
            discharge=tables.value("vacuum", "hole", "discharge_coefficient"),
            covered=covered.area,
            stock_thickness=set_up.stock.thickness[0],
            stock_permeability=set_up.stock.material.properties.get("permeability"),
        )


def _tight_board(material: str) -> Fault:
    detail = (
        f"no air is known to pass a board of {material}, so no suction would reach the stock: state permeability or "
        "the gauge's pressure, take a bed of mdf, or seal with a gasket"
    )
    return Fault(pointer="/seal", code="tight_board", detail=detail, seen="board")


def _beyond_the_air(outside: float, seen: float) -> Fault:
    return Fault(
        pointer="/pressure",
        code="beyond_the_air",
        detail="no vacuum goes beyond the air itself, which has {0} at this altitude",
        numbers=((outside, "pressure"),),
        limit=outside,
        seen=seen,
        dimension="pressure",
    )
