"""Tabs and skins: what is left of them, and what a beam of the stock bears."""

from math import cos, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.engine.holding.benches import ORIGIN, TABLES, bench, exactly, factor, material, middle

from stillstock.engine.holding.bridging import hankinson, left, loss, stiffness_of_bridge
from stillstock.engine.holding.contacts import Bond, Pin
from stillstock.engine.holding.methods.skin import Skin
from stillstock.engine.holding.methods.tab import Tab, lift_strength, path_strength
from stillstock.engine.set_up import Bed, SetUp, Stock
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.material import Material
from stillstock.tables.scatter import Corner

SIDE = (ORIGIN[0] + 0.3, ORIGIN[1] + 0.07)  # on the edge of greatest x, not at its middle
OUT = (ORIGIN[0] + 0.12, ORIGIN[1])


def tab(**stated):
    return Tab(**{"at": SIDE, "angle": pi / 2, "width": 0.006, "height": 0.002, **stated})


def pin_of(holder, set_up):
    (pin,) = holder.contacts(0, set_up, TABLES)
    assert isinstance(pin, Pin)
    return pin


def test_of_a_2_mm_tab_0_6_mm_is_left_in_stock_that_is_thin():
    """Stock of 17.6 instead of 19 mm left 0.6 mm on paper: one report of a workshop, no test."""
    set_up = bench(size=(0.3, 0.2, 0.019), thickness=(0.0176, 0.0176))
    got = tab().left(set_up)
    assert_allclose([got.low, got.typical, got.high], 0.6e-3)


def test_a_bow_of_a_millimetre_took_the_rest_in_fact():
    """The same report: nothing was left, the sheet had bowed up."""
    set_up = bench(size=(0.3, 0.2, 0.019), thickness=(0.0176, 0.0176), bow=0.001, error=0.1e-3)
    assert tab().left(set_up).low == 0.0
    (asked,) = tab().demands(0, set_up, TABLES)
    assert asked.value.high > asked.limit.low
    assert asked.breaks


def test_counted_from_the_bed_thin_stock_costs_a_tab_nothing():
    """Common practice, no source: zero on the spoilboard for through cuts and skins."""
    set_up = bench(size=(0.3, 0.2, 0.019), thickness=(0.0170, 0.0182), error=0.2e-3)
    top, bed = (loss(set_up, counted_from=word) for word in ("stock_top", "bed"))
    assert_allclose([bed.low, bed.typical, bed.high], [0.0, 0.0, 0.2e-3], atol=1e-12)
    assert_allclose([top.low, top.typical, top.high], [0.8e-3, 1.4e-3, 2.2e-3])
    assert_allclose(left(0.001, lost=top).high, 0.2e-3)


def test_a_tab_that_vanished_holds_nothing_at_the_low_end():
    """Closed form: only the part's own weight is left to lift."""
    set_up = bench(size=(0.3, 0.2, 0.019), thickness=(0.0165, 0.0188))
    tabs = [tab(), tab(at=OUT, angle=0.0)]
    low, typical = (
        factor(tabs, set_up, at=middle(set_up), force=(0.0, 0.0, 1.0), weight=4.0, corner=corner)
        for corner in (Corner.LOW, Corner.TYPICAL)
    )
    assert_allclose(low, 4.0, rtol=1e-6)
    assert typical > 4.5


@pytest.mark.parametrize(
    ("height", "width", "kerf", "force"), [(2e-3, 6e-3, 6e-3, 10.0), (1.5e-3, 8e-3, 3.175e-3, 30.0)]
)
def test_a_tab_in_lift_is_a_beam_held_at_both_ends(height, width, kerf, force):
    """sigma = M / W, M = F d / 2, W = b h^2 / 6: guided beam, Roark's Formulas, table of beams (from memory).

    The first: MDF, 20 N on two tabs, 7.5 MPa.
    """
    stress = (force * kerf / 2.0) / (width * height**2 / 6.0)
    if kerf == 6e-3:
        assert_allclose(stress, 7.5e6)
    assert_allclose(lift_strength(height, 1e12, stress, width=width, kerf=kerf), force)


