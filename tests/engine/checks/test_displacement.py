"""How far stock gives way: worked give of tape, closed forms of springs, what shops see."""

import numpy as np
from numpy.testing import assert_allclose
from tests.engine.checks.jobs import area, checks, exact, job, named

from stillstock.engine.holding.methods.film_tape import FilmTape
from stillstock.engine.holding.methods.foam_tape import FoamTape
from stillstock.engine.holding.methods.side_clamp import SideClamp
from stillstock.engine.holding.methods.stop import Stop
from stillstock.engine.holding.methods.strap_clamp import StrapClamp

PATCH = area(0.03, 0.05, 0.08, 0.10)
CENTER = (0.055, 0.075, 0.0)


def taped(tape, size=(0.11, 0.15, 0.02)):
    return job("mdf", size, (tape,))


def test_give_of_foam_tape_as_worked():
    """50 N on 50 x 50 mm of 1.1 mm foam at G = 0.1 MPa: F t / (G A) = 0.22 mm; 0.2 mm film 0.04 mm. Worked by hand.

    The force lies in the tape's own plane, so that nothing tips.
    """
    for tape, expected in ((FoamTape(area=PATCH, thickness=0.0011), 0.22e-3), (FilmTape(area=PATCH), 0.04e-3)):
        (check,) = named(checks(taped(tape), force=(50.0, 0.0, 0.0), at=CENTER), "displacement")
        assert_allclose(check.typical_ratio * check.limit, expected, rtol=1e-9)


def test_soft_end_of_the_tape_counts_and_teeth_find_it_stiff():
    found = checks(taped(FoamTape(area=PATCH, thickness=0.0011)), force=(50.0, 0.0, 0.0), at=CENTER)
    (slow,), (fast,) = named(found, "displacement"), named(found, "displacement_at_tooth_rate")
    assert_allclose(slow.value, 50.0 * 0.0011 / (0.03e6 * 0.0025), rtol=1e-9)
    assert_allclose(fast.value, 50.0 * 0.0011 / (0.5e6 * 0.0025), rtol=1e-9)


def test_foam_tape_gives_several_times_what_film_gives():
    """Common practice, no source. Both at their usual thickness, same area, same cut high over the tape."""
    foam, film = (
        named(checks(taped(tape), force=(40.0, -25.0, 8.0), at=(0.02, 0.12, 0.02)), "displacement")[0].typical_ratio
        for tape in (FoamTape(area=PATCH), FilmTape(area=PATCH))
    )
    assert foam > 3.0 * film


def test_a_high_tool_tips_the_tape():
    """Tip of a taped block under F at height h: h^2 F / (k_n b L^3 / 12) on top of F / (k_s b L), k_n = 3 G / t."""
    height, force, g, t = 0.02, 50.0, 0.1e6, 0.0011
    (check,) = named(
        checks(taped(FoamTape(area=PATCH, thickness=t)), force=(0.0, force, 0.0), at=(0.055, 0.075, height)),
        "displacement",
    )
    sideways = force / (g / t * 0.0025)
    tip = force * height / (3.0 * g / t * 0.05**4 / 12.0)
    assert_allclose(check.typical_ratio * check.limit, sideways + tip * height, rtol=1e-9)


def test_a_stop_stiffens_only_what_comes_towards_it():
    tape = FoamTape(area=PATCH)
    stop = Stop(at=(0.11, 0.075), faces="-x")
    away, towards = (
        named(checks(job("mdf", (0.11, 0.15, 0.02), (tape, stop)), force=(push, 0, 0), at=CENTER), "displacement")[0]
        for push in (-50.0, 50.0)
    )
    (bare,) = named(checks(taped(tape), force=(50.0, 0.0, 0.0), at=CENTER), "displacement")
    assert_allclose(away.value, bare.value, rtol=1e-6)
    assert towards.value < 0.2 * bare.value


def test_more_tape_never_gives_more():
    small, large = (
        named(checks(taped(FilmTape(area=patch)), force=(30.0, 20.0, 9.0), at=(0.1, 0.02, 0.02)), "displacement")[0]
        for patch in (PATCH, area(0.01, 0.02, 0.1, 0.14))
    )
    assert large.value < small.value


def test_clamped_stock_barely_moves_and_unheld_stock_is_not_judged():
    """Common practice, no source: clamped on a board stock gives hundredths of a millimetre."""
    clamps = tuple(StrapClamp(at=(x, 0.07), torque=3.0) for x in (0.02, 0.28))
    (held,) = named(
        checks(job("mdf", (0.3, 0.15, 0.018), clamps), force=(100.0, 60, 20), at=(0.15, 0.1, 0.018)), "displacement"
    )
    assert 1e-7 < held.value < 0.1e-3
    side = (SideClamp(at=(0.0, 0.07), pushes="+x", force=exact(300.0)), Stop(at=(0.3, 0.07), faces="-x"))
    loose = checks(job("mdf", (0.3, 0.15, 0.018), side), force=(0.0, 60, 20), at=(0.15, 0.1, 0.018))
    assert named(loose, "displacement") == []


def test_the_limit_is_the_callers_if_stated():
    stated = job("mdf", (0.11, 0.15, 0.02), (FilmTape(area=PATCH),), tolerance=5e-5)
    (check,) = named(checks(stated, force=(50.0, 0.0, 0.0), at=CENTER), "displacement")
    assert (check.limit, check.source) == (5e-5, "caller")
    assert not check.ok
    assert np.isclose(check.typical_ratio, 0.8)
