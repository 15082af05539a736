"""The gate: what it reads, what it asks, and that it stays shut whatever goes wrong."""

import json
import socket
from pathlib import Path

import pytest

import stillstock_client
from stillstock_client import Client, gate


def asked(service, path, **settings):
    return gate(str(path), client=Client(service.url, deadline=3.0, retries=0), **settings)


def test_a_hold_is_0_and_the_details_follow(service, program):
    result = asked(service, program)
    assert (result.code, result.verdict) == (0, "holds")
    assert result.summary == "holds 2.3 times the worst cut; lets go first by lifting, line 412"
    assert "margin: typical 2.3, pessimistic 1.2, required 2" in result.lines
    assert "worst: line 412, cut outline, at [18, 44, -6], force [31, 12, 25]" in result.lines
    assert "would help: two more tabs" in result.lines
    assert "caution: line 7: word B90 was not read" in result.lines
    assert "fingerprint: c0ffee" in result.lines
    assert all(line.isascii() for line in result.lines)
    assert result.answer is not None


def test_the_program_goes_along_as_it_is_and_is_not_touched(service, program):
    before = program.read_bytes()
    asked(service, program)
    assert service.document()["program"]["text"].encode("cp1252") == before
    assert program.read_bytes() == before
    assert sorted(path.name for path in program.parent.iterdir()) == ["Türgriff 3.nc", "Türgriff 3.nc.setup.json"]


def test_utf_8_is_read_as_such(service, program):
    program.write_bytes("(TÜRGRIFF)\r\nG1 X1\r\n".encode("utf-8-sig"))
    asked(service, program)
    assert service.document()["program"]["text"] == "(TÜRGRIFF)\r\nG1 X1\r\n"


def test_side_car_profile_and_request_are_merged(service, program, monkeypatch):
    profile = program.parent / "Werkstatt.json"
    profile.write_text('{"units": "metric", "machine": {"park": [0, 0, 44]}, "stock": {"bow": 0.7}}', encoding="utf-8")
    monkeypatch.setenv("STILLSTOCK_PROFILE", str(profile))
    result = asked(service, program, request={"tools": {"3": {"flutes": 1}}})
    document = service.document()
    assert document["machine"] == {"park": [0, 0, 44]}
    assert document["stock"] == {"material": "beech", "size": [180, 70, 21], "bow": 0.7}
    assert document["tools"] == {"3": {"kind": "end_mill", "diameter": 8, "flutes": 1}}
    assert any("Werkstatt.json" in line for line in result.lines)


def test_what_stands_in_the_shop_is_left_out_of_a_set_up(service, program):
    """A profile may say it for recommendations; a set-up document has no such member."""
    asked(service, program, profile={"units": "metric", "shop": {"holders": [{"kind": "film_tape"}]}, "batch": 3})
    assert {"shop", "batch"}.isdisjoint(service.document())


def profile_that_was_used(service, program):
    asked(service, program)
    return service.document().get("machine")


def test_profile_is_looked_for_in_the_home_folder_and_then_beside(service, program):
    assert profile_that_was_used(service, program) is None
    (program.parent / "stillstock.json").write_text('{"machine": {"altitude": "900 m"}}', encoding="utf-8")
    assert profile_that_was_used(service, program) == {"altitude": "900 m"}
    (Path.home() / ".stillstock.json").write_text('{"machine": {"altitude": "20 m"}}', encoding="utf-8")
    assert profile_that_was_used(service, program) == {"altitude": "20 m"}


@pytest.mark.parametrize("name", ["Türgriff 3.setup.json", "setup.json"])
def test_side_car_may_have_other_names(service, program, name):
    Path(f"{program}.setup.json").rename(program.parent / name)
    result = asked(service, program)
    assert result.code == 0
    assert service.document()["stock"]["material"] == "beech"


def test_named_profile_that_is_not_there_is_not_passed_over(service, program, monkeypatch):
    monkeypatch.setenv("STILLSTOCK_PROFILE", str(program.parent / "gone.json"))
    result = asked(service, program)
    assert result.code == 2
    assert service.seen == []


@pytest.mark.parametrize(
    ("verdict", "accept_doubt", "code"),
    [
        ("holds", False, 0),
        ("doubtful", False, 1),
        ("doubtful", True, 0),
        ("lets_go", False, 1),
        ("lets_go", True, 1),
        ("unknown", False, 2),
        ("unknown", True, 2),
    ],
)
def test_codes_of_the_verdicts(service, act, program, verdict, accept_doubt, code):
    service.acts = [act.reply({**act.HOLDS, "verdict": verdict})]
    result = asked(service, program, accept_doubt=accept_doubt)
    assert (result.code, result.verdict) == (code, verdict)


@pytest.mark.parametrize("answer", [{}, {"verdict": "fine"}, {"verdict": True}, {"verdict": ["holds"]}, {"verdict": 0}])
def test_answer_without_a_verdict_is_no_service(service, act, program, answer):
    service.acts = [act.reply(answer)]
    assert asked(service, program).code == 3


