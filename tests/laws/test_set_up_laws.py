"""What must hold whatever the numbers: turned, mirrored, shifted, rescaled, restated, reordered set-ups.

Nothing here comes from a table: each law compares two answers. Loads are stated, for a cutter's hand does not mirror.
"""

import copy
import math
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stillstock.answers.margin import answer_plain_margin
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TABLES = load_tables()
WIDTH, LENGTH, THICKNESS = 230.0, 140.0, 18.0
INCH = 25.4

lengths = st.floats(0.1, 0.9)
forces = st.tuples(st.floats(-60, 60), st.floats(-60, 60), st.floats(5, 40))


def margin(document):
    stated = load_set_up(document, TABLES)
    answer = answer_plain_margin(stated.set_up, TABLES, limits=Limits(), fingerprint="law")
    return answer.typical, answer.pessimistic


def same(first, second, rel=1e-6):
    for one, other in zip(first, second, strict=True):
        assert math.isclose(one, other, rel_tol=rel), (first, second)


@st.composite
def set_ups(draw):
    """A lopsided block under two clamps or screws, against stops on one side, pulled at by two loads."""
    kind = draw(st.sampled_from(["strap_clamp", "screw", "film_tape", "vacuum"]))
    places = [(WIDTH * draw(lengths), LENGTH * draw(lengths)) for _ in range(2)]
    assume(math.dist(*places) > 2.0)  # two in one place are refused
    by_kind: dict[str, list[dict[str, Any]]] = {
        "strap_clamp": [
            {"kind": "strap_clamp", "at": list(p), "torque": 1.0, "angle": 0, "toe": [20, 20]} for p in places
        ],
        "screw": [{"kind": "screw", "at": list(p)} for p in places],
        "film_tape": [
            {"kind": "film_tape", "area": [[10, 15], [150, 60]]},
            {"kind": "film_tape", "area": [[90, 80], [200, 120]]},
        ],
        "vacuum": [{"kind": "vacuum", "area": [[10, 10], [180, 120]], "pressure": 30}],
    }
    holders = [*by_kind[kind], {"kind": "stop", "at": [0.0, LENGTH * draw(lengths)], "faces": "+x"}]
    loads = [
        {"name": f"load {i}", "at": [WIDTH * draw(lengths), LENGTH * draw(lengths), -5.0], "force": list(draw(forces))}
        for i in range(2)
    ]
    return {
        "units": "metric",
        "stock": {"material": "mdf", "size": [WIDTH, LENGTH, THICKNESS]},
        "bed": {"material": "mdf", "thickness": 30, "friction": 0.4},
        "holders": holders,
        "loads": loads,
    }


def moved(document, place, vector, faces, size):
    """Return a document with every place and vector mapped; `size` is that of the mapped stock, with its origin."""
    found = copy.deepcopy(document)
    found["stock"]["size"] = [*size[0], THICKNESS]
    found["stock"]["origin"] = [*size[1], -THICKNESS]
    for holder in found["holders"]:
        for name in ("at",):
            if name in holder:
                holder[name] = list(place(*holder[name]))
        if "area" in holder:
            corners = [place(*corner) for corner in holder["area"]]
            holder["area"] = [[f(c[i] for c in corners) for i in (0, 1)] for f in (min, max)]
        if "faces" in holder:
            holder["faces"] = faces[holder["faces"]]
    for load in found["loads"]:
        x, y, z = load["at"]
        load["at"] = [*place(x, y), z]
        load["force"] = [*vector(*load["force"][:2]), load["force"][2]]
    return found


@settings(max_examples=12, deadline=None, derandomize=True)
@given(set_ups())
def test_a_quarter_turn_changes_nothing(document):
    turned = moved(
        document,
        lambda x, y: (-y, x),
        lambda x, y: (-y, x),
        {"+x": "+y"},
        ((LENGTH, WIDTH), (-LENGTH, 0.0)),
    )
    same(margin(document), margin(turned))


@settings(max_examples=12, deadline=None, derandomize=True)
@given(set_ups())
def test_a_mirror_changes_nothing(document):
    mirrored = moved(
        document, lambda x, y: (-x, y), lambda x, y: (-x, y), {"+x": "-x"}, ((WIDTH, LENGTH), (-WIDTH, 0.0))
    )
    same(margin(document), margin(mirrored))


