"""Pull tests in a document: read in the caller's units, refused with the place of what is wrong."""

from typing import Any

import numpy as np
import pytest
from marshmallow import ValidationError

from stillstock.engine.holding.pull_test import PullTest
from stillstock.schemas.holders import Holder
from stillstock.schemas.strict import reading
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TAPE = {"kind": "film_tape", "area": [[0, 0], [4, 3]]}


def read(document, system="metric"):
    with reading(system, limits=Limits(), tables=load_tables()):
        return Holder().deserialize(document)


def test_a_pull_test_comes_in_si():
    """1 lbf is 4.4482216 N and 1 in2 is 645.16 mm2, both exact by the agreement of 1959."""
    stated = {"direction": "shear", "readings": [60, "300 N"], "area": "4 in2", "date": "12 May", "surface": "sealed"}
    (got,) = read(TAPE | {"pull_test": [stated]}, "inch").pull_test
    assert isinstance(got, PullTest)
    np.testing.assert_allclose(got.readings, [60 * 4.4482216152605, 300.0])
    assert got.area == pytest.approx(4 * 645.16e-6)
    assert (got.date, got.surface, got.direction) == ("12 May", "sealed", "shear")


def test_a_test_of_fasteners_counts_them():
    nail = {"kind": "polymer_nail", "at": [10, 10]}
    (got,) = read(nail | {"pull_test": [{"direction": "lift", "readings": [40, 50], "count": 4}]}).pull_test
    assert (got.count, got.area) == (4, None)


def test_without_a_test_there_is_none():
    assert read(TAPE).pull_test == ()


@pytest.mark.parametrize(
    ("stated", "where", "code"),
    [
        ({"direction": "push", "readings": [1, 2], "area": 100}, ("direction",), "choice"),
        ({"direction": "lift", "readings": [1, 2]}, ("area",), "missing"),
        ({"direction": "lift", "readings": [], "area": 100}, ("readings",), "length"),
        ({"direction": "lift", "readings": [1, "2 kg"], "area": 100}, ("readings", 1), "wrong_dimension"),
        ({"direction": "lift", "readings": [1, 2], "area": 100, "count": 2}, ("count",), "unknown_field"),
    ],
)
def test_what_is_wrong_in_it_is_told_with_its_place(stated, where, code):
    with pytest.raises(ValidationError) as refused:
        read(TAPE | {"pull_test": [stated]})
    found: Any = refused.value.messages
    for step in ("pull_test", 0, *where):
        found = found[step]
    assert found[0].code == code


def test_more_tests_than_directions_are_refused():
    one = {"direction": "push", "readings": [1, 2]}
    clamp = {"kind": "side_clamp", "at": [0, 0], "pushes": "+x"}
    with pytest.raises(ValidationError):
        read(clamp | {"pull_test": [one, one]})
