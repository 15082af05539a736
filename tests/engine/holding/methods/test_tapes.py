"""Tapes: the mechanics of a bonded area. No strength of tape on wood is published: those rows are common practice."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.engine.holding.benches import ORIGIN, TABLES, bench, exactly, factor, middle, rectangle

from stillstock.engine.holding.contacts import Bond
from stillstock.engine.holding.methods.film_tape import FilmTape
from stillstock.engine.holding.methods.foam_tape import FoamTape
from stillstock.engine.holding.methods.tape_and_ca import TapeAndCa
from stillstock.engine.holding.pull_test import PullTest
from stillstock.tables.scatter import Corner

KINDS = (FilmTape, FoamTape, TapeAndCa)
WHOLE = rectangle(ORIGIN[0], ORIGIN[1], ORIGIN[0] + 0.3, ORIGIN[1] + 0.2)


def bond_of(tape, set_up):
    (bond,) = tape.contacts(0, set_up, TABLES)
    assert isinstance(bond, Bond)
    return bond


@pytest.mark.parametrize("kind", KINDS)
def test_a_square_push_is_strength_times_area(kind):
    """F = tau A for a push through the middle in the plane of the bond: definition of the mean shear stress."""
    set_up = bench()
    tape = kind(area=WHOLE, shear_strength=exactly(50e3, "pressure"), tensile_strength=exactly(20e3, "pressure"))
    got = factor([tape], set_up, at=middle(set_up), force=(1.0, 0.0, 0.0))
    assert_allclose(got, 50e3 * 0.06, rtol=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_a_lift_beside_the_middle_is_limited_at_the_far_edge(kind):
    """sigma = F/A + 6 F e / (b L^2) at the edge: stress of an eccentric column, any text on strength of materials."""
    set_up, e = bench(), 0.04
    x, y, z = middle(set_up)
    tape = kind(area=WHOLE, shear_strength=exactly(50e3, "pressure"), tensile_strength=exactly(20e3, "pressure"))
    got = factor([tape], set_up, at=(x + e, y, z), force=(0.0, 0.0, 1.0))
    assert_allclose(got, 20e3 / (1.0 / 0.06 + 6.0 * e / (0.2 * 0.3**2)), rtol=1e-6)


def test_foam_tape_gives_as_far_as_the_shear_of_its_layer():
    """delta = F t / (G A): 50 N on 50 x 50 mm of 1.1 mm at G = 0.1 MPa moves 0.22 mm. Closed form of simple shear."""
    area = rectangle(ORIGIN[0], ORIGIN[1], ORIGIN[0] + 0.05, ORIGIN[1] + 0.05)
    bond = bond_of(FoamTape(area=area, thickness=0.0011), bench())
    assert_allclose(50.0 / (bond.shear_stiffness * 0.0025), 0.22e-3, rtol=1e-9)


def test_foam_tape_gives_several_times_what_film_tape_gives():
    """Common practice, no source: foam is ruled out for accurate milling by its give, not by its strength."""
    foam, film, stack = (bond_of(kind(area=WHOLE), bench()) for kind in (FoamTape, FilmTape, TapeAndCa))
    assert film.shear_stiffness > 3.0 * foam.shear_stiffness
    assert stack.shear_stiffness > 3.0 * foam.shear_stiffness


def test_glue_adds_nothing_once_the_tape_is_the_weakest_link():
    """Common practice, no source: a chain is as strong as its weakest link; the glue is some fifty times the tape."""
    thrifty, flooded = (bond_of(TapeAndCa(area=WHOLE, glue_cover=cover), bench()) for cover in (0.3, 1.0))
    assert (thrifty.shear, thrifty.tension) == (flooded.shear, flooded.tension)
    starved = bond_of(TapeAndCa(area=WHOLE, glue_cover=0.01), bench())
    assert starved.shear.typical < thrifty.shear.typical


def test_smooth_and_sealed_faces_hold_the_stack_better_than_raw_board():
    """Common practice, no source: raw MDF lets its fibres go."""
    raw = bond_of(TapeAndCa(area=WHOLE), bench(stock="acrylic"))
    sealed = bond_of(TapeAndCa(area=WHOLE), bench(stock="acrylic", condition="sealed"))
    dusty = bond_of(TapeAndCa(area=WHOLE), bench(stock="acrylic", condition="dusty"))
    assert sealed.shear.low > raw.shear.low > dusty.shear.low


@pytest.mark.published("film_tape", source="data sheet to JIS Z 0237")
def test_tape_on_polyethylene_holds_about_half():
    """Peel from polyethylene is 49 % of that from steel: double-sided tape data sheet to JIS Z 0237."""
    plain, slick = (bond_of(FilmTape(area=WHOLE), bench(stock=key)) for key in ("mdf", "hdpe"))
    assert_allclose(slick.shear.typical / plain.shear.typical, 0.49)


def test_the_shops_own_test_replaces_the_table():
    test = PullTest(direction="shear", readings=(300.0, 310.0, 280.0, 350.0, 320.0), area=25e-4)
    bond = bond_of(TapeAndCa(area=WHOLE, pull_test=(test,)), bench(condition="dusty"))
    assert_allclose(bond.shear.typical, 312.0 / 25e-4)
    assert bond.shear.source == "caller"
    assert bond.tension.source != "caller"


@settings(deadline=None, max_examples=15)
@given(
    st.sampled_from(KINDS),
    st.floats(0.05, 0.25),
    st.floats(0.01, 0.04),
    st.floats(-1.0, 1.0),
    st.floats(-1.0, 1.0),
    st.floats(0.05, 1.0),
)
def test_more_tape_never_holds_less(kind, long, more, fx, fy, fz):
    """Law: a longer strip of one tape about the same middle, under any force through that middle."""
    set_up = bench()
    x, y, z = middle(set_up)

    def strip(length):
        return kind(area=rectangle(x - length / 2.0, y - 0.03, x + length / 2.0, y + 0.03))

    at, force = (x, y, z + 0.01), (fx, fy, fz)
    short, longer = (factor([strip(n)], set_up, at=at, force=force, corner=Corner.LOW) for n in (long, long + more))
    assert longer >= short * (1.0 - 1e-6)
    assert np.isfinite(short)
