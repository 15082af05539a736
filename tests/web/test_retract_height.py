"""POST /v1/retract-height as a caller sees it; what the numbers are is tested with the engine and the answers."""

import copy
import io
import re
import threading
import xml.etree.ElementTree as ET
from contextlib import contextmanager
from typing import Any

import jsonschema_rs
import pytest
from ezdxf.filemanagement import read
from tests.contract.documents import contract, schema_of
from tests.web.hostile import CORPUS, PATH, Hostile
from werkzeug.serving import make_server

import stillstock_client
from stillstock.app import create_app

SVG = "{http://www.w3.org/2000/svg}"
CLIENT = create_app().test_client()
ROUTE = "/v1/retract-height"
JUDGE = jsonschema_rs.Draft202012Validator(schema_of("RetractHeight"))
PROGRAM = (
    "G21 G90 G17 G94\nT1 M6\nS18000 M3\nG0 X40 Y40\nG0 Z8\nG1 Z-6 F500\nG1 X260 F2000\nG1 Y160\nG0 Z8\n"
    "G0 X-20 Y60\nG0 Z60\nM30\n"
)
SET_UP: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18], "origin": [0, 0, -18]},
    "bed": {"material": "mdf", "thickness": 18, "top": -18},
    "machine": {"park": [0, 0, 60], "nose_to_bed": 155, "z_travel": 120, "dust_shoe": {"diameter": 80, "height": 30}},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "stickout": 28, "collet": {"diameter": 32, "length": 20}}},
    "holders": [
        {"kind": "strap_clamp", "at": [10, 50]},
        {"kind": "strap_clamp", "at": [290, 150], "angle": 180},
        {"kind": "screw", "at": [20, 180]},
    ],
    "program": {"text": PROGRAM},
}


def changed(**members: Any) -> dict[str, Any]:
    return {**copy.deepcopy(SET_UP), **members}


def asked(document: dict[str, Any], form: str = "json") -> Any:
    response = CLIENT.post(f"{ROUTE}?format={form}", json=document)
    assert response.status_code == 200
    return response


EXAMPLES = contract()["paths"][ROUTE]["post"]["requestBody"]["content"]["application/json"]["examples"]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_an_example_of_the_contract_is_answered_as_the_contract_says(name):
    example = contract()["components"]["examples"][EXAMPLES[name]["$ref"].rpartition("/")[2]]
    answer = asked(example["value"]).get_json()
    assert [str(error)[:300] for error in JUDGE.iter_errors(answer)] == []


@pytest.mark.parametrize(
    "document",
    [
        SET_UP,
        changed(holders=[]),
        changed(tools={}, program=None),
        changed(program=None, machine={}),
        changed(
            machine={"park": [-60, 100, 8], "tool_change": [-60, 230, 8], "puck": {"at": [40, 80, 20], "diameter": 9}}
        ),
        changed(
            tools={"1": {"kind": "end_mill", "diameter": 6, "shank": 8, "cutting_length": 5, "stickout": 5}},
            machine={"dust_shoe": {"diameter": 60, "height": 2}},
        ),
        changed(machine={"nose_to_bed": 60, "z_travel": 50, "envelope": [[0, 0, -30], [100, 100, 60]]}),
    ],
)
def test_an_answer_keeps_the_contract_with_verdict_header_and_summary_line(document):
    response = asked(document)
    answer = response.get_json()
    assert [str(error)[:300] for error in JUDGE.iter_errors(answer)] == []
    assert response.headers["Stillstock-Verdict"] == answer["verdict"]
    assert next(iter(answer)) == "summary"
    text = asked(document, "text")
    # A reason for which the line has no room stands on a second.
    line, *reason = text.text.splitlines()
    assert line == answer["summary"]
    assert len(line) <= 120
    assert reason in ([], [one["detail"] for one in answer["warnings"] if one["doubt"]][:1])
    assert text.headers["Stillstock-Verdict"] == answer["verdict"]


def test_the_same_request_gets_the_same_bytes_in_every_format():
    for form in ("json", "text", "svg", "dxf"):
        assert len({asked(SET_UP, form).data for _ in range(2)}) == 1


def test_an_inch_document_gets_inches():
    """25.4 mm to the inch: the same table in inches has the same heights."""
    inch = {
        "units": "inch",
        "stock": {"material": "birch plywood", "size": ["300 mm", "200 mm", "18 mm"], "origin": [0, 0, "-18 mm"]},
        "bed": {"material": "mdf", "thickness": "18 mm", "top": "-18 mm"},
        "holders": [{"kind": "strap_clamp", "at": ["10 mm", "50 mm"]}],
    }
    metric = asked(changed(holders=[{"kind": "strap_clamp", "at": [10, 50]}], program=None, tools={}, machine={}))
    answer = asked(inch).get_json()
    assert answer["clearance"] == pytest.approx(metric.get_json()["clearance"] / 25.4, abs=1e-4)
    assert answer["units"]["length"] == "in"
    assert " in:" in answer["advice"][0]


