"""A material of the caller's own: like one of the tables, save for what is stated of it."""

import copy
from math import pi
from typing import Any

import pytest
from numpy.testing import assert_allclose
from tests.web.hostile_set_ups import SOUND

from stillstock.app import create_app

pytestmark = pytest.mark.usefixtures("no_remedies")

CLIENT = create_app().test_client()
GRAVITY = 9.80665  # standard acceleration of free fall, CGPM 1901 [m/s2]
ROUNDED = 1e-5  # answers carry six digits


def exactly(value: Any) -> dict[str, Any]:
    return {"low": value, "typical": value, "high": value}


def own(**stated: Any) -> dict[str, Any]:
    return {"name": "my laminate", "like": "birch plywood", **stated}


def asked(path: str, document: dict[str, Any]) -> dict[str, Any]:
    response = CLIENT.post(path, json=document)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    return answer


def of(material: Any, **changes: Any) -> dict[str, Any]:
    document = copy.deepcopy(SOUND) | changes
    document["stock"]["material"] = material
    return document


@pytest.mark.parametrize("path", ["/v1/margin", "/v1/cutting-force", "/v1/sheet", "/v1/retract-height"])
def test_one_of_which_nothing_is_stated_is_answered_as_its_like(path):
    named = asked(path, of("birch plywood"))
    same = asked(path, of({"name": "birch plywood", "like": "birch plywood", "properties": {}, "cutting": {}}))
    for answer in (named, same):
        answer.pop("fingerprint", None)
    assert same == named


def test_the_power_grows_with_the_stated_tangential_coefficients_as_worked_by_hand():
    """A full slot: P = a_p D v_f Ktc + z a_p Kte v_c / 2, as each tooth is half of a turn in the cut.

    Linear-edge force model: Y. Altintas, "Manufacturing Automation", 2nd ed. 2012, ch. 2 (from memory). D = 6 mm,
    z = 2, a_p = 4 mm, v_f = 2000 mm/min, 300 rev/s; Ktc = 30 N/mm2 takes 24 W, Kte = 3 N/mm takes 67.86 W.
    Tolerance: steps of the integral over a revolution.
    """
    tool = SOUND["tools"]["1"] | {"edge": "sharp"}

    def power(ktc: float, kte: float) -> float:
        material = own(cutting={"ktc": exactly(f"{ktc} MPa"), "kte": exactly(f"{kte} N/mm")})
        (cut,) = asked("/v1/cutting-force", of(material, tools={"1": tool}))["cuts"]
        return float(cut["power"]["typical"]) * 1e3

    chip = 4e-3 * 6e-3 * (2.0 / 60.0) * 30e6
    edge = 2 * 4e-3 * 3e3 * (pi * 6e-3 * 300.0) / 2
    assert_allclose(power(30, 3), chip + edge, rtol=2e-3)
    assert_allclose(power(60, 3), 2 * chip + edge, rtol=2e-3)
    assert_allclose(power(60, 6), 2 * (chip + edge), rtol=2e-3)


@pytest.mark.parametrize("density", [400, 800])
def test_a_stated_density_is_the_weight_and_what_friction_makes_of_it(density):
    """A board that lies free: W = rho g V, and it slides at F = mu W, by Coulomb's law."""
    document = of(own(properties={"density": exactly(f"{density} kg/m3")}), holders=[], cuts=[])
    document["bed"]["friction"] = exactly(0.5)
    document["loads"] = [{"at": [150, 100, -18], "force": [1, 0, 0]}]
    answer = asked("/v1/margin", document)
    weight = density * GRAVITY * 0.3 * 0.2 * 0.018
    (found,) = [one for one in answer["assumptions"] if one["what"] == "weight of the stock, my laminate"]
    assert (found["unit"], found["source"]) == ("N", "caller")
    assert_allclose(found["typical"], weight, rtol=ROUNDED)
    assert_allclose(answer["margin"]["typical"], 0.5 * weight, rtol=1e-3)


def test_what_is_stated_stands_among_the_assumptions_and_a_single_value_gets_the_default_spread():
    material = own(properties={"density": 700, "crush": exactly("9 MPa")}, cutting={"krc": "-2 MPa"})
    named = {one["what"]: one for one in asked("/v1/margin", of(material))["assumptions"]}
    density, crush = named["density, my laminate"], named["stress that crushes or dents, my laminate"]
    radial = named["growth of the radial force with the chip, my laminate"]
    assert_allclose([density[end] for end in ("low", "typical", "high")], [560, 700, 840])
    assert_allclose([crush[end] for end in ("low", "typical", "high")], 9000)
    assert_allclose([radial[end] for end in ("low", "typical", "high")], [-2400, -2000, -1600])
    assert {one["source"] for one in (density, crush, radial)} == {"caller"}
    assert "20%" in density["note"]
    assert crush["note"] == ""


def test_a_stated_strength_is_the_limit_of_what_it_bears():
    """Half of the stress that dents it: twice the ratio. The tables' crush of birch plywood is not asked."""
    first, second = (
        asked("/v1/margin", of(own(properties={"crush": exactly(f"{crush} MPa")})))["checks"] for crush in (8, 4)
    )
    ratios = [[one["ratio"] for one in checks if one["name"] == "crush"] for checks in (first, second)]
    assert len(ratios[0]) == 2
    assert_allclose(ratios[1], [2 * ratio for ratio in ratios[0]], rtol=ROUNDED)
    assert {one["source"] for one in first if one["name"] == "crush"} == {"caller"}


