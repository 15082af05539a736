"""The main job, end to end: a program of some 5,000 lines through the client to the shipped service and back."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from defusedxml.ElementTree import fromstring
from tests.programs import cabinet_door_program
from tests.web.serving import served

import stillstock_client

ROOT = Path(__file__).parents[2]
SIDE_CAR = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [460, 360, 18], "origin": [-30, -30, -18]},
    "bed": {"material": "mdf", "thickness": 18, "top": -18},
    "machine": {"park": [0, 0, 40]},
    "tools": {
        "1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up", "stickout": 28},
        "2": {"kind": "drill", "diameter": 5, "flutes": 2, "stickout": 45},
    },
    "holders": [
        {"kind": "strap_clamp", "at": [x, y], "torque": "2 N m", "anchor": "through_bolt", "angle": angle}
        for x, angle in ((-18, 0), (418, 180))
        for y in (20, 280)
    ],
}
PART = {
    "name": "door",
    "outline": [[10, 10], [390, 10], [390, 290], [10, 290]],
    "held_by": [
        {"kind": "tab", "at": [x, y], "width": 8, "height": 3, "kerf": 6} for x in (74, 194, 314) for y in (8, 292)
    ],
}


@pytest.fixture(scope="module")
def service(tmp_path_factory):
    with served(
        tmp_path_factory.mktemp("service"),
        application="stillstock.wsgi:application",
        read_seconds=30,
        body_bytes=4_000_000,
    ) as running:
        yield f"http://127.0.0.1:{running.port}"


@pytest.fixture(scope="module")
def answer(service):
    client = stillstock_client.Client(service)
    return client.margin({**SIDE_CAR, "program": {"text": cabinet_door_program()}, "parts": [PART]})


def test_a_long_program_gets_a_verdict_with_line_place_and_motion(answer):
    program = cabinet_door_program().splitlines()
    assert len(program) >= 3000
    assert answer["verdict"] in ("holds", "doubtful")
    assert answer["margin"]["typical"] > 1.0
    assert answer["margin"]["pessimistic"] < answer["margin"]["typical"]
    line = answer["worst"]["line"]
    assert 1 <= line <= len(program)
    assert answer["let_go"]["kind"] in ("slide", "lift", "tip", "twist")
    assert len(answer["summary"]) <= 120
    assert answer["summary"].isascii()
    assert all(one["source"] for one in answer["assumptions"])
    assert answer["cautions"]


def test_the_part_comes_free_as_its_outline_closes(answer):
    """The outline is the last operation; the ring is closed in its last lap, tabs left out."""
    (part,) = answer["parts"]
    outline = next(n for n, text in enumerate(cabinet_door_program().splitlines(), 1) if text == "(OUTLINE)")
    assert part["line"] > outline
    assert part["margin"]["typical"] > 0.0


def test_shares_of_the_resisting_work_add_up_to_one(answer):
    """Principle of virtual work: in the let-go motion what resists does as much work as the load."""
    assert sum(one["share"] for one in answer["holders"]) == pytest.approx(1.0, abs=1e-3)


def test_the_same_question_gets_the_same_bytes(service):
    client = stillstock_client.Client(service)
    document = {**SIDE_CAR, "program": {"text": cabinet_door_program()}}
    drawings = [client.margin(document, format="svg") for _ in range(2)]
    assert drawings[0] == drawings[1]
    assert fromstring(drawings[0]).tag.endswith("svg")


def test_the_gate_says_it_in_one_line_and_an_exit_code(service, tmp_path):
    folder = tmp_path / "my parts"
    folder.mkdir()
    program = folder / "cabinet door.nc"
    program.write_bytes(cabinet_door_program().replace("\n", "\r\n").encode("cp1252"))
    (folder / "cabinet door.nc.setup.json").write_text(json.dumps(SIDE_CAR))
    command = [sys.executable, str(ROOT / "client" / "stillstock_client.py"), "gate", str(program)]
    done = subprocess.run(
        [*command, "--url", service, "--deadline", "60", "--accept-doubt"],
        capture_output=True,
        text=True,
        env={"PATH": os.environ["PATH"]},
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "times the worst load" in done.stdout.splitlines()[0]
    assert program.read_bytes() == cabinet_door_program().replace("\n", "\r\n").encode("cp1252")
