"""Levers, arms, wedges and stops against printed examples and the trade's facts."""

from math import atan, cos, degrees, pi, radians, sin, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.engine.holding.benches import ORIGIN, TABLES, bench, exactly, factor, middle

from stillstock.engine.holding.contacts import Rub
from stillstock.engine.holding.method import HoldingMethod
from stillstock.engine.holding.methods.side_clamp import SideClamp, self_locking_angle, wedge_thrust
from stillstock.engine.holding.methods.stop import Stop
from stillstock.engine.holding.methods.strap_clamp import StrapClamp
from stillstock.engine.holding.methods.vacuum import Vacuum
from stillstock.tables.scatter import Corner

FOOT, LBF = 0.3048, 4.4482216
EDGE = ORIGIN[0] + 0.3


@pytest.mark.published("strap_clamp", source="printed examination item")
def test_the_toe_takes_the_levers_share():
    """340 lbf at 0.5 ft from the pivot is 42.5 lbf at 4 ft: printed examination item on a lever, load between."""
    clamp = StrapClamp(at=(0.1, 0.05), preload=exactly(340.0 * LBF), heel_reach=0.5 * FOOT, toe_reach=3.5 * FOOT)
    assert_allclose(clamp.toe_force(TABLES).typical / LBF, 42.5, rtol=5e-3)


@pytest.mark.published("strap_clamp", source="Printed examination item")
@pytest.mark.parametrize(("torque", "newtons"), [(30.0, 20_000.0)])
def test_a_bolts_pull_is_the_printed_one(torque, newtons):
    """M10, 30 N m, K 0.15: 20,000 N. Printed examination item."""
    clamp = StrapClamp(at=(0.1, 0.05), bolt="M10", thread="oiled", torque=torque)
    assert_allclose(clamp.pull(TABLES).typical, newtons, rtol=5e-3)


def test_arms_of_board_and_plywood_break_where_acetal_does_not():
    """Common practice, no source: plastic hold-downs give, wooden ones split at the bolt slot."""
    ratios = {}
    for arm in ("pom", "plywood", "mdf", "aluminium"):
        clamp = StrapClamp(at=(0.1, 0.05), arm=arm, torque=2.0, arm_height=0.016, arm_width=0.03)
        asked = next(d for d in clamp.demands(0, bench(), TABLES) if d.name == "arm")
        ratios[arm] = asked.value.typical / asked.limit.typical
    assert ratios["aluminium"] < ratios["pom"] < 1.0 < ratios["plywood"] < ratios["mdf"]


@pytest.mark.published("side_clamp", source="Beer and Johnston")
def test_a_wedge_raises_a_block_along_a_wall_at_the_printed_push():
    """W 400 lb, wedge 10 degrees, mu 0.25 on all faces and the wall: P = 313 lb. Beer and Johnston, as quoted.

    The wall's friction adds to what the wedge must lift: N = W / (1 - mu tan(alpha + phi)), balance of the block.
    """
    angle, mu = radians(10.0), 0.25
    lifted = 400.0 / (1.0 - mu * tan(angle + atan(mu)))
    push = lifted / wedge_thrust(1.0, angle=angle, mu=mu)
    assert_allclose(push, 313.0, rtol=5e-3)


@pytest.mark.published("side_clamp", source="Teaching text on fixtures")
def test_a_wedge_locks_below_both_friction_angles():
    """mu 0.10 on both faces: 11.4 degrees. Teaching text on fixtures, which has manual wedges at 6 to 8."""
    assert_allclose(degrees(self_locking_angle(0.10)), 11.4, rtol=3e-3)
    assert degrees(self_locking_angle(0.10)) > 8.0


def test_steep_wedges_back_out():
    steep, usual = (
        next(
            d
            for d in SideClamp(at=(EDGE, 0.02), pushes="-x", drive="folding_wedges", wedge_angle=radians(a)).demands(
                0, bench(), TABLES
            )
            if d.name == "wedge"
        )
        for a in (35.0, 7.0)
    )
    assert steep.value.high > steep.limit.low
    assert usual.value.high < usual.limit.low