@settings(max_examples=12, deadline=None, derandomize=True)
@given(set_ups(), st.floats(-300, 300), st.floats(-300, 300))
def test_the_zero_may_lie_anywhere(document, dx, dy):
    shifted = moved(
        document, lambda x, y: (x + dx, y + dy), lambda x, y: (x, y), {"+x": "+x"}, ((WIDTH, LENGTH), (dx, dy))
    )
    same(margin(document), margin(shifted))


@settings(max_examples=10, deadline=None, derandomize=True)
@given(set_ups())
def test_the_order_of_holders_and_loads_is_of_no_account(document):
    other = copy.deepcopy(document)
    other["holders"].reverse()
    other["loads"].reverse()
    same(margin(document), margin(other))


@settings(max_examples=10, deadline=None, derandomize=True)
@given(set_ups(), st.floats(1.0, 4.0))
def test_loads_that_grow_together_lower_the_factor_by_as_much(document, growth):
    """The factor is homogeneous of degree -1 in the loads: lambda (k w) = lambda (w) / k."""
    grown = copy.deepcopy(document)
    for load in grown["loads"]:
        load["force"] = [growth * f for f in load["force"]]
    same(margin(document), [growth * value for value in margin(grown)])


@settings(max_examples=8, deadline=None, derandomize=True)
@given(set_ups())
def test_inches_say_the_same_as_millimetres(document):
    """Exact: 25.4 mm an inch; forces and pressures are stated with their units."""
    inch = copy.deepcopy(document)
    inch["units"] = "inch"

    def scaled(values):
        return [scaled(v) if isinstance(v, list) else v / INCH for v in values]

    inch["stock"]["size"] = scaled(inch["stock"]["size"])
    inch["bed"]["thickness"] /= INCH
    for holder in inch["holders"]:
        for name in ("at", "area", "toe"):
            if name in holder:
                holder[name] = scaled(holder[name])
        if "torque" in holder:
            holder["torque"] = f"{holder['torque']} N m"
        if "pressure" in holder:
            holder["pressure"] = f"{holder['pressure']} kPa"
    for load in inch["loads"]:
        load["at"] = scaled(load["at"])
        load["force"] = [f"{value:.6f} N" for value in load["force"]]
    same(margin(document), margin(inch), rel=2e-5)


@settings(max_examples=10, deadline=None, derandomize=True)
@given(set_ups(), lengths)
def test_a_stop_on_a_side_that_has_none_never_lowers_the_factor(document, along):
    before = margin(document)
    more = copy.deepcopy(document)
    more["holders"].append({"kind": "stop", "at": [WIDTH * along, 0.0], "faces": "+y"})
    after = margin(more)
    assert all(new >= old * (1.0 - 1e-6) for old, new in zip(before, after, strict=True))


@settings(max_examples=10, deadline=None, derandomize=True)
@given(set_ups(), st.floats(1.0, 3.0))
def test_a_stronger_load_never_raises_the_factor(document, growth):
    harder = copy.deepcopy(document)
    harder["loads"][0]["force"] = [growth * f for f in harder["loads"][0]["force"]]
    assert all(new <= old * (1.0 + 1e-6) for old, new in zip(margin(document), margin(harder), strict=True))


@pytest.mark.parametrize("preload", [0.5, 1.5])
def test_one_more_clamp_may_lower_the_factor_for_it_pushes(preload):
    """Common practice, no source: a side clamp with no stop opposite only helps to push the stock off."""
    base: dict[str, Any] = {
        "units": "metric",
        "stock": {"material": "mdf", "size": [WIDTH, LENGTH, THICKNESS]},
        "bed": {"material": "mdf", "thickness": 30, "friction": 0.4},
        "holders": [{"kind": "vacuum", "pressure": 10}],
        "loads": [{"name": "push", "at": [100, 60, -9], "force": [40, 10, 5]}],
    }
    more = copy.deepcopy(base)
    more["holders"].append({"kind": "side_clamp", "at": [0, 60], "pushes": "+x", "force": 40 * preload})
    assert margin(more)[0] < margin(base)[0]
