"""Every material is there, found by the words that people use, and carries its cutting coefficients."""

import pytest

from stillstock.tables.load import load_tables
from stillstock.tables.material import FAMILIES

TABLES = load_tables()
WOODS = (
    "ponderosa_pine",
    "shortleaf_pine",
    "western_white_pine",
    "eastern_white_pine",
    "douglas_fir",
    "sitka_spruce",
    "quaking_aspen",
    "basswood",
    "yellow_poplar",
    "black_cherry",
    "black_walnut",
    "yellow_birch",
    "american_beech",
    "white_ash",
    "northern_red_oak",
    "sugar_maple",
)
PANELS = ("mdf", "particleboard", "birch_plywood", "softwood_plywood")
OTHERS = (
    "hdpe",
    "pom",
    "acrylic",
    "polycarbonate",
    "pvc_foam_board",
    "phenolic_laminate",
    "glass_epoxy_laminate",
    "carbon_epoxy_laminate",
    "aluminium_6061_t6",
    "aluminium_7075_t6",
    "free_cutting_brass",
    "mild_steel",
    "pu_foam",
    "pu_tooling_board",
)
TERMS = ("ktc", "krc", "kac", "kte", "kre", "kae")


def test_every_material_is_there():
    assert set(TABLES.materials) == {*WOODS, *PANELS, *OTHERS}
    assert {material.family for material in TABLES.materials.values()} == set(FAMILIES)


@pytest.mark.parametrize("key", [*WOODS, *PANELS, *OTHERS])
def test_every_material_can_be_weighed_bent_crushed_and_cut(key):
    material = TABLES.materials[key]
    needed = {"density", "modulus_along", "bending_strength", "crush"}
    assert needed <= material.properties.keys()
    assert set(material.cutting) == set(TERMS)
    dimensions = {term: material.cutting[term].dimension for term in TERMS}
    assert dimensions == {term: "pressure" if term.endswith("c") else "force_per_length" for term in TERMS}


@pytest.mark.parametrize("key", WOODS)
def test_every_wood_has_its_strength_across_the_grain(key):
    properties = TABLES.materials[key].properties
    needed = {"modulus_across", "tension_across", "shear", "specific_gravity", "friction_on_mdf", "swelling_across"}
    assert needed <= properties.keys()
    assert properties["tension_across"].typical < properties["shear"].typical < properties["bending_strength"].typical


@pytest.mark.parametrize(
    ("word", "key"),
    [
        ("birch plywood", "birch_plywood"),
        ("Birch_Plywood", "birch_plywood"),
        ("6061", "aluminium_6061_t6"),
        ("6061-T6", "aluminium_6061_t6"),
        ("Aluminum", "aluminium_6061_t6"),
        ("pine", "ponderosa_pine"),
        ("spruce", "sitka_spruce"),
        ("acetal", "pom"),
        ("acrylic (PMMA), cast", "acrylic"),
        ("pmma", "acrylic"),
        ("  Hard   Maple ", "sugar_maple"),
        ("G-10", "glass_epoxy_laminate"),
        ("Chipboard", "particleboard"),
        ("Douglas-fir", "douglas_fir"),
    ],
)
def test_materials_are_found_by_the_words_in_use(word, key):
    material = TABLES.material(word)
    assert material is not None
    assert material.key == key


@pytest.mark.parametrize("word", ["", "mahogany", "unobtainium", "6"])
def test_an_unknown_word_finds_nothing(word):
    assert TABLES.material(word) is None


def test_near_misses_are_suggested():
    assert TABLES.near_materials("birch plywod")[0] == "birch_plywood"
    assert TABLES.near_materials("alumnium")[0] == "aluminium_6061_t6"
    assert "hdpe" in TABLES.near_materials("hpde")
    assert set(TABLES.near_materials("tooling")) == {"pu_tooling_board"}
    assert TABLES.near_materials("mahogany") == ()


def test_light_hardwoods_take_the_softwood_row_by_their_density():
    """Force about in proportion to density (Wood Handbook densities 410 and 470 kg/m3); rubbing stays."""
    row = {term: TABLES.value("cutting_coefficients", "softwood", term) for term in TERMS}
    cutting = TABLES.materials["basswood"].cutting
    for term in ("ktc", "krc", "kac"):
        assert cutting[term].typical == pytest.approx(row[term].typical * 410 / 470)
        assert "density of basswood" in cutting[term].note
    for term in ("kte", "kre", "kae"):
        assert cutting[term].typical == row[term].typical
        assert "softwood row taken for basswood" in cutting[term].note


def test_a_negative_radial_term_keeps_its_sign_and_order():
    """Normal forces in wood may draw the work to the cutter (Woodson 1979): the low end is below nothing."""
    radial = TABLES.materials["black_walnut"].cutting["krc"]
    assert radial.low < 0.0 < radial.typical < radial.high


def test_softwood_plywood_takes_the_softwood_row_and_a_fifth():
    """Common practice, no source."""
    row = TABLES.value("cutting_coefficients", "softwood", "kte")
    assert TABLES.materials["softwood_plywood"].cutting["kte"].high == pytest.approx(1.2 * row.high)


def test_a_row_that_stands_for_the_material_is_taken_as_it_is():
    row = TABLES.value("cutting_coefficients", "beech", "ktc")
    assert TABLES.materials["american_beech"].cutting["ktc"] == row


def test_what_is_said_of_a_material_reads_as_words():
    assert TABLES.materials["pom"].properties["crush"].what == "stress that crushes or dents, acetal (POM)"
    friction = TABLES.value("friction", "wood_on_clean_mdf", "static_friction")
    assert friction.what == "static friction, wood on clean MDF"