def test_a_long_tab_shears_and_a_short_one_bends_along_the_path():
    """tau = F / A against sigma = 3 F d / (h b^2): whichever is reached first; both closed forms."""
    long = path_strength(2e-3, 7e6, 25e6, width=12e-3, kerf=6e-3)
    short = path_strength(2e-3, 7e6, 25e6, width=2e-3, kerf=6e-3)
    assert_allclose(long, 7e6 * 24e-6)
    assert_allclose(short, 25e6 * 2e-3 * (2e-3) ** 2 / (3 * 6e-3))


def test_a_tab_moves_as_a_slender_beam_does():
    """k = 12 E I / d^3 for a span of twenty depths, 1 % of it shear: any text on beams; lopsided section."""
    steel = material("mild_steel")
    got = stiffness_of_bridge(steel, depth=1e-3, breadth=4e-3, span=20e-3, angle=0.3)
    assert_allclose(got, 12 * 200e9 * (4e-3 * 1e-9 / 12) / 8e-6, rtol=0.01)


def test_hankinson_at_its_ends_and_at_30_degrees():
    """R. L. Hankinson: N = P Q / (P sin^2 + Q cos^2); 40 and 4 MPa at 30 degrees give 12.3 MPa by hand."""
    assert_allclose(hankinson(40.0, 4.0, angle=0.0), 40.0)
    assert_allclose(hankinson(40.0, 4.0, angle=pi / 2), 4.0)
    assert_allclose(hankinson(40.0, 4.0, angle=radians(30)), 160.0 / (40 * 0.25 + 4 * 0.75), rtol=1e-12)


def test_tabs_whose_fibres_run_along_the_cut_snap():
    """Common practice, no source: a tab across the grain snaps. Strengths: Wood Handbook, ponderosa pine."""
    along, across = (tab().strengths(bench(stock="ponderosa_pine", grain=g), TABLES) for g in (0.0, pi / 2))
    assert along[1].typical > 10.0 * across[1].typical
    assert along[0].typical > across[0].typical


def test_acrylic_tabs_count_with_a_third_of_their_strength_for_notches():
    """Common practice, no source: usable share 0.3 to 0.5; bending strength 115 MPa from a grade's data sheet."""
    _, lift = tab().strengths(bench(stock="acrylic"), TABLES)
    assert_allclose(lift.typical, 0.4 * 115e6 * 6e-3 * 4e-6 / (3 * 6e-3), rtol=1e-9)


def test_the_callers_own_strengths_count_for_a_tab():
    own = exactly(10e6, "pressure")
    lateral, lift = tab(shear_strength=own, bending_strength=own).strengths(bench(), TABLES)
    assert_allclose(lateral.typical, min(12e-6 * 10e6, 10e6 * 2e-3 * 36e-6 / 18e-3))
    assert_allclose(lift.typical, 10e6 * 6e-3 * 4e-6 / 18e-3)


def test_a_tab_far_from_the_part_is_refused():
    with pytest.raises(ImpossibleSetUp, match="from the edge"):
        tab(at=(ORIGIN[0] + 0.15, ORIGIN[1] + 0.1)).contacts(0, bench(), TABLES)


def test_a_strength_that_no_table_has_is_asked_for():
    bare = Material(key="bare", title="bare", family="plastic", properties={"density": exactly(1.0, "density")})
    stock = Stock(material=bare, size=(0.3, 0.2, 0.018), thickness=(0.018, 0.018), origin=ORIGIN)
    set_up = SetUp(stock=stock, bed=Bed(material=material("mdf"), thickness=0.02, top=ORIGIN[2]))
    with pytest.raises(ImpossibleSetUp, match="state it") as refused:
        tab().contacts(0, set_up, TABLES)
    assert refused.value.faults[0].pointer == "/bending_strength"


