"""The vise: its screw, what two rubbing jaws hold, and what they do not."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.engine.holding.benches import ORIGIN, TABLES, bench, contacts_of, exactly, factor, material, middle

from stillstock.engine.holding.contacts import Rub
from stillstock.engine.holding.methods.vise import Vise, ideal_thrust
from stillstock.engine.holding.reading import Reading
from stillstock.engine.holding.resistance import ways
from stillstock.engine.mechanics.linear_program import standing_motion
from stillstock.engine.set_up import Bed, SetUp, Stock
from stillstock.errors import ImpossibleSetUp
from stillstock.tables.scatter import Corner

SIZE = (0.12, 0.07, 0.03)
LBF, INCH = 4.4482216, 0.0254
MU, PUSH = 0.2, 2000.0


def block():
    return bench(stock="aluminium", bed="steel", size=SIZE)


def vise(**stated):
    """Fixed jaw on the side of greatest y, facing -y, not opposite the stock's middle."""
    place = {"at": (ORIGIN[0] + 0.05, ORIGIN[1] + SIZE[1]), "faces": "-y", "jaw_width": 0.08, "grip": 0.02}
    return Vise(**{**place, "force": exactly(PUSH), **stated})


@pytest.mark.published("vise", source="Leg-vise maker's article")
def test_an_ideal_screw_gives_what_is_printed():
    """10 lbf at the rim of an 8 in wheel on a screw of 4 threads an inch: about 1000 lbf. Leg-vise maker's article."""
    got = ideal_thrust(10.0 * LBF * 4.0 * INCH, lead=0.25 * INCH) / LBF
    assert_allclose(got, 1000.0, rtol=0.01)


def test_a_real_screw_gives_a_tenth_to_four_tenths_of_it():
    """Efficiency of a power screw at a friction of 0.10 to 0.20: theory of the power screw, from memory."""
    push = vise(force=None, torque=40.0, lead=0.005).push(TABLES)
    assert_allclose([push.low, push.typical, push.high], np.array([0.1, 0.2, 0.4]) * 2 * np.pi * 40.0 / 0.005)
    assert push.dimension == "force"


@pytest.mark.parametrize("direction", [(1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)])
def test_along_the_jaws_it_holds_twice_the_friction_of_one(direction):
    """2 mu F: two faces rub, each under the one force F. Coulomb's law; the bed carries nothing here."""
    set_up = block()
    at = (ORIGIN[0] + 0.05, ORIGIN[1] + SIZE[1] / 2.0, ORIGIN[2] + 0.01)
    got = factor([vise(friction=exactly(MU, "number"))], set_up, at=at, force=direction, friction=1e-6)
    assert_allclose(got, 2.0 * MU * PUSH, rtol=1e-5)


def test_against_the_moving_jaw_it_holds_what_that_jaw_pushes():
    """A fixed push F gives way when it is met by F: equilibrium. The jaws rub across this direction only."""
    set_up = block()
    at = (ORIGIN[0] + 0.05, ORIGIN[1] + SIZE[1] / 2.0, ORIGIN[2] + 0.01)
    assert_allclose(factor([vise()], set_up, at=at, force=(0.0, -1.0, 0.0), friction=1e-6), PUSH, rtol=1e-5)
    assert factor([vise()], set_up, at=at, force=(0.0, 1.0, 0.0), friction=1e-6) > 1e3 * PUSH


@pytest.mark.parametrize(
    ("stated", "holds"),
    [({}, False), ({"seated": True}, True), ({"jaw": "serrated"}, True), ({"friction": exactly(MU, "number")}, True)],
)
def test_smooth_jaws_hold_down_only_if_seated_or_proved(stated, holds):
    """A plain moving jaw lifts the stock as it closes and lets it slip: common practice, no source."""
    set_up = block()
    at = (ORIGIN[0] + 0.05, ORIGIN[1] + SIZE[1] / 2.0, ORIGIN[2] + 0.01)
    got = factor([vise(**stated)], set_up, at=at, force=(0.0, 0.0, 1.0), weight=6.0)
    if not holds:
        assert got < 6.001
        return
    mu = vise(**stated).contacts(0, set_up, TABLES)[0]
    assert isinstance(mu, Rub)
    rubbing = 2.0 * mu.friction.typical * PUSH
    assert rubbing <= got <= rubbing + 6.0 * (1.0 + 1e-9)


def test_the_jaws_alone_stand_in_balance():
    """Fixed and moving jaw push at one height and within each other's width: no motion before any cut."""
    contacts = contacts_of([vise()], block(), weight=6.0)
    reading = Reading(strength=Corner.LOW, preload=Corner.HIGH)
    found = ways(
        contacts, stock=block().stock, bed=block().bed, friction=exactly(0.2, "number"), reading=reading, side=0.0
    )
    assert [standing_motion(system) for way in found for system in way.systems] == [None]


def test_jaws_wider_than_the_stock_touch_only_where_it_is():
    fixed = [c for c in vise(jaw_width=0.5).contacts(0, block(), TABLES) if isinstance(c, Rub) and c.preload is None]
    assert_allclose(sorted(c.at[0] for c in fixed), [ORIGIN[0], ORIGIN[0] + SIZE[0]], atol=1e-9)


def test_pressure_between_the_jaws_is_force_on_the_gripped_face():
    """p = F / (b h): 2000 N on 80 x 20 mm is 1.25 MPa."""
    crush = next(d for d in vise().demands(0, block(), TABLES) if d.name == "crush")
    assert_allclose(crush.value.typical, 1.25e6, rtol=1e-6)


def test_too_little_in_the_jaws_is_told():
    """At least 13 mm in the jaws, and no more than three times the grip above them: notes of a workshop."""
    demands = {d.name: d for d in vise(grip=0.006).demands(0, block(), TABLES)}
    assert demands["grip"].value.low > demands["grip"].limit.high
    assert demands["overhang"].value.low > demands["overhang"].limit.high
    assert vise(seated=True).jaw_lift(TABLES).typical < vise().jaw_lift(TABLES).typical


def test_faces_that_are_not_parallel_are_refused():
    corners = np.array([(0.0, 0.0), (0.12, 0.02), (0.12, 0.07), (0.0, 0.07)]) + np.array(ORIGIN[:2])
    stock = Stock(material=material("mdf"), size=SIZE, thickness=(0.03, 0.03), origin=ORIGIN, outline=corners)
    set_up = SetUp(stock=stock, bed=Bed(material=material("steel"), thickness=0.03, top=ORIGIN[2]))
    with pytest.raises(ImpossibleSetUp, match="not parallel") as refused:
        vise().contacts(0, set_up, TABLES)
    assert refused.value.faults[0].pointer == "/at"


def test_a_vise_that_does_not_touch_is_refused():
    x, y, _ = middle(block())
    with pytest.raises(ImpossibleSetUp, match="does not touch"):
        vise(at=(x, y)).contacts(0, block(), TABLES)
