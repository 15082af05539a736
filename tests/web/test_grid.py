"""POST /v1/grid as a script meets it."""

import copy
import io
import re

import pytest
from defusedxml import ElementTree
from ezdxf.filemanagement import read
from tests.writers import boards

from stillstock.app import create_app

BENCH = boards.LINES
FORMATS = {
    "json": "application/json",
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "dxf_r12": "image/vnd.dxf",
    "rs274": "text/plain; charset=utf-8",
    "text": "text/plain; charset=utf-8",
}


@pytest.fixture(scope="module")
def client():
    return create_app().test_client()


def changed(document, **members):
    return {**copy.deepcopy(document), **members}


def faults(answer):
    assert answer.content_type == "application/problem+json"
    return [(fault["pointer"], fault["code"]) for fault in answer.get_json()["errors"]]


@pytest.mark.parametrize("form", FORMATS)
def test_each_format_is_made_by_name_and_is_the_same_bytes_again(client, form):
    first, second = (client.post(f"/v1/grid?format={form}", json=BENCH) for _ in range(2))
    assert (first.status_code, first.content_type) == (200, FORMATS[form])
    assert first.data == second.data


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("*/*", "application/json"),
        ("image/svg+xml", "image/svg+xml"),
        ("image/vnd.dxf", "image/vnd.dxf"),
        ("application/dxf", "image/vnd.dxf"),
        ("text/plain", "text/plain; charset=utf-8"),
    ],
)
def test_accept_chooses_the_format(client, accept, kind):
    answer = client.post("/v1/grid", json=BENCH, headers={"Accept": accept})
    assert answer.content_type == kind
    assert "Accept" in answer.headers["Vary"]


@pytest.mark.parametrize(
    ("board", "form", "name"),
    [
        (boards.LINES, "dxf", "left_bench_mm.dxf"),
        (boards.INCH, "dxf", "inch_bench_inch.dxf"),
        (boards.INCH, "svg", "inch_bench_mm.svg"),
        (boards.HOLES, "rs274", "inserts_holes_mm.nc"),
    ],
)
def test_the_file_name_says_the_unit(client, board, form, name):
    answer = client.post(f"/v1/grid?format={form}", json=board)
    assert answer.headers["Content-Disposition"] == f"inline; filename={name}"


@pytest.mark.parametrize("title", ['x"; filename=evil.exe', "a/../b", "日本", "\u202e", "A" * 200])
def test_a_title_cannot_steer_the_file_name(client, title):
    answer = client.post("/v1/grid?format=svg", json=changed(BENCH, title=title))
    assert re.fullmatch(r"inline; filename=[a-z0-9_]+_mm\.svg", answer.headers["Content-Disposition"])


def test_an_unknown_type_is_406_and_an_unknown_format_400(client):
    answer = client.post("/v1/grid", json=BENCH, headers={"Accept": "application/pdf"})
    assert answer.status_code == 406
    assert b"M30" not in answer.data
    assert client.post("/v1/grid?format=pdf", json=BENCH).status_code == 400


@pytest.mark.parametrize("pitch", [0, -25, [25, 0], [-1, 25]])
def test_a_pitch_that_is_not_positive_breaks_the_schema(client, pitch):
    answer = client.post("/v1/grid?format=dxf", json=changed(BENCH, pitch=pitch))
    assert answer.status_code == 400
    assert faults(answer)[0][1] == "range"


@pytest.mark.parametrize("pitch", ["0 mm", "-3/4 in", ["25 mm", "0 in"]])
def test_a_pitch_in_text_that_is_not_positive_cannot_be(client, pitch):
    answer = client.post("/v1/grid", json=changed(BENCH, pitch=pitch))
    assert answer.status_code == 422
    assert faults(answer)[0][1] == "range"


def test_too_many_marks_name_the_limit_and_the_count(client):
    """By hand: 0.2 mm over 550 x 350 mm from a quarter step off: 2,750 columns (offset) times 1,751 rows."""
    dots = changed(BENCH, mark="dots", pitch=0.2, offset=[0.05, 0], labels=None)
    answer = client.post("/v1/grid", json=dots)
    assert answer.status_code == 422
    body = answer.get_json()
    assert body["type"].endswith("too-much-work")
    assert (body["errors"][0]["limit"], body["errors"][0]["seen"]) == (100_000, 2750 * 1751)


