"""Parts that come free, as a caller sees them: judged by themselves, spoken of first, and told what would hold them."""

from typing import Any

import pytest
from tests.part_jobs import TAB_PLACES, outline_program, sheet

from stillstock.answers import part_holding
from stillstock.app import create_app

pytestmark = pytest.mark.usefixtures("no_remedies")

CLIENT = create_app().test_client()


def asked(document: dict[str, Any]) -> dict[str, Any]:
    response = CLIENT.post("/v1/margin", json=document)
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.get_json()
    return answer


def refused(document: dict[str, Any]) -> list[tuple[str, str]]:
    response = CLIENT.post("/v1/margin", json=document)
    assert response.status_code == 422, response.text
    return [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]


def tabs(height: float, **more: Any) -> list[dict[str, Any]]:
    return [
        {"kind": "tab", "at": list(at), "angle": angle, "width": 6, "height": height, "kerf": 6} | more
        for at, angle in TAB_PLACES
    ]


def with_tabs(height: float, **more: Any) -> dict[str, Any]:
    return sheet(*tabs(height), **({"program": {"text": outline_program(tabs=height)}} | more))


def codes(answer: dict[str, Any]) -> list[str]:
    return [one["code"] for one in answer["warnings"]]


@pytest.fixture
def no_search(monkeypatch):
    """Leave out the search for tabs and skin that hold."""
    monkeypatch.setattr(part_holding, "WORK", 0)


@pytest.fixture(scope="module")
def bare() -> dict[str, Any]:
    return asked(sheet())


def test_a_part_is_lost_on_the_last_pass_of_a_set_up_that_held_till_then(bare):
    """As one body the same sheet holds the same program; the summary speaks of the part first, or asks for it."""
    whole = asked(sheet(parts=[]))
    assert whole["margin"]["pessimistic"] > 1.0
    assert whole["margin"]["typical"] > whole["margin"]["required"]
    assert whole["verdict"] == "unknown"
    assert [one["code"] for one in whole["warnings"] if one["doubt"]] == ["piece_not_stated"]
    assert bare["verdict"] == "lets_go"
    assert bare["summary"].startswith("DOES NOT HOLD: part plate; ")
    (part,) = bare["parts"]
    assert part["margin"]["typical"] < 1.0 < whole["margin"]["typical"]
    last = outline_program().split("\n").index("G1 Z-12.2 F600") + 1
    assert part["line"] > last
    assert bare["margin"]["typical"] == part["margin"]["typical"]
    assert part["cut"] == pytest.approx(1.0, abs=0.02)


def test_the_tabs_that_are_told_hold_and_lower_ones_do_not(bare):
    """Proved by running: the told count, width, height and places give the told margin; a tenth less fails."""
    told = bare["parts"][0]["holding"]["tabs"]
    assert told["count"] == len(told["places"]) >= 3

    def run(height: float) -> dict[str, Any]:
        own = [{"kind": "tab", "width": told["width"], "height": height, "kerf": 6} | place for place in told["places"]]
        found: dict[str, Any] = asked(sheet(*own))["parts"][0]["margin"]
        return found

    held = run(told["height"])
    assert held == pytest.approx(told["margin"], rel=1e-3)
    assert held["typical"] >= 2.0
    assert held["pessimistic"] >= 1.0
    lower = run(told["height"] - 0.1)
    assert lower["typical"] < 2.0 or lower["pessimistic"] < 1.0


def test_the_skin_that_is_told_holds_and_a_thinner_one_does_not(bare):
    told = bare["parts"][0]["holding"]["skin"]

    def run(thickness: float) -> dict[str, Any]:
        skin = {"kind": "skin", "thickness": thickness, "kerf": 6}
        program = {"text": outline_program(low=-12.0 + thickness)}
        found: dict[str, Any] = asked(sheet(skin, program=program))["parts"][0]["margin"]
        return found

    held, thinner = run(told["thickness"]), run(told["thickness"] - 0.05)
    assert held["typical"] >= 2.0 * 0.99
    assert held["pessimistic"] >= 0.99  # the program's last pass is less deep by the skin
    assert thinner["typical"] < 2.0 or thinner["pessimistic"] < 1.0
    assert bare["parts"][0]["holding"]["without"] is False


def test_a_part_on_tape_of_its_own_needs_neither():
    tape = {"kind": "film_tape", "area": [[110, 100], [290, 230]], "shear_strength": 200, "tensile_strength": 150}
    document = sheet()
    document["holders"].append(tape)
    answer = asked(document)
    assert answer["parts"][0]["holding"]["without"] is True
    assert answer["parts"][0]["margin"]["typical"] > 2.0