def test_the_picture_shows_three_views_with_both_heights():
    root = ET.fromstring(asked(SET_UP, "svg").data)
    name = "{http://www.w3.org/2000/svg}"
    groups = {group.get("id"): group for group in root.iter(f"{name}g")}
    assert {"cut_corridor", "rapid_corridor", "bed", "stock", "holders", "keep_outs", "clearance", "retract"} <= set(
        groups
    )
    texts = [element.text or "" for element in root.iter(f"{name}text")]
    answer = asked(SET_UP).get_json()
    assert {"plan", "front", "right side"} <= set(texts)
    assert answer["clearance"] == answer["retract"]
    assert texts.count(f"clearance and retract {answer['clearance']:g} mm") == 2
    low = contract()["components"]["examples"]["SignWithStrapClamps"]["value"]
    apart = asked(low).get_json()
    assert apart["clearance"] > apart["retract"]
    words = [text.text or "" for text in ET.fromstring(asked(low, "svg").data).iter(f"{name}text")]
    for height in ("clearance", "retract"):
        assert words.count(f"{height} {apart[height]:g} mm") == 2
    assert len(list(groups["clearance"])) == 2


def boxes(element, name):
    """Return least x, least y, greatest x, greatest y of each outline of a layer, from its points. [mm]"""
    numbers = [[float(x) for x in re.findall(r"-?[0-9.]+", shape.get("d") or shape.get("points") or "")]
               for group in element.iter(f"{SVG}g") if group.get("id") == name for shape in group]  # fmt: skip
    return [(min(one[::2]), min(one[1::2]), max(one[::2]), max(one[1::2])) for one in numbers if one]


def test_no_words_stand_on_a_holder_or_on_other_words():
    """Every label has a ground of its own; ten clamps and ten screws round a sheet are crowded enough."""
    places = [(x, y, a) for x in (60, 180, 300, 420, 540) for y, a in ((10, 90), (390, -90))]
    holders = [{"kind": "strap_clamp", "at": [x, y], "angle": a} for x, y, a in places]
    holders += [{"kind": "screw", "at": [x, y]} for x in (15, 585) for y in (60, 130, 200, 270, 340)]
    stock = {**SET_UP["stock"], "size": [600, 400, 18]}
    root = ET.fromstring(asked(changed(holders=holders, stock=stock), "svg").data)
    words, bodies = boxes(root, "grounds"), boxes(root, "holders")
    assert len(words) > 20
    assert len(bodies) > 40

    def apart(a, b):
        return a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]

    assert all(apart(one, other) for one in words for other in bodies)
    assert all(apart(one, other) for k, one in enumerate(words) for other in words[k + 1 :])


def test_the_keep_outs_have_a_layer_for_each_kind_of_holder():
    response = asked(SET_UP, "dxf")
    document = read(io.StringIO(response.data.decode("cp1252")))
    layers = {entity.dxf.layer for entity in document.modelspace()}
    assert layers - {"notes"} == {"stock", "keep_out_strap_clamp", "keep_out_screw"}
    assert document.header["$INSUNITS"] == 4


def test_the_drawings_of_a_table_without_holders_are_drawings():
    bare = changed(holders=[], program=None)
    assert b"<svg" in asked(bare, "svg").data
    assert b"ENTITIES" in asked(bare, "dxf").data


@pytest.mark.parametrize(
    ("document", "status", "slug", "pointer"),
    [
        (changed(clearances={"over": -1}), 400, "invalid-document", "/clearances/over"),
        (changed(clearances={"ovr": 1}), 400, "invalid-document", "/clearances/ovr"),
        (changed(clearances={"over": "5 N"}), 400, "invalid-document", "/clearances/over"),
        (changed(holders=[{"kind": "strap_clamp", "at": [400, 50]}]), 422, "impossible-set-up", "/holders/0/at"),
    ],
)
def test_a_document_that_cannot_be_judged_is_refused_with_its_place(document, status, slug, pointer):
    response = CLIENT.post(ROUTE, json=document)
    problem = response.get_json()
    assert (response.status_code, problem["type"]) == (status, f"/problems/{slug}")
    assert pointer in [fault["pointer"] for fault in problem["errors"]]


@pytest.mark.parametrize("hostile", [h for h in CORPUS if h.path.startswith(PATH)], ids=lambda h: h.name)
def test_the_hostile_corpus_is_refused_here_too(hostile: Hostile):
    path = hostile.path.replace(PATH, ROUTE)
    response = CLIENT.open(path, method=hostile.method, data=hostile.body, headers=hostile.headers)
    assert (response.status_code, response.get_json()["type"]) == (hostile.status, f"/problems/{hostile.slug}")


@contextmanager
def served():
    server = make_server("127.0.0.1", 0, create_app(), threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def test_the_client_sets_heights_and_its_gate_fails_on_a_meeting():
    """A rapid at 3 mm over a screw's head of 5 mm, and up out of it: the half of the gate that asks for heights."""
    screws = [{"kind": "screw", "at": [x, y]} for x in (20, 150, 280) for y in (20, 180)]
    text = PROGRAM.replace("G0 Z8\nG0 X-20 Y60\n", "G0 Z3\nG0 X20 Y180\n")
    document = changed(holders=screws, program={"text": text})
    with served() as url:
        client = stillstock_client.Client(url)
        heights = client.corrected_heights(document)
        result = stillstock_client._retract_result(client, document)
        clear = stillstock_client._retract_result(client, changed(holders=screws, program=None))
    answer = asked(document).get_json()
    assert heights == {"clearance": answer["clearance"], "retract": answer["retract"]}
    assert [(one["line"], one["part"]) for one in answer["meetings"]] == [(10, "head"), (11, "head")]
    assert result.code == stillstock_client.DOES_NOT_HOLD
    assert result.lines[0].startswith("meets: line 10: way back: cutter meets the head of screw 2, 2 mm deep")
    assert clear.code == stillstock_client.HOLDS
