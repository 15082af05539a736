"""What of the holders stands in the tool's way, and that stronger clamping never dents less."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.engine.holding.benches import ORIGIN, TABLES, bench, exactly, rectangle

from stillstock.engine.holding.methods.dowel_pin import DowelPin
from stillstock.engine.holding.methods.fixture_plate import FixturePlate
from stillstock.engine.holding.methods.polymer_nail import PolymerNail
from stillstock.engine.holding.methods.side_clamp import SideClamp
from stillstock.engine.holding.methods.skin import Skin
from stillstock.engine.holding.methods.strap_clamp import StrapClamp
from stillstock.engine.holding.methods.tab import Tab
from stillstock.engine.holding.methods.tape_and_ca import TapeAndCa
from stillstock.engine.holding.methods.vise import Vise

AT = (ORIGIN[0] + 0.02, ORIGIN[1] + 0.03)
TOP = (ORIGIN[0] + 0.1, ORIGIN[1] + 0.2)  # on the edge of greatest y


@pytest.mark.parametrize(
    "holder",
    [
        PolymerNail(at=AT),
        DowelPin(at=AT, material="wood"),
        Tab(at=TOP, width=0.006, height=0.002),
        Skin(thickness=0.0004),
        TapeAndCa(area=rectangle(0.05, 0.0, 0.2, 0.1)),
    ],
)
def test_what_a_cutter_may_meet_does_not_stand_in_its_way(holder):
    assert not holder.bodies(0, bench())


def test_a_steel_pin_stands_inside_the_stock():
    (pin,) = DowelPin(at=AT, reach=0.01).bodies(3, bench())
    assert (pin.holder, pin.radius) == (3, 0.004)
    assert_allclose([pin.low, pin.high], [ORIGIN[2] - 0.012, ORIGIN[2] + 0.01])


def test_the_head_of_a_bolt_stands_above_the_thickest_stock():
    """ISO 4762: the head of an M6 socket-head screw is 6 mm high; ISO 7089: its washer 1.6 mm. From memory."""
    head, shank = FixturePlate(at=AT).bodies(0, bench(thickness=(0.017, 0.0185)))
    assert_allclose(head.low, ORIGIN[2] + 0.0185)
    assert_allclose(head.high - head.low, 0.0076, atol=1e-4)
    assert head.radius == 0.006
    assert (shank.radius, shank.low) == (0.003, ORIGIN[2])


def test_both_jaws_stand_outside_the_stock():
    vise = Vise(at=TOP, faces="-y", jaw_width=0.08, jaw_depth=0.03, grip=0.01)
    fixed, moving, handle = vise.bodies(0, bench())
    assert_allclose([fixed.core[:, 1].min(), fixed.core[:, 1].max()], [TOP[1], TOP[1] + 0.03])
    assert_allclose([moving.core[:, 1].min(), moving.core[:, 1].max()], [ORIGIN[1] - 0.03, ORIGIN[1]], atol=1e-9)
    assert_allclose([fixed.high, moving.high], ORIGIN[2] + 0.01)
    assert_allclose(np.ptp(moving.core[:, 0]), 0.08)
    assert_allclose([handle.core[:, 1].min(), handle.core[:, 1].max()], [ORIGIN[1] - 0.13, ORIGIN[1] - 0.03])


@settings(deadline=None, max_examples=30)
@given(st.floats(10.0, 5000.0), st.floats(1.0, 3.0))
def test_more_preload_never_dents_less(force, more):
    """Law: pressure is force on an area."""
    for clamp in (
        lambda f: SideClamp(at=(ORIGIN[0], AT[1]), pushes="+x", force=exactly(f)),
        lambda f: StrapClamp(at=AT, preload=exactly(f)),
        lambda f: FixturePlate(at=AT, preload=exactly(f)),
        lambda f: Vise(at=TOP, faces="-y", force=exactly(f)),
    ):
        weak, strong = (
            next(d.value.high for d in clamp(f).demands(0, bench(), TABLES) if d.name == "crush")
            for f in (force, force * more)
        )
        assert strong >= weak * (1.0 - 1e-12)


def test_a_vise_carries_the_stock_on_its_base():
    """Stock that lies higher than the table: jaws are counted from its underside, the base fills up to it."""
    set_up = bench()
    low = replace(set_up, bed=replace(set_up.bed, top=ORIGIN[2] - 0.04))
    fixed, moving, base, _ = Vise(at=TOP, faces="-y", jaw_width=0.08, grip=0.01).bodies(0, low)
    assert_allclose([base.low, base.high, fixed.high, moving.high], ORIGIN[2] + np.array([-0.04, 0.0, 0.01, 0.01]))
    assert_allclose([base.core[:, 1].min(), base.core[:, 1].max()], [ORIGIN[1], ORIGIN[1] + 0.2], atol=1e-9)
