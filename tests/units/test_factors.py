"""The table of factors that pint derives, against values that do not come from pint.

Source, unless a row says otherwise: NIST Special Publication 811 (2008), Appendix B.8, "Factors for units listed
alphabetically", from memory, and `scipy.constants`; exact where the definition is exact (inch, pound, gravity).
"""

import math

import pytest
from numpy.testing import assert_allclose
from scipy import constants

from stillstock.units import DOCUMENT_UNITS, parse
from stillstock.units.dimensions import DIMENSIONS, DOCUMENT, FACTORS

INCH, FOOT, POUND, GRAVITY = 0.0254, 0.3048, 0.45359237, 9.80665
LBF = POUND * GRAVITY

INDEPENDENT = {
    "length": {"um": 1e-6, "mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": constants.inch, "thou": constants.mil, "ft": FOOT},
    "area": {"mm2": 1e-6, "cm2": 1e-4, "m2": 1.0, "in2": 6.4516e-4, "ft2": 9.290304e-2},
    "force": {"N": 1.0, "kN": 1e3, "lbf": 4.4482216152605, "kgf": constants.kgf, "ozf": 0.27801385},
    "torque": {
        "N m": 1.0,
        "kN m": 1e3,
        "N cm": 1e-2,
        "lbf in": 0.11298483,
        "lbf ft": 1.3558179483314,
        "kgf cm": 0.0980665,
        "kgf m": 9.80665,
    },
    "pressure": {
        "Pa": 1.0,
        "kPa": 1e3,
        "MPa": 1e6,
        "GPa": 1e9,
        "N/mm2": 1e6,
        "kN/m2": 1e3,
        "bar": constants.bar,
        "mbar": 100.0,
        "psi": constants.psi,
        "ksi": 6.894757e6,
        "inHg": 3386.389,
        "mmHg": 133.3224,
        "torr": constants.torr,
        "inH2O": 249.0889,
    },
    "force_per_length": {
        "N/m": 1.0,
        "kN/m": 1e3,
        "N/cm": 100.0,
        "N/mm": 1e3,
        "N/25mm": 40.0,
        "lbf/in": 175.1268,
        "lbf/ft": 14.59390,
        "ozf/in": LBF / 16.0 / INCH,
    },
    "power": {"W": 1.0, "kW": 1e3, "hp": constants.hp, "PS": 735.49875},
    "speed": {
        "mm/min": 1e-3 / 60.0,
        "mm/s": 1e-3,
        "cm/min": 1e-2 / 60.0,
        "m/min": 1.0 / 60.0,
        "m/s": 1.0,
        "ipm": 4.233333e-4,
        "in/s": INCH,
        "sfm": 5.08e-3,
        "ft/s": FOOT,
    },
    "angular_speed": {"rpm": math.pi / 30.0, "rev/s": 2.0 * math.pi, "rad/s": 1.0},
    "angle": {"deg": constants.degree, "rad": 1.0},
    "mass": {"kg": 1.0, "g": 1e-3, "lb": constants.lb, "oz": constants.oz},
    "time": {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0},
    "density": {"kg/m3": 1.0, "g/cm3": 1e3, "lb/ft3": 16.01846},
    "flow": {"m3/h": 1.0 / 3600.0, "m3/min": 1.0 / 60.0, "L/min": 1.0 / 60e3, "L/s": 1e-3, "cfm": 4.719474e-4},
    "temperature": {"degC": 1.0, "degF": 5.0 / 9.0, "K": 1.0},
    "fraction": {"%": 0.01},
}


@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
def test_every_unit_has_a_factor_that_does_not_come_from_pint(dimension):
    """Each expression of the table is named by one spelling at least; tolerance: the seven digits that are printed."""
    named = INDEPENDENT[dimension]
    for spellings in DIMENSIONS[dimension].units.values():
        known = [named[spelling] for spelling in spellings.split("  ") if spelling in named]
        assert known, f"no independent factor for {spellings}"
        for spelling in spellings.split("  "):
            assert_allclose(FACTORS[dimension][spelling].factor, known[0], rtol=4e-7)


def test_the_definitions_of_inch_foot_and_pound_are_exact():
    """1959 international yard and pound: exact by definition."""
    assert FACTORS["length"]["in"].factor == INCH
    assert FACTORS["length"]["ft"].factor == FOOT
    assert FACTORS["mass"]["lb"].factor == POUND
    assert_allclose(FACTORS["force"]["lbf"].factor, LBF, rtol=1e-15)


@pytest.mark.parametrize(
    ("text", "kelvin"), [("0 degC", 273.15), ("100 degC", 373.15), ("32 degF", 273.15), ("5 K", 5.0)]
)
def test_temperatures_have_their_zero(text, kelvin):
    """Ice and steam points."""
    assert_allclose(parse(text, "temperature", "metric"), kelvin, rtol=1e-12)


@pytest.mark.parametrize("dimension", sorted(DOCUMENT_UNITS))
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_a_bare_number_is_in_the_unit_that_the_contract_names(dimension, system):
    unit, factor = DOCUMENT[dimension, system]
    assert unit == DOCUMENT_UNITS[dimension][0 if system == "metric" else 1]
    if unit:
        assert factor == FACTORS[dimension][unit]
        assert parse(7.25, dimension, system) == parse(f"7.25 {unit}", dimension, system)


def test_no_spelling_means_two_units_of_one_dimension():
    for dimension in DIMENSIONS.values():
        spellings = [s for group in dimension.units.values() for s in group.split("  ")]
        assert len(spellings) == len(set(spellings))
