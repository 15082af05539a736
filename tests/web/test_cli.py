"""The command line up to the point where a server takes over."""

import os

import pytest

from stillstock import __version__, cli


def test_version_and_help_name_what_there_is(capsys):
    with pytest.raises(SystemExit) as left:
        cli.main(["--version"])
    assert left.value.code == 0
    assert __version__ in capsys.readouterr().out
    with pytest.raises(SystemExit):
        cli.main(["serve", "--help"])
    assert "STILLSTOCK_BODY_BYTES=16777216" in capsys.readouterr().out


def test_a_bad_setting_is_named_and_nothing_starts(capsys, monkeypatch):
    monkeypatch.setattr(os, "execve", lambda *_: pytest.fail("started"))
    assert cli.main(["serve", "--port", "70000"]) == 2
    assert "STILLSTOCK_PORT: expected 0 to 65535" in capsys.readouterr().err


def test_options_win_over_the_environment(monkeypatch):
    started: list[dict[str, str]] = []
    monkeypatch.setenv("STILLSTOCK_PORT", "1")
    monkeypatch.setattr(cli, "_gunicorn", started.append)
    cli.main(["serve", "--port", "2", "--server", "gunicorn"])
    assert started[0]["STILLSTOCK_PORT"] == "2"
