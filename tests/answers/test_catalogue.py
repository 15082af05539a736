"""The page of a way of holding: its parameters are the fields of its class, its numbers the rows of the tables."""

from dataclasses import MISSING

import pytest

from stillstock.answers.catalogue import holder_page
from stillstock.engine.holding.register import methods
from stillstock.web import catalogue

KINDS = tuple(methods())


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_has_texts_parameters_and_numbers(kind):
    page = holder_page(kind)
    assert page.kind == kind
    assert page.title == methods()[kind].title
    assert page.says.endswith(".")
    assert page.numbers
    assert all(one.says.endswith(".") for one in page.parameters)
    assert all(one.required is (one.default is MISSING) for one in page.parameters)


def test_a_parameter_carries_dimension_bounds_and_default():
    parameters = {one.name: one for one in holder_page("screw").parameters}
    diameter = parameters["diameter"]
    assert (diameter.dimension, diameter.default, diameter.least, diameter.most) == ("length", 0.004, 0.001, 0.02)
    assert (parameters["at"].dimension, parameters["at"].required) == ("length", True)
    assert parameters["pull_test"].more["directions"] == ("shear", "lift")


def test_an_unknown_kind_is_no_page():
    with pytest.raises(KeyError):
        holder_page("glue_gun")


def test_the_documents_numbers_stand_in_the_callers_units():
    """Nut factor and M6: 6 mm is 0.23622 in (the inch is 25.4 mm exactly)."""
    metric, inch = (catalogue.holder("fixture_plate", system) for system in ("metric", "inch"))
    sizes = [
        next(n for n in page["numbers"] if (n["subject"], n["property"]) == ("m6", "nominal_diameter"))
        for page in (metric, inch)
    ]
    assert [(n["typical"], n["unit"]) for n in sizes] == [(6.0, "mm"), (0.23622, "in")]
    washer = next(m for m in inch["members"] if m["name"] == "washer")
    assert (washer["default"], washer["unit"]) == (pytest.approx(0.012 / 0.0254, rel=1e-5), "in")
    assert metric["sections"]["hurts"][-1]["source"] == "common_practice"
