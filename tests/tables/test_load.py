"""The tables are complete, convert as a unit library does, and refuse to start on a row that is wrong."""

from dataclasses import FrozenInstanceError
from importlib.resources import files
from pathlib import Path

import pint
import pytest

from stillstock.tables.load import load_tables, read_tables
from stillstock.tables.printed_units import PRINTED_UNITS
from stillstock.tables.scatter import Grade
from stillstock.units import SYSTEMS, present
from stillstock.units.dimensions import FACTORS

TABLES = load_tables()
DATA = Path(str(files("stillstock.tables") / "data"))
ALL = (
    "friction",
    "materials",
    "cutting_coefficients",
    "tape",
    "clamps",
    "bolts",
    "screws",
    "vacuum",
    "side_clamps",
    "vise",
    "tabs",
    "tolerances",
    "practice",
    "shop",
)
PINT_UNITS = {
    "-": "1",
    "%": "0.01",
    "ppm": "1e-6",
    "N/25mm": "N/(25 mm)",
    "N/mm2": "N/mm**2",
    "N/mm^1.5": "N/mm**1.5",
    "N/mm^1.75": "N/mm**1.75",
    "mm/450mm": "mm/(450 mm)",
    "in": "inch",
    "in2": "inch**2",
    "mm2": "mm**2",
    "cm2": "cm**2",
    "1e-13 m2": "1e-13 m**2",
    "1/deg": "1/degree",
    "deg": "degree",
    "kg/m3": "kg/m**3",
    "mg/m3": "mg/m**3",
    "months": "month",
    "J/mm3": "J/mm**3",
    "rev/min": "turn/min",
    "L/(min mm2)": "L/(min*mm**2)",
    "m3/h": "m**3/hour",
    "h": "hour",
    "lbf": "pound_force",
    "inHg": "inHg",
    "W/(m K)": "W/(m*K)",
    "N m": "N*m",
    "1e-6/K": "1e-6/K",
}
REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()
ODD_ONES = {"degC"}


def test_every_table_is_there_and_nothing_else():
    assert {row.table for row in TABLES.cells.values()} == set(ALL)


@pytest.mark.parametrize("table", ALL)
def test_every_row_has_a_source_a_grade_and_words(table):
    for row in TABLES.rows(table):
        assert row.value.source in TABLES.sources
        assert row.value.grade in (Grade.SEEN, Grade.MEMORY, Grade.PRACTICE)
        assert row.value.what.count(", ") >= 1
        assert "_" not in row.value.what


def test_every_source_is_used_and_fully_cited():
    used = {row.value.source for row in TABLES.cells.values()}
    assert used == set(TABLES.sources)
    assert all(len(source.citation) > 12 for source in TABLES.sources.values())


def test_what_has_no_source_is_never_graded_better_than_practice():
    for row in TABLES.cells.values():
        if row.value.source in ("common_practice", "own_derivation"):
            assert row.value.grade is Grade.PRACTICE, row


@pytest.mark.parametrize("printed", sorted(set(PRINTED_UNITS) - ODD_ONES))
def test_units_convert_as_a_unit_library_does(printed):
    """Against pint, whose definitions are those of the SI brochure and NIST SP 811.

    Tolerance: pint's inch of mercury is at 0 C and has seven digits.
    """
    expected = REGISTRY.Quantity(PINT_UNITS.get(printed, printed)).to_base_units().magnitude
    assert PRINTED_UNITS[printed].to_si(1.0) == pytest.approx(expected, rel=1e-6)


def test_degrees_celsius_have_their_own_zero():
    """The Celsius scale begins at 273.15 K (SI brochure)."""
    assert PRINTED_UNITS["degC"].to_si(80.0) == pytest.approx(353.15)
    assert PRINTED_UNITS["degC"].to_si(-20.0) == pytest.approx(253.15)


def test_units_that_callers_may_write_mean_the_same_to_them():
    """Two roads to one factor: the table's own list and the boundary that reads documents."""
    shared = [
        (unit, FACTORS[unit.dimension].get(printed))
        for printed, unit in PRINTED_UNITS.items()
        if unit.dimension in FACTORS
    ]
    both = [(unit, factor) for unit, factor in shared if factor is not None]
    assert len(both) > 15
    for unit, factor in both:
        assert unit.to_si(12.5) == pytest.approx(factor.to_si(12.5), rel=1e-6)


def test_every_number_can_be_answered_in_both_systems_of_units():
    for row in TABLES.cells.values():
        for system in SYSTEMS:
            assert abs(present(row.value.high, row.value.dimension, system)) < 1e10


def test_every_unit_is_in_use():
    assert {row.unit for row in TABLES.cells.values()} == set(PRINTED_UNITS)