@pytest.mark.parametrize("junk", [None, 7, "x", [1], [[]], [{}], {"a": {}}, [{"line": None, "ok": 3}]])
def test_details_of_any_shape_do_not_break_the_gate(service, act, program, junk):
    members = ("summary", "margin", "worst", "checks", "remedies", "cautions", "warnings", "fingerprint")
    service.acts = [act.reply({"verdict": "lets_go", **dict.fromkeys(members, junk)})]
    result = asked(service, program)
    assert result.code == 1
    assert 0 < len(result.summary) <= 120


def test_unlimited_margin_is_said_in_words(service, act, program):
    margin = {"typical": None, "pessimistic": None, "required": 2.0, "unlimited": True}
    service.acts = [act.reply({"verdict": "holds", "margin": margin})]
    assert "margin: typical unlimited, pessimistic unlimited, required 2" in asked(service, program).lines


def test_refusal_could_not_tell_and_names_the_line(service, act, program):
    errors = [{"pointer": "/program/text", "detail": "no unit word", "line": 1}, {"pointer": "/stock", "detail": "b"}]
    service.acts = [act.problem(422, title="t", detail="d", errors=errors)]
    result = asked(service, program)
    assert (result.code, result.verdict) == (2, "unknown")
    assert result.summary == "could not tell: /program/text: no unit word (+1 more)"
    assert result.lines[:2] == ["line 1: /program/text: no unit word", "/stock: b"]


def test_no_service_is_3(program):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        url = f"http://127.0.0.1:{probe.getsockname()[1]}"
    result = gate(str(program), client=Client(url, retries=0))
    assert result.code == 3
    assert "start it" in result.summary


@pytest.mark.parametrize("absent", ["stock", "bed", "holders", "tools"])
def test_what_was_never_said_cannot_hold(service, program, absent):
    path = Path(f"{program}.setup.json")
    document = json.loads(path.read_text(encoding="utf-8"))
    del document[absent]
    path.write_text(json.dumps(document), encoding="utf-8")
    result = asked(service, program)
    assert (result.code, result.verdict) == (2, "unknown")
    assert absent in result.summary
    assert result.lines[0].startswith(f"would help most: {absent}:")


def test_without_a_side_car_the_list_of_what_helps_comes_first(service, act, program):
    Path(f"{program}.setup.json").unlink()
    service.acts = [act.problem(400, title="t", errors=[{"pointer": "/stock", "detail": "missing"}])]
    result = asked(service, program)
    assert result.code == 2
    assert result.summary == "could not tell: nothing is said about stock, bed, holders, tools; put it into a side-car"
    assert [line.split(":")[1].strip() for line in result.lines[:4]] == ["stock", "bed", "holders", "tools"]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b'{"units": "metric",}', "line 1 column"),
        (b'{"stock": {}, "stock": {}}', "twice"),
        (b'{"bed": {"error": NaN}}', "NaN"),
        (b"[]", "object"),
        (b"[" * 100_000, "deep"),
        ("{}".encode("utf-16"), "UTF-16"),
        (b"", "line 1"),
    ],
)
def test_unusable_side_car_could_not_tell(service, program, content, said):
    Path(f"{program}.setup.json").write_bytes(content)
    result = asked(service, program)
    assert result.code == 2
    assert said in "\n".join(result.lines)
    assert service.seen == []


def test_side_car_in_the_windows_code_page_is_read(service, program):
    path = Path(f"{program}.setup.json")
    document = json.loads(path.read_text(encoding="utf-8"))
    path.write_bytes(json.dumps({**document, "stock": {"material": "Bücher"}}, ensure_ascii=False).encode("cp1252"))
    asked(service, program)
    assert service.document()["stock"]["material"] == "Bücher"


def test_program_that_is_not_there_could_not_tell(service, program):
    result = asked(service, program.parent / "gone.nc")
    assert result.code == 2
    assert "gone.nc" in result.summary


def test_program_in_utf_16_is_refused(service, program):
    program.write_bytes("G1 X1".encode("utf-16"))
    assert asked(service, program).code == 2
    assert service.seen == []


def test_earlier_override_is_pointed_out(service, program):
    program.write_bytes(b"(HOLD NOT CHECKED)\r\n" + program.read_bytes())
    assert "the program still carries (HOLD NOT CHECKED) from an earlier run" in asked(service, program).lines


def two(act, margin, retract):
    def by_path(handler):
        (retract if "retract" in handler.path else act.reply(margin))(handler)

    return [by_path]


def test_meeting_of_tool_and_holder_fails_a_hold(service, act, program):
    meetings = [{"line": 88, "what": "collet nut meets strap_clamp 1", "depth": 2.2}]
    service.acts = two(act, act.HOLDS, act.reply({"meetings": meetings}))
    result = asked(service, program)
    assert result.code == 1
    assert result.summary == "the tool meets something: line 88: collet nut meets strap_clamp 1"
    assert [path for _, path, _, _ in service.seen] == ["/v1/margin", "/v1/retract-height"]
    assert asked(service, program, retract=False).code == 0