SAME = {"kind": "rectangle", "corners": [[-150, -35], [460, 170]]}


@pytest.mark.parametrize(
    ("members", "fault"),
    [
        (
            {"existing": {"first": [0, 0], "pitch": 1, "columns": 400, "rows": 300, "diameter": 1}},
            ("/existing", "too_many_holes"),
        ),
        (
            {"existing": {"first": [0, 0], "pitch": 3, "columns": 120, "rows": 90, "diameter": 1, "clearance": 0}},
            ("/keep_outs", "too_many_places"),
        ),
        (
            {
                "mark": "dots",
                "pitch": 2,
                "existing": {"first": [0, 0], "pitch": 5, "columns": 50, "rows": 50, "diameter": 1, "clearance": 0},
            },
            ("/keep_outs", "too_many_pairs"),
        ),
        ({"mark": "dots", "pitch": 2, "keep_outs": [SAME] * 8}, ("/keep_outs", "too_many_hits")),
        ({"mark": "crosses", "pitch": 2, "cross_size": 1, "keep_outs": [SAME] * 8}, ("/keep_outs", "too_many_hits")),
        ({"mark": "lines_y", "pitch": [0.1, 50], "keep_outs": [SAME] * 20}, ("/keep_outs", "too_many_hits")),
    ],
)
def test_work_is_counted_and_refused_with_its_limit(client, members, fault):
    answer = client.post("/v1/grid", json=changed(BENCH, labels=None, **members))
    assert answer.status_code == 422
    assert faults(answer) == [fault]
    body = answer.get_json()["errors"][0]
    assert body["seen"] > body["limit"] > 0


@pytest.mark.parametrize(
    ("members", "pointer"),
    [
        (
            {
                "table": {"size": [400, 300], "thickness": 100},
                "hole": {"kind": "plain", "diameter": 60, "length": 100},
                "end_mill": {"diameter": 0.5},
                "margin": 40,
            },
            "/end_mill",
        ),
        ({"skim": {"cutter": 1, "depth": 1, "passes": 50, "stepover": 0.05}}, "/skim"),
    ],
)
def test_a_program_without_end_is_refused_before_it_is_made(client, members, pointer):
    """By hand: 119 rings in 800 turns and a level one for each hole; 300 mm in steps of 0.05 mm, 50 times."""
    answer = client.post("/v1/grid?format=rs274", json=changed(boards.HOLES, dowels=[], **members))
    assert faults(answer) == [(pointer, "too_many_moves")]
    seen = answer.get_json()["errors"][0]["seen"]
    if pointer == "/skim":
        assert seen == 50 * (round((300 - 0.8) / 0.05) + 1)
    else:
        assert seen % (119 * 801) == 0


def test_only_the_first_keep_outs_of_many_are_named(client):
    plates = [{**SAME, "name": f"plate {number}"} for number in range(8)]
    body = client.post("/v1/grid", json=changed(BENCH, labels=None, keep_outs=plates)).get_json()
    assert body["broken"][0]["by"] == [*(f"plate {number}" for number in range(5)), "and 3 more"]


def test_a_program_of_which_keep_outs_leave_nothing_is_refused(client):
    dowels = [{"kind": "row", "at": [0, 100], "to": [90, 100], "diameter": 8, "depth": 5}]
    plate = {"kind": "rectangle", "corners": [[-20, 80], [120, 120]]}
    document = changed(BENCH, dowels=dowels, end_mill={"diameter": 6}, keep_outs=[plate], program="holes")
    answer = client.post("/v1/grid?format=rs274", json=document)
    assert faults(answer) == [("/program", "nothing_left")]


def test_holes_without_a_word_on_what_they_are_for_are_refused(client):
    document = {name: value for name, value in boards.HOLES.items() if name != "hole"}
    assert ("/hole", "missing") in faults(client.post("/v1/grid", json=document))


