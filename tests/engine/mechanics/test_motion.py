"""The motion with which a slab lets go, named."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.engine.holding.grips import grip
from tests.engine.holding.slabs import (
    LONG,
    MIDDLE,
    THICK,
    WIDE,
    X0,
    Y0,
    Z0,
    at,
    capacity_of,
    clamp,
    factor,
    gathered,
    screw,
    stop,
    suction,
    ways_of,
    weight,
)

from stillstock.engine.holding.contacts import Contacts
from stillstock.engine.mechanics.motion import LetGo, Motion, let_go
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.set_up import FloatArray

CORNERS = np.array([(X0 + x, Y0 + y, Z0 + z) for x in (0.0, LONG) for y in (0.0, WIDE) for z in (0.0, THICK)])


def motion_of(contacts: Contacts, load: FloatArray) -> LetGo:
    ways = ways_of(contacts)
    worst = capacity_of(ways).at(load)
    return let_go(grip(contacts).motion((ways[worst.way].name, worst.system), load), corners=CORNERS)


#: What slides as a whole when pushed through the middle, and by how much it may read off. [deg]
SLIDING = {
    "weight": (gathered(weight(20.0, 0.15, 0.1)), 0.01),
    "weight a little aside": (gathered(weight(20.0, 0.16, 0.105)), 0.01),
    "suction": (gathered(suction(2e4)), 0.01),
    "clamps": (gathered(clamp(400.0, 0.1, 0.1), clamp(400.0, 0.2, 0.1, holder=1)), 0.01),
    "screws": (gathered(screw(0.1, 0.05, preload=0.0), screw(0.2, 0.15, preload=0.0, holder=1)), 1.0),
}


@pytest.mark.parametrize("hold", sorted(SLIDING))
@settings(max_examples=8, deadline=None, derandomize=True)
@given(angle=st.one_of(st.sampled_from([0.0, np.pi / 16.0, np.pi / 2.0]), st.floats(0.0, 2.0 * np.pi)))
def test_a_push_low_down_slides_the_slab_along_it(hold, angle):
    """Friction is the same in all directions: it goes where it is pushed, and does not drift or turn.

    Screws that all reach their limit at once leave open about which of them the slab starts to turn.
    """
    contacts, off = SLIDING[hold]
    x, y = (0.16, 0.105) if hold.endswith("aside") else (0.15, 0.1)
    push = np.array([np.cos(angle), np.sin(angle), 0.0])
    found = motion_of(contacts, wrench(at(x, y, 0.0), push))
    assert found.kind is Motion.SLIDE
    assert found.pivot is None
    assert found.direction[2] == 0.0
    assert np.dot(found.direction, push) >= np.cos(np.radians(off))
    if hold != "screws":
        assert_allclose(found.twist[5] * LONG, 0.0, atol=np.radians(off))


def test_the_factor_of_a_polygon_is_never_read_from_the_finer_one():
    """Pushed at half a side from a corner, 16 sides give mu W cos(pi / 16); the motion's 64 sides must not raise it."""
    push = np.array([np.cos(np.pi / 16.0), np.sin(np.pi / 16.0), 0.0])
    held = factor(gathered(weight(20.0, 0.15, 0.1)), wrench(at(0.15, 0.1, 0.0), push))
    assert_allclose(held, 0.3 * 20.0 * np.cos(np.pi / 16.0), rtol=1e-9)


def test_a_slab_between_two_stops_in_front_slides_along_them():
    """Pushed against two smooth stops at 17 degrees to their line, it can only go along it."""
    stops = [
        stop(at(LONG, y, 0.009), (-1.0, 0.0, 0.0), mu=0.0, group="-x", holder=h) for h, y in ((1, 0.03), (2, 0.17))
    ]
    push = wrench(at(0.15, 0.1, 0.0), (np.cos(0.3), np.sin(0.3), 0.0))
    found = motion_of(gathered(weight(20.0, 0.15, 0.1), *stops), push)
    assert found.kind is Motion.SLIDE
    assert_allclose(found.direction, (0.0, 1.0, 0.0), atol=1e-9)


