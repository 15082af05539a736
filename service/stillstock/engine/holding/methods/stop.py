"""A fixed stop, fence or locating block at the stock's edge."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from stillstock.engine.holding.body import Body, block_behind
from stillstock.engine.holding.contacts import Contact, Rub
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import choice, point, quantity, scatter
from stillstock.engine.holding.place import facing, touching
from stillstock.engine.set_up import SetUp
from stillstock.tables.friction import friction
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["Stop"]

CROSSWISE = {"+x": (0.0, 1.0, 0.0), "-x": (0.0, 1.0, 0.0), "+y": (1.0, 0.0, 0.0), "-y": (1.0, 0.0, 0.0)}


@dataclass(frozen=True, kw_only=True)
class Stop:
    """A block that the stock rests against: it pushes back, and holds nothing down."""

    kind: ClassVar[str] = "stop"
    title: ClassVar[str] = "stop"

    at: tuple[float, float] = point(2, doc="Where it touches the stock's edge.")
    faces: str = choice(("+x", "-x", "+y", "-y"), doc="Which way it pushes back at the stock.")
    height: float = quantity(
        "length", doc="How high above the bed its face reaches.", default=0.012, least=0.0005, most=0.5
    )
    block_width: float = quantity("length", doc="Its width along the edge.", default=0.03, least=0.001, most=3.0)
    block_depth: float = quantity("length", doc="Its depth away from the stock.", default=0.02, least=0.001, most=0.5)
    friction: Triple | None = scatter("number", doc="Friction on its face, from the shop's own test.", most=2.0)
    limit: Triple | None = scatter("force", doc="Greatest push that it bears.", most=1e6)

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return one contact, half-way up the face that meets the stock."""
        stock, normal = set_up.stock, facing(self.faces)
        touching(stock, self.at, normal, what="stop")
        level = stock.origin[2] + min(self.height, stock.thickness[0]) / 2.0
        return [
            Rub(
                holder=index,
                at=(*self.at, level),
                normal=normal,
                friction=self.friction or friction(tables, stock=stock.material, bed="steel"),
                tangents=(CROSSWISE[self.faces],),
                group=self.faces,
                limit=self.limit,
            )
        ]

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return nothing: its own strength is part of the balance."""
        return []

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:
        """Return the block behind its face."""
        return [
            Body(
                holder=index,
                part="block",
                core=block_behind(self.at, facing(self.faces), width=self.block_width, depth=self.block_depth),
                low=set_up.bed.top,
                high=set_up.bed.top + self.height,
            )
        ]
