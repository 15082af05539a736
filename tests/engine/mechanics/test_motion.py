"""The motion with which a slab lets go, named."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
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
    gathered,
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
    held = capacity_of(ways_of(contacts))
    worst = held.at(load)
    return let_go(held.system(worst).scale.gradient(worst.hold.slope), corners=CORNERS)


@pytest.mark.parametrize("angle", [0.3, 2.0, 4.4])
def test_a_push_low_down_slides_the_slab_along_it(angle):
    """Friction is the same in all directions: it goes where it is pushed, within half a side of the polygon."""
    push = (np.cos(angle), np.sin(angle), 0.0)
    found = motion_of(gathered(weight(20.0, 0.15, 0.1)), wrench(at(0.15, 0.1, 0.0), push))
    assert found.kind is Motion.SLIDE
    assert found.pivot is None
    assert np.dot(found.direction, push) > np.cos(np.pi / 16.0) - 1e-9
    assert found.direction[2] == 0.0


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

    A polygon has corners, so axes within a small region serve equally: a tenth of the length.
    """
    found = motion_of(gathered(weight(20.0, LONG / 2, WIDE / 2)), np.array([0.0, 0.0, 0.0, 0.0, 0.0, turn]))
    assert found.kind is Motion.TWIST
    assert_allclose(found.direction, (0.0, 0.0, turn))
    assert found.pivot is not None
    assert_allclose(found.pivot[:2], MIDDLE[:2], atol=0.1 * LONG)


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
