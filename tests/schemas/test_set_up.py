"""The set-up document: what it becomes in SI, and everything that is refused with its place and reason."""

import copy
import time
from math import pi
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.set_up import CutKind, Direction, Helix, ToolKind
from stillstock.errors import ImpossibleSetUp, InvalidDocument
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Grade

TABLES = load_tables()
FULL: Any = {
    "units": "metric",
    "name": "house number",
    "stock": {
        "material": "Birch Plywood",
        "size": [300, 200, "18 mm"],
        "thickness": [17.4, 17.8],
        "origin": [10, -20, -18],
        "grain": "y",
        "outline": [[10, -20], [310, -20], [200, 180]],
        "bow": 0.5,
    },
    "bed": {
        "material": "mdf",
        "thickness": 19,
        "top": -18,
        "error": 0.2,
        "condition": "dusty",
        "friction": {"low": 0.3, "typical": 0.35, "high": "50 %"},
        "voids": [[[20, 0], [40, 10]]],
    },
    "machine": {
        "z_travel": 120,
        "nose_to_bed": 155,
        "park": [0, 0, 40],
        "spindle_power": 2.2,
        "efficiency": 0.7,
        "push_limit": "200 N",
        "altitude": "450 m",
        "rapid": "6 m/min",
        "rapid_z": 3000,
        "envelope": [[0, 0, -100], [600, 400, 50]],
        "dust_shoe": {"diameter": 90, "height": -4},
    },
    "zero": {"z": "stock_top"},
    "tools": {
        "7": {
            "kind": "end_mill",
            "diameter": "1/4 in",
            "flutes": 2,
            "helix": "compression",
            "helix_angle": 30,
            "up_length": 6,
            "edge": "sharp",
            "run_out": 0.02,
            "cutting_length": 22,
            "stickout": 28,
            "shank": 6.35,
            "collet": {"diameter": 32, "length": 40},
            "nose": {"diameter": 60, "length": 80},
        }
    },
    "holders": [
        {"kind": "strap_clamp", "at": [30, 0], "bolt": "M6", "torque": "4 N m"},
        {"kind": "film_tape", "area": [[120, 90], [60, 0]]},
    ],
    "cuts": [
        {
            "name": "rim",
            "kind": "profile",
            "tool": 7,
            "width": 3,
            "depth": 6,
            "feed": "2.4 m/min",
            "speed": 18000,
            "direction": "conventional",
            "path": [[20, -10], [250, -10]],
            "level": -6,
        },
        {"kind": "drill", "tool": 7, "depth": 10, "feed": 300, "speed": 9000, "path": [[100, 20, -10]]},
    ],
    "loads": [{"at": [150, 100, 0], "force": [120, 0, "30 N"], "moment": [0, 0, 1.5]}],
    "program": {"text": "G21 G90\r\nG1 X1 F100\r\n", "name": "rim.nc"},
    "required": {"factor": 2.5},
}
SMALL: Any = {
    "units": "metric",
    "stock": {"material": "mdf", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
}


def loaded(document) -> Any:
    return load_set_up(document, TABLES)


def changed(document, *changes):
    """Return a copy in which each (path, value) is set; `...` takes the member out."""
    copied = copy.deepcopy(document)
    for path, value in changes:
        *parents, last = path
        place = copied
        for name in parents:
            place = place[name]
        if value is ...:
            del place[last]
        else:
            place[last] = value
    return copied


def faults(document, error):
    with pytest.raises(error) as caught:
        load_set_up(document, TABLES)
    return {fault.pointer: fault for fault in caught.value.faults}


def test_every_member_reaches_the_set_up_in_si():
    """Conversions by hand: 25.4 mm an inch, pi/30 rad/s a revolution a minute, 60 s a minute."""
    document = loaded(FULL)
    assert (document.system, document.options.name, document.options.zero) == ("metric", "house number", "stock_top")
    assert document.options.program_name == "rim.nc"
    stock, bed, machine = document.set_up.stock, document.set_up.bed, document.set_up.machine
    assert stock.material.key == "birch_plywood"
    assert_allclose(
        [*stock.size, *stock.thickness, *stock.origin], [0.3, 0.2, 0.018, 0.0174, 0.0178, 0.01, -0.02, -0.018]
    )
    assert_allclose([stock.grain, stock.bow], [pi / 2, 0.0005])
    assert_allclose(stock.plan, [[0.01, -0.02], [0.31, -0.02], [0.2, 0.18]])
    assert_allclose([bed.thickness, bed.top, bed.error], [0.019, -0.018, 0.0002])
    assert bed.condition == "dusty"
    assert (bed.friction.low, bed.friction.typical, bed.friction.high) == (0.3, 0.35, 0.5)
    assert (bed.friction.grade, bed.friction.source) == (Grade.CALLER, "caller")
    assert_allclose(bed.voids[0], [[0.02, 0.0], [0.04, 0.0], [0.04, 0.01], [0.02, 0.01]])
    assert_allclose([machine.z_travel, machine.nose_to_bed, machine.spindle_power], [0.12, 0.155, 2200.0])
    assert_allclose([machine.efficiency, machine.push_limit, machine.altitude], [0.7, 200.0, 450.0])
    assert_allclose([machine.rapid, machine.rapid_z], [0.1, 0.05])
    assert_allclose([*machine.envelope[1], *machine.shoe, *machine.park], [0.6, 0.4, 0.05, 0.09, -0.004, 0, 0, 0.04])
    tool = document.set_up.tools[7]
    assert (tool.number, tool.kind, tool.helix, tool.flutes) == (7, ToolKind.END_MILL, Helix.COMPRESSION, 2)
    assert_allclose([tool.diameter, tool.helix_angle, tool.up_length, tool.run_out], [0.00635, pi / 6, 0.006, 2e-5])
    assert_allclose([tool.collet.length, tool.nose.diameter, tool.stickout], [0.04, 0.06, 0.028])
    clamp, tape = document.set_up.holders
    assert_allclose([*clamp.at, clamp.torque], [0.03, 0.0, 4.0])
    assert_allclose(tape.area, [[0.06, 0.0], [0.12, 0.0], [0.12, 0.09], [0.06, 0.09]])
    rim, hole = document.set_up.cuts
    assert (rim.name, rim.kind, rim.direction) == ("rim", CutKind.PROFILE, Direction.CONVENTIONAL)
    assert_allclose([rim.width, rim.depth, rim.feed, rim.speed], [0.003, 0.006, 0.04, 600 * pi])
    assert_allclose(rim.path, [[0.02, -0.01, -0.006], [0.25, -0.01, -0.006]])
    assert (hole.name, hole.direction, hole.width) == ("cut 2", Direction.CLIMB, tool.diameter)
    assert_allclose([*document.set_up.loads[0].force, *document.set_up.loads[0].moment], [120, 0, 30, 0, 0, 1.5])
    assert document.set_up.program == "G21 G90\r\nG1 X1 F100\r\n"
    assert document.set_up.required == 2.5


def test_an_inch_document_means_the_same_set_up():
    """The same job in inches, lbf and in/min: 25.4 mm and 4.4482216152605 N, exact by definition."""
    inch = {
        "units": "inch",
        "stock": {"material": "mdf", "size": [12, 8, "3/4 in"], "origin": [0, 0, -0.75]},
        "bed": {"material": "mdf", "thickness": "19.05 mm"},
        "tools": {"1": {"kind": "end_mill", "diameter": 0.25}},
        "cuts": [{"kind": "slot", "tool": 1, "depth": 0.125, "feed": 60, "speed": 18000, "path": [[1, 1, -0.125]]}],
        "loads": [{"at": [1, 2, 0], "force": [10, 0, 0], "moment": [0, 0, 10]}],
        "machine": {"spindle_power": 3},
    }
    mm = 25.4
    metric = {
        "units": "metric",
        "stock": {"material": "mdf", "size": [12 * mm, 8 * mm, 19.05], "origin": [0, 0, -19.05]},
        "bed": {"material": "mdf", "thickness": "3/4 in"},
        "tools": {"1": {"kind": "end_mill", "diameter": 6.35}},
        "cuts": [
            {"kind": "slot", "tool": 1, "depth": 3.175, "feed": 60 * mm, "speed": 18000, "path": [[mm, mm, -3.175]]}
        ],
        "loads": [{"at": [mm, 2 * mm, 0], "force": [44.482216152605, 0, 0], "moment": [0, 0, "10 in-lb"]}],
        "machine": {"spindle_power": "3 hp"},
    }
    a, b = (loaded(document).set_up for document in (inch, metric))
    assert_allclose(
        [*a.stock.size, *a.stock.origin, a.bed.thickness], [*b.stock.size, *b.stock.origin, b.bed.thickness]
    )
    assert_allclose(a.cuts[0].path, b.cuts[0].path)
    assert_allclose([a.cuts[0].width, a.cuts[0].feed], [b.cuts[0].width, b.cuts[0].feed])
    assert_allclose([*a.loads[0].force, *a.loads[0].moment], [*b.loads[0].force, *b.loads[0].moment])
    assert_allclose(a.machine.spindle_power, b.machine.spindle_power)


def sized(units: str, size: list[Any]) -> Any:
    """Return the size that a document with it has in SI, or the fault that it is refused for."""
    stock, bed = {"material": "red oak", "size": size}, {"material": "mdf", "thickness": "18 mm"}
    try:
        return loaded({"units": units, "stock": stock, "bed": bed}).set_up.stock.size
    except ImpossibleSetUp as error:
        (fault,) = error.faults
        return fault.pointer, fault.code, fault.detail.split("were ")[1].split(" meant")[0]


@pytest.mark.parametrize(
    ("units", "other", "size"),
    [
        ("inch", "millimetres", [610, 305, 19]),
        ("inch", "millimetres", [80, 60, 30]),
        ("inch", "millimetres", [24, 12, 18]),
        ("inch", "millimetres", [610, 305, "3/4 in"]),
        ("inch", "millimetres", [100, 80, 10]),
        ("metric", "inches", [24, 12, 0.75]),
        ("metric", "inches", [96, 48, 0.5]),
        ("metric", "inches", [24, 12, 1.5]),
    ],
    ids=str,
)
def test_a_size_that_makes_usual_stock_in_the_other_unit_alone_is_refused(units, other, size):
    """Common practice, no source: sheet goes up to 4 m, beams to 0.3 m; router stock under 0.8 mm is rare."""
    assert sized(units, size) == ("/stock/size", "unit_mismatch", other)


@pytest.mark.parametrize(
    ("units", "size"),
    [
        ("inch", [157.5, 82.7, 1.5]),
        ("inch", [236, 12, 12]),
        ("inch", [0.5, 0.5, 0.25]),
        ("inch", ["610 in", "305 in", "19 in"]),
        ("inch", ["610 mm", "305 mm", "19 mm"]),
        ("metric", [4000, 2100, 40]),
        ("metric", [12000, 300, 300]),
        ("metric", [85, 54, 0.8]),
        ("metric", [30, 20, 3]),
        ("metric", ["24 mm", "12 mm", "0.75 mm"]),
    ],
    ids=str,
)
def test_usual_stock_and_what_is_written_with_its_unit_is_taken(units, size):
    assert len(sized(units, size)) == 3
    assert isinstance(sized(units, size)[0], float)


def test_what_is_left_out_follows_from_zero():
    on_top = loaded(SMALL).set_up
    assert_allclose(
        [*on_top.stock.origin, on_top.bed.top, *on_top.stock.thickness], [0, 0, -0.018, -0.018, 0.018, 0.018]
    )
    on_bed = loaded({**SMALL, "zero": {"z": "bed"}}).set_up
    assert_allclose([*on_bed.stock.origin, on_bed.bed.top], [0, 0, 0, 0])


@pytest.mark.parametrize(
    ("path", "value", "pointer", "code", "corrected"),
    [
        (["units"], "metrik", "/units", "choice", "metric"),
        (["units"], ..., "/units", "missing", None),
        (["stok"], {}, "/stok", "unknown_field", "stock"),
        (["stock", "matrial"], "mdf", "/stock/matrial", "unknown_field", "material"),
        (["a/b~c"], 1, "/a~1b~0c", "unknown_field", None),
        (["bed"], None, "/bed", "null", None),
        (["bed"], 3, "/bed", "type", None),
        (["stock", "size"], [300, 200], "/stock/size", "length", None),
        (["stock", "size", 2], 0, "/stock/size/2", "range", None),
        (["stock", "size", 2], -18, "/stock/size/2", "range", None),
        (["stock", "size", 0], True, "/stock/size/0", "type", None),
        (["stock", "size", 0], "1,5 mm", "/stock/size/0", "decimal_comma", "1.5 mm"),
        (["stock", "bow"], "9**9**9 mm", "/stock/bow", "not_a_quantity", None),
        (["stock", "grain"], "z", "/stock/grain", "not_a_quantity", None),
        (["machine", "push_limit"], "20 lb", "/machine/push_limit", "wrong_dimension", "20 lbf"),
        (["tools", "7", "flutes"], 2.5, "/tools/7/flutes", "type", None),
        (["tools", "7", "flutes"], "2", "/tools/7/flutes", "type", None),
        (["tools", "7", "helix"], "Up", "/tools/7/helix", "choice", "up"),
        (["tools", "07"], {"kind": "drill", "diameter": 3}, "/tools/07", "tool_number", None),
        (["holders", 0, "kind"], "strap-clamp", "/holders/0/kind", "choice", "strap_clamp"),
        (["holders", 0, "kind"], ..., "/holders/0/kind", "missing", None),
        (["holders", 0, "at"], ..., "/holders/0/at", "missing", None),
        (["holders", 0, "torqe"], 4, "/holders/0/torqe", "unknown_field", "torque"),
        (["holders", 1, "area"], [[0, 0]], "/holders/1/area", "length", None),
        (["cuts", 0, "path", 1, 0], "10 N", "/cuts/0/path/1/0", "wrong_dimension", None),
        (["cuts", 0, "path", 1], [1, 2, 3, 4], "/cuts/0/path/1", "length", None),
        (["bed", "friction"], {"low": 0.3, "typical": 0.35}, "/bed/friction/high", "missing", None),
        (["program", "text"], "", "/program/text", "length", None),
        (["name"], "a\nb", "/name", "character", None),
        (["name"], "\ud800", "/name", "character", None),
        (["required", "factor"], 0.99, "/required/factor", "range", None),
    ],
)
def test_a_broken_schema_is_named_with_its_place(path, value, pointer, code, corrected):
    found = faults(changed(FULL, (path, value)), InvalidDocument)
    assert set(found) == {pointer}
    assert (found[pointer].code, found[pointer].corrected) == (code, corrected)


@pytest.mark.parametrize(
    ("path", "value", "pointer", "code"),
    [
        (["stock", "size", 2], "-18 mm", "/stock/size/2", "range"),
        (["stock", "size", 2], "0 mm", "/stock/size/2", "range"),
        (["stock", "size", 0], "1e9 m", "/stock/size/0", "range"),
        (["stock", "material"], "birch plywod", "/stock/material", "unknown_material"),
        (["stock", "thickness"], [17.8, 17.4], "/stock/thickness", "order"),
        (["stock", "thickness"], [3.4, 3.6], "/stock/thickness", "mismatch"),
        (["stock", "outline"], [[10, -20], [310, 180], [310, -20], [10, 180]], "/stock/outline", "outline"),
        (["stock", "outline"], [[10, -20], [310, -20], [110, -20]], "/stock/outline", "outline"),
        (["stock", "outline"], [[10, -20], [310, -20], [200, 190]], "/stock/outline", "outside"),
        (["bed", "top"], -10, "/stock/origin/2", "mismatch"),
        (["zero", "z"], "bed", "/zero/z", "mismatch"),
        (["bed", "friction"], {"low": 0.4, "typical": 0.35, "high": 0.5}, "/bed/friction", "order"),
        (["tools", "7", "up_length"], 0, "/tools/7/up_length", "mismatch"),
        (["tools", "7", "cutting_length"], 30, "/tools/7/cutting_length", "mismatch"),
        (["cuts", 0, "tool"], 8, "/cuts/0/tool", "unknown_tool"),
        (["cuts", 0, "width"], 7, "/cuts/0/width", "mismatch"),
        (["cuts", 0, "path", 1], [2500, -10], "/cuts/0/path/1", "outside"),
        (["cuts", 0, "level"], 3, "/cuts/0/path/0", "outside"),
        (["cuts", 0, "level"], -60, "/cuts/0/path/0", "outside"),
        (["cuts", 0, "level"], ..., "/cuts/0/level", "missing"),
        (["cuts", 1, "level"], -3, "/cuts/1/level", "mismatch"),
        (["cuts", 0, "path", 1], [250, -10, -6], "/cuts/0/path", "mixed"),
        (["loads", 0, "at"], [150, 100, 200], "/loads/0/at", "outside"),
        (["loads", 0], {"at": [150, 100, 0], "force": [0, 0, 0]}, "/loads/0/force", "no_load"),
    ],
)
def test_what_keeps_the_schema_and_cannot_be_is_another_fault(path, value, pointer, code):
    found = faults(changed(FULL, (path, value)), ImpossibleSetUp)
    assert pointer in found
    assert found[pointer].code == code


def test_a_clamp_beside_the_stock_is_refused_at_its_holder():
    found = faults(changed(FULL, (["holders", 0, "at"], [500, 500])), ImpossibleSetUp)
    assert all(pointer.startswith("/holders/0") for pointer in found)
    assert found


def test_all_faults_come_at_once():
    wrong = changed(
        FULL,
        (["units"], "metrics"),
        (["stock", "size"], ["3 lb", -1, None]),
        (["stock", "thickness"], ["-5 mm", 3]),
        (["tools", "7", "flutes"], 0),
        (["holders", 1, "area"], 5),
        (["cuts", 0, "kind"], "rofile"),
        (["extra"], 1),
    )
    assert set(faults(wrong, InvalidDocument)) == {
        "/units",
        "/stock/size/0",
        "/stock/size/1",
        "/stock/size/2",
        "/stock/thickness/0",
        "/tools/7/flutes",
        "/holders/1/area",
        "/cuts/0/kind",
        "/extra",
    }


@pytest.mark.parametrize("document", [None, [], "x", 3, True])
def test_a_document_that_is_no_object_is_refused(document):
    with pytest.raises(InvalidDocument, match="expected an object"):
        load_set_up(document, TABLES)


@pytest.mark.parametrize(
    "path", [["name"], ["required"], ["zero"], ["machine"], ["stock", "bow"], ["holders"], ["tools"]]
)
def test_null_is_refused_where_it_says_nothing(path):
    found = faults(changed(FULL, (path, None)), InvalidDocument)
    assert next(iter(found.values())).code == "null"


def test_list_lengths_follow_the_limits():
    many = changed(SMALL, (["loads"], [FULL["loads"][0]] * 4))
    assert len(load_set_up(many, TABLES, limits=Limits(loads=4)).set_up.loads) == 4
    with pytest.raises(InvalidDocument, match="0 to 3 elements"):
        load_set_up(many, TABLES, limits=Limits(loads=3))


def test_a_long_path_in_bare_numbers_and_in_text_is_the_same_path():
    xy = np.column_stack([np.linspace(20, 300, 400), np.linspace(-10, 170, 400)]).round(3)
    bare = changed(FULL, (["cuts", 0, "path"], xy.tolist()))
    text = changed(FULL, (["cuts", 0, "path"], [[f"{x} mm", f"{y}mm"] for x, y in xy.tolist()]))
    paths = [loaded(document).set_up.cuts[0].path for document in (bare, text)]
    assert_allclose(paths[0], paths[1], rtol=1e-14)


@pytest.mark.parametrize("point", [["60 lb", "9**9 mm"], [None, None], ["1,5 mm", True], [], "x"])
def test_a_document_that_is_wrong_throughout_is_not_judged_throughout(point):
    """A hundred thousand bad points: as many faults are named as a person can use, in a bounded time."""
    cut = changed(FULL, (["cuts", 0, "path"], [point] * 10_000))["cuts"][0]
    start = time.process_time()
    found = faults(changed(FULL, (["cuts"], [cut] * 10)), InvalidDocument)
    assert 300 < len(found) < 3000
    assert time.process_time() - start < 1.0


def test_many_unknown_members_are_refused_in_a_bounded_time():
    start = time.process_time()
    found = faults({**FULL, **{f"member{n}": n for n in range(100_000)}}, InvalidDocument)
    assert len(found) == 1000
    assert time.process_time() - start < 1.0
