"""The command line as post scripts start it: a process, its exit code, its first line."""

import json
import os
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import stillstock_client

CLIENT = Path(stillstock_client.__file__)
HOOK = CLIENT.parent / "examples" / "post_hook.py"


def in_a_process(*arguments, script=CLIENT, **environment):
    """Run as in a console of code page 1252, which cannot show every sign."""
    command = [sys.executable, "-W", "error", str(script), *map(str, arguments)]
    settings = {**os.environ, "PYTHONIOENCODING": "cp1252:strict", **environment}
    done = subprocess.run(command, capture_output=True, env=settings, timeout=30, check=False)
    assert done.stdout.isascii()
    assert b"Traceback" not in done.stderr
    return done.returncode, done.stdout.decode("ascii").splitlines(), done.stderr.decode("ascii").splitlines()


@pytest.fixture(params=["process", "function"])
def run(request, monkeypatch, capsys):
    """The command line, as a process of its own and as the function `main`."""

    def in_here(*arguments, **environment):
        for name, value in environment.items():
            monkeypatch.setenv(name, value)
        try:
            code = stillstock_client.main([str(argument) for argument in arguments])
        except SystemExit as ended:
            code = int(ended.code or 0)
        said = capsys.readouterr()
        assert said.out.isascii()
        return code, said.out.splitlines(), said.err.splitlines()

    return in_a_process if request.param == "process" else in_here


@pytest.mark.parametrize(("verdict", "code"), [("holds", 0), ("lets_go", 1), ("doubtful", 1), ("unknown", 2)])
def test_gate_ends_with_the_code_of_the_verdict(run, service, act, program, verdict, code):
    service.acts = [act.reply({**act.HOLDS, "verdict": verdict, "cautions": ["Spoilboard: Höhe 18 µm, 日本"]})]
    got, lines, _ = run("gate", program, "--url", service.url)
    assert got == code
    assert lines[0] == act.HOLDS["summary"]
    assert "  caution: Spoilboard: Hohe 18 um, ??" in lines


def test_gate_takes_its_options(run, service, act, program, tmp_path):
    service.acts = [act.reply({**act.HOLDS, "verdict": "doubtful"})]
    (tmp_path / "token.txt").write_bytes(b"s3cret\r\n")
    (tmp_path / "car.json").write_text('{"units": "inch", "stock": {}, "bed": {}, "tools": {}, "holders": []}')
    (tmp_path / "shop.json").write_text('{"required": {"factor": 3}}')
    code, _, _ = run(
        *("gate", program, "--url", service.url, "--setup", tmp_path / "car.json", "--profile", tmp_path / "shop.json"),
        *("--token-file", tmp_path / "token.txt", "--accept-doubt", "--deadline", "5"),
    )
    assert code == 0
    assert service.seen[0][2]["Authorization"] == "Bearer s3cret"
    assert service.document()["units"] == "inch"
    assert service.document()["required"] == {"factor": 3}


def test_gate_prints_json_on_request(run, service, act, program):
    code, lines, _ = run("gate", program, "--url", service.url, "--json")
    result = json.loads("\n".join(lines))
    assert code == result["code"] == 0
    assert result["verdict"] == "holds"
    assert result["answer"] == act.HOLDS


def test_gate_without_a_service_is_3_within_the_deadline(run, program):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        url = f"http://127.0.0.1:{probe.getsockname()[1]}"
        code, lines, _ = run("gate", program, "--url", url, "--deadline", "1")
    assert code == 3
    assert lines[0].startswith("no service at")
    assert len(lines[0]) <= 120


def test_url_may_come_from_the_environment(run, service, program):
    assert run("gate", program, STILLSTOCK_URL=service.url)[0] == 0


def test_gate_overridden_is_0_and_marks_the_program(run, program):
    code, lines, _ = run("gate", program, "--override", "Uwe hält's")
    assert code == 0
    assert lines[0] == "hold not checked: Uwe halt's"
    assert program.read_bytes().startswith(b"%\r\nO0012 (T\xdcRGRIFF)\r\n(HOLD NOT CHECKED)\r\nG21")


def test_gate_fails_on_a_meeting_unless_only_the_hold_is_asked_for(run, service, act, program):
    service.acts = [act.reply({**act.HOLDS, "meetings": [{"line": 5, "what": "shank meets stop 1"}]})]
    code, lines, _ = run("gate", program, "--url", service.url)
    assert code == 1
    assert lines[0] == "the tool meets something: line 5: shank meets stop 1"
    assert run("gate", program, "--url", service.url, "--hold-only")[0] == 0


