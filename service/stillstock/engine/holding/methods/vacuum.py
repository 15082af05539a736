"""Vacuum under the stock: a table's zone, or a pod."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from stillstock.engine.holding.contacts import Contact, Rest
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import outline, scatter
from stillstock.engine.holding.place import within_stock
from stillstock.engine.holding.threads import given_or
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

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

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return the sucked area, with the table's working pressure where no gauge was read."""
        stock = set_up.stock
        area = stock.plan if self.area is None else within_stock(stock, self.area, what="vacuum zone")
        pressure = given_or(self.pressure, tables.value("vacuum", "full_mdf_table", "working_vacuum"))
        return [
            Rest(
                holder=index,
                area=area,
                pressure=replace(pressure, what="vacuum under the stock while cutting"),
                friction=self.friction,
            )
        ]

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return nothing: the suction is part of the balance."""
        return []