@pytest.mark.parametrize(
    ("board", "members", "fault"),
    [
        (boards.LINES, {"margin": 300}, ("/margin", "no_area")),
        (boards.LINES, {"area": [[0, 0], [900, 300]]}, ("/area", "off_table")),
        (boards.LINES, {"line": {"depth": 18}}, ("/line", "deeper_than_board")),
        (boards.LINES, {"line": {"width": 6.2}}, ("/line", "wider_than_bit")),
        (boards.LINES, {"line": {"depth": 0.3, "width": 0.3}}, ("/line", "one_of")),
        (
            boards.LINES,
            {"line": {"width": 0.1}, "bit": {"angle": 60, "diameter": 6, "tip": 0.2}},
            ("/line", "wider_than_line"),
        ),
        (boards.LINES, {"labels": {"x": "distance", "height": 20}}, ("/margin", "no_room")),
        (boards.LINES, {"labels": {"x": "distance", "height": 8}, "major_every": 0}, ("/labels/height", "overlap")),
        (boards.CROSSES, {"cross_size": 25}, ("/cross_size", "overlap")),
        (boards.LINES, {"program": "holes"}, ("/program", "nothing_to_cut")),
        (boards.HOLES, {"hole": {**boards.HOLES["hole"], "length": 17}}, ("/hole/length", "deeper_than_board")),
        (boards.HOLES, {"hole": {**boards.HOLES["hole"], "core": 13}}, ("/hole/core", "range")),
        (boards.HOLES, {"hole": {"kind": "insert", "diameter": 12, "length": 9}}, ("/hole/core", "missing")),
        (boards.HOLES, {"end_mill": {"diameter": 10}}, ("/hole", "mill_too_large")),
        (boards.HOLES, {"pitch": 15}, ("/pitch", "overlap")),
        (boards.HOLES, {"margin": 5}, ("/margin", "off_table")),
        (
            boards.HOLES,
            {"dowels": [{"kind": "row", "at": [0, 0], "to": [390, 0], "diameter": 8, "depth": 12}]},
            ("/dowels/0", "off_table"),
        ),
        (
            boards.HOLES,
            {"dowels": [{"kind": "row", "at": [0, 0], "to": [90, 0], "diameter": 8, "depth": 25}]},
            ("/dowels/0/depth", "deeper_than_board"),
        ),
        (
            boards.HOLES,
            {"dowels": [{"kind": "flip", "at": [10, 10], "to": [12, 10], "diameter": 8, "depth": 5}]},
            ("/dowels/0/to", "no_length"),
        ),
        (
            boards.HOLES,
            {"dowels": [{"kind": "corner", "at": [10, 10], "to": [90, 10], "diameter": 8, "depth": 5}]},
            ("/dowels/0/to", "no_area"),
        ),
        (boards.LINES, {"skim": {"cutter": 25, "depth": 9}}, ("/skim/depth", "board_too_thin")),
        (
            boards.LINES,
            {"keep_outs": [{"kind": "rectangle", "corners": [[-200, -100], [700, 700]]}]},
            ("/keep_outs", "nothing_left"),
        ),
        (
            boards.LINES,
            {"keep_outs": [{"kind": "rectangle", "corners": [[0, 0], [0, 100]]}]},
            ("/keep_outs/0/corners", "no_area"),
        ),
        (
            boards.LINES,
            {"keep_outs": [{"kind": "track", "from": [1, 1], "to": [1, 1], "width": 5}]},
            ("/keep_outs/0/to", "no_length"),
        ),
    ],
)
def test_what_cannot_be_is_refused_at_its_place_and_leaves_no_file(client, board, members, fault):
    answer = client.post("/v1/grid?format=rs274", json=changed(board, **members))
    assert answer.status_code == 422
    assert fault in faults(answer)


@pytest.mark.parametrize("missing", ["bit", "line", "pitch"])
def test_what_a_tool_needs_is_asked_for(client, missing):
    document = {name: value for name, value in BENCH.items() if name != missing}
    answer = client.post("/v1/grid", json=document)
    assert answer.status_code == 422
    assert faults(answer) == [(f"/{missing}", "missing")]


def test_nothing_to_cut_is_refused(client):
    table = {"units": "metric", "table": BENCH["table"], "mark": "none"}
    answer = client.post("/v1/grid", json=table)
    assert faults(answer) == [("/mark", "nothing_to_cut")]