@pytest.mark.parametrize("arguments", [[], ["gate"], ["gate", "a.nc", "--deadline", "x"], ["weigh", "a.nc"]])
def test_wrong_use_is_2(run, arguments):
    assert run(*arguments)[0] == 2


@pytest.mark.parametrize("options", [["--url", "nonsense"], ["--deadline", "-1"], ["--token-file", "gone"]])
def test_unusable_settings_are_2(run, program, options):
    code, lines, _ = run("gate", program, *options)
    assert code == 2
    assert lines[0].startswith("could not tell: ")


def test_a_fault_of_the_client_itself_is_2_and_not_1(program, monkeypatch, capsys):
    """An uncaught exception would end with 1, which says that the stock does not hold."""
    monkeypatch.setattr(stillstock_client, "gate", lambda *_, **__: 1 / 0)
    assert stillstock_client.main(["gate", str(program)]) == 2
    assert "ZeroDivisionError" in capsys.readouterr().out


def test_no_console_at_all_is_borne(service, program, monkeypatch):
    monkeypatch.setattr(sys, "stdout", None)
    assert stillstock_client.main(["gate", str(program), "--url", service.url]) == 0


def test_margin_writes_the_drawing(run, service, act, tmp_path):
    def by_path(handler):
        drawing = act.reply(b"<svg/>", kind="image/svg+xml")
        (drawing if "format=svg" in handler.path else act.reply(act.HOLDS))(handler)

    service.acts = [by_path]
    (tmp_path / "setup.json").write_text('{"units": "metric"}')
    target = tmp_path / "plan.svg"
    code, lines, _ = run("margin", tmp_path / "setup.json", "--url", service.url, "--format", "svg", "--out", target)
    assert code == 0
    assert lines[0] == act.HOLDS["summary"]
    assert target.read_bytes() == b"<svg/>"


def test_margin_alone_says_the_verdict(run, service, act, tmp_path):
    (tmp_path / "setup.json").write_text('{"units": "metric"}')
    service.acts = [act.reply({**act.HOLDS, "verdict": "doubtful"})]
    assert run("margin", tmp_path / "setup.json", "--url", service.url)[0] == 1
    assert run("margin", tmp_path / "setup.json", "--url", service.url, "--accept-doubt")[0] == 0


ADVICE: dict[str, Any] = {
    "summary": "strap clamp: 3.1 times the worst load, 6.5 min a piece; 1 ruled out",
    "verdict": "holds",
    "ranked": [
        {
            "title": "strap clamp",
            "verdict": "holds",
            "margin": {"typical": 3.1},
            "effort": {"time_per_piece": {"typical": 390}},
            "set_up": {"units": "metric", "holders": [{"kind": "strap_clamp", "at": [10, 20]}]},
        }
    ],
    "ruled_out": [{"title": "foam tape", "reason": {"detail": "foam gives"}}],
    "missing": [],
}


def test_recommend_lists_the_choices_and_writes_the_first(run, service, act, tmp_path):
    (tmp_path / "question.json").write_text('{"units": "metric"}')
    service.acts = [act.reply(ADVICE)]
    target = tmp_path / "setup.json"
    code, lines, _ = run("recommend", tmp_path / "question.json", "--url", service.url, "--out", target)
    assert (code, lines[0]) == (0, ADVICE["summary"])
    said = ["1. strap clamp: holds, 3.1 times, 6.5 min a piece", "out: foam tape: foam gives"]
    assert [line.strip() for line in lines[1:3]] == said
    assert json.loads(target.read_text()) == ADVICE["ranked"][0]["set_up"]


def test_recommend_lays_the_shop_profile_under_the_question(run, service, act, tmp_path):
    (tmp_path / "profile.json").write_text('{"units": "metric", "shop": {"holders": [{"kind": "film_tape"}]}}')
    (tmp_path / "question.json").write_text('{"units": "metric", "batch": 4}')
    service.acts = [act.reply(ADVICE)]
    asked = ("recommend", tmp_path / "question.json", "--profile", tmp_path / "profile.json", "--url", service.url)
    assert run(*asked)[0] == 0
    assert service.document() == {"units": "metric", "shop": {"holders": [{"kind": "film_tape"}]}, "batch": 4}


