"""The shop's own pull tests in a document."""

from collections.abc import Sequence
from typing import Any

from stillstock.engine.holding.pull_test import PullTest
from stillstock.schemas.places import read_each, read_list
from stillstock.schemas.quantity import Choice, Integer, Quantity, Text
from stillstock.schemas.strict import Object, StrictField, StrictSchema

__all__ = ["MOST_READINGS", "PullTests"]

#: Readings of one test, and the greatest of them. [-], [N]
MOST_READINGS, MOST_FORCE = 100, 1e6


class Readings(StrictField[tuple[float, ...]]):
    """Forces at which test pieces let go; the engine judges how many it needs and that none is negative."""

    force = Quantity("force", least=-MOST_FORCE, most=MOST_FORCE)

    def read(self, value: Any) -> tuple[float, ...]:
        """Return the readings. [N]"""
        return tuple(read_each(self.force, read_list(value, least=1, most=MOST_READINGS)))


class PullTests(StrictField[tuple[PullTest, ...]]):
    """A list of pull tests, none or one a direction."""

    def __init__(self, directions: Sequence[str], *, per_area: bool, **more: Any) -> None:
        super().__init__(**more)
        own: dict[str, Any] = (
            {"area": Quantity("area", least=1e-6, most=1.0, required=True)}
            if per_area
            else {"count": Integer(least=1, most=100)}
        )
        members: dict[str, Any] = {
            "direction": Choice(tuple(directions), required=True),
            "readings": Readings(required=True),
            "date": Text(longest=40),
            "surface": Text(longest=80),
        }
        self.item = Object(StrictSchema.from_dict(members | own, name="pull_test_schema")())
        self.most = len(directions)

    def read(self, value: Any) -> tuple[PullTest, ...]:
        """Return the tests as the holder has them."""
        stated = read_each(self.item, read_list(value, least=0, most=self.most))
        return tuple(PullTest(**one) for one in stated)
