"""Kinds without a way of their own: their fields alone say where they may stand."""

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import pytest
import shapely
from tests.answers.placing.test_places import DEEP, PART, WIDE, cutter_way, ground, layouts

from stillstock.answers.placing import by_fields, kinds
from stillstock.answers.placing.ground import NoPlace
from stillstock.engine.holding.method import point


@pytest.fixture(autouse=True)
def _no_way_of_their_own(monkeypatch):
    monkeypatch.setattr(kinds, "PLACING", {})


def members(found):
    return [[dict(piece.members) for piece in layout] for layout in found]


@pytest.mark.parametrize("kind", ["stop", "film_tape"])
def test_sides_and_areas_are_found_as_if_they_had_been_told(kind, monkeypatch):
    on = ground({"kind": kind}, parts=[{"name": "p", "outline": PART}])
    by_its_fields = members(layouts(on))
    monkeypatch.undo()
    np.testing.assert_equal(by_its_fields, members(layouts(on)))


def test_what_stands_on_the_stock_grows_one_by_one_beside_the_parts_and_clear_of_the_tool():
    """A head of 8 mm and a cutter of 8 mm; the margin comes on top, whatever practice says of it."""
    found = layouts(ground({"kind": "screw"}, parts=[{"name": "p", "outline": PART}]))
    assert [len(layout) for layout in found][:4] == [1, 2, 3, 4]
    for piece in found[-1]:
        at = shapely.Point(np.array(piece.at) * 1e3)
        assert not at.intersects(shapely.Polygon(PART))
        assert at.distance(cutter_way()) > 8.0
        assert set(piece.members) == {"at"}


def test_what_has_an_angle_is_turned_inwards_at_the_edge():
    on = ground({"kind": "strap_clamp"})
    turned = set()
    for piece in by_fields._places(on, on.question.shop.entries[0], turned=True):
        x, y = np.array(piece.at) * 1e3
        sides = ((x, 0.0), (WIDE - x, math.pi), (y, math.pi / 2), (DEEP - y, -math.pi / 2))
        (near, angle), (far, _) = sorted(sides)[:2]
        if near == pytest.approx(12.0) and far > 12.1 and piece.members["angle"] != 0.0:
            assert np.exp(1j * piece.members["angle"]) == pytest.approx(np.exp(1j * angle))
            turned.add(round(math.degrees(piece.members["angle"])) % 360)
    assert turned == {90, 180, 270}
    (first, *_) = layouts(on)
    assert set(first[0].members) == {"at", "angle"}


def test_a_count_is_kept_to():
    assert [len(layout) for layout in layouts(ground({"kind": "screw", "count": 3}))] == [1, 2, 3]
    with pytest.raises(NoPlace, match="the shop has 0"):
        layouts(ground({"kind": "screw", "count": 0}))


@dataclass(frozen=True, kw_only=True)
class _Strut:
    """A kind whose place is in space, of which nothing is known here."""

    kind: ClassVar[str] = "screw"
    title: ClassVar[str] = "strut"
    at: tuple[float, float, float] = point(3, doc="Its upper end.")


@dataclass(frozen=True, kw_only=True)
class _Mat:
    """A kind that states nothing of its place."""

    kind: ClassVar[str] = "vacuum"
    title: ClassVar[str] = "mat"


def test_what_states_no_place_is_there_once(monkeypatch):
    on = ground({"kind": "vacuum", "pressure": 30})
    monkeypatch.setattr(by_fields, "methods", lambda: {"vacuum": _Mat})
    (layout,) = layouts(on)
    assert [dict(piece.members) for piece in layout] == [{}]


def test_a_place_of_an_unknown_sort_is_said_to_be_unknown(monkeypatch):
    on = ground({"kind": "screw"})
    monkeypatch.setattr(by_fields, "methods", lambda: {"screw": _Strut})
    with pytest.raises(NoPlace, match="strut would go is not known here") as found:
        layouts(on)
    assert found.value.code == "no_placing"