def test_a_bed_may_be_of_ones_own_too():
    document = of("birch plywood")
    document["bed"]["material"] = {"name": "old board", "like": "mdf", "properties": {"density": 650}}
    assert "density, old board" in [one["what"] for one in asked("/v1/margin", document)["assumptions"]]


def board(permeability: Any = None) -> dict[str, Any]:
    stated = {} if permeability is None else {"permeability": permeability}
    return {"name": "own board", "like": "mdf", "properties": stated}


def sucked(material: Any, **holder: Any) -> dict[str, float]:
    document = of("birch plywood", holders=[{"kind": "vacuum", "pump": "shop_vacuum", "open_area": "0.4 m2"} | holder])
    document["bed"]["material"] = material
    (found,) = asked("/v1/margin", document)["vacuum"]
    working: dict[str, float] = found["working"]
    return working


def test_a_leakier_board_under_vacuum_works_at_less():
    tight, usual, leaky = (sucked(board(exactly(f"{k} m2")))["typical"] for k in (4e-14, 2e-13, 1e-12))
    assert tight > usual > leaky > 0.0
    assert_allclose(usual, sucked("mdf")["typical"], rtol=ROUNDED)


def test_a_board_of_which_no_permeability_is_stated_leaks_as_its_like():
    assert sucked(board()) == sucked("mdf")


def test_the_vacuums_own_permeability_wins_over_that_of_the_board():
    leaky = board(exactly("1e-12 m2"))
    assert sucked(leaky, permeability=exactly("4e-14 m2")) == sucked(board(exactly("4e-14 m2")))
    assert sucked(leaky, permeability=exactly("4e-14 m2")) != sucked(leaky)


def test_a_stock_that_air_goes_through_has_less_vacuum_under_it():
    document = of("birch plywood", holders=[{"kind": "vacuum", "pump": "shop_vacuum"}])
    found = []
    for stated in ({}, {"permeability": exactly("1e-15 m2")}, {"permeability": exactly("2e-13 m2")}):
        document["stock"]["material"] = own(properties=stated)
        found.append(asked("/v1/margin", document)["vacuum"][0]["working"]["typical"])
    assert found[0] > found[1] > 1.5 * found[2] > 0.0


def test_permeability_is_told_in_the_unit_of_the_tables():
    """0.38 to 6.26 times 1e-13 m2 in the tables, as the study prints it for MDF."""
    (mdf,) = [one for one in CLIENT.get("/v1/materials?units=inch").get_json()["materials"] if one["key"] == "mdf"]
    table = mdf["properties"]["permeability"]
    assert [table[end] for end in ("low", "high", "unit")] == [3.8e-14, 6.26e-13, "m2"]
    document = of("birch plywood")
    document["bed"]["material"] = board("3e-13 m2")
    named = {one["what"]: one for one in asked("/v1/margin", document)["assumptions"]}
    assert_allclose([named["gas permeability, own board"][end] for end in ("low", "high")], [2.4e-13, 3.6e-13])
    assert named["gas permeability, own board"]["unit"] == "m2"


def test_a_name_that_looks_like_markup_or_a_template_is_printed_as_it_stands():
    document = of({"name": "<b>{0} {x}</b>", "like": "birch plywood"})
    page = CLIENT.post("/v1/sheet?format=html", json=document)
    assert page.status_code == 200
    assert "<b>{0}" not in page.text
    assert "&lt;b&gt;{0} {x}&lt;/b&gt;" in page.text


REFUSED = [
    (own(properties={"densty": 700}), 400, "/properties/densty", "unknown_field", "density"),
    (own(cutting={"ktx": 30}), 400, "/cutting/ktx", "unknown_field", None),  # ktc or kte
    (own(like="birch plywod"), 422, "/like", "unknown_material", "birch_plywood"),
    ({"name": "my laminate"}, 400, "/like", "missing", None),
    ({"like": "mdf"}, 400, "/name", "missing", None),
    (
        own(properties={"crush": {"low": "9 MPa", "typical": "5 MPa", "high": "8 MPa"}}),
        *(422, "/properties/crush", "order", None),
    ),
    (own(properties={"crush": {"low": "9 MPa"}}), 400, "/properties/crush/typical", "missing", None),
    (own(properties={"density": -700}), 400, "/properties/density", "range", None),
    (own(properties={"density": "-700 kg/m3"}), 422, "/properties/density", "range", None),
    (own(properties={"permeability": "-2e-13 m2"}), 422, "/properties/permeability", "range", None),
    (own(properties={"permeability": "2e-7 m2"}), 422, "/properties/permeability", "range", None),
    (own(properties={"permeability": "2e-13 m"}), 400, "/properties/permeability", "wrong_dimension", None),
    (own(properties={"density": "700 kg"}), 400, "/properties/density", "wrong_dimension", None),
    (7, 400, "", "type", None),
]


@pytest.mark.parametrize(("material", "status", "pointer", "code", "meant"), REFUSED)
@pytest.mark.parametrize("side", ["stock", "bed"])
def test_what_cannot_be_is_refused_with_its_place(side, material, status, pointer, code, meant):
    document = of("birch plywood")
    document[side]["material"] = material
    response = CLIENT.post("/v1/margin", json=document)
    assert response.status_code == status
    faults = {one["pointer"]: one for one in response.get_json()["errors"]}
    found = faults[f"/{side}/material{pointer}"]
    assert (found["code"], found.get("corrected")) == (code, meant)
