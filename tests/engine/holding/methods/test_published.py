"""Every kind is held to a published value or a general-purpose library, or says that no published value was found."""

import ast
import inspect
import tomllib
from pathlib import Path

import numpy as np
import pytest
from anastruct import SystemElements  # type: ignore[attr-defined]
from numpy.testing import assert_allclose
from tests.engine.holding.benches import ORIGIN, TABLES, bench, exactly, factor, rectangle

from stillstock.engine.holding.contacts import Bond, Pin
from stillstock.engine.holding.methods.skin import Skin
from stillstock.engine.holding.methods.stop import Stop
from stillstock.engine.holding.methods.strap_clamp import StrapClamp
from stillstock.engine.holding.methods.tab import Tab
from stillstock.engine.holding.methods.tape_and_ca import TapeAndCa
from stillstock.engine.holding.register import methods
from stillstock.tables.catalogue import holder_entries

TESTS = Path(__file__).parents[3]
LBF, INCH, FOOT, PSI = 4.4482216152605, 0.0254, 0.3048, 6894.757
WORDS = "no published"

#: Kinds whose strength on wood nobody has published, whatever else of them is held to a print.
UNPUBLISHED = ("film_tape", "foam_tape", "polymer_nail", "skin", "stop", "tab", "tape_and_ca")


def marked() -> dict[str, list[tuple[str, str, str]]]:
    """Return for each kind the tests marked with it: place, stated source, docstring."""
    found: dict[str, list[tuple[str, str, str]]] = {}
    for path in sorted(TESTS.rglob("test_*.py")):
        text = path.read_text(encoding="utf-8")
        if "mark.published(" not in text:
            continue
        for function in (node for node in ast.parse(text).body if isinstance(node, ast.FunctionDef)):
            for mark in function.decorator_list:
                if isinstance(mark, ast.Call) and ast.unparse(mark.func) == "pytest.mark.published":
                    place = f"{path.relative_to(TESTS)}::{function.name}"
                    (source,) = (ast.literal_eval(word.value) for word in mark.keywords if word.arg == "source")
                    for kind in mark.args:
                        words = inspect.cleandoc(ast.get_docstring(function) or "")
                        found.setdefault(ast.literal_eval(kind), []).append((place, source, words))
    return found


MARKED = marked()


def says_so(kind: str) -> bool:
    entry = holder_entries()[kind]
    sentences = [one.text for said in entry.sections.values() for one in said]
    return any(WORDS in text for text in (*sentences, *(row.value.note for row in entry.rows)))


@pytest.mark.parametrize("kind", methods())
def test_every_kind_is_held_to_something_published_or_says_that_nothing_is(kind):
    assert kind in MARKED or says_so(kind)


@pytest.mark.parametrize("kind", UNPUBLISHED)
def test_kinds_whose_strength_nobody_has_published_say_so(kind):
    assert says_so(kind)