def test_driven_wedges_push_most_where_they_rub_least():
    """N = P / (tan(alpha + phi) + tan phi), as in the balance of the wedge above; mu of planed wood 0.25 to 0.6."""
    clamp = SideClamp(at=(EDGE, 0.02), pushes="-x", drive="folding_wedges", drive_force=500.0, wedge_angle=radians(7.0))
    got = clamp.push(TABLES)
    assert_allclose(got.high, 500.0 / (tan(radians(7.0) + atan(0.25)) + 0.25), rtol=1e-9)
    assert got.low < got.typical < got.high


def test_a_side_clamp_with_no_stop_pushes_the_stock_off():
    """Trade fact and plain statics: 0.35 of 12 N of weight does not hold against 500 N."""
    set_up = bench()
    clamp = SideClamp(at=(EDGE, ORIGIN[1] + 0.07), pushes="-x", force=exactly(500.0), height=0.009)
    at = (ORIGIN[0] + 0.1, ORIGIN[1] + 0.07, ORIGIN[2] + 0.009)
    alone = factor([clamp], set_up, at=at, force=(0.0, 1.0, 0.0), weight=12.0)
    stops = [Stop(at=(ORIGIN[0], ORIGIN[1] + y), faces="+x") for y in (0.03, 0.17)]
    backed = factor([clamp, *stops], set_up, at=at, force=(1.0, 0.0, 0.0), weight=12.0)
    assert alone == 0.0
    assert backed >= 500.0


def test_a_full_sheet_under_vacuum_holds_while_a_small_part_does_not():
    """Common practice, no source: suction holds by area; 30 kPa, friction 0.3, 50 N sideways, factor 2."""
    sheet, small = bench(size=(1.2, 0.6, 0.018)), bench(size=(0.06, 0.05, 0.018))
    full, part = (
        factor([Vacuum(pressure=exactly(30e3, "pressure"))], s, at=middle(s), force=(50.0, 0.0, 0.0))
        for s in (sheet, small)
    )
    assert full > 100.0
    assert part < 2.0


@settings(deadline=None, max_examples=12)
@given(st.floats(0.0, 2 * pi), st.floats(-0.08, 0.08), st.floats(100.0, 400.0), st.floats(0.02, 0.18))
def test_one_stop_more_on_a_free_side_never_lowers_the_hold(turn, off, push, place):
    """Law: a smooth new support adds forces that may be zero. The stop stands on a side where nothing stands yet."""
    set_up = bench()
    x, y, z = middle(set_up)
    held: list[HoldingMethod] = [
        SideClamp(at=(EDGE, y), pushes="-x", force=exactly(push)),
        Stop(at=(ORIGIN[0], y - 0.07), faces="+x"),
        Stop(at=(ORIGIN[0], y + 0.07), faces="+x"),
    ]
    extra = Stop(at=(ORIGIN[0] + place, ORIGIN[1]), faces="+y")
    at, force = (x + off, y, z + 0.009), (cos(turn), sin(turn), 0.0)
    before, after = (
        factor(h, set_up, corner=Corner.LOW, weight=12.0, at=at, force=force) for h in (held, [*held, extra])
    )
    assert after >= before * (1.0 - 1e-6)


def test_a_stop_pushes_back_half_way_up_the_face_it_meets():
    (low,) = Stop(at=(ORIGIN[0], 0.02), faces="+x", height=0.01).contacts(0, bench(), TABLES)
    (high,) = Stop(at=(ORIGIN[0], 0.02), faces="+x", height=0.05).contacts(0, bench(), TABLES)
    assert isinstance(low, Rub)
    assert isinstance(high, Rub)
    assert_allclose([low.at[2], high.at[2]], [ORIGIN[2] + 0.005, ORIGIN[2] + 0.009])
