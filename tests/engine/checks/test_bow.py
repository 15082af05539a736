"""Squeezed stock: closed forms, what shops see, and what more squeeze can never help."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.engine.checks.jobs import TABLES, checks, exact, job, material, named

from stillstock.engine.holding.methods.side_clamp import SideClamp
from stillstock.engine.holding.methods.stop import Stop
from stillstock.engine.holding.methods.strap_clamp import StrapClamp
from stillstock.engine.holding.methods.vise import Vise


def squeezed(size, *, push, grain, height=0.002, stop=None, bow=0.0, extra=(), key="sugar maple"):
    holders = (
        SideClamp(at=(0.0, 0.43 * size[1]), pushes="+x", force=exact(push), height=height),
        Stop(at=(size[0], 0.43 * size[1]), faces="-x", height=stop or 2.0 * height),
        *extra,
    )
    return job(key, size, holders, grain=grain, bow=bow)


def test_panel_across_the_grain_buckles_at_the_worked_load():
    """Maple 6 mm thick, 100 mm wide, 200 mm across its grain: pi^2 E I / L^2, a wide strip by 1 - nu^2 stiffer.

    Tolerance: none needed; the strip is as wide as the panel, for 30 degrees to each side reach 115 mm.
    """
    (buckling,) = named(checks(squeezed((0.2, 0.1, 0.006), push=50.0, grain=np.pi / 2)), "buckling")
    modulus = material("sugar maple").properties["modulus_across"].low
    width = 0.057 + 0.043  # to both sides of the tip, cut by the panel's edges
    expected = np.pi**2 * modulus / 0.91 * width * 0.006**3 / 12.0 / 0.2**2
    assert_allclose(buckling.limit, expected, rtol=2e-2)


def test_push_below_the_middle_bows_as_the_secant_formula():
    """y = e (sec(pi/2 sqrt(P / P_E)) - 1) with e = 3 - 2 mm, reckoned from the check's own share."""
    found = checks(squeezed((0.2, 0.1, 0.006), push=60.0, grain=np.pi / 2))
    (share,), (bow,) = named(found, "squeeze"), named(found, "bow")
    assert_allclose(bow.value, 0.001 * (1.0 / np.cos(np.pi / 2 * np.sqrt(share.value)) - 1.0), rtol=1e-9)
    assert "middle rises" in bow.detail
    (above,) = named(checks(squeezed((0.2, 0.1, 0.006), push=60.0, grain=np.pi / 2, height=0.004)), "bow")
    assert "ends rise" in above.detail


def test_a_hard_side_clamp_bows_a_long_thin_panel_and_not_a_small_stiff_block():
    """Common practice, no source: the same screw clamp on both."""
    panel = checks(squeezed((0.6, 0.12, 0.009), push=1500.0, grain=np.pi / 2, key="mdf"))
    block = checks(squeezed((0.12, 0.1, 0.04), push=1500.0, grain=np.pi / 2, height=0.015, key="mdf"))
    assert not named(panel, "buckling")[0].ok
    assert named(block, "buckling")[0].ok
    assert named(block, "squeeze")[0].ok
    assert named(block, "bow")[0].ok


def test_grain_along_the_squeeze_makes_it_many_times_stiffer():
    """The maple's own moduli, 12.6 and 0.82 GPa typically (Wood Handbook, from memory)."""
    along, across = (
        named(checks(squeezed((0.2, 0.1, 0.006), push=50.0, grain=grain)), "squeeze")[0].typical_ratio
        for grain in (0.0, np.pi / 2)
    )
    assert_allclose(across / along, 12.6 / 0.82, rtol=1e-6)


def test_a_clamp_in_the_middle_shortens_what_can_bow():
    toe = StrapClamp(at=(0.15, 0.043), torque=1.0, toe=(0.02, 0.02))
    free, held = (
        named(checks(squeezed((0.3, 0.1, 0.006), push=50.0, grain=0.0, extra=extra)), "squeeze")[0]
        for extra in ((), (toe,))
    )
    assert_allclose(free.value / held.value, (0.3 / 0.14) ** 2, rtol=1e-9)


def test_a_vise_squeezes_too():
    """A vise of 15 kN typically on a thin plate on edge makes it spring out."""
    plate = job("pom", (0.1, 0.12, 0.004), (Vise(at=(0.0, 0.06), faces="+x", grip=0.003),))
    assert not named(checks(plate), "buckling")[0].ok


@settings(max_examples=40, deadline=None)
@given(
    push=st.floats(1.0, 3000.0), more=st.floats(0.0, 3000.0), height=st.floats(0.001, 0.011), bow=st.floats(0, 0.002)
)
def test_more_preload_never_lowers_crush_squeeze_or_bow(push, more, height, bow):
    """Law. A bow that is no longer told has become a buckling that fails."""
    size = (0.25, 0.11, 0.012)
    less, harder = (checks(squeezed(size, push=p, grain=0.4, height=height, bow=bow)) for p in (push, push + more))
    for name in ("crush", "squeeze", "buckling"):
        assert named(harder, name)[0].ratio >= named(less, name)[0].ratio * (1 - 1e-12)
    if named(harder, "bow"):
        assert named(harder, "bow")[0].value >= named(less, "bow")[0].value * (1 - 1e-12)
    else:
        assert not named(harder, "buckling")[0].ok


def test_stock_of_unknown_modulus_is_left_out():
    """Sheathing plywood has no modulus across its grain in the tables: nothing is said rather than guessed."""
    assert "modulus_across" not in material("softwood plywood").properties
    assert TABLES.material("softwood plywood") is not None
    found = checks(squeezed((0.2, 0.1, 0.006), push=50.0, grain=0.0, key="softwood plywood"))
    assert named(found, "buckling") == []


@pytest.mark.parametrize("grain", [0.0, 0.3, 1.2])
def test_turning_the_whole_set_up_changes_nothing(grain):
    """Law: the same panel squeezed along y with its grain turned too."""
    size = (0.25, 0.11, 0.006)
    along_x = checks(squeezed(size, push=50.0, grain=grain))
    turned = job(
        "sugar maple",
        (0.11, 0.25, 0.006),
        (
            SideClamp(at=(0.11 - 0.43 * 0.11, 0.0), pushes="+y", force=exact(50.0), height=0.002),
            Stop(at=(0.11 - 0.43 * 0.11, 0.25), faces="-y", height=0.004),
        ),
        grain=grain + np.pi / 2,
    )
    for name in ("squeeze", "buckling", "bow"):
        assert_allclose(named(checks(turned), name)[0].value, named(along_x, name)[0].value, rtol=1e-9)
