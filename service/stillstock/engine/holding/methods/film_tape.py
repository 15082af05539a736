"""Thin double-sided tape: film, cloth or paper with adhesive on both faces."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from stillstock.engine.holding.body import Body
from stillstock.engine.holding.bonding import face_factor, taped, weakened
from stillstock.engine.holding.contacts import Contact
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import outline, pull_test, quantity, scatter
from stillstock.engine.holding.pull_test import PullTest
from stillstock.engine.set_up import FloatArray, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["FilmTape"]


@dataclass(frozen=True, kw_only=True, eq=False)
class FilmTape:
    """Thin tape between stock and bed."""

    kind: ClassVar[str] = "film_tape"
    title: ClassVar[str] = "thin double-sided tape"

    area: FloatArray = outline(doc="Where it lies.")
    thickness: float = quantity("length", doc="Of the tape.", default=0.0002, least=2e-5, most=0.001)
    shear_strength: Triple | None = scatter(
        "pressure", doc="Shear strength, from the shop's own test.", least=1.0, most=1e8
    )
    tensile_strength: Triple | None = scatter(
        "pressure", doc="Strength in straight lift, from the shop's own test.", least=1.0, most=1e8
    )
    pull_test: tuple[PullTest, ...] = pull_test(
        ("shear", "lift"), doc="The shop's own pulls on this tape and these faces.", per_area=True
    )

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return the bond of the part that lies under the stock."""
        factor = face_factor(set_up, tables)
        rows = (tables.value("tape", self.kind, f"{row}_strength") for row in ("shear", "tensile"))
        shear, tension = (weakened(row, factor) for row in rows)
        return [taped(self, index, set_up, tables, strengths=(shear, tension), thickness=self.thickness)]

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return nothing: its strength is part of the balance."""
        return []

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:  # noqa: ARG002
        """Return nothing: it lies under the stock."""
        return []
