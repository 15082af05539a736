"""Vacuum as a caller sees it: what works, how it falls as kerfs open, the smallest part; and what cannot be."""

import copy
import itertools
from typing import Any

import pytest
from tests.part_jobs import outline_program

from stillstock.app import create_app

pytestmark = pytest.mark.usefixtures("no_remedies")

CLIENT = create_app().test_client()
SHEET: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "mdf", "size": [800, 600, 12]},
    "bed": {"material": "mdf", "thickness": 19},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "down"}},
    "required": {"factor": 1, "tolerance": 2},
    "program": {"text": outline_program()},
}


def answered(holder: dict[str, Any], **changes: Any) -> tuple[int, dict[str, Any]]:
    document = copy.deepcopy(SHEET) | {"holders": [{"kind": "vacuum"} | holder]} | changes
    response = CLIENT.post("/v1/margin", json=document)
    answer: dict[str, Any] = response.get_json()
    return response.status_code, answer


def course(holder: dict[str, Any], **changes: Any) -> dict[str, Any]:
    status, answer = answered(holder, **changes)
    assert status == 200, answer
    (found,) = answer["vacuum"]
    return dict(found)


BLOWER = {"pump": "regenerative_blower", "open_area": "0.3 m2"}


def test_the_vacuum_falls_as_the_program_opens_its_kerf():
    """The last pass is 206 + 156 twice, 724 mm; the two before it do not reach the bed and open nothing."""
    found = course(BLOWER)
    kerfs = [point["kerf"] for point in found["course"]]
    lines = [point["line"] for point in found["course"]]
    assert kerfs[0] == 0.0
    assert kerfs[-1] == pytest.approx(724.0, rel=0.05)
    assert len(found["course"]) >= 6
    last_pass = outline_program().split("\n").index("G1 Z-12.2 F600") + 1
    assert lines[0] is None
    assert all(line > last_pass for line in lines[1:])
    for corner in ("low", "typical", "high"):
        falling = [point["vacuum"][corner] for point in found["course"]]
        assert all(after <= before for before, after in itertools.pairwise(falling))
    assert found["course"][-1]["vacuum"]["typical"] < found["course"][0]["vacuum"]["typical"]
    assert found["course"][-1]["vacuum"] == pytest.approx(found["working"], rel=1e-3)


def test_described_cuts_open_theirs_in_turn():
    cut = {"kind": "slot", "tool": 1, "depth": 12, "feed": 2000, "speed": 18000, "level": -12}
    ways = [[[100, 100 + 40 * k], [600, 100 + 40 * k]] for k in range(4)]
    cuts = [cut | {"name": f"slot {k}", "path": way} for k, way in enumerate(ways)]
    found = course(BLOWER, program=None, cuts=cuts)
    assert [(point["cut"], point["kerf"]) for point in found["course"]] == [
        ("", 0.0),
        ("slot 0", 500.0),
        ("slot 1", 1000.0),
        ("slot 2", 1500.0),
        ("slot 3", 2000.0),
    ]


def test_a_gauge_stands_for_itself_and_does_not_fall():
    found = course({"pressure": {"low": 28, "typical": 30, "high": 31}, "pump": "regenerative_blower"})
    assert found["course"] == []
    assert found["working"] == {"low": 28.0, "typical": 30.0, "high": 31.0}


def test_the_smallest_part_is_push_by_friction_and_vacuum():
    """A = F / (mu p) by hand: 40 N at factor 1, mu 0.3, 20 kPa: 66.7 cm2; at worst mu 0.25, 18 kPa: 88.9 cm2."""
    found = course(
        {
            "pressure": {"low": 18, "typical": 20, "high": 22},
            "friction": {"low": 0.25, "typical": 0.3, "high": 0.35},
        },
        program=None,
        loads=[{"at": [300, 200, 0], "force": [40, 0, 0]}],
    )
    assert found["smallest_part"]["typical"] == pytest.approx(6667, rel=1e-3)
    assert found["smallest_part"]["pessimistic"] == pytest.approx(8889, rel=1e-3)
    held_else = answered(
        {"pressure": 20}, holders=[{"kind": "vacuum", "pressure": 20}, {"kind": "screw", "at": [9, 9]}]
    )
    assert held_else[1]["vacuum"][0]["smallest_part"] is None


def test_inches_get_psi_and_square_inches():
    """1 psi = 6.894757 kPa; one square inch = 645.16 mm2."""
    loads = [{"at": [20, 10, 0], "force": [10, 0, 0]}]
    inch = {
        "units": "inch",
        "stock": {"material": "mdf", "size": [30, 24, 0.5]},
        "bed": {"material": "mdf", "thickness": 0.75},
        "required": {"factor": 1, "tolerance": 0.1},
    }
    found = course({"pressure": "20 kPa", "friction": 0.3}, program=None, loads=loads, tools={}, **inch)
    assert found["working"]["typical"] == pytest.approx(20 / 6.894757, rel=1e-4)
    assert found["smallest_part"]["typical"] == pytest.approx(10 * 4.448222 / (0.3 * 20e3) / 0.0254**2, rel=1e-3)


