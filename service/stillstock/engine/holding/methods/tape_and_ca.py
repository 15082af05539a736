"""Masking tape on both faces with instant glue between them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from stillstock.engine.holding.bearing import smaller
from stillstock.engine.holding.body import Body
from stillstock.engine.holding.bonding import LOW_ENERGY, SMOOTH, face_factor, taped, weakened
from stillstock.engine.holding.contacts import Contact
from stillstock.engine.holding.demands import Demand
from stillstock.engine.holding.method import number, outline, pull_test, scatter
from stillstock.engine.holding.pull_test import PullTest
from stillstock.engine.set_up import FloatArray, Material, SetUp
from stillstock.tables.load import Tables
from stillstock.tables.scatter import Triple

__all__ = ["TapeAndCa"]

#: The stack has an adhesive layer on each side; both give way. [-]
LAYERS = 2.0


@dataclass(frozen=True, kw_only=True, eq=False)
class TapeAndCa:
    """Masking tape on stock and bed, back to back with instant glue."""

    kind: ClassVar[str] = "tape_and_ca"
    title: ClassVar[str] = "masking tape and instant glue"

    area: FloatArray = outline(doc="Where both tapes lie.")
    glue_cover: float = number(doc="Share of the tape that the glue wets.", default=0.3, least=0.005, most=1.0)
    shear_strength: Triple | None = scatter(
        "pressure", doc="Shear strength, from the shop's own test.", least=1.0, most=1e8
    )
    tensile_strength: Triple | None = scatter(
        "pressure", doc="Strength in straight lift, from the shop's own test.", least=1.0, most=1e8
    )
    pull_test: tuple[PullTest, ...] = pull_test(
        ("shear", "lift"), doc="The shop's own pulls on this stack and these faces.", per_area=True
    )

    def contacts(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Contact]:
        """Return the bond of the part that lies under the stock: the weakest link of the chain."""
        row = "shear_strength_smooth" if _both_smooth(set_up) else "shear_strength"
        strengths = self._weakest(set_up, tables, row), self._weakest(set_up, tables, "tensile_strength")
        thickness = LAYERS * tables.value("tape", self.kind, "layer_thickness").typical
        return [taped(self, index, set_up, tables, strengths=strengths, thickness=thickness)]

    def _weakest(self, set_up: SetUp, tables: Tables, row: str) -> Triple:
        """Return the weaker of tape and glue; the glue at what it gives on a plastic, on the share that it wets."""
        tape = weakened(tables.value("tape", self.kind, row), face_factor(set_up, tables))
        glue = tables.value("tape", "cyanoacrylate", "nylon_shear").times(self.glue_cover)
        return smaller(tape, glue)

    def demands(self, index: int, set_up: SetUp, tables: Tables) -> Sequence[Demand]:  # noqa: ARG002
        """Return nothing: its strength is part of the balance."""
        return []

    def bodies(self, index: int, set_up: SetUp) -> Sequence[Body]:  # noqa: ARG002
        """Return nothing: it lies under the stock."""
        return []


def _smooth(material: Material) -> bool:
    return material.family in SMOOTH or (material.family == "plastic" and material.key not in LOW_ENERGY)


def _both_smooth(set_up: SetUp) -> bool:
    return _smooth(set_up.stock.material) and (set_up.bed.condition == "sealed" or _smooth(set_up.bed.material))
