"""Peel, seating, flatness, jaw lift, vacuum, power and arms: closed forms and what shops see."""

import numpy as np
import pytest
from anastruct import SystemElements  # type: ignore[attr-defined]
from numpy.testing import assert_allclose
from tests.engine.checks.jobs import TABLES, area, band, checks, exact, job, material, named

from stillstock.engine.checks.flatness import inlay_gap, line_growth
from stillstock.engine.checks.vacuum import area_needed
from stillstock.engine.holding.methods.film_tape import FilmTape
from stillstock.engine.holding.methods.foam_tape import FoamTape
from stillstock.engine.holding.methods.stop import Stop
from stillstock.engine.holding.methods.strap_clamp import StrapClamp
from stillstock.engine.holding.methods.vacuum import Vacuum
from stillstock.engine.holding.methods.vise import Vise
from stillstock.engine.set_up import Cut, CutKind, Direction, Machine, Tool, ToolKind

FACE = area(0.0, 0.0, 0.3, 0.2)


def peeled(tape, at, *, thickness=0.003, lift=4.0):
    found = checks(job("acrylic", (0.3, 0.2, thickness), (tape,)), force=(9.0, 0.0, lift), at=(*at, thickness))
    return named(found, "peel")


def test_lift_in_the_middle_pulls_as_a_plate_on_springs():
    """F / 8 l^2, l^4 = D / k (Westergaard, interior); k = 3 G / t at its stiff end, D at its soft one."""
    (check,) = peeled(FilmTape(area=FACE), (0.13, 0.09))
    modulus = material("acrylic").properties["modulus_along"].low
    stiff = 3.0 * 0.2e6 / 0.0002
    length = (modulus * 0.003**3 / 12.0 / 0.91 / stiff) ** 0.25
    assert_allclose(check.value, 4.0 / (8.0 * length**2), rtol=1e-9)


def test_tape_peels_first_at_corners_then_at_edges():
    """Common practice, no source: lift at a corner is what starts a peel."""
    tape = FilmTape(area=FACE)
    middle, edge, corner = (peeled(tape, at)[0].value for at in ((0.13, 0.09), (0.3, 0.09), (0.3, 0.2)))
    assert corner > 2.0 * edge > 4.0 * middle


def test_overhang_pries():
    short, long = (peeled(FilmTape(area=area(0, 0, x, 0.2)), (0.29, 0.1))[0].value for x in (0.29, 0.25))
    assert long > 1.5 * short


def test_a_stiff_block_and_a_pressing_tool_do_not_peel():
    assert peeled(FilmTape(area=area(0.1, 0.1, 0.15, 0.15)), (0.13, 0.12), thickness=0.04) == []
    assert peeled(FilmTape(area=FACE), (0.13, 0.09), lift=-4.0) == []


def test_bowed_stock_creeps_off_its_foam_tape():
    """Spring-back of a strip, 6.4 E t^3 d / L^4 along the shorter side, against 1 kPa for hours (supplier pages)."""
    (check,) = named(
        checks(job("mdf", (0.6, 0.4, 0.012), (FoamTape(area=area(0, 0, 0.6, 0.4)),), bow=0.002)), "tape_creep"
    )
    assert_allclose(check.value, 6.4 * 3.8e9 * 0.012**3 * 0.002 / 0.4**4, rtol=1e-9)
    assert not check.ok
    flat = checks(job("mdf", (0.6, 0.4, 0.012), (FoamTape(area=area(0, 0, 0.6, 0.4)),)))
    assert named(flat, "tape_creep") == []


def test_seating_asks_a_kilonewton_for_a_square_decimetre():
    """100 kPa on 100 x 100 mm is 1 kN (tape suppliers' rule); a hand presses place after place, thick stock not."""
    tape = FilmTape(area=area(0.0, 0.0, 0.1, 0.1))
    thin, thick = (named(checks(job("mdf", (0.1, 0.1, t), (tape,))), "seating")[0] for t in (0.006, 0.06))
    assert thin.numbers == ((pytest.approx(1000.0), "force"),)
    assert thin.ok
    assert not thick.ok
    assert_allclose(thick.value, 1000.0, rtol=1e-9)


def test_line_width_follows_the_height():
    """2 dz tan(half angle): 1.2 mm is 1.4 mm with 60 degrees, 0.15 mm is 0.08 mm with 30 (worked by hand)."""
    assert_allclose(line_growth(1.2e-3, tip_angle=np.pi / 3), 1.386e-3, rtol=1e-3)
    assert_allclose(line_growth(0.15e-3, tip_angle=np.pi / 6), 0.0804e-3, rtol=1e-3)


