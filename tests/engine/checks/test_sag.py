"""Sheets between holders, over pods and under suction: printed coefficients, closed forms, what shops see."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.engine.checks.jobs import area, band, checks, exact, job, material, named

from stillstock.engine.holding.methods.screw import Screw
from stillstock.engine.holding.methods.vacuum import Vacuum
from stillstock.engine.mechanics.beam import flattening_pressure


def test_stock_over_a_pod_sags_as_roark_prints():
    """Roark, table 11.4 case 1a, a / b = 1.4: alpha 0.0770; suction times the pod's effective area, 0.95 at most."""
    pod = Vacuum(area=area(0.05, 0.05, 0.19, 0.15), seal="gasket", pressure=exact(60e3, "pressure"))
    (check,) = named(checks(job("acrylic", (0.3, 0.2, 0.004), (pod,))), "pod_sag")
    modulus = material("acrylic").properties["modulus_along"].low
    assert_allclose(check.value, 0.0770 * 0.95 * 60e3 * 0.1**4 / (modulus * 0.004**3), rtol=1e-9)
    assert not check.ok


def test_a_porous_board_carries_the_stock_and_nothing_sags():
    board = Vacuum(area=area(0.05, 0.05, 0.19, 0.15), pressure=exact(60e3, "pressure"))
    assert named(checks(job("acrylic", (0.3, 0.2, 0.004), (board,))), "pod_sag") == []


def test_a_strip_over_a_gap_sags_between_a_clamped_and_a_supported_beam():
    """F L^3 / 192 E I with both ends clamped, F L^3 / 48 E I on supports: screws at the void's edges lie in between.

    Tolerance 12 % at the soft end: the model's places of support stand a little back from the void's edges.
    """
    gap, width = 0.4, 0.06
    void = area(0.3, -0.1, 0.3 + gap, 0.2)
    screws = tuple(Screw(at=(x, 0.03)) for x in (0.295, 0.705))
    set_up = job("aluminium 6061-t6", (1.0, width, 0.004), screws, voids=(void,))
    (check,) = named(checks(set_up, force=(0.0, 0.0, -5.0), at=(0.5, 0.03, 0.004)), "sag")
    supported = 5.0 * gap**3 / (48.0 * 69e9 * width * 0.004**3 / 12.0)
    assert supported / 4.0 < check.typical_ratio * check.limit < 1.12 * supported
    pressed_more = checks(set_up, force=(0.0, 0.0, -10.0), at=(0.5, 0.03, 0.004))
    assert named(pressed_more, "sag")[0].value > 1.5 * check.value


def test_screws_inside_keep_a_sheet_down_that_edge_screws_do_not():
    """Common practice, no source: a bowed sheet with screws round its edge alone stands off the bed in the middle."""
    edge = [(x, y) for x in (0.02, 0.52, 1.03, 1.5) for y in (0.02, 1.5)] + [
        (x, y) for x in (0.02, 1.5) for y in (0.5, 1.0)
    ]
    inside = [(x, y) for x in (0.5, 1.0) for y in (0.5, 1.02)]
    at = (0.76, 0.74, 0.012)
    loose, held = (
        checks(
            job("birch plywood", (1.525, 1.525, 0.012), tuple(Screw(at=p) for p in places), bow=0.003),
            force=(80.0, 0.0, 30.0),
            at=at,
        )
        for places in (edge, edge + inside)
    )
    assert named(held, "bow_left")[0].value < 0.5 * named(loose, "bow_left")[0].value
    assert named(held, "lift")[0].value < 0.5 * named(loose, "lift")[0].value


def test_stiff_flat_stock_is_no_sheet():
    found = checks(
        job("mdf", (0.3, 0.2, 0.018), (Screw(at=(0.02, 0.1)),)), force=(0.0, 0.0, 30.0), at=(0.2, 0.1, 0.018)
    )
    assert not {check.name for check in found} & {"lift", "sag", "bow_left"}


def test_suction_that_flattens_a_bow_as_worked():
    """18 mm MDF of 3 GPa, 5 mm over 1.2 m: 0.27 kPa, worked by hand; here with the shorter side, which is stiffer."""
    assert_allclose(flattening_pressure(0.005, span=1.2, modulus=3e9, thickness=0.018), 270.0, rtol=1e-2)
    sheet = job("mdf", (1.2, 0.8, 0.018), (Vacuum(pressure=band(10e3, 20e3, 30e3, "pressure")),), bow=0.005)
    (check,) = named(checks(sheet), "pull_down")
    assert_allclose(check.typical_ratio * 20e3, 270.0 * 1.5**4, rtol=1e-2)
    assert check.ok


@pytest.mark.parametrize("pressure", [2e3, 20e3])
def test_more_suction_leaves_less_bow(pressure):
    weak, strong = (
        named(checks(job("mdf", (1.2, 0.8, 0.018), (Vacuum(pressure=exact(p, "pressure")),), bow=0.004)), "bow_left")[0]
        for p in (pressure, 2.0 * pressure)
    )
    assert strong.value <= weak.value + 1e-6
    assert strong.value < 0.004


def test_a_sheet_that_nothing_holds_is_the_margins_affair():
    found = checks(job("mdf", (0.6, 0.4, 0.006), ()), force=(0.0, 0.0, 500.0), at=(0.1, 0.1, 0.006))
    assert named(found, "lift") == []


def test_bow_alone_is_told_without_any_load():
    found = checks(job("birch plywood", (0.8, 0.5, 0.009), (), bow=0.004))
    (left,) = named(found, "bow_left")
    assert 0.0 < left.value <= 0.004
    assert np.isfinite(left.typical_ratio)
