"""Programs as no CAM system should post them: line and cause, and never a verdict that could be taken for safe."""

import time

import pytest
from tests.answers.test_move_margins import PROGRAM, document

from stillstock.app import create_app
from stillstock.settings import Limits

CLIENT = create_app().test_client()
LINES = Limits().program_lines
SLOT = "G1 X160. F2400."
END = "X60. Y70."


def asked(program: str):
    response = CLIENT.post("/v1/margin", json=document(program))
    return response, response.get_json()


BAD = {
    "a word that no controller knows": (PROGRAM.replace(SLOT, SLOT + " $42"), "unread_word", 6),
    "an arc of too small a radius": (PROGRAM.replace(SLOT, "G1 X100. F2400.\nG2 X160. Y40. R5."), "arc_radius", 7),
    "an arc whose ends are not on one circle": (
        PROGRAM.replace(SLOT, "G1 X100. F2400.\nG2 X160. Y40. I5. J0."), "arc_radius", 7,
    ),
    "a tool that is not described": (PROGRAM.replace("T1 M6", "T7 M6"), "missing_tool", 2),
    "no feed": (PROGRAM.replace(" F2400.", "").replace(" F600.", ""), "no_feed", 6),
    "a spindle that stands still": (PROGRAM.replace("S18000 M3\n", ""), "no_speed", 5),
    "a coordinate that is not a number": (PROGRAM.replace(SLOT, "G1 XNAN F2400."), "unread_word", 6),
    "a number beyond all": (PROGRAM.replace(SLOT, "G1 X1e400 F2400."), "exponent", 6),
    "bytes that are no text": ("\x00\x01\x02\xff\xfe\n" + PROGRAM, "unread_word", 1),
    "words in a line of 5 MB": (PROGRAM.replace(END, "G1 " + "X1. " * 1_250_000 + "\n" + END), "long_line", 16),
    "digits in a line of 5 MB": (PROGRAM.replace(END, "G1 X" + "1" * 5_000_000 + "\n" + END), "long_line", 16),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_program_is_unknown_with_line_and_cause(name):
    """What can be trusted is still answered: the same document has its checks, and its margin where anything cut."""
    program, code, line = BAD[name]
    start = time.perf_counter()
    response, answer = asked(program)
    assert time.perf_counter() - start < 20.0
    assert response.status_code == 200
    assert answer["verdict"] == response.headers["Stillstock-Verdict"] == "unknown"
    found = {(warning["code"], warning["line"]): warning for warning in answer["warnings"]}
    assert found[code, line]["doubt"]
    assert found[code, line]["detail"].isprintable()
    assert answer["summary"].startswith("could not tell: ")
    assert answer["summary"].isascii()


def test_where_nothing_was_judged_the_answer_does_not_say_that_it_presses_home():
    _, answer = asked(PROGRAM.replace("T1 M6", "T7 M6"))
    assert answer["summary"].endswith("no load was judged")


@pytest.mark.usefixtures("no_remedies")
def test_what_was_read_before_the_fault_keeps_its_margin():
    _, good = asked(PROGRAM)
    _, bad = asked(PROGRAM.replace(END, END + " $42"))
    assert bad["margin"] == good["margin"]


def test_moves_outside_the_travel_are_unknown_with_the_first_line():
    envelope = [[-20, -20, -18], [150, 120, 60]]
    response = CLIENT.post("/v1/margin", json={**document(PROGRAM), "machine": {"envelope": envelope}})
    answer = response.get_json()
    assert answer["verdict"] == "unknown"
    (found,) = [warning for warning in answer["warnings"] if warning["code"] == "outside_travel"]
    assert (found["line"], found["doubt"]) == (6, True)
    assert "6 such moves" in found["detail"]  # three cuts, and the lift at the end of each
    inside = {**document(PROGRAM.replace("M30", "$42")), "machine": {"envelope": [envelope[0], [160, 120, 60]]}}
    warnings = CLIENT.post("/v1/margin", json=inside).get_json()["warnings"]
    assert [warning["code"] for warning in warnings] == ["unread_word"]


@pytest.mark.parametrize(("path", "end"), [("/v1/margin", "\n"), ("/v1/retract-height", "\r\n")])
def test_more_lines_than_the_limit_are_refused_before_any_is_read(path, end):
    """So many comments move nothing; the limit is counted in lines all the same."""
    start = time.process_time()
    response = CLIENT.post(path, json=document(PROGRAM + f"(){end}" * LINES))
    assert time.process_time() - start < 2.0
    problem = response.get_json()
    assert response.status_code == 422
    assert problem["type"].endswith("too-much-work")
    (fault,) = problem["errors"]
    assert (fault["pointer"], fault["code"], fault["limit"]) == ("/program/text", "too_many_lines", LINES)
    assert fault["seen"] == LINES + PROGRAM.count("\n") + 1


def test_more_moves_than_the_limit_are_refused_with_the_limit():
    pecks = "G83 X20. Y20. Z-17. R2. Q0.00001 F600\n"
    response, problem = asked("G21 G90\nT1 M6\nS18000 M3\nG0 X10. Y10. Z5.\n" + pecks)
    assert response.status_code == 422
    assert problem["type"].endswith("too-much-work")
    assert problem["errors"][0]["pointer"] == "/program/text"
    assert str(Limits().program_moves) in problem["detail"]


def test_ten_million_moves_are_more_bytes_than_are_taken():
    response, problem = asked("X1.\n" * 10_000_000)
    assert response.status_code == 413
    assert "16777216" in problem["detail"]


@pytest.mark.usefixtures("no_remedies")
def test_a_program_half_beside_the_stock_is_never_safe():
    """Its zero in the middle, the set-up's in a corner: of 280 mm from -140 to 140 those below -12 lie beside."""
    for left, stray in ((10.0, False), (-70.0, True)):
        text = f"G21 G90\nT1 M6\nS18000 M3\nG0 X{left} Y50 Z5\nG1 Z-2 F600\nX{left + 140} F2000\nG0 Z5\nM30\n"
        answer = CLIENT.post("/v1/margin", json=document(text)).get_json()
        found = [one for one in answer["warnings"] if one["code"] == "beside_the_stock"]
        assert [(one["line"], one["doubt"]) for one in found] == ([(6, True)] if stray else [])
        assert (answer["verdict"] == "unknown") == stray