def engraved(*, tool=ToolKind.V_BIT, **more):
    bit = Tool(number=4, kind=tool, diameter=0.012, tip_angle=np.pi / 6)
    cut = Cut(
        name="letters", kind=CutKind.ENGRAVE, tool=4, width=0.002, depth=0.002, feed=0.02, speed=1800.0,
        direction=Direction.CLIMB, path=np.array([(0.1, 0.1, 0.01), (0.2, 0.1, 0.01)]),
    )  # fmt: skip
    return job("black walnut", (0.2, 0.15, 0.012), (), tools={4: bit}, cuts=(cut,), **more)


def test_uneven_height_is_told_where_a_v_bit_cuts():
    """0.3 + 0.4 mm with 15 degrees a side; the stroke's place nearest to the middle of the stock, (0.1, 0.075)."""
    (check,) = named(checks(engraved(thickness=(0.0119, 0.0122), error=0.0004)), "flatness")
    assert_allclose(check.value, 2.0 * 0.0007 * np.tan(np.pi / 12), rtol=1e-9)
    assert_allclose(check.typical_ratio * check.limit, 2.0 * 0.0005 * np.tan(np.pi / 12), rtol=1e-9)
    assert_allclose(check.at, (0.1, 0.1, 0.01), atol=1e-9)
    assert "(letters)" in check.detail
    assert named(checks(engraved(tool=ToolKind.END_MILL, error=0.0004)), "flatness") == []
    assert named(checks(engraved()), "flatness") == []


def test_uneven_height_is_told_in_width_and_fit():
    """0.15 mm with 15 degrees a side, by hand: tan 15 = 0.26795; 0.0804 mm over both walls, 0.0402 mm at each."""
    (check,) = named(checks(engraved(error=0.00015)), "flatness")
    told = {effect.name: effect.value for effect in check.effects}
    assert_allclose(told["height_error"], 0.15e-3, rtol=1e-9)
    assert_allclose(told["line_width"], 0.0804e-3, rtol=1e-3)
    assert_allclose(told["inlay_gap"], 0.0402e-3, rtol=1e-3)
    assert {effect.dimension for effect in check.effects} == {"length"}


def test_the_walls_of_a_tilted_groove_stand_aside_as_the_inlays_gap_says():
    """A wall that leans by half the angle through (x, 0), drawn dz higher: where the two lines meet a level."""
    lean, dz, level = np.pi / 12, 0.15e-3, -0.5e-3
    meant, cut = level * np.tan(lean), (level - dz) * np.tan(lean)
    assert_allclose(inlay_gap(dz, tip_angle=2.0 * lean), meant - cut, rtol=1e-9)


def test_a_crown_spoils_a_carved_sign():
    """Common practice, no source: a 38 mm softwood sign with 1.2 mm of crown, held at its ends, is not flat."""
    clamps = tuple(StrapClamp(at=(x, y), torque=2.0) for x in (0.015, 0.885) for y in (0.1, 0.35))
    bit = Tool(number=2, kind=ToolKind.V_BIT, diameter=0.02, tip_angle=np.pi / 3)
    cut = Cut(
        name="carve", kind=CutKind.ENGRAVE, tool=2, width=0.006, depth=0.005, feed=0.05, speed=1800.0,
        direction=Direction.CLIMB, path=np.array([(0.1, 0.1, 0.035), (0.8, 0.1, 0.035), (0.8, 0.35, 0.035)]),
    )  # fmt: skip
    sign = job("ponderosa pine", (0.9, 0.45, 0.038), clamps, bow=0.0012, tools={2: bit}, cuts=(cut,))
    (check,) = named(checks(sign, force=(40.0, 0.0, 10.0), at=(0.4, 0.2, 0.038)), "flatness")
    assert not check.ok
    assert 0.3e-3 < check.value <= 1.4e-3
    assert check.at is not None
    assert abs(check.at[0] - 0.45) < 0.05
    assert check.at[1] == pytest.approx(0.1)


def test_a_plain_jaw_lifts_more_than_one_that_pulls_down():
    """0.02 to 0.15 mm against 0.005 to 0.02: common practice, no source."""
    plain, pulling = (
        named(
            checks(job("aluminium 6061-t6", (0.08, 0.06, 0.03), (Vise(at=(0.0, 0.03), faces="+x", seated=s),))),
            "jaw_lift",
        )[0]
        for s in (False, True)
    )
    assert plain.value == pytest.approx(0.15e-3)
    assert pulling.value == pytest.approx(0.02e-3)


def test_smallest_part_as_worked():
    """50 N, factor 2.5, mu 0.3, 20 kPa: 208 cm2; a maker's rule of 500 cm2 is then 120 N. Worked by hand."""
    assert_allclose(area_needed(50.0 * 2.5, mu=0.3, vacuum=20e3), 0.0208, rtol=2e-3)
    assert_allclose(area_needed(120.0 * 2.5, mu=0.3, vacuum=20e3), 0.0500, rtol=1e-9)