def test_four_tabs_share_a_lift_through_their_middle():
    """Four equal tabs, symmetric about the load: four times one. The bed's weightless part adds nothing."""
    set_up = bench(stock="acrylic")
    x, y, _ = middle(set_up)
    places = [(x - 0.15, y, pi / 2), (x + 0.15, y, pi / 2), (x, y - 0.1, 0.0), (x, y + 0.1, 0.0)]
    tabs = [tab(at=(a, b), angle=c) for a, b, c in places]
    one = pin_of(tabs[0], set_up).pull_out.typical
    got = factor(tabs, set_up, at=middle(set_up), force=(0.0, 0.0, 1.0))
    assert_allclose(got, 4.0 * one, rtol=1e-6)


def test_a_skin_lifts_at_its_hold_times_the_outline():
    """q = min(s tau, sigma s^2 / (3 d)) on a metre: closed form of a strip held at both edges, times the perimeter.

    1 % for the strip's corner, which sits half a millimetre inside the outline.
    """
    set_up = bench()
    own = exactly(20e6, "pressure")
    skin = Skin(thickness=0.0006, shear_strength=exactly(7e6, "pressure"), bending_strength=own)
    lift = factor([skin], set_up, at=middle(set_up), force=(0.0, 0.0, 1.0))
    assert_allclose(lift, 1.0 * 20e6 * 0.36e-6 / (3 * 6e-3), rtol=0.01)
    push = factor([skin], set_up, at=middle(set_up), force=(cos(0.4), sin(0.4), 0.0))
    assert_allclose(push, 1.0 * 0.0006 * 7e6, rtol=0.025)  # two edges of it along the force: inscribed polygon


def test_a_round_part_has_a_skin_of_few_sides_and_no_longer_than_its_own():
    turns = np.linspace(0.0, 2 * pi, 200, endpoint=False)
    outline = np.column_stack([0.1 * np.cos(turns), 0.1 * np.sin(turns)]) + np.array([0.2, 0.1])
    set_up = bench(size=(0.3, 0.3, 0.018))
    bonds = Skin(thickness=0.0005, area=outline).contacts(0, set_up, TABLES)
    assert 8 <= len(bonds) <= 24
    length = sum(np.hypot(*(b.area[1] - b.area[0])) for b in bonds if isinstance(b, Bond))
    assert 0.97 * 2 * pi * 0.1 < length <= 2 * pi * 0.1


def test_a_skin_thinner_than_what_varies_vanishes():
    """Skin must exceed scatter of thickness, bow and bed error, unless zero is on the bed: closed form of heights."""
    set_up = bench(thickness=(0.0174, 0.0178), error=0.1e-3)
    lost = Skin(thickness=0.0002).contacts(0, set_up, TABLES)
    kept = Skin(thickness=0.0002, counted_from="bed").contacts(0, set_up, TABLES)
    assert not lost
    assert len(kept) == 4
    (asked,) = Skin(thickness=0.0002).demands(0, set_up, TABLES)
    assert asked.value.typical / asked.limit.typical > 1.0


@settings(deadline=None, max_examples=60)
@given(st.floats(1e-4, 4e-3), st.floats(1.0, 2.0), st.floats(1e-3, 2e-2), st.floats(1e-3, 1e-2))
def test_higher_or_wider_tabs_never_hold_less(height, more, width, kerf):
    """Law: both strengths grow with every size of the section."""
    for strength in (path_strength, lift_strength):
        base = strength(height, 7e6, 25e6, width=width, kerf=kerf)
        assert strength(height * more, 7e6, 25e6, width=width, kerf=kerf) >= base
        assert strength(height, 7e6, 25e6, width=width * more, kerf=kerf) >= base
        assert strength(height, 7e6, 25e6, width=width, kerf=kerf * more) <= base