def test_the_same_load_reads_the_same_motion_twice():
    held, load = gathered(weight(20.0, 0.16, 0.105)), wrench(at(0.1, 0.03, 0.0), (0.8, 0.6, 0.0))
    assert motion_of(held, load).twist.tobytes() == motion_of(held, load).twist.tobytes()


def test_suction_overcome_at_its_middle_lifts():
    found = motion_of(gathered(suction(2e4)), wrench(MIDDLE, (0.0, 0.0, 1.0)))
    assert found.kind is Motion.LIFT
    assert_allclose(found.direction, (0.0, 0.0, 1.0))


@pytest.mark.parametrize(("x", "axis", "edge"), [(LONG, (0.0, -1.0, 0.0), X0), (0.0, (0.0, 1.0, 0.0), X0 + LONG)])
def test_a_lift_at_one_end_tips_it_about_the_other(x, axis, edge):
    """Right-hand rule: about -y the side at greater x rises. The pivot lies on the edge that stays down."""
    found = motion_of(gathered(weight(20.0, 0.14, 0.1)), wrench(at(x, 0.1, THICK), (0.0, 0.0, 1.0)))
    assert found.kind is Motion.TIP
    assert_allclose(found.direction, axis, atol=1e-9)
    assert found.pivot is not None
    assert_allclose([found.pivot[0], found.pivot[2]], [edge, Z0], atol=1e-6)


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_a_couple_twists_the_slab_about_the_middle_of_what_holds_it(turn):
    """Own weight spread evenly: the axis stands near its middle, and turns as the couple does.

    A polygon has corners, so axes within a small region serve equally: a fortieth of the length.
    """
    found = motion_of(gathered(weight(20.0, LONG / 2, WIDE / 2)), np.array([0.0, 0.0, 0.0, 0.0, 0.0, turn]))
    assert found.kind is Motion.TWIST
    assert_allclose(found.direction, (0.0, 0.0, turn))
    assert found.pivot is not None
    assert_allclose(found.pivot[:2], MIDDLE[:2], atol=LONG / 40.0)


def test_a_stopped_slab_twists_about_its_stop():
    """Pushed along +x beside a single smooth stop at y = 0.06, it turns so that its free side goes ahead.

    The push at y = 0.15, farther to the left of the stop: the slab turns clockwise seen from above, about -z.
    """
    held = gathered(weight(20.0, 0.15, 0.1), stop(at(LONG, 0.06, 0.009), (-1.0, 0.0, 0.0), mu=0.0))
    found = motion_of(held, wrench(at(0.15, 0.15, 0.0), (1.0, 0.0, 0.0)))
    assert found.kind is Motion.TWIST
    assert found.direction == (0.0, 0.0, -1.0)


def test_the_farthest_corner_moves_by_one():
    """The drawing scales by it."""
    found = motion_of(gathered(weight(20.0, 0.14, 0.1)), wrench(at(LONG, 0.03, THICK), (0.3, 0.2, 1.0)))
    moved = found.twist[:3] + np.cross(found.twist[3:], CORNERS)
    assert_allclose(np.linalg.norm(moved, axis=1).max(), 1.0, rtol=1e-12)


def test_no_motion_is_a_mistake():
    with pytest.raises(ValueError, match="no motion"):
        let_go(np.zeros(6), corners=CORNERS)


@pytest.mark.parametrize(
    ("twist", "kind"),
    [
        ((0.5, 0.0, 0.1, 0.0, 0.0, 0.0), Motion.SLIDE),
        ((0.05, 0.0, 0.1, 0.0, 0.0, 0.0), Motion.LIFT),
        ((0.0, 0.0, -0.1, 0.0, 0.0, 0.0), Motion.LIFT),
    ],
)
def test_plain_movements_are_named_by_their_greater_part(twist, kind):
    found = let_go(np.array(twist), corners=CORNERS)
    assert found.kind is kind
    if kind is Motion.LIFT:
        assert found.direction[2] == np.sign(twist[2])
