"""Limits and fits against the fits that the standards print."""

from itertools import pairwise

import pytest

from stillstock.engine.positions.fit import LARGEST, fit_name, limits
from stillstock.tables.load import load_tables

TABLES = load_tables()


def fit(name):
    found = fit_name(name)
    assert found is not None
    return found


#: Hole and shaft limits of preferred hole-basis fits as ANSI B4.2, table 2, prints them (from memory). [mm]
PRINTED = [
    (6, "H9/d9", (6.030, 6.000), (5.970, 5.940)),
    (6, "H7/g6", (6.012, 6.000), (5.996, 5.988)),
    (10, "H9/d9", (10.036, 10.000), (9.960, 9.924)),
    (10, "H8/f7", (10.022, 10.000), (9.987, 9.972)),
    (10, "H7/g6", (10.015, 10.000), (9.995, 9.986)),
    (10, "H7/h6", (10.015, 10.000), (10.000, 9.991)),
    (10, "H7/k6", (10.015, 10.000), (10.010, 10.001)),
    (10, "H7/n6", (10.015, 10.000), (10.019, 10.010)),
    (10, "H7/p6", (10.015, 10.000), (10.024, 10.015)),
    (12, "H8/f7", (12.027, 12.000), (11.984, 11.966)),
    (12, "H7/g6", (12.018, 12.000), (11.994, 11.983)),
    (20, "H9/d9", (20.052, 20.000), (19.935, 19.883)),
    (20, "H7/g6", (20.021, 20.000), (19.993, 19.980)),
]


@pytest.mark.parametrize(("size", "name", "hole", "shaft"), PRINTED)
def test_fits_are_those_that_the_standard_prints(size, name, hole, shaft):
    found = limits(fit(name), diameter=size * 1e-3, tables=TABLES)
    ends = [size + 1e3 * deviation for deviation in (found.hole[1], found.hole[0], found.shaft[1], found.shaft[0])]
    assert ends == pytest.approx([*hole, *shaft], abs=1e-6)
    assert found.play == pytest.approx(((hole[1] - shaft[0]) * 1e-3, (hole[0] - shaft[1]) * 1e-3), abs=1e-9)


@pytest.mark.parametrize(
    ("name", "size", "least", "greatest"), [("H7/h6", 6, 0, 20), ("H7/m6", 8, -15, 9), ("H7/m6", 12, -18, 11)]
)
def test_fits_have_the_play_of_the_published_tables(name, size, least, greatest):
    """Play of fits after ISO 286 (published fit tables, from memory), in micrometres."""
    found = limits(fit(name), diameter=size * 1e-3, tables=TABLES)
    assert [1e6 * play for play in found.play] == pytest.approx([least, greatest], abs=1e-6)


def test_a_shaft_basis_fit_has_the_play_of_its_mirror():
    """ISO 286-1: F8/h7 mirrors H8/f7 up to the widths of the grades (F8/h7 at 10 mm prints 0.013 to 0.050)."""
    found = limits(fit("F8/h7"), diameter=0.01, tables=TABLES)
    assert [1e3 * play for play in found.play] == pytest.approx([0.013, 0.050])


def test_grades_widen_by_about_1_6_a_step():
    """ISO 286-1: each standard tolerance is about 1.6 times the last, as the series R5 (preferred numbers) has it."""
    for size in (0.002, 0.005, 0.008, 0.015, 0.025):
        widths = [limits(fit(f"H{grade}/h6"), diameter=size, tables=TABLES).hole[1] for grade in range(6, 12)]
        steps = [wider / width for width, wider in pairwise(widths)]
        assert steps == pytest.approx([1.6] * 5, abs=0.21)


@pytest.mark.parametrize(
    "name", ["", "H7", "h7/g6", "H7/G6", "H7g6", "H5/g6", "H12/g6", "J7/g6", "H7/z6", "H7/g6 ", "H07/g6"]
)
def test_what_names_no_known_fit_is_none(name):
    found = fit_name(name)
    assert found is None or str(found) != name


@pytest.mark.parametrize("diameter", [0.0, -0.01, LARGEST * 1.001])
def test_a_size_beyond_the_table_is_refused(diameter):
    with pytest.raises(ValueError, match="no limits"):
        limits(fit("H7/g6"), diameter=diameter, tables=TABLES)
