"""Loads on one piece of the stock: stretches cut to where the tool is at it."""

import numpy as np
from numpy.testing import assert_allclose
from shapely.geometry import box

from stillstock.engine.cutting.job_sweep import Places, joined
from stillstock.engine.cutting.part_loads import loads_within
from stillstock.engine.mechanics.sweep import Fan

FAN = Fan(force=np.array([[1.0, 0.0, 0.0]]), couple=np.zeros((1, 3)))
AREA = box(0.2, 0.1, 0.4, 0.3)


def places(*tips, move=0, height=0.01):
    tip = np.array(tips, dtype=float)
    count = len(tip)
    return Places(
        fan=FAN,
        height=height,
        tip=tip,
        heading=np.zeros(count),
        cut=np.full(count, -1),
        line=np.full(count, 7 + move),
        move=np.full(count, move),
        stretch=np.zeros(count, dtype=np.int64),
    )


def within(*parts, wanted=None):
    loads = joined(parts)
    return loads_within(loads, np.ones(len(loads), dtype=bool) if wanted is None else wanted, AREA)


def test_a_stretch_that_passes_is_cut_to_the_area():
    """By hand: y = 0.2 crosses from x 0.2 to 0.4; z falls by 0.01 over 1 m, so 8 and 6 mm are left at the two ends."""
    found = within(places((0.0, 0.2, 0.01), (1.0, 0.2, 0.0)))
    assert_allclose(found.tip, [(0.2, 0.2, 0.008), (0.4, 0.2, 0.006)])
    assert_allclose(found.sweep.point - found.tip, [(0.0, 0.0, 0.01)] * 2)
    assert found.line.tolist() == [7, 7]


def test_backwards_and_into_the_area():
    found = within(places((1.0, 0.2, 0.0), (0.3, 0.2, 0.0)))
    assert_allclose(found.tip[:, 0], [0.4, 0.3])


def test_what_passes_by_stops_before_or_is_not_wanted_is_left_out():
    parts = [
        places((0.0, 0.05, 0.0), (1.0, 0.05, 0.0)),
        places((0.0, 0.2, 0.0), (0.1, 0.2, 0.0), move=1),
        places((0.3, 0.2, 0.0), (0.3, 0.25, 0.0), move=2),
    ]
    assert within(*parts).move.tolist() == [2, 2]
    assert len(within(*parts, wanted=np.zeros(6, dtype=bool))) == 0


def test_a_load_at_a_point_counts_if_it_lies_within():
    inside, outside = (0.3, 0.2, 0.0), (0.5, 0.2, 0.0)
    assert_allclose(within(places(inside)).tip, [inside])
    assert len(within(places(outside))) == 0
    plunge = within(places(inside, (0.3, 0.2, -0.01)), places(outside, move=1))
    assert_allclose(plunge.tip, [inside, (0.3, 0.2, -0.01)])


def test_what_was_cut_to_an_area_before_stays_in_it_load_by_load():
    once = within(places((0.0, 0.2, 0.01), (1.0, 0.2, 0.0)))
    alone = [places(tuple(tip), move=k) for k, tip in enumerate(once.tip)]
    assert_allclose(within(*alone).tip, once.tip)


def test_a_hollow_area_is_spanned_from_its_first_side_to_its_last():
    """A U-shaped part: between its arms the load counts as well, which is the safe side."""
    u = box(0.0, 0.0, 0.5, 0.5).difference(box(0.2, 0.2, 0.3, 0.5))
    loads = joined([places((-1.0, 0.4, 0.0), (1.0, 0.4, 0.0))])
    found = loads_within(loads, np.ones(2, dtype=bool), u)
    assert_allclose(found.tip[:, 0], [0.0, 0.5], atol=1e-12)