@pytest.mark.parametrize(
    ("holder", "machine", "pointer", "code"),
    [
        ({"pump_curve": [[0, 100], [20, 120]]}, {}, "/holders/0/pump_curve/1", "rising_curve"),
        ({"pump_curve": [[20, 100], [10, 50]]}, {}, "/holders/0/pump_curve/1", "order"),
        ({"pump_curve": [[20, 100]]}, {}, "/holders/0/pump_curve", "length"),
        ({"pump_curve": [[0, 100], [110, 20]]}, {}, "/holders/0/pump_curve/1/0", "beyond_the_air"),
        ({"pressure": 95}, {"altitude": "1500 m"}, "/holders/0/pressure", "beyond_the_air"),
        ({"pressure": 30}, {"altitude": "-600 m"}, "/machine/altitude", "range"),
        ({"pressure": 30}, {"altitude": "9000 m"}, "/machine/altitude", "range"),
        ({"pressure": "-3 kPa"}, {}, "/holders/0/pressure", "range"),
        ({"area": [[900, 50], [980, 100]]}, {}, "/holders/0/area", "beside_the_stock"),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(holder, machine, pointer, code):
    status, problem = answered(holder, machine=machine)
    assert status == 422
    assert [(fault["pointer"], fault["code"]) for fault in problem["errors"]] == [(pointer, code)]


def test_a_flow_below_nought_is_named_by_its_own_place():
    status, problem = answered({"pump_curve": [[0, 100], [10, -20]]})
    assert status == 400
    assert [(fault["pointer"], fault["seen"]) for fault in problem["errors"]] == [("/holders/0/pump_curve/1/1", -20)]


@pytest.mark.parametrize(
    ("units", "altitude", "said"),
    [("metric", "-600 m", "at least -500 m"), ("metric", "9 m", ""), ("inch", "-2000 ft", "at least -1640 ft")],
)
def test_an_altitude_far_under_the_sea_is_refused_in_metres_or_feet(units, altitude, said):
    """500 m are 1640.42 ft (ISO 31-1, from memory); the lowest shores lie some 430 m under the sea."""
    response = CLIENT.post(
        "/v1/margin", json=SHEET | {"units": units, "program": None, "machine": {"altitude": altitude}}
    )
    said_so = [one["detail"] for one in response.get_json().get("errors", ()) if one["pointer"] == "/machine/altitude"]
    assert said_so == ([f"must be {said}"] if said else [])


@pytest.mark.parametrize("pump", ["regenerative_blower", "rotary_vane_dry", "venturi"])
def test_altitude_never_raises_the_vacuum(pump):
    found = [course({"pump": pump}, machine={"altitude": f"{height} m"})["working"] for height in (0, 800, 2000)]
    for corner in ("low", "typical", "high"):
        assert found[0][corner] >= found[1][corner] >= found[2][corner]


@pytest.mark.parametrize("pump", [{"pump": "regenerative_blower"}, {"pump_curve": [[0, 100], [20, 0]]}, {}], ids=str)
@pytest.mark.parametrize("bed", ["aluminium 6061-T6", "birch plywood", "hdpe"])
def test_no_suction_comes_through_a_board_of_which_no_permeability_is_known(bed, pump):
    """Darcy's law: no flow without permeability, so none of the air under the stock is drawn off."""
    status, problem = answered(pump, bed={"material": bed, "thickness": 12})
    assert status == 422
    (fault,) = problem["errors"]
    assert (fault["pointer"], fault["code"]) == ("/holders/0/seal", "tight_board")
    assert all(word in fault["detail"] for word in ("state permeability", "mdf", "gasket"))


@pytest.mark.parametrize("stated", [{"pressure": 20}, {"permeability": "2e-13 m2"}, {"seal": "gasket"}], ids=str)
def test_a_gauge_a_stated_permeability_or_a_gasket_make_up_for_a_tight_board(stated):
    metal = {"material": "aluminium 6061-T6", "thickness": 12}
    push = [{"at": [300, 200, 0], "force": [40, 0, 0]}]
    found = course({"pump": "regenerative_blower"} | stated, bed=metal, program=None, loads=push)
    assert found["working"]["typical"] > 1.0


def test_a_shop_with_a_slotted_metal_bed_has_its_vacuum_through_board_ruled_out_with_the_reason():
    slots = [[[-10, y], [900, y + 12]] for y in (100, 300, 500)]
    question = {name: part for name, part in SHEET.items() if name != "program"} | {
        "bed": {"material": "aluminium 6061-T6", "thickness": 20, "voids": slots},
        "loads": [{"at": [300, 200, 0], "force": [40, 0, 0]}],
        "shop": {"holders": [{"kind": "vacuum", "pump": "regenerative_blower"}, {"kind": "film_tape"}]},
    }
    answer = CLIENT.post("/v1/recommendation", json=question).get_json()
    assert "vacuum" not in [one["method"] for one in answer["ranked"]]
    (reason,) = [one["reason"] for one in answer["ruled_out"] if one["method"] == "vacuum"]
    assert "no air is known to pass a board of aluminium" in reason["detail"]
