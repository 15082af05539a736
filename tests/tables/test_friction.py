"""Friction: which row is taken for which two faces.

Published: CTU Code 2014, annex 7, appendix 2 (planed wood on plywood 0.30, plastic on plywood 0.20, 75 % when moving).
"""

from itertools import product

import pytest

from stillstock.tables.friction import CONDITIONS, FACES, friction
from stillstock.tables.load import load_tables
from stillstock.tables.material import Material
from stillstock.tables.scatter import Grade

TABLES = load_tables()
KEYS = tuple(TABLES.materials)


def mu(stock, bed, condition="clean"):
    first, second = (TABLES.material(side) or side for side in (stock, bed))
    return friction(TABLES, stock=first, bed=second, condition=condition)


def band(value):
    return (value.low, value.typical, value.high)


@pytest.mark.parametrize("condition", CONDITIONS)
def test_which_face_is_called_the_stock_does_not_matter(condition):
    sides: list[Material | str] = [*TABLES.materials.values(), *FACES]
    for one, other in product(sides, repeat=2):
        forth = friction(TABLES, stock=one, bed=other, condition=condition)
        back = friction(TABLES, stock=other, bed=one, condition=condition)
        assert band(forth) == band(back)


def test_planed_wood_on_plywood_brackets_the_transport_code():
    """CTU Code: 0.30 for planed wood on plywood, swept clean."""
    value = mu("beech", "birch plywood")
    assert value.low <= 0.30 <= value.high


def test_plastic_on_plywood_is_the_transport_codes_value():
    """CTU Code: 0.20 for plastic pallets on plywood; the low end is judged."""
    assert mu("hdpe", "birch plywood").typical == 0.20


def test_wood_on_aluminium_is_the_transport_codes_value():
    """CTU Code: 0.25 for planed wood on grooved aluminium, 0.40 sawn."""
    value = mu("pine", "aluminium")
    assert (value.typical, value.high) == (0.25, 0.40)


def test_vibration_leaves_three_quarters():
    """CTU Code: the factor in motion is 75 % of the static one."""
    assert TABLES.value("friction", "any_pair", "dynamic_factor").typical == 0.75


@pytest.mark.parametrize(("stock", "bed"), [*product(["6061", "7075", "brass", "mild steel"], repeat=2)])
def test_metal_on_metal_never_takes_the_laboratory_value(stock, bed):
    """Degreased aluminium shows 1.05 to 1.35 and steel 0.45 to 0.8: no set-up may count on them."""
    assert mu(stock, bed).high <= 0.25


def test_dust_never_helps_and_is_graded_as_practice():
    for key, bed in product(KEYS, ["mdf", "aluminium", "birch plywood"]):
        clean, dusty = mu(key, bed), mu(key, bed, "dusty")
        assert dusty.low <= clean.low
        assert dusty.typical <= clean.typical
        assert dusty.grade is Grade.PRACTICE


def test_dust_halves_the_least_friction_of_slippery_plastic():
    """Common practice, no source: halve the least value on a dusty board, take a third off the usual one."""
    clean, dusty = mu("hdpe", "mdf"), mu("hdpe", "mdf", "dusty")
    assert clean.low == pytest.approx(0.12)
    assert dusty.low == pytest.approx(0.06)
    assert dusty.typical == pytest.approx(0.13)
    assert "dusty" in dusty.what


def test_sealing_matters_on_raw_board_alone():
    assert mu("beech", "mdf", "sealed").typical < mu("beech", "mdf").typical
    assert band(mu("beech", "aluminium", "sealed")) == band(mu("beech", "aluminium"))


def test_an_unknown_pair_says_so_and_is_cautious():
    value = mu("carbon", "mild steel")
    assert "not in the tables" in value.what
    assert "carbon epoxy laminate on mild steel" in value.what
    assert value.low == 0.1
    assert value.grade is Grade.PRACTICE


def test_no_known_pair_is_below_the_unknown_one_without_reason():
    """Only smooth metals and dust lie below the fallback's low end."""
    floor = mu("carbon", "mild steel").low
    for one, other in product(KEYS, repeat=2):
        metals = {"metal"} == {TABLES.materials[one].family, TABLES.materials[other].family}
        assert metals or mu(one, other).low >= floor


def test_a_family_name_serves_where_the_species_is_not_known():
    value = friction(TABLES, stock="softwood", bed="board")
    assert value.what == "static friction, wood on clean MDF"


def test_a_misspelt_face_or_condition_is_refused():
    with pytest.raises(ValueError, match="no face"):
        mu("alumnium", "mdf")
    with pytest.raises(ValueError, match="condition 'wet'"):
        mu("beech", "mdf", "wet")
