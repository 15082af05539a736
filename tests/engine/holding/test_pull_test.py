"""The shop's own pull test: a lower bound that small samples earn, and what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillstock.engine.holding.contacts import Pin
from stillstock.engine.holding.methods.film_tape import FilmTape
from stillstock.engine.holding.methods.screw import Screw
from stillstock.engine.holding.methods.side_clamp import SideClamp
from stillstock.engine.holding.pull_test import PullTest, measured_force, measured_stress
from stillstock.engine.readings import tolerance_factor
from stillstock.engine.set_up import Bed, SetUp, Stock
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Grade, Triple

TABLES = load_tables()
TABLE = Triple(low=1.0, typical=2.0, high=3.0, what="strength of a tape", dimension="pressure")
READINGS = (300.0, 310.0, 280.0, 350.0, 320.0)


def material(key):
    found = TABLES.material(key)
    assert found is not None
    return found


def set_up(bed="mdf"):
    stock = Stock(
        material=material("mdf"), size=(0.3, 0.2, 0.018), thickness=(0.018, 0.018), origin=(0.02, -0.01, -0.018)
    )
    return SetUp(stock=stock, bed=Bed(material=material(bed), thickness=0.018, top=-0.018))


@pytest.mark.parametrize(
    ("count", "content", "confidence", "printed"),
    [
        (5, 0.95, 0.95, 4.203),
        (10, 0.95, 0.95, 2.911),
        (5, 0.90, 0.95, 3.407),
        (3, 0.95, 0.75, 3.152),
        (5, 0.95, 0.75, 2.463),
        (10, 0.95, 0.75, 2.104),
    ],
)
def test_the_tolerance_factor_is_that_of_the_published_tables(count, content, confidence, printed):
    """ISO 16269-6 and Natrella, NBS Handbook 91, table A-7, one-sided factors; from memory, to their last digit."""
    assert tolerance_factor(count, content=content, confidence=confidence) == pytest.approx(printed, abs=6e-4)


@pytest.mark.parametrize(("count", "printed"), [(3, 3.15), (5, 2.46), (10, 2.10), (15, 1.99), (20, 1.93), (50, 1.81)])
def test_the_bound_is_the_characteristic_value_of_structural_timber(count, printed):
    """EN 14358, table of k_s(n): 5-percentile at 75 % confidence; from memory, printed with two decimals."""
    assert tolerance_factor(count) == pytest.approx(printed, abs=6e-3)


def test_a_strength_is_the_mean_less_the_factor_times_the_deviation():
    """Arithmetic by hand: mean 312 N, deviation sqrt(670) = 25.88 N, k = 2.463 (table above), 25 cm2."""
    test = PullTest(direction="shear", readings=READINGS, area=25e-4, date="12 May", surface="sealed MDF")
    got = measured_stress([test], "shear", given=None, named="shear_strength", table=TABLE)
    assert got.typical == pytest.approx(312.0 / 25e-4)
    assert got.low == pytest.approx((312.0 - 2.463 * 25.884) / 25e-4, rel=1e-3)
    assert got.high == pytest.approx((312.0 + 2.463 * 25.884) / 25e-4, rel=1e-3)
    assert got.grade is Grade.CALLER
    assert "12 May" in got.note
    assert "sealed MDF" in got.note


def test_fasteners_pulled_together_scatter_more_one_by_one():
    """Sum of four independent fasteners: deviation of one is half that of the sum (central limit, closed form)."""
    four = PullTest(direction="lift", readings=tuple(4.0 * r for r in READINGS), count=4)
    one = PullTest(direction="lift", readings=READINGS)
    got, alone = (measured_force([t], "lift", given=None, named="pull_out", table=TABLE) for t in (four, one))
    assert got.typical == pytest.approx(alone.typical)
    assert got.typical - got.low == pytest.approx(2.0 * (alone.typical - alone.low))


def test_equal_readings_still_carry_some_doubt():
    """EN 14358: no coefficient of variation below 5 % is believed (from memory)."""
    test = PullTest(direction="push", readings=(400.0,) * 5)
    got = measured_force([test], "push", given=None, named="force", table=TABLE)
    assert got.low == pytest.approx(400.0 * (1.0 - 0.05 * 2.463), rel=1e-4)


@pytest.mark.parametrize(
    ("readings", "code", "pointer"),
    [
        ((300.0,), "too_few", "/pull_test/0/readings"),
        ((300.0, -5.0, 310.0), "range", "/pull_test/0/readings"),
        ((50.0, 400.0), "scatter", "/pull_test/0/readings"),
        ((0.0, 0.0, 0.0), "nothing_held", "/pull_test/0/readings"),
    ],
)
def test_readings_that_prove_nothing_are_refused(readings, code, pointer):
    tape = FilmTape(
        area=np.array([(0.05, 0.0), (0.2, 0.0), (0.2, 0.1), (0.05, 0.1)]),
        pull_test=(PullTest(direction="shear", readings=readings, area=25e-4),),
    )
    with pytest.raises(ImpossibleSetUp) as refused:
        tape.contacts(0, set_up(), TABLES)
    assert (refused.value.faults[0].code, refused.value.faults[0].pointer) == (code, pointer)


def test_a_strength_stated_twice_is_refused():
    clamp = SideClamp(
        at=(0.32, 0.05),
        pushes="-x",
        force=Triple(low=300.0, typical=400.0, high=500.0),
        pull_test=(PullTest(direction="push", readings=READINGS),),
    )
    with pytest.raises(ImpossibleSetUp, match="leave one out"):
        clamp.contacts(0, set_up(), TABLES)


def test_two_tests_of_one_direction_are_refused():
    test = PullTest(direction="lift", readings=READINGS)
    with pytest.raises(ImpossibleSetUp, match="join their readings"):
        Screw(at=(0.1, 0.1), pull_test=(test, test)).contacts(0, set_up(), TABLES)


def test_a_bond_test_without_its_area_is_refused():
    test = PullTest(direction="shear", readings=READINGS)
    with pytest.raises(ImpossibleSetUp, match="area"):
        measured_stress([test], "shear", given=None, named="shear_strength", table=TABLE)


def test_a_screw_in_metal_is_judged_by_the_shops_test_alone():
    with pytest.raises(ImpossibleSetUp, match="own pull test"):
        Screw(at=(0.1, 0.1)).contacts(0, set_up("aluminium"), TABLES)
    screw = Screw(at=(0.1, 0.1), pull_test=(PullTest(direction="lift", readings=READINGS),))
    (pin,) = screw.contacts(0, set_up("aluminium"), TABLES)
    assert isinstance(pin, Pin)
    assert pin.pull_out.typical == pytest.approx(312.0)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.floats(200.0, 400.0), min_size=6, max_size=20), st.floats(1.01, 2.0))
def test_stronger_pulls_never_give_less(readings, stronger):
    """A law of any bound of this kind: all readings greater by one factor, and the bound is greater by it."""
    tests = [PullTest(direction="lift", readings=tuple(k * r for r in readings)) for k in (1.0, stronger)]
    weak, strong = (measured_force([t], "lift", given=None, named="pull_out", table=TABLE) for t in tests)
    assert strong.low == pytest.approx(stronger * weak.low, rel=1e-9)
