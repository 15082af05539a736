"""A toe or head over a void presses on nothing and is refused; one whose pressure cone reaches the bed is not.

Geometry: the cone of 30 degrees widens a toe by t tan 30 = 0.577 t on every side, 10.4 mm for 18 mm of stock.
"""

import pytest

from stillstock.answers.margin import answer_plain_margin
from stillstock.errors import ImpossibleSetUp
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

TABLES = load_tables()
CLAMP = {"kind": "strap_clamp", "at": [60, 70], "torque": 1, "toe": [10, 10], "anchor": "through_bolt"}
SCREW = {"kind": "screw", "at": [60, 70]}
FAR = {"kind": "strap_clamp", "at": [200, 70], "torque": 1, "anchor": "through_bolt"}


def asked(holder, half):
    """Ask with a square void of a half side, in mm, under the first holder."""
    document = {
        "units": "metric",
        "stock": {"material": "mdf", "size": [230, 140, 18]},
        "bed": {
            "material": "mdf",
            "thickness": 30,
            "voids": [[[60 - half, 70 - half], [60 + half, 70 + half]]],
        },
        "holders": [FAR, holder],
        "loads": [{"name": "push", "at": [115, 70, -9], "force": [20, 5, 5]}],
    }
    set_up = load_set_up(document, TABLES).set_up
    return answer_plain_margin(set_up, TABLES, limits=Limits(), fingerprint="void")


@pytest.mark.parametrize("holder", [CLAMP, SCREW], ids=lambda holder: holder["kind"])
def test_a_push_over_a_void_wider_than_its_cone_is_refused(holder):
    with pytest.raises(ImpossibleSetUp) as refusal:
        asked(holder, half=17)
    (fault,) = refusal.value.faults
    assert (fault.pointer, fault.code) == ("/holders/1/at", "over_nothing")


@pytest.mark.parametrize("holder", [CLAMP, SCREW], ids=lambda holder: holder["kind"])
def test_a_cone_that_reaches_past_the_void_bears(holder):
    """Half the toe 5 mm (head 4 mm) and 10.4 mm of cone reach past a void of 12 mm half width."""
    assert asked(holder, half=12).typical > 0.0
