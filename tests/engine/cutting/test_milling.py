"""Milling: means in closed form, signs, peaks, shapes of edge, run-out."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.engagement import Arc, Engagement, between, from_other_side, plunge, side_cut, slot
from stillstock.engine.cutting.loads import cut_curve
from stillstock.engine.cutting.milling import chip_loads, milling_curve
from stillstock.engine.set_up import Direction, Helix, Tool, ToolKind

LOPSIDED = Coefficients(ktc=26e6, krc=7e6, kac=15e6, kte=2.2e3, kre=3.1e3, kae=0.4e3)
CUTTING = Coefficients(ktc=10e6, krc=3e6)  # cutting terms only, Krc = 0.3 Ktc
FZ = 0.17e-3
CHIPS_BY_HELIX = [Helix.UP, Helix.DOWN, Helix.STRAIGHT, Helix.COMPRESSION]


def end_mill(*, kind=ToolKind.END_MILL, diameter=8e-3, flutes=3, up_length=4e-3, **more):
    return Tool(number=1, kind=kind, diameter=diameter, flutes=flutes, up_length=up_length, **more)


def level(tool, engagement, *, material=LOPSIDED, feed_per_tooth=FZ):
    return milling_curve(tool, material, engagement, feed=feed_per_tooth * tool.flutes)


def closed_form_means(tool, arc, *, c, fz):
    """Mean force on the work and mean torque: Altintas 2012, ch. 2 (from memory), signs turned from tool to work."""
    n, a = tool.flutes, arc.high - arc.low

    def span(f):
        return f(arc.leave) - f(arc.entry)

    x = n * a * fz / (8 * pi) * span(lambda p: c.ktc * np.cos(2 * p) - c.krc * (2 * p - np.sin(2 * p)))
    x += n * a / (2 * pi) * span(lambda p: -c.kte * np.sin(p) + c.kre * np.cos(p))
    y = n * a * fz / (8 * pi) * span(lambda p: c.ktc * (2 * p - np.sin(2 * p)) + c.krc * np.cos(2 * p))
    y -= n * a / (2 * pi) * span(lambda p: c.kte * np.cos(p) + c.kre * np.sin(p))
    z = n * a / (2 * pi) * span(lambda p: -c.kac * fz * np.cos(p) + c.kae * p)
    t = n * a / (2 * pi) * span(lambda p: -c.ktc * fz * np.cos(p) + c.kte * p)
    return -x, -y, z, t * tool.diameter / 2


@pytest.mark.parametrize("flutes", [1, 2, 3, 5])
@pytest.mark.parametrize("helix", [Helix.UP, Helix.STRAIGHT])
@pytest.mark.parametrize(("right", "left"), [(-4, 4), (-4, -1), (1.5, 4), (-2.5, 1)])
def test_means_are_those_of_the_closed_form(flutes, helix, right, left):
    """Altintas 2012, ch. 2 (from memory). Tolerance: trapezoids between 2 degree steps, 1e-3 of the mean torque."""
    tool = end_mill(flutes=flutes, helix=helix)
    engagement = between(right=right / 1e3, left=left / 1e3, radius=4e-3, depth=5e-3)
    curve = level(tool, engagement)
    x, y, z, torque = closed_form_means(tool, engagement.arcs[0], c=LOPSIDED, fz=FZ)
    z = z if helix is Helix.UP else 0.0
    assert_allclose(curve.mean, (x, y, z), atol=1e-3 * torque / 4e-3)
    assert_allclose(curve.mean_torque, torque, rtol=1e-3)


def brute_force(tool, engagement, *, c, angle, slices=4000):
    """Second road: plain slices, forces turned in 3-D, moments by vector product."""
    total = np.zeros(6)
    fz, radius = FZ, tool.diameter / 2
    for arc in engagement.arcs:
        z = arc.low + (np.arange(slices) + 0.5) * (arc.high - arc.low) / slices
        rises = {Helix.UP: 1.0, Helix.DOWN: -1.0, Helix.STRAIGHT: 0.0}.get(tool.helix)
        sense = np.where(z < tool.up_length, 1.0, -1.0) if rises is None else np.full(slices, rises)
        reach = np.where(z < tool.up_length, z, 2 * tool.up_length - z) if rises is None else rises * z
        for tooth in range(tool.flutes):
            phi = np.mod(angle + 2 * pi * tooth / tool.flutes - reach * np.tan(tool.helix_angle) / radius, 2 * pi)
            cut = (phi >= arc.entry) & (phi <= arc.leave)
            h, db = fz * np.sin(phi), (arc.high - arc.low) / slices * cut
            along = np.stack((np.cos(phi), -np.sin(phi), 0 * phi), axis=1) * ((c.ktc * h + c.kte) * db)[:, None]
            out = np.stack((np.sin(phi), np.cos(phi), 0 * phi), axis=1) * ((c.krc * h + c.kre) * db)[:, None]
            force = along + out + np.outer((c.kac * h + c.kae) * db * sense, (0, 0, 1))
            at = np.stack((radius * np.sin(phi), radius * np.cos(phi), z), axis=1)
            total += np.concatenate((force.sum(axis=0), np.cross(at, force).sum(axis=0)))
    return total


@pytest.mark.parametrize("helix", CHIPS_BY_HELIX)
@pytest.mark.parametrize("depth", [3e-3, 22e-3])
def test_force_and_moment_agree_with_plain_slices(helix, depth):
    """Two roads to one curve, at every ninth angle. Tolerance: one slice in 4000 at either end of an arc."""
    tool = end_mill(helix=helix)
    side = between(right=-4e-3, left=-1.3e-3, radius=4e-3, depth=depth)
    engagement = replace(side, arcs=(*side.arcs, Arc(entry=0.2, leave=1.1, low=0.5 * depth, high=0.9 * depth)))
    curve = level(tool, engagement)
    for i in range(1, len(curve.angle), 9):
        slow = brute_force(tool, engagement, c=LOPSIDED, angle=curve.angle[i])
        assert_allclose(curve.wrenches[i], slow, atol=2e-3 * np.abs(curve.wrenches).max(axis=0).max())


PEAKS = {  # ae/D: (tangential, horizontal) peak over mean for N = 1, 2, 3, 4, straight flutes
    1.0: ((3.14, 4.00), (1.57, 2.00), (1.05, 1.33), (1.11, 1.00)),
    0.5: ((6.28, 6.75), (3.14, 3.37), (2.09, 2.25), (1.57, 1.69)),
    0.25: ((10.9, 11.2), (5.44, 5.61), (3.63, 3.74), (2.72, 2.81)),
    0.1: ((18.9, 19.1), (9.42, 9.53), (6.28, 6.36), (4.71, 4.77)),
}
HELICAL_PEAKS = {  # helix 30 degrees, ap = D
    1.0: ((2.97, 3.58), (1.48, 1.79), (1.00, 1.19), (1.05, 1.00)),
    0.5: ((4.98, 5.08), (2.49, 2.54), (1.66, 1.69), (1.24, 1.27)),
    0.25: ((5.45, 5.45), (2.73, 2.73), (1.82, 1.82), (1.36, 1.36)),
    0.1: ((5.46, 5.46), (2.73, 2.73), (1.82, 1.82), (1.37, 1.37)),
}


@pytest.mark.parametrize(("helix", "peaks"), [(Helix.STRAIGHT, PEAKS), (Helix.UP, HELICAL_PEAKS)])
@pytest.mark.parametrize("share", PEAKS)
@pytest.mark.parametrize("flutes", [1, 2, 3, 4])
def test_peak_over_mean(helix, peaks, share, flutes):
    """Not published: computed beforehand, by slices, down milling.

    Tolerance: printed digits and slices, 0.8 %: an edge longer than its arc has pi / (N tan beta), 1.360 for the 1.37.
    """
    tool = end_mill(helix=helix, flutes=flutes)
    engagement = side_cut(tool, width=share * 8e-3, depth=8e-3, direction=Direction.CLIMB)
    curve = level(tool, engagement, material=CUTTING)
    got = (curve.torque.max() / curve.mean_torque, curve.peak_horizontal / np.hypot(*curve.mean[:2]))
    assert_allclose(got, peaks[share][flutes - 1], rtol=0.008)


def test_a_slot_pushes_the_work_to_the_right_and_a_little_forward():
    """Spindle clockwise; Altintas 2012 (from memory): mean -y by N a (Ktc fz / 4 + Kte / pi), +x by the radial part."""
    x, y, _ = level(end_mill(), slot(depth=5e-3)).mean
    assert_allclose(y, -3 * 5e-3 * (26e6 * FZ / 4 + 2.2e3 / pi), rtol=1e-3)
    assert_allclose(x, 3 * 5e-3 * (7e6 * FZ / 4 + 3.1e3 / pi), rtol=1e-3)


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_light_side_cuts_push_forward_or_back_and_away(turn):
    """Conventional pushes along the feed; climb backward and away from the tool, whichever way the spindle turns."""
    tool, speed = end_mill(), turn * 1885.0
    cuts = {d: side_cut(tool, width=0.3e-3, depth=5e-3, direction=d) for d in Direction}
    cuts = {d: e if turn > 0 else from_other_side(e) for d, e in cuts.items()}
    means = {d: cut_curve(tool, LOPSIDED, e, feed=0.05, speed=speed).mean for d, e in cuts.items()}
    assert means[Direction.CONVENTIONAL][0] > 0.0
    assert means[Direction.CLIMB][0] < 0.0
    assert means[Direction.CLIMB][1] * turn < 0.0  # clockwise: the work lies to the right


def test_counter_clockwise_is_the_mirror_image():
    """Mirror in the plane of feed and axis: forces turn in y, moments in x and z (they are axial vectors)."""
    tool = end_mill()
    right = between(right=-4e-3, left=-1e-3, radius=4e-3, depth=5e-3)
    left = between(right=1e-3, left=4e-3, radius=4e-3, depth=5e-3)
    one, other = (cut_curve(tool, LOPSIDED, e, feed=0.05, speed=s) for e, s in ((right, 1885.0), (left, -1885.0)))
    assert_allclose(other.wrenches, one.wrenches * (1, -1, 1, -1, 1, -1), atol=1e-12)
    assert one.moment[:, 2].min() < 0.0 < other.moment[:, 2].max()


def test_up_cut_lifts_down_cut_presses_straight_does_neither():
    lifts = {helix: level(end_mill(helix=helix), slot(depth=5e-3)).force[:, 2] for helix in CHIPS_BY_HELIX}
    assert lifts[Helix.UP].min() > 0.0
    assert lifts[Helix.DOWN].max() < 0.0
    assert not lifts[Helix.STRAIGHT].any()


def test_a_compression_bit_lifts_until_the_pass_is_twice_its_up_cut_length():
    """Closed form: the mean is proportional to up-cut less down-cut length, 4 - (a - 4) mm. Tolerance as above."""
    tool = end_mill(helix=Helix.COMPRESSION)
    per_length = level(end_mill(), slot(depth=1e-3)).mean[2]
    lifts = [level(tool, slot(depth=a / 1e3)).mean[2] for a in (3, 6, 8, 11)]
    assert_allclose(lifts, np.array([3, 2, 0, -3]) * per_length, atol=1e-3 * per_length)


def test_computed_case_of_a_compression_bit():
    """C7, not published: 12 mm bit, 6 mm up-cut, MDF; 18 mm pass -21.4 N mean, 5 mm pass +17.8 (+4.2 to +27.1)."""
    mdf = Coefficients(ktc=26e6, krc=2.6e6, kac=15.01e6, kte=2.2e3, kre=2.2e3, kae=0.22e3)
    tool = end_mill(diameter=12e-3, flutes=2, helix=Helix.COMPRESSION, up_length=6e-3)
    deep, shallow = (level(tool, slot(depth=a), material=mdf, feed_per_tooth=0.35e-3) for a in (18e-3, 5e-3))
    assert_allclose((deep.mean[2], deep.force[:, 2].min(), deep.force[:, 2].max()), (-21.4, -32.4, -5.8), atol=0.06)
    assert_allclose((shallow.mean[2], shallow.force[:, 2].min(), shallow.lift), (17.8, 4.2, 27.1), atol=0.06)


def v_bit(**more):
    return end_mill(kind=ToolKind.V_BIT, diameter=12e-3, helix=Helix.UP, tip_angle=pi / 3, **more)


@pytest.mark.parametrize(("flutes", "down", "peak_down"), [(1, 0.65, 1.32), (2, 1.29, None)])
def test_computed_case_of_an_engraving_bit(flutes, down, peak_down):
    """C8, not published: 60 degree bit, 1 mm deep, 0.8 m/min, 20 000 rev/min in beech: it presses the work down."""
    beech = Coefficients(ktc=25e6, krc=2.5e6, kac=14e6, kte=2.2e3, kre=2.2e3, kae=0.2e3)
    curve = level(v_bit(flutes=flutes), slot(depth=1e-3), material=beech, feed_per_tooth=0.04e-3 / flutes)
    assert_allclose(-curve.mean[2], down, atol=0.006)
    assert curve.force[:, 2].max() <= 0.0
    if peak_down is not None:
        assert_allclose(-curve.force[:, 2].min(), peak_down, atol=0.006)
        assert_allclose(curve.peak_horizontal, np.hypot(3.54, 2.64 * np.cos(pi / 6)), rtol=3e-3)


def test_torque_of_a_cone_takes_the_local_radius():
    """Closed form, slot, d deep: mean torque = N / 2 of (Kte / cos theta) (d tan theta) d / 2, edge term alone."""
    curve = level(v_bit(flutes=1), slot(depth=2e-3), material=Coefficients(ktc=0.0, kte=2e3))
    assert_allclose(curve.mean_torque, 0.5 * 2e3 / np.cos(pi / 6) * 2e-3 * np.tan(pi / 6) * 2e-3 / 2, rtol=1e-3)


@pytest.mark.parametrize("helix", [Helix.STRAIGHT, Helix.UP])
def test_a_ball_in_a_slot_in_closed_form(helix):
    """Closed form over the quarter circle of edge, kappa 0 to pi / 2, edge terms alone.

    Torque N / 2 Kte R^2; down N / 2 R (Kre - Kae) as the normal goes down by cos and the axial part up by sin.
    """
    radius, flutes = 4e-3, 2
    tool = end_mill(kind=ToolKind.BALL_NOSE, flutes=flutes, helix=helix)
    curve = level(tool, slot(depth=radius), material=Coefficients(ktc=0.0, kte=2e3, kre=3e3, kae=1e3))
    lift = 1e3 if helix is Helix.UP else 0.0
    assert_allclose(curve.mean_torque, flutes / 2 * 2e3 * radius**2, rtol=2e-3)
    assert_allclose(curve.mean[2], -flutes / 2 * radius * (3e3 - lift), rtol=2e-3)


def test_the_axial_part_of_a_ball_runs_along_its_edge():
    """Closed form, Kae alone, up-cut: up by sin(kappa), outward by cos(kappa), which is N R Kae / pi forward."""
    tool = end_mill(kind=ToolKind.BALL_NOSE, flutes=2, helix=Helix.UP)
    curve = level(tool, slot(depth=4e-3), material=Coefficients(ktc=0.0, kae=1e3))
    assert_allclose(curve.mean, (2 * 4e-3 * 1e3 / pi, 0.0, 2 / 2 * 4e-3 * 1e3), atol=8e-3)


@pytest.mark.parametrize("helix", [Helix.UP, Helix.DOWN])
def test_the_edge_of_a_ball_leans_like_its_side(helix):
    """Second road: the torque of one edge by plain sums over kappa, each point trailing (or leading) by its height."""
    radius, sense = 4e-3, 1.0 if helix is Helix.UP else -1.0
    curve = level(end_mill(kind=ToolKind.BALL_NOSE, flutes=1, helix=helix), slot(depth=3e-3))
    kappa = (np.arange(4000) + 0.5) / 4000 * np.arccos(1 - 3e-3 / radius)
    lag = sense * radius * (1 - np.cos(kappa)) * np.tan(pi / 6) / radius
    for i in range(0, len(curve.angle), 7):
        phi = np.mod(curve.angle[i] - lag, 2 * pi)
        h = FZ * np.sin(phi) * np.sin(kappa)
        slices = (26e6 * h + 2.2e3) * (phi < pi) * radius * np.sin(kappa) * radius * kappa[-1] / 4000
        assert_allclose(curve.torque[i], slices.sum(), atol=2e-3 * curve.torque.max())


def test_a_plunging_cone_cuts_all_round_with_its_downward_feed():
    """Closed form: chip h = f sin(theta) / N all round; down N (Krc h + Kre) d tan(theta), sideways nothing."""
    tool, depth, feed = v_bit(flutes=3), 2e-3, 0.3e-3
    curve = milling_curve(tool, LOPSIDED, plunge(tool, depth=depth, through=False), feed=feed)
    h, theta = feed * np.sin(pi / 6) / 3, pi / 6
    assert_allclose(curve.force[:, 2], -3 * (7e6 * h + 3.1e3) * depth * np.tan(theta), rtol=1e-9)
    assert_allclose(curve.force[:, :2], 0.0, atol=1e-12)


@pytest.mark.parametrize(
    ("run_out", "expected"), [(0.0, (50, 50)), (0.02, (70, 30)), (0.05, (100, 0)), (0.5, (100, 0))]
)
def test_run_out_gives_one_tooth_more_but_never_more_than_all(run_out, expected):
    """min(fz + run-out, N fz): two flutes, 0.05 mm a tooth; all teeth together take the whole feed."""
    assert_allclose(chip_loads(0.1e-3, flutes=2, run_out=run_out / 1e3) * 1e6, expected, atol=1e-9)


def test_run_out_doubles_the_peak_where_one_tooth_does_all_the_work():
    """Straight flutes, slot, cutting terms alone: the peak doubles, the mean stays."""
    true, off = (
        level(end_mill(flutes=2, helix=Helix.STRAIGHT, run_out=e), slot(depth=3e-3), material=CUTTING)
        for e in (0.0, 1e-3)
    )
    assert_allclose(off.torque.max(), 2 * true.torque.max(), rtol=1e-3)
    assert_allclose(off.mean, true.mean, atol=1e-3 * true.peak_horizontal)


@given(
    depth=st.floats(1e-4, 30e-3),
    more=st.floats(1.0, 3.0),
    feed=st.floats(1e-6, 1e-3),
    share=st.floats(0.02, 1.0),
    helix=st.sampled_from([Helix.UP, Helix.STRAIGHT, Helix.DOWN]),
    direction=st.sampled_from(list(Direction)),
)
def test_more_feed_never_lowers_the_peak(depth, more, feed, share, helix, direction):
    """Every term grows with the chip, and at one angle all tangential parts add up in the torque."""
    tool = end_mill(helix=helix)
    engagement = side_cut(tool, width=share * 8e-3, depth=depth, direction=direction)
    less, greater = (level(tool, engagement, feed_per_tooth=f) for f in (feed, feed * more))
    assert greater.torque.max() >= less.torque.max() * (1 - 1e-9)
    assert greater.peak_horizontal >= less.peak_horizontal * (1 - 1e-9)


@given(depth=st.floats(1e-4, 30e-3), more=st.floats(1.0, 3.0), share=st.floats(0.02, 1.0))
def test_more_depth_never_lowers_the_torque(depth, more, share):
    """A deeper edge adds tangential force and takes none away. Tolerance: angles 2 degrees apart."""
    tool = end_mill()
    less, greater = (
        level(tool, side_cut(tool, width=share * 8e-3, depth=d, direction=Direction.CLIMB))
        for d in (depth, depth * more)
    )
    assert greater.torque.max() >= less.torque.max() * (1 - 3e-3)
    assert greater.mean_torque >= less.mean_torque * (1 - 3e-3)


def test_weights_are_shares_of_time():
    curve = level(end_mill(helix=Helix.STRAIGHT), Engagement(arcs=(Arc(entry=0.3, leave=2.1, low=1e-3, high=3e-3),)))
    assert_allclose(curve.weight.sum(), 1.0, rtol=1e-12)
    assert curve.weight.min() > 0.0