@pytest.mark.usefixtures("no_search")
@pytest.mark.parametrize(
    ("changes", "lost"),
    [
        ({"stock": {"thickness": [10.4, 11.8]}}, 1.6),
        ({"stock": {"thickness": [11.0, 12.0], "bow": 0.4}, "bed": {"error": 0.2}}, 1.6),
    ],
    ids=["thin stock", "all three"],
)
def test_tabs_that_vanish_by_thickness_bow_and_bed_are_found(changes, lost):
    """Heights by hand: 12 - 10.4; 12 - 11 + 0.4 + 0.2. Tabs of 1.5 mm are gone at worst."""
    answer = asked(with_tabs(1.5, **changes))
    found = [check for check in answer["checks"] if check["name"] == "tab"]
    assert len(found) == 4
    for check in found:
        assert check["value"] == pytest.approx(lost)
        assert check["limit"] == pytest.approx(1.5)
        assert not check["ok"]
        assert check["detail"].startswith("part plate: ")
    assert answer["verdict"] != "holds"
    assert "part plate; " in answer["summary"]
    assert answer["parts"][0]["margin"]["pessimistic"] < 1.0


@pytest.mark.usefixtures("no_search")
def test_counted_from_the_bed_the_same_tabs_stay():
    document = with_tabs(1.5, stock={"thickness": [10.4, 11.8]})
    for tab in document["parts"][0]["held_by"]:
        tab["counted_from"] = "bed"
    assert all(check["ok"] for check in asked(document)["checks"] if check["name"] == "tab")


@pytest.mark.usefixtures("no_search")
def test_tabs_that_the_program_does_not_leave_are_a_finding():
    left, gone = asked(with_tabs(2.0)), asked(sheet(*tabs(2.0)))
    assert "tabs_not_left" not in codes(left)
    assert left["parts"][0]["cut"] < 0.98
    assert "tabs_not_left" in codes(gone)
    assert gone["verdict"] in ("unknown", "lets_go")


@pytest.mark.usefixtures("no_search")
def test_a_skin_that_the_program_leaves_frees_the_part_all_the_same():
    program = {"text": outline_program(low=-11.5)}
    held = asked(sheet({"kind": "skin", "thickness": 0.5, "kerf": 6}, program=program))
    assert held["parts"][0]["line"]
    thick = asked(sheet(program=program))  # nobody said that 0.5 mm is a skin: the part is not free
    assert thick["parts"] == []
    assert "never_free" in codes(thick)


RING = [[100, 90], [300, 240]]
SLUG = [[150, 130], [250, 200]]


@pytest.mark.usefixtures("no_search")
def test_what_acts_beside_the_program_counts_for_the_part_that_the_program_frees():
    """Nobody says when a stated load acts or a described cut is made, so they may find the part free.

    3 kN on the plate beside a program whose cuts pull with some tens of newtons; the stock as a whole holds it longer.
    """
    load = {"name": "shove", "at": [200, 165, -1], "force": [3000, 0, 0]}
    bore = {
        "name": "bore", "kind": "drill", "tool": 1, "depth": 6, "feed": 20000, "speed": 6000, "path": [[200, 165, -6]],
    }  # fmt: skip
    tape = {"kind": "film_tape", "area": [[120, 110], [280, 220]]}
    for more in ({"loads": [load]}, {"cuts": [bore]}):
        (part,) = asked(sheet(tape, **more))["parts"]
        assert part["worst"]["cut"] in ("shove", "bore")


def test_a_slug_inside_a_part_is_a_part_too():
    """The hole is cut by a described cut, then the outline; both are judged, each from its own cut on."""
    document = sheet()
    del document["program"]
    document["parts"].append({"name": "slug", "outline": SLUG})
    document["cuts"] = [
        {
            "name": name,
            "kind": "profile",
            "tool": 1,
            "depth": 4,
            "feed": 2000,
            "speed": 18000,
            "level": -12,
            "path": way,
        }
        for name, way in (
            ("hole", [[153, 133], [247, 133], [247, 197], [153, 197], [153, 133]]),
            ("outline", [[97, 87], [303, 87], [303, 243], [97, 243], [97, 87]]),
        )
    ]
    answer = asked(document)
    assert [part["name"] for part in answer["parts"]] == ["plate", "slug"]
    plate, slug = answer["parts"]
    assert plate["worst"]["cut"] == "outline"
    assert slug["worst"]["cut"] == "hole"
    assert answer["verdict"] == "lets_go"


