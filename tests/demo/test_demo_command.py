"""The first command that somebody runs: what it prints while it works, and what where no answer comes in time."""

import pytest

import stillstock_client
from stillstock import cli, demo

ANSWER = {"units": {"length": "mm"}}


@pytest.fixture
def asked(monkeypatch):
    """Answer without reckoning: what is looked at is the command."""
    monkeypatch.setattr(demo, "report", lambda _answer, _units: "the report")
    made = []

    def margin(client, _document, **form):
        made.append(client.deadline)
        return b"<svg/>" if form else ANSWER

    monkeypatch.setattr(stillstock_client.Client, "margin", margin)
    return made


def test_it_says_what_it_does_before_it_does_it(asked, capsys, tmp_path):
    assert cli.main(["demo", "--out", str(tmp_path / "out")]) == 0
    starting, asking, drawing, *rest = capsys.readouterr().out.splitlines()
    assert starting.startswith("Starting the service")
    assert asking.startswith("Asking http://127.0.0.1:")
    assert "drawing" in drawing
    assert "the report" in rest
    assert min(asked) >= 600.0
    assert (tmp_path / "out" / "margin.svg").read_bytes() == b"<svg/>"


def test_where_no_answer_comes_it_says_so_in_one_sentence(monkeypatch, capsys, tmp_path):
    def margin(*_arguments, **_options):
        raise stillstock_client.NoService("it took too long", where="http://127.0.0.1:1")

    monkeypatch.setattr(stillstock_client.Client, "margin", margin)
    assert cli.main(["demo", "--out", str(tmp_path)]) == cli.NO_ANSWER != 0
    said = capsys.readouterr()
    (line,) = said.err.splitlines()
    assert line.startswith("stillstock: the demo got no answer: ")
    assert "it took too long" in line
    assert "Traceback" not in said.out + said.err