def test_recommend_with_nothing_that_would_do_fails_and_writes_nothing(run, service, act, tmp_path):
    (tmp_path / "question.json").write_text('{"units": "metric"}')
    empty = {**ADVICE, "verdict": "lets_go", "ranked": [], "missing": ["a place"]}
    service.acts = [act.reply(empty)]
    target = tmp_path / "setup.json"
    code, lines, _ = run("recommend", tmp_path / "question.json", "--url", service.url, "--out", target)
    assert code == 1
    assert lines[-1].strip() == "missing: a place"
    assert not target.exists()


def test_recommend_of_something_that_is_no_such_service_says_so(run, service, act, tmp_path):
    (tmp_path / "question.json").write_text('{"units": "metric"}')
    service.acts = [act.reply({"ranked": []})]
    code, lines, _ = run("recommend", tmp_path / "question.json", "--url", service.url)
    assert code == 3
    assert lines[0].endswith("its answer has no verdict; check the URL")


def test_margin_with_a_format_needs_a_place(run, tmp_path):
    (tmp_path / "setup.json").write_text("{}")
    assert run("margin", tmp_path / "setup.json", "--format", "svg")[0] == 2


def test_grid_writes_one_file_or_none(run, service, act, tmp_path):
    (tmp_path / "grid.json").write_text('{"pitch": "25 mm"}')
    target = tmp_path / "grid.dxf"
    service.acts = [act.problem(422, title="t"), act.reply(b"0\nEOF\n", kind="image/vnd.dxf")]
    options = ("grid", tmp_path / "grid.json", "--url", service.url, "--format", "dxf", "--out", target)
    assert run(*options)[0] == 2
    assert not target.exists()
    assert run(*options)[0] == 0
    assert target.read_bytes() == b"0\nEOF\n"


def test_grids_report_what_failed(run, service, act, tmp_path):
    good = act.reply(b"<svg/>", kind="image/svg+xml")
    service.acts = [good, act.problem(422, title="No such grid"), good]
    (tmp_path / "machines.csv").write_text("name,pitch [mm]\nleft,25\nmiddle,0\nright,50\n")
    code, lines, progress = run(
        *("grids", tmp_path / "machines.csv", "--url", service.url, "--out-dir", tmp_path),
        *("--template", "{name}_{pitch}.{ext}"),
    )
    assert code == 2
    assert lines[0].startswith("2 of 3 grids written")
    assert lines[1:] == ["  failed: line 3: No such grid"]
    assert progress == ["1/3 left_25mm.svg", "2/3 line 3: No such grid", "3/3 right_50mm.svg"]
    assert sorted(path.name for path in tmp_path.glob("*.svg")) == ["left_25mm.svg", "right_50mm.svg"]


def test_grids_without_their_folder_are_2(run, tmp_path):
    (tmp_path / "machines.csv").write_text("name,pitch [mm]\na,25\n")
    assert run("grids", tmp_path / "machines.csv", "--out-dir", tmp_path / "gone")[0] == 2


@pytest.mark.parametrize(
    ("content", "code", "said"),
    [
        ('{"units": "metric", "holders": []}', 0, "well-formed"),
        ('{"holder": []}', 2, "did you mean 'holders'?"),
        ('{"weather": "fine"}', 2, "unknown field 'weather'"),
        ('{"units": "metric", "units": "inch"}', 2, "'units' stands there twice"),
        ('{"units": "metric",\n "stock": }', 2, "line 2 column 11"),
        ('{"bed": {"error": Infinity}}', 2, "Infinity"),
    ],
)
def test_check_looks_without_a_service(run, tmp_path, content, code, said):
    path = tmp_path / "a.json"
    path.write_text(content)
    got, lines, _ = run("check", path)
    assert got == code
    assert said in "\n".join(lines)


@pytest.mark.parametrize("name", ["shop_profile.json", "chopping_board.nc.setup.json"])
def test_the_samples_are_well_formed(run, name):
    assert run("check", HOOK.parent / name)[0] == 0


@pytest.mark.parametrize(("verdict", "code"), [("holds", 0), ("lets_go", 1), ("unknown", 1)])
def test_the_example_hook_lets_only_a_hold_pass(service, act, program, verdict, code):
    service.acts = [act.reply({**act.HOLDS, "verdict": verdict})]
    got, lines, _ = in_a_process(program, script=HOOK, STILLSTOCK_URL=service.url)
    assert got == code
    assert lines[0] == act.HOLDS["summary"]