def test_all_faults_come_at_once(client):
    answer = client.post("/v1/grid", json=changed(BENCH, margin=200, line={"depth": 18}, program="skim"))
    assert len(faults(answer)) >= 3


@pytest.mark.parametrize("member", ["keep_outs", "kind", "colour"])
def test_unknown_members_and_words_are_refused_with_what_was_meant(client, member):
    document = changed(BENCH)
    if member == "keep_outs":
        document["keep_outs"] = [{"kind": "trak"}]
    elif member == "kind":
        document["keep_outs"] = [{"at": [0, 0]}]
    else:
        document["colour"] = "red"
    assert client.post("/v1/grid", json=document).status_code == 400


def test_the_answer_tells_groove_order_and_what_was_broken(client):
    """By hand: 60 degrees and 0.3 mm deep is 0.346 wide; feed 1200 at 18,000 rev/min with 2 flutes is 1/30 mm."""
    body = client.post(
        "/v1/grid", json=changed(BENCH, engraving={"speed": 18000, "feed": 1200, "plunge": 400})
    ).get_json()
    assert body["groove"]["width"] == 0.346
    assert body["groove"]["feed_per_tooth"] == pytest.approx(1 / 30, rel=1e-5)
    assert body["groove"]["edge_speed"] == pytest.approx(3.14159 * 0.34641 * 18000, rel=1e-5)
    broken = {(line["along"], line["at"]): line["by"] for line in body["broken"]}
    assert broken["y", -96.825] == ["slanted track", "screw"]
    assert broken["x", 350.0 - 50.0] == ["screw", "clock"]
    assert ("x", 0.0) not in broken
    upright = [s for s in body["geometry"] if s["layer"].startswith("lines") and same(s["points"], 0)]
    assert body["marks"]["lines_y"] == len({s["points"][0][0] for s in upright}) == 22
    assert body["marks"]["lines_x"] == 7
    assert body["marks"]["pieces"] == len(upright) + 10
    assert len(body["fingerprint"]) == 32
    assert body["summary"].isascii()
    assert len(body["summary"]) <= 120
    assert [layer["name"] for layer in body["layers"] if not layer["cut"]] == [
        "table_outline",
        "keep_outs",
        "known_length",
    ]
    assert {"what", "low", "typical", "high", "unit", "source", "grade", "note"} == set(body["assumptions"][0])


def test_holes_left_out_are_told_with_the_reason(client):
    body = client.post("/v1/grid", json=boards.HOLES).get_json()
    assert [item["at"] for item in body["left_out"]] == [[10.0, 133.0], [106.0, 133.0], [202.0, 133.0], [298.0, 133.0]]
    assert body["left_out"][0]["by"] == ["track"]
    assert body["marks"] == {"holes": 16, "dowels": 3}
    assert body["hole"] == {
        "diameter": 9.75,
        "depth": 20.5,
        "through": False,
        "counterbore": {"diameter": 16.0, "depth": 5.5},
        "underside": None,
    }
    assert body["skims_left"]["fittings"] == 13  # 4 mm over the fittings, 0.3 mm a skim
    assert body["hole_travel"]["at_least"] <= body["hole_travel"]["way"] <= 1.35 * body["hole_travel"]["at_least"]


def test_bare_numbers_and_text_in_the_other_unit_give_the_same_marks(client):
    """1 in = 25.4 mm exactly."""
    metric = changed(
        BENCH, pitch=[19.05, 38.1], offset=[0, 0], labels=None, zero_mark=0, keep_outs=[], margin=25.4, title="t"
    )
    inch = changed(metric, units="inch", pitch=["3/4 in", '1-1/2"'], margin=1)
    inch["table"] = {"size": ["610 mm", "410 mm"], "origin": ["-150 mm", "-35 mm"], "thickness": "18 mm"}
    inch["bit"], inch["line"] = {"angle": 60, "diameter": "6 mm"}, {"depth": "0.3 mm", "major_depth": "0.5 mm"}
    one, two = (client.post("/v1/grid", json=document).get_json()["geometry"] for document in (metric, inch))
    lines = [[s["points"] for s in body if s["layer"].startswith("lines")] for body in (one, two)]
    assert len(lines[0]) == len(lines[1]) > 20
    for left, right in zip(*lines, strict=True):
        for a, b in zip(left, right, strict=True):
            assert a == pytest.approx([25.4 * value for value in b], abs=1e-3)