def test_rows_keep_the_number_as_printed_beside_its_si_value():
    row = next(row for row in TABLES.rows("tape") if row.property == "design_stress")
    assert (row.unit, row.printed) == ("kPa", (40.0, 60.0, 85.0))
    assert row.value.high == pytest.approx(85e3)
    assert row.value.dimension == "pressure"


def test_subjects_come_once_in_the_order_of_the_file():
    subjects = TABLES.subjects("tolerances")
    assert subjects == ("to_3_mm", "over_3_to_6_mm", "over_6_to_10_mm", "over_10_to_18_mm", "over_18_to_30_mm")


def test_rows_are_found_by_their_source():
    rows = TABLES.resting_on("kreifeldt_1985")
    assert [(row.table, row.subject, row.property) for row in rows] == [("clamps", "round_knob", "hand_torque")]
    assert sum(len(TABLES.resting_on(key)) for key in TABLES.sources) == len(TABLES.cells)


def test_a_missing_number_is_named():
    with pytest.raises(KeyError, match="no table 'glue'"):
        TABLES.value("glue", "hot", "strength")
    with pytest.raises(KeyError, match="'bolts' has no subject 'm7'"):
        TABLES.value("bolts", "m7", "pitch")
    with pytest.raises(KeyError, match="no 'colour' of 'm8'; it has nominal_diameter"):
        TABLES.value("bolts", "m8", "colour")
    assert TABLES.get("bolts", "m8", "colour") is None


def test_tables_are_read_once_and_cannot_be_changed():
    assert load_tables() is TABLES
    with pytest.raises(TypeError):
        TABLES.materials["mdf"] = None  # type: ignore[index]
    with pytest.raises(FrozenInstanceError):
        TABLES.materials["mdf"].title = "oak"  # type: ignore[misc]


@pytest.fixture
def folder(tmp_path):
    """Return a copy of the tables that a test may spoil."""
    for path in DATA.glob("*.csv"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    return tmp_path


def spoil(folder, name, *, old, new):
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_the_copy_itself_is_taken(folder):
    assert read_tables(folder).cells.keys() == TABLES.cells.keys()


@pytest.mark.parametrize(
    ("name", "old", "new", "message"),
    [
        ("vise.csv", "screw_theory", "a_book", r"vise.csv, line 2: sources.csv has no 'a_book'"),
        ("vise.csv", "kN,8,", "kp,8,", r"vise.csv, line 4: unknown unit 'kp'"),
        ("vise.csv", "kN,8,15,25", "kN,18,15,25", r"line 4: 18.0, 15.0, 25.0 are not in order"),
        ("vise.csv", "kN,8,15,25", "kN,8,35,25", r"line 4: 8.0, 35.0, 25.0 are not in order"),
        ("vise.csv", "kN,8,15,25", "kN,nan,15,25", r"line 4: nan, 15.0, 25.0 are not in order"),
        ("vise.csv", "kN,8,15,25", "kN,8,,25", r"line 4: could not convert"),
        ("vise.csv", "vise_150_mm", "vise_100_mm", r"line 5: vise_100_mm, jaw_force stands there twice"),
        ("vise.csv", "screw_theory,M", "screw_theory,A", r"line 2: unknown grade 'A'"),
        ("vise.csv", "kN,8,15,25", "MPa,8,15,25", r"jaw_force is a pressure of vise_100_mm and a force of vise_150_mm"),
        ("vise.csv", "subject,property", "subject,what", r"vise.csv: the columns must be subject, property"),
        ("vise.csv", ",60 to 100", ",60, to 100", r"line 5: 10 cells instead of 9"),
        ("sources.csv", "sae_j429,", "asme_b1_1,", r"source 'asme_b1_1' stands there twice"),
        ("sources.csv", "Computed from other rows of these tables", "", r"'own_derivation' has no citation"),
        ("sources.csv", "from which,P", "from which,Q", r"unknown grade 'Q'"),
        ("material_names.csv", "MDF,panel", "MDF,fabric", r"unknown family 'fabric' of mdf"),
        ("material_names.csv", "panel,mdf,", "panel,paper,", r"paper of mdf is not complete"),
        ("material_names.csv", "chipboard|", "mdf|", r"'mdf' means both mdf and particleboard"),
        ("material_names.csv", "panel,softwood,plywood", "panel,softwood,glue", r"cannot be adjusted by 'glue'"),
        ("material_names.csv", "hdpe,HDPE", "mdf,HDPE", r"mdf stands there twice"),
        ("materials.csv", "pom,density", "pom,heft", r"no density of pom"),
    ],
)
def test_a_wrong_row_is_refused_with_its_place(folder, name, old, new, message):
    spoil(folder, name, old=old, new=new)
    with pytest.raises(ValueError, match=message):
        read_tables(folder)