def test_a_full_sheet_holds_under_vacuum_and_a_small_part_on_it_does_not():
    """Common practice, no source: rails of 60 x 400 mm on 30 kPa slide where the sheet stays."""
    suction = Vacuum(pressure=band(25e3, 30e3, 35e3, "pressure"))
    whole, rail = (
        named(checks(job("mdf", size, (suction,)), force=(350.0, 0, 0), at=(0.03, 0.02, 0.018)), "smallest_part")[0]
        for size in ((2.44, 1.22, 0.018), (0.4, 0.06, 0.018))
    )
    assert whole.ok
    assert not rail.ok
    stopped = job("mdf", (0.4, 0.06, 0.018), (suction, Stop(at=(0.4, 0.03), faces="-x")))
    assert named(checks(stopped, force=(350.0, 0, 0), at=(0.03, 0.02, 0.018)), "smallest_part") == []


def test_vacuum_that_kerfs_take_away_is_told():
    tight, nest = (
        named(checks(job("mdf", (1.2, 0.8, 0.018), (Vacuum(pump="regenerative_blower", kerf=kerf),))), "vacuum")[0]
        for kerf in (0.5, 60.0)
    )
    assert nest.value > tight.value > 0.0
    assert "before the first cut" in nest.detail
    gauge = Vacuum(pressure=exact(20e3, "pressure"), kerf=60.0)
    assert named(checks(job("mdf", (1.2, 0.8, 0.018), (gauge,))), "vacuum") == []


def test_arm_bends_as_a_frame_library_says():
    """Bending moment at the bolt of an arm on toe and heel, by a general frame library; section (w - slot) h^2 / 6."""
    clamp = StrapClamp(
        at=(0.02, 0.1), preload=exact(1700.0), arm="pom", toe_reach=0.025, heel_reach=0.055, arm_height=0.014
    )
    (check,) = named(checks(job("mdf", (0.3, 0.2, 0.018), (clamp,))), "arm")
    frame = SystemElements()
    frame.add_element(location=[[0, 0], [25, 0]])
    frame.add_element(location=[[25, 0], [80, 0]])
    frame.add_support_hinged(node_id=1)
    frame.add_support_roll(node_id=3, direction="x")
    frame.point_load(node_id=2, Fy=-1700.0)
    frame.solve()
    moments = [abs(frame.get_element_results(element_id=e, verbose=False)[m]) for e in (1, 2) for m in ("Mmin", "Mmax")]
    stress = max(moments) * 1e-3 / ((clamp.arm_width - clamp.slot) * 0.014**2 / 6.0)
    assert_allclose(check.value, stress, rtol=1e-6)


def test_a_cut_beyond_the_spindle_is_told():
    """One pass through 18 mm of chipboard with a 10 mm cutter at 12 m/min takes kilowatts: common practice."""
    tool = Tool(number=1, kind=ToolKind.END_MILL, diameter=0.01)
    cut = Cut(
        name="nest", kind=CutKind.SLOT, tool=1, width=0.01, depth=0.018, feed=0.2, speed=1885.0,
        direction=Direction.CLIMB, path=np.array([(0.1, 0.1, 0.0), (0.9, 0.1, 0.0)]),
    )  # fmt: skip
    small, large = (
        named(
            checks(job("mdf", (1.2, 0.8, 0.018), (), tools={1: tool}, cuts=(cut,), machine=Machine(spindle_power=p))),
            "spindle_power",
        )[0]
        for p in (800.0, 12e3)
    )
    assert not small.ok
    assert large.ok
    unknown = checks(job("mdf", (1.2, 0.8, 0.018), (), tools={1: tool}, cuts=(cut,)))
    assert named(unknown, "spindle_power") == []


def test_every_check_names_a_source_of_the_tables():
    holders = (
        FilmTape(area=area(0.02, 0.02, 0.2, 0.3)),
        Vacuum(area=area(0.3, 0.02, 0.5, 0.3), seal="gasket", pump="venturi"),
        StrapClamp(at=(0.58, 0.2), torque=2.0),
    )
    found = checks(job("acrylic", (0.6, 0.4, 0.006), holders, bow=0.001), force=(20.0, 5.0, 9.0), at=(0.1, 0.1, 0.006))
    assert len({check.name for check in found}) > 8
    for check in found:
        assert check.source == "caller" or check.source in TABLES.sources, check
        assert check.detail
        assert np.isfinite([check.value, check.limit, check.typical_ratio]).all()