def test_a_grid_centred_between_an_existing_pattern_meets_no_hole_and_one_on_it_meets_all(client):
    """Closed form: hole pitch 100 is four times the grid's 25: every hole lies 12.5 from the next lines, or on one."""
    existing = {"first": [-50, 15], "pitch": 100, "columns": 5, "rows": 3, "diameter": 10}
    plain = changed(BENCH, pitch=25, offset=[0, 0], keep_outs=[], labels=None, zero_mark=0, major_every=0)
    for place, apart in (("between", 12.5), ("on", 0.0)):
        body = client.post("/v1/grid", json=changed(plain, existing={**existing, "place": place})).get_json()
        upright = [s["points"][0][0] for s in body["geometry"] if s["layer"] == "lines_fine" and same(s["points"], 0)]
        level = [s["points"][0][1] for s in body["geometry"] if s["layer"] == "lines_fine" and same(s["points"], 1)]
        assert {min(abs(x - hole) for x in upright) for hole in range(-50, 351, 100)} == {apart}
        assert {min(abs(y - hole) for y in level) for hole in range(15, 216, 100)} == {apart}
        assert body["cautions"] == []


def same(points, axis):
    return points[0][axis] == points[1][axis]


def test_a_pattern_that_does_not_divide_is_told(client):
    existing = {"first": [-50, 15], "pitch": [96, 100], "columns": 5, "rows": 3, "diameter": 10}
    body = client.post("/v1/grid", json=changed(BENCH, pitch=25, existing=existing, labels=None)).get_json()
    assert any("no whole multiple" in caution and "along x" in caution for caution in body["cautions"])
    assert any("run over existing holes" in caution for caution in body["cautions"])


def test_lines_break_at_existing_holes_where_a_clearance_is_given(client):
    existing = {"first": [0, 100], "pitch": 100, "columns": 2, "rows": 1, "diameter": 10, "place": "on", "clearance": 2}
    plain = changed(
        BENCH, pitch=100, offset=[0, 0], keep_outs=[], labels=None, zero_mark=0, major_every=0, mark="lines_x"
    )
    body = client.post("/v1/grid", json=changed(plain, existing=existing)).get_json()
    assert {"along": "x", "at": 100.0, "by": ["hole 1/1", "hole 2/1"]} in body["broken"]
    pieces = sorted(s["points"] for s in body["geometry"] if s["layer"] == "lines_fine" and s["points"][0][1] == 100.0)
    half = 5 + 2 + 0.5 * 0.577  # the wider of the two lines is 0.5 mm deep
    ends = sorted(x for piece in pieces for x, _ in piece)
    assert ends == pytest.approx([-120, -half, half, 100 - half, 100 + half, 430], abs=2e-3)


@pytest.mark.parametrize("mark", ["lines", "lines_x", "lines_y", "crosses", "dots", "none"])
@pytest.mark.parametrize("order", ["one_direction", "least_travel"])
def test_every_mark_and_order_makes_a_program(client, mark, order):
    text = client.post("/v1/grid?format=rs274", json=changed(BENCH, mark=mark, order=order)).get_data(as_text=True)
    assert text.endswith("M30\n")
    assert text.count("G0 Z5.0") == text.count("G1 Z") + 1


def test_least_travel_is_not_longer_than_one_direction_first(client):
    ways = {}
    for order in ("one_direction", "least_travel"):
        body = client.post("/v1/grid", json=changed(BENCH, order=order)).get_json()
        ways[order] = body["programs"][0]["lengths"]["rapid"]
    assert ways["least_travel"] <= ways["one_direction"]