def test_no_meeting_lets_a_hold_pass(service, act, program):
    service.acts = two(act, act.HOLDS, act.reply({"meetings": []}))
    assert asked(service, program).code == 0


def test_a_way_that_is_close_is_told(service, act, program):
    close = {"meetings": [], "verdict": "doubtful", "summary": "doubtful: line 9: starts 0.4 mm from stop 1"}
    service.acts = two(act, act.HOLDS, act.reply(close))
    result = asked(service, program)
    assert result.code == 0
    assert "caution: on its way, doubtful: line 9: starts 0.4 mm from stop 1" in result.lines


def test_a_way_that_was_not_understood_could_not_tell(service, act, program):
    """No meeting was found, but not all could be judged: what is unknown never counts as safe."""
    summary = "could not tell: line 3: 9 move(s) not judged: their tool is not described among tools"
    service.acts = two(act, act.HOLDS, act.reply({"meetings": [], "verdict": "unknown", "summary": summary}))
    result = asked(service, program)
    assert (result.code, result.verdict, result.summary) == (2, "unknown", summary)
    assert asked(service, program, retract=False).code == 0
    service.acts = two(act, {**act.HOLDS, "verdict": "lets_go"}, service.acts[0])
    assert asked(service, program).code == 1


@pytest.mark.parametrize("kind", ["problem", "page"])
def test_service_that_cannot_say_whether_they_meet_could_not_tell(service, act, program, kind):
    retract = act.problem(404, title="No such resource") if kind == "problem" else act.reply(b"-", 404, "text/html")
    service.acts = two(act, act.HOLDS, retract)
    assert asked(service, program).code == 2
    service.acts = two(act, {**act.HOLDS, "verdict": "lets_go"}, retract)
    assert asked(service, program).code == 1  # a sure no outweighs the doubt


def test_answer_that_lists_no_meetings_could_not_tell(service, act, program):
    service.acts = two(act, act.HOLDS, act.reply({"clearance": 40}))
    assert asked(service, program).code == 2


def test_documents_may_be_given_by_the_caller(service, program):
    side_car: dict[str, object] = {"stock": {}, "holders": [], "tools": {}}
    result = asked(service, program, side_car=side_car, profile={"bed": {"material": "mdf"}})
    assert result.code == 0
    assert service.document()["bed"] == {"material": "mdf"}
    assert "side-car: given by the caller" in result.lines


def test_lets_go_stays_so_even_where_facts_are_missing(service, act, program):
    service.acts = [act.reply({**act.HOLDS, "verdict": "lets_go"})]
    result = asked(service, program, side_car={"stock": {}, "bed": {}, "holders": []})
    assert result.code == 1
    assert result.lines[0].startswith("would help most: tools:")


def test_long_lists_are_cut(service, act, program):
    service.acts = [act.reply({**act.HOLDS, "cautions": [f"no. {number}" for number in range(500)]})]
    result = asked(service, program)
    assert len(result.lines) < 60
    assert "and 463 more" in result.lines  # 500 cautions, margin, worst, remedy: 503; 40 are shown


def test_refusal_of_the_retract_question_could_not_tell(service, act, program):
    service.acts = two(act, act.HOLDS, act.problem(422, title="no stickout"))
    result = asked(service, program)
    assert result.code == 2
    assert "no stickout" in result.summary


def test_places_are_said_as_a_person_reads_them(service, act, program):
    worst = {"line": 0, "cut": "groove", "at": [150.00000000000003, 40.0, -6.35], "force": [-31.25, 0.0, 7.0]}
    checks = [{"name": "bolt", "value": 1.2345678, "limit": 1.0, "ok": False}]
    cautions = [{"line": 0, "detail": "no park position"}]
    service.acts = [act.reply({"verdict": "lets_go", "worst": worst, "checks": checks, "cautions": cautions})]
    assert asked(service, program).lines[:3] == [
        "worst: cut groove, at [150, 40, -6.35], force [-31.25, 0, 7]",
        "fails: bolt: at worst 1.235, limit 1",
        "caution: no park position",
    ]


def test_a_failing_check_is_named_with_its_holder_and_the_end_of_its_scatter():
    checks = [
        {"name": "anchor", "holder": number, "value": 3792.0, "limit": 800.0, "unit": "N", "ok": False}
        for number in (0, 1)
    ]
    lines = stillstock_client._details({"checks": checks})
    assert lines == [f"fails: anchor of holder {n}: at worst 3792 N, limit 800 N" for n in (1, 2)]


def test_the_help_says_where_side_car_and_profile_are_looked_for(capsys):
    with pytest.raises(SystemExit):
        stillstock_client.main(["gate", "--help"])
    said = " ".join(capsys.readouterr().out.split())
    for name in (
        "part.nc.setup.json",
        "part.setup.json",
        "setup.json beside it",
        "STILLSTOCK_PROFILE",
        "~/.stillstock.json",
    ):
        assert name in said
    assert "stillstock.json beside PROGRAM" in said