@pytest.mark.usefixtures("no_search")
def test_tape_under_the_slug_does_not_hold_the_ring():
    """Tape under the slug alone: the ring holds by nothing, as without any tape; under both it holds by its own."""
    tape = {"kind": "film_tape", "shear_strength": 200, "tensile_strength": 150}

    def ring(area: list[list[int]]) -> float:
        document = sheet()
        document["holders"].append(tape | {"area": area})
        document["parts"].append({"name": "slug", "outline": SLUG})
        answer = asked(document)
        assert [part["name"] for part in answer["parts"]] == ["plate"]  # nothing cuts the slug out here
        return float(answer["parts"][0]["margin"]["typical"])

    assert ring(SLUG) < 0.1
    assert ring([[110, 100], [290, 230]]) > 2.0


@pytest.mark.parametrize(
    ("second", "found"),
    [
        ([[250, 200], [350, 300]], [("/parts/1/outline", "overlap")]),
        ([[100, 90], [300, 240]], [("/parts/1/outline", "overlap")]),
        ([[350, 250], [450, 300]], [("/parts/1/outline", "outside")]),
    ],
    ids=["corners", "same", "beyond the stock"],
)
def test_parts_that_overlap_or_leave_the_stock_are_refused(second, found):
    document = sheet()
    document["parts"].append({"name": "other", "outline": second})
    assert refused(document) == found


@pytest.mark.usefixtures("no_search")
def test_parts_side_by_side_are_taken():
    document = sheet()
    document["parts"].append({"name": "other", "outline": [[300, 90], [350, 240]]})
    assert "never_free" in codes(asked(document))


def test_the_fault_of_a_parts_holder_names_part_and_holder():
    document = sheet(*tabs(2.0))
    document["parts"][0]["held_by"][2]["at"] = [200, 165]
    assert refused(document) == [("/parts/0/held_by/2/at", "not_touching")]


CLAMP = {"kind": "strap_clamp", "at": [200, 330], "angle": 270, "torque": 3, "toe": [20, 20]}


@pytest.mark.usefixtures("no_search")
def test_a_toe_on_a_place_that_the_program_cuts_away_is_a_finding_with_its_line():
    document = sheet(parts=[])
    document["holders"] = [CLAMP | {"at": [200, 250]}, CLAMP | {"at": [50, 300]}]
    answer = asked(document)
    (found,) = [one for one in answer["warnings"] if one["code"] == "cut_away"]
    assert found["pointer"] == "/holders/0"
    first = [line.startswith("G1 X303.0 Y243.0") for line in outline_program().split("\n")].index(True)
    assert found["line"] == first + 2  # the move after it, from there to X97 Y243, is the first along that side
    assert answer["verdict"] == "lets_go"
    assert answer["margin"]["typical"] > 0.0
    assert answer["checks"]
    assert answer["remedies"] == []
    assert f"line {found['line']}" in answer["summary"]


@pytest.mark.usefixtures("no_search")
def test_a_screw_in_the_way_of_a_described_cut_is_a_finding_too():
    document = sheet(parts=[])
    del document["program"]
    cut = {"name": "slot", "kind": "slot", "tool": 1, "depth": 4, "feed": 2000, "speed": 18000, "level": -4}
    document["cuts"] = [cut | {"path": [[60, 165], [340, 165]]}]
    document["holders"] += [{"kind": "screw", "at": [200, 167]}, {"kind": "screw", "at": [200, 200]}]
    answer = asked(document)
    (found,) = [one for one in answer["warnings"] if one["code"] == "cut_away"]
    assert (found["pointer"], found["line"]) == ("/holders/2", None)
    assert "slot" in found["detail"]
    assert answer["verdict"] == "lets_go"
    assert answer["remedies"] == []
    assert answer["summary"].startswith("DOES NOT HOLD: slot cuts away what the head of this screw presses on")


def test_many_parts_cost_no_more_than_the_budget(monkeypatch):
    """Three parts and work for less: what holds is told for the weakest first, and null is said of the rest."""
    monkeypatch.setattr(part_holding, "WORK", 400)
    document = sheet()
    del document["program"]
    document["parts"], document["cuts"] = [], []
    for name, x0, size in (("large", 30, 90), ("small", 140, 20), ("middle", 180, 60)):
        x1, y1 = x0 + size, 100 + size
        document["parts"].append({"name": name, "outline": [[x0, 100], [x1, y1]]})
        way = [[x0 - 3, 97], [x1 + 3, 97], [x1 + 3, y1 + 3], [x0 - 3, y1 + 3], [x0 - 3, 97]]
        cut = {"kind": "profile", "tool": 1, "depth": 4, "feed": 2000, "speed": 18000, "level": -12, "path": way}
        document["cuts"].append(cut)
    answer = asked(document)
    by_weakness = sorted(answer["parts"], key=lambda part: float(part["margin"]["typical"]))
    told = [part["holding"] is not None for part in by_weakness]
    assert told == sorted(told, reverse=True)
    assert not all(told)
    assert answer["summary"].startswith(f"DOES NOT HOLD: part {by_weakness[0]['name']}")