def test_a_skim_alone_is_a_program_and_a_picture(client):
    """By hand: 18 mm less 0.5 mm; 9.5 mm is changed: 8.5 / 0.5 = 17 skims in all."""
    skim = {
        "units": "metric",
        "table": {"size": [600, 400], "thickness": 18},
        "mark": "none",
        "skim": {"cutter": "1 in", "depth": 0.5, "stepover": "60 %"},
    }
    body = client.post("/v1/grid", json=skim).get_json()
    assert body["skims_left"] == {"grid": None, "fittings": None, "board": 17}
    assert body["programs"][0]["program"] == "skim"
    assert body["groove"] is None
    program = client.post("/v1/grid?format=rs274", json=skim).get_data(as_text=True)
    assert "Z-0.5" in program
    assert (
        ElementTree.fromstring(client.post("/v1/grid?format=svg", json=skim).data).find(".//*[@id='skim']") is not None
    )


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ({"kind": "tee_nut", "diameter": 8, "length": 9, "flange_diameter": 19, "flange_thickness": 1.5}, "from below"),
        ({"kind": "insert", "diameter": 12, "core": 9.5, "length": 20, "sunk": 1}, "go through the board"),
        ({"kind": "insert", "diameter": 12, "core": 9.5, "length": 13}, "flush with the face"),
        ({"kind": "dowel", "diameter": 10, "length": 12, "fit": 0.05}, "try one hole in scrap"),
    ],
)
def test_holes_come_with_their_cautions(client, kind, words):
    body = client.post("/v1/grid", json=changed(boards.HOLES, hole=kind)).get_json()
    assert any(words in caution for caution in body["cautions"])


def test_plain_through_holes_say_that_a_film_may_stay(client):
    body = client.post(
        "/v1/grid", json=changed(boards.HOLES, hole={"kind": "plain", "diameter": 6, "length": 22})
    ).get_json()
    assert body["hole"]["through"] is True
    assert any("film may stay" in caution for caution in body["cautions"])


def test_a_zero_off_the_table_is_told_and_rounding_too(client):
    far = changed(BENCH, table={**BENCH["table"], "origin": [100, 50]}, labels=None, keep_outs=[])
    assert any("zero lies off the table" in text for text in client.post("/v1/grid", json=far).get_json()["cautions"])
    inch = client.post("/v1/grid", json=boards.INCH).get_json()
    assert any("rounded to 0.0001 in" in text for text in inch["cautions"])


def test_labels_and_the_zero_mark_give_way_to_keep_outs(client):
    places = [
        {"kind": "circle", "name": "bolt", "at": [8, 1], "diameter": 6},
        {"kind": "rectangle", "name": "rail", "corners": [[-150, -35], [-10, -5]]},
    ]
    body = client.post("/v1/grid", json=changed(BENCH, keep_outs=places)).get_json()
    left = {item["mark"]: item["by"] for item in body["left_out"]}
    assert left["zero mark"] == ["bolt"]
    assert left["label -96.825"] == ["rail"]


@pytest.mark.parametrize("title", ["</title><script>", "a\u202eb", "%%d ^J", "(MSG, x) M3"])
def test_a_title_is_data_in_every_format(client, title):
    document = changed(BENCH, title=title)
    root = ElementTree.fromstring(client.post("/v1/grid?format=svg", json=document).data)
    assert not [item for item in root.iter() if "script" in item.tag]
    content = client.post("/v1/grid?format=dxf", json=document).data.decode("cp1252")
    assert read(io.StringIO(content)).audit().errors == []
    program = client.post("/v1/grid?format=rs274", json=document).get_data(as_text=True)
    assert sum("M3" in line for line in program.splitlines() if not line.startswith("(")) == 2  # M3 and M30


def test_the_worst_grid_within_the_limit_is_answered(client):
    """100,000 dots in least travel, the most that the limit takes, with a track across."""
    dots = changed(
        BENCH,
        table={"size": [2500, 1600], "thickness": 18},
        mark="dots",
        margin=5,
        pitch=[6.25, 6.7],
        labels=None,
        order="least_travel",
        keep_outs=[{"kind": "track", "from": [0, 0], "to": [2500, 1600], "width": 20}],
    )
    answer = client.post("/v1/grid", json=dots)
    assert answer.status_code == 200
    assert answer.get_json()["marks"]["dots"] > 90_000
