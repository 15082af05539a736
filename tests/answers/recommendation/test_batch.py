"""Time and consumables per piece, against sums worked by hand from the rows of the tables."""

from typing import Any

import numpy as np
import pytest

from stillstock.answers.batch import effort
from stillstock.answers.placing.ground import Piece
from stillstock.answers.shop import Entry, Question, Shop
from stillstock.engine.set_up import Bed, SetUp, Stock
from stillstock.tables.load import load_tables

TABLES = load_tables()
BOARD = TABLES.materials["mdf"]
SET_UP = SetUp(
    stock=Stock(material=BOARD, size=(0.3, 0.2, 0.018), thickness=(0.018, 0.018), origin=(0.0, 0.0, 0.0)),
    bed=Bed(material=BOARD, thickness=0.018, top=0.0),
)


def pieces(number: int, kind: str, places: list[dict[str, Any]], **own: Any) -> tuple[Piece, ...]:
    entry = Entry(number=number, kind=kind, **own)
    return tuple(Piece(entry=entry, members=members, holder=None) for members in places)


def question(**more: Any) -> Question:
    return Question(set_up=SET_UP, shop=Shop(entries=()), **more)


def test_what_is_mounted_once_is_shared_out_over_the_batch():
    """Stops 10 s on, side clamps 20 s on and 10 s off; mounted in 5 min each: 40 s + 600 s / 40 = 55 s."""
    layout = pieces(0, "side_clamp", [{}, {}]) + pieces(1, "stop", [{}, {}, {}])
    found = effort(layout, question(batch=40), TABLES)
    assert found.loading.typical == pytest.approx(30.0)
    assert found.unloading.typical == pytest.approx(10.0)
    assert found.mounting.typical == pytest.approx(600.0)
    assert found.time.typical == pytest.approx(55.0)


def test_what_nothing_puts_in_its_place_has_its_zero_found_each_time_and_both_faces_count_twice():
    """Thin tape 3 min on, 3 min off, 4 min by eye: 10 min, and 20 with a second side. 0.05 m2 at 10 a square metre."""
    layout = pieces(0, "film_tape", [{"area": np.array([[0, 0], [0.25, 0], [0.25, 0.2], [0, 0.2]])}])
    one, two = (effort(layout, question(matters=m), TABLES) for m in (("time",), ("time", "both_faces")))
    assert one.time.typical == pytest.approx(600.0)
    assert two.time.typical == pytest.approx(1200.0)
    assert one.cost.typical == pytest.approx(0.5)
    assert two.cost.typical == pytest.approx(1.0)


def test_tabs_count_each_and_screws_by_the_piece():
    """Screws 4 min on and 2 off, zero by eye 4 min; four tabs at 20 s; three minutes to draw them: for one piece."""
    layout = pieces(0, "screw", [{}] * 6, cost=0.1) + pieces(1, "tab", [{}] * 4)
    found = effort(layout, question(), TABLES)
    assert found.time.typical == pytest.approx((4 + 2 + 4 + 3) * 60 + 4 * 20)
    assert found.cost.typical == pytest.approx(0.6)