def test_every_mark_is_of_a_kind_and_names_its_source_in_the_tests_own_words():
    assert set(MARKED) <= set(methods())
    extras = tomllib.loads((TESTS.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    libraries = {word.partition(">")[0].partition("=")[0] for word in extras["optional-dependencies"]["test"]}
    for place, source, words in (one for every in MARKED.values() for one in every):
        assert source in libraries or source.lower() in " ".join(words.split()).lower(), (place, source)
        assert "no source" not in words, place


@pytest.mark.published("strap_clamp", source="printed examination item")
def test_a_bolts_pull_from_its_torque_in_inches():
    """Target preload 980 lbf on 0.19 in at K 0.2 takes 37 in lbf: printed examination item; its digits, 1 %.

    Torque over nut factor is pull times diameter, whatever the bolt.
    """
    clamp = StrapClamp(at=(0.1, 0.05), bolt="M5", thread="plain_steel_dry", torque=37.0 * INCH * LBF)
    diameter = TABLES.value("bolts", "m5", "nominal_diameter").typical
    assert_allclose(clamp.pull(TABLES).typical * diameter, 980.0 * LBF * 0.19 * INCH, rtol=1e-2)


@pytest.mark.published("stop", source="printed examination item")
def test_two_stops_share_a_push_as_a_lever_with_its_load_between():
    """340 lbf at 0.5 ft from one stop is 42.5 lbf on the other at 4 ft: printed examination item on a lever."""
    set_up = bench(size=(1.4, 0.2, 0.018))
    near, far, push = (ORIGIN[0] + 0.05 + x * FOOT for x in (0.0, 4.0, 0.5))
    stops = [
        Stop(at=(near, ORIGIN[1]), faces="+y"),
        Stop(at=(far, ORIGIN[1]), faces="+y", limit=exactly(42.5 * LBF)),
    ]
    at = (push, ORIGIN[1] + 0.1, ORIGIN[2] + 0.006)
    got = factor(stops, set_up, at=at, force=(0.0, -340.0 * LBF, 0.0), friction=1e-9)
    assert_allclose(got, 1.0, rtol=1e-4)


@pytest.mark.published("tape_and_ca", source="Petrie")
def test_starved_glue_holds_what_is_printed_on_the_share_that_it_wets():
    """Nylon on nylon after 10 min 330 psi and after 48 h 600 psi: Petrie, table 10.16; half a per cent of the face."""
    tape = TapeAndCa(area=rectangle(ORIGIN[0], ORIGIN[1], ORIGIN[0] + 0.3, ORIGIN[1] + 0.2), glue_cover=0.005)
    (bond,) = tape.contacts(0, bench(), TABLES)
    assert isinstance(bond, Bond)
    assert_allclose([bond.shear.low, bond.shear.high], [330.0 * PSI * 0.005, 600.0 * PSI * 0.005], rtol=1.5e-2)


def guided(force: float, *, span: float, second: float, modulus: float) -> tuple[float, float]:
    """Return moment at the ends and movement of a beam held at one end and guided at the other, by a frame library."""
    frame = SystemElements(EA=1e9, EI=modulus * second)
    frame.add_element(location=[[0.0, 0.0], [span, 0.0]])
    frame.add_support_fixed(node_id=1)
    frame.add_support_roll(node_id=2, direction="y", rotate=False)
    frame.point_load(node_id=2, Fy=-force)
    frame.solve()
    ends = frame.get_element_results(element_id=1, verbose=False)
    moved = frame.get_node_displacements(node_id=2)
    return max(abs(ends["Mmin"]), abs(ends["Mmax"])), abs(moved["uy"])


@pytest.mark.published("tab", source="anastruct")
def test_a_tab_lifts_and_moves_as_a_frame_library_says():
    """Lift at which the moment at its ends reaches the bending strength; 1 % of the movement is shear, at 20 depths."""
    width, height, kerf, strength = 7e-3, 1.5e-3, 30e-3, 20e6
    tab = Tab(
        at=(ORIGIN[0] + 0.3, ORIGIN[1] + 0.07), angle=np.pi / 2, width=width, height=height, kerf=kerf,
        bending_strength=exactly(strength, "pressure"), shear_strength=exactly(1e12, "pressure"),
    )  # fmt: skip
    (pin,) = tab.contacts(0, bench(stock="mild_steel"), TABLES)
    assert isinstance(pin, Pin)
    moment, moved = guided(1.0, span=kerf, second=width * height**3 / 12.0, modulus=200e9)
    assert_allclose(pin.pull_out.typical, strength * width * height**2 / 6.0 / moment, rtol=1e-6)
    assert_allclose(pin.axial_stiffness, 1.0 / moved, rtol=1e-2)


@pytest.mark.published("skin", source="anastruct")
def test_a_skin_lifts_as_a_frame_library_says_of_a_strip_of_it():
    """Per metre of outline; the whole of a 300 by 200 mm part in straight lift. 1 %: the strip sits inside the edge."""
    thickness, kerf, strength = 0.6e-3, 6e-3, 20e6
    skin = Skin(
        thickness=thickness, kerf=kerf,
        bending_strength=exactly(strength, "pressure"), shear_strength=exactly(1e12, "pressure"),
    )  # fmt: skip
    moment, _ = guided(1.0, span=kerf, second=thickness**3 / 12.0, modulus=3e9)
    per_metre = strength * thickness**2 / 6.0 / moment
    lift = factor([skin], bench(), at=(ORIGIN[0] + 0.15, ORIGIN[1] + 0.1, ORIGIN[2]), force=(0.0, 0.0, 1.0))
    assert_allclose(lift, per_metre * 1.0, rtol=1e-2)
