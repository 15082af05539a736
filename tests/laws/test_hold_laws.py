"""Laws of a hold made of bare contacts; and where a law that one would expect does not hold."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.engine.holding.slabs import (
    LONG,
    MU,
    THICK,
    WIDE,
    at,
    box,
    clamp,
    exactly,
    factor,
    gathered,
    screw,
    stop,
    strip,
    suction,
    weight,
)

from stillstock.engine.holding.contacts import Contacts, Push
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray

FEW = settings(max_examples=10, deadline=None, derandomize=True)
along, across = st.floats(0.02, LONG - 0.02), st.floats(0.02, WIDE - 0.02)
newtons = st.floats(50.0, 900.0)


@st.composite
def loads(draw) -> FloatArray:
    """A pull at the top face, more sideways than up."""
    turn = draw(st.floats(0.0, 2.0 * np.pi))
    force = (np.cos(turn), np.sin(turn), draw(st.floats(-0.3, 0.6)))
    return wrench(at(draw(along), draw(across), THICK), force)


@st.composite
def rubbing(draw) -> Contacts:
    """What holds by friction: weight, a clamp or suction, one or two stops on one side."""
    held = draw(
        st.sampled_from(
            [
                [clamp(600.0, 0.07, 0.05), clamp(300.0, 0.25, 0.16, holder=1)],
                [suction(2e4, box(0.03, 0.02, 0.2, 0.15))],
                [clamp(800.0, 0.12, 0.13, friction=0.2)],
            ]
        )
    )
    places = draw(st.lists(st.sampled_from([0.03, 0.09, 0.17]), max_size=2, unique=True))
    stops = [stop(at(0.0, y, 0.006), (1.0, 0.0, 0.0), group="+x", holder=4) for y in places]
    return gathered(weight(draw(st.floats(5.0, 40.0)), 0.14, 0.11), *held, *stops)


@FEW
@given(rubbing(), loads(), st.floats(1.0, 2.5))
def test_more_friction_on_the_bed_never_lowers_the_factor(contacts, load, growth):
    """A greater coefficient only adds forces that may be zero; with at most two stops in a line all of them touch."""
    assert factor(contacts, load, mu=MU * growth) >= factor(contacts, load) * (1.0 - 1e-9)


@FEW
@given(rubbing(), loads(), st.floats(1.0, 2.5))
def test_more_friction_on_stops_and_toes_never_lowers_the_factor(contacts, load, growth):
    rougher = replace(
        contacts,
        rubs=tuple(replace(rub, friction=rub.friction.times(growth)) for rub in contacts.rubs),
        pushes=tuple(replace(push, friction=push.friction and push.friction.times(growth)) for push in contacts.pushes),
    )
    assert factor(rougher, load) >= factor(contacts, load) * (1.0 - 1e-9)


def times(contacts: Contacts, growth: float) -> Contacts:
    """Return contacts with every force, pressure, strength and stiffness grown alike."""
    return Contacts(
        pushes=tuple(replace(push, force=push.force.times(growth)) for push in contacts.pushes),
        rests=tuple(replace(rest, pressure=rest.pressure.times(growth)) for rest in contacts.rests),
        rubs=contacts.rubs,
        bonds=tuple(
            replace(bond, shear=bond.shear.times(growth), tension=bond.tension.times(growth)) for bond in contacts.bonds
        ),
        pins=tuple(
            replace(
                pin,
                lateral=pin.lateral.times(growth),
                pull_out=pin.pull_out.times(growth),
                preload=pin.preload and pin.preload.times(growth),
            )
            for pin in contacts.pins
        ),
    )


@FEW
@given(rubbing(), st.sampled_from(["", "tape", "screws"]), loads(), st.floats(0.1, 20.0))
def test_forces_that_all_grow_together_leave_the_factor_as_it_is(contacts, more, load, growth):
    """Statics knows no unit of force: weight, preloads, strengths and the load times k."""
    tape = [strip(0.1, force=250.0, width=0.05, holder=7)] if more == "tape" else []
    screws = [screw(0.2, 0.05, holder=7)] if more == "screws" else []
    held = gathered(*contacts.pushes, *contacts.rests, *contacts.rubs, *tape, *screws)
    assert_allclose(factor(times(held, growth), growth * load), factor(held, load), rtol=1e-6)


@FEW
@given(rubbing(), loads(), st.floats(-0.4, 0.4))
def test_a_pull_is_held_wherever_along_its_line_it_is_thought_to_act(contacts, load, shift):
    """Forces on a rigid body are sliding vectors: moved along its own line, a force has the same wrench."""
    place = np.array(at(0.11, 0.07, THICK))
    force = np.array(load[:3])
    one, other = (factor(contacts, wrench(place + step * force, force)) for step in (0.0, shift))
    assert_allclose(one, other, rtol=1e-9)


@FEW
@given(st.lists(st.tuples(along, across, newtons), min_size=2, max_size=4), loads(), st.permutations([0, 1, 2, 3]))
def test_the_order_of_contacts_is_of_no_account(places, load, order):
    held = [clamp(force, x, y, holder=i) for i, (x, y, force) in enumerate(places)]
    shuffled = [held[i] for i in order if i < len(held)]
    own = weight(12.0, 0.14, 0.11)
    assert_allclose(factor(gathered(own, *held), load), factor(gathered(*shuffled, own), load), rtol=1e-7)


@FEW
@given(st.sampled_from(["tape", "screw"]), loads(), st.floats(1.0, 3.0))
def test_a_stronger_fastener_of_the_same_stiffness_never_lowers_the_factor(kind, load, growth):
    """Its limits only widen; the shares stay."""
    first, second = {
        "tape": (strip(0.06, force=150.0, width=0.05), strip(0.22, force=200.0, width=0.03, holder=1)),
        "screw": (screw(0.05, 0.04, preload=0.0), screw(0.24, 0.15, preload=0.0, holder=1)),
    }[kind]
    held = gathered(weight(12.0, 0.14, 0.11), first, second)
    grown = times(gathered(second), growth)
    stronger = gathered(weight(12.0, 0.14, 0.11), first, *grown.bonds, *grown.pins)
    assert factor(stronger, load) >= factor(held, load) * (1.0 - 1e-9)


@FEW
@given(st.sampled_from(["tape", "screw"]), st.floats(0.04, LONG - 0.04), st.integers(1, 3))
def test_fasteners_of_one_kind_on_the_line_of_a_pull_add_up(kind, place, count):
    """Two, three, four alike at the very same place bear as much more: one more there never lowers the factor."""
    make = {
        "tape": lambda i: strip(place, force=150.0, width=0.03, holder=i),
        "screw": lambda i: screw(place, 0.1, preload=0.0, holder=i),
    }[kind]
    pull = wrench(at(place, 0.1, 0.0), (0.0, 0.0, 1.0))
    one = factor(gathered(make(0)), pull)
    assert_allclose(factor(gathered(*(make(i) for i in range(count + 1))), pull), (count + 1) * one, rtol=1e-6)


@FEW
@given(st.floats(0.02, WIDE - 0.02), loads(), newtons)
def test_a_smooth_stop_on_a_free_side_never_lowers_the_factor(place, load, force):
    """It only adds a push that may be zero; what the clamps put on the others stays, for nothing presses across."""
    held = [weight(12.0, 0.14, 0.11), clamp(force, 0.1, 0.06), stop(at(0.13, 0.0, 0.006), (0.0, 1.0, 0.0), group="+y")]
    more = stop(at(LONG, place, 0.006), (-1.0, 0.0, 0.0), mu=0.0, group="-x", holder=3)
    assert factor(gathered(*held, more), load) >= factor(gathered(*held), load) * (1.0 - 1e-9)


def test_one_more_strip_far_off_may_lower_what_all_together_lift():
    """A stiff slab shares by stiffness, so a far strip loads the near one more; sets of strips are judged elsewhere.

    Strips at 0.05 and 0.09 lifted half-way between, 0.07: 100 N each, 200 N. With a third at 0.28 their middle is 0.14
    and sum (x - 0.14)^2 = 0.0302 m2, so the first takes 1/3 + 0.07 x 0.09 / 0.0302 = 0.542 of the pull: 184.5 N.
    The strips' own width of 4 mm takes 1 %.
    """
    pair = [strip(x, force=100.0, holder=i, width=0.004) for i, x in enumerate((0.05, 0.09))]
    pull = wrench(at(0.07, WIDE / 2.0, 0.0), (0.0, 0.0, 1.0))
    assert_allclose(factor(gathered(*pair), pull), 200.0, rtol=1e-6)
    third = strip(0.28, force=100.0, holder=2, width=0.004)
    assert_allclose(factor(gathered(*pair, third), pull), 184.5, rtol=0.01)


def test_a_longer_strip_may_bear_less_where_it_is_lifted_beside_its_middle():
    """A law that does not hold: one tape is all or nothing, for it peels from one end.

    Beam formula, F (1 + 6 e / a) / A at the near end: a strip of 0.1 m lifted at its middle, 0.05, bears all its
    strength; of 0.15 m with e = 0.025, 1.5 / (1 + 1) = 0.75 times as much; of 0.3 m, 3 / (1 + 2) = as much again.
    """
    strength = 2000.0  # of each metre. [N/m]
    pull = wrench(at(0.05, WIDE / 2.0, 0.0), (0.0, 0.0, 1.0))
    lifts = [factor(gathered(strip(a / 2.0, force=strength * a, width=a)), pull) for a in (0.1, 0.15, 0.3)]
    assert_allclose(lifts, [200.0, 150.0, 200.0], rtol=1e-6)


@pytest.mark.parametrize(("squeeze", "expected"), [(0.0, 3.0), (2.0, 1.0)])
def test_a_side_clamp_without_a_stop_takes_its_own_push_from_the_friction(squeeze, expected):
    """3 N of friction, 10 N of weight at mu 0.3; a push of 2 N the same way leaves 1 N: plain statics."""
    push = Push(holder=1, at=at(0.0, 0.1, 0.0), direction=(1.0, 0.0, 0.0), force=exactly(squeeze))
    held = gathered(weight(10.0, LONG / 2.0, 0.1), *([push] if squeeze > 0.0 else []))
    assert_allclose(factor(held, wrench(at(LONG / 2.0, 0.1, 0.0), (1.0, 0.0, 0.0))), expected, rtol=1e-9)
