"""Going ahead unchecked: one line in the program, and never half a file."""

import os
import stat
from pathlib import Path

import pytest

from stillstock_client import Client, gate

LINE = b"(HOLD NOT CHECKED)"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (b"%\r\nO0012 (LID)\r\nG21\r\n%\r\n", b"%\r\nO0012 (LID)\r\n(HOLD NOT CHECKED)\r\nG21\r\n%\r\n"),
        (b"%\nN10 O7\nG21\n", b"%\nN10 O7\n(HOLD NOT CHECKED)\nG21\n"),
        (b"O7\nG20\n", b"O7\n(HOLD NOT CHECKED)\nG20\n"),
        (b"\r\n%\r\nG21", b"\r\n%\r\n(HOLD NOT CHECKED)\r\nG21"),
        (b"G21\rG90\r", b"(HOLD NOT CHECKED)\rG21\rG90\r"),
        (b"G21\n%\n", b"(HOLD NOT CHECKED)\nG21\n%\n"),
        (b"\n\nG21\n", b"(HOLD NOT CHECKED)\n\n\nG21\n"),
        (b"%", b"%\n(HOLD NOT CHECKED)\n"),
        (b"", b"(HOLD NOT CHECKED)\n"),
        ("\ufeff%\r\n(Ü)\r\n".encode(), "\ufeff%\r\n(HOLD NOT CHECKED)\r\n(Ü)\r\n".encode()),
        ("\ufeffG21 (Ü)\n".encode(), "\ufeff(HOLD NOT CHECKED)\nG21 (Ü)\n".encode()),
        ("(Ü)\r\nG1\n".encode("cp1252"), b"(HOLD NOT CHECKED)\r\n" + "(Ü)\r\nG1\n".encode("cp1252")),
    ],
)
def test_the_line_comes_after_the_heading_with_the_program_s_own_line_ends(tmp_path, before, after):
    path = tmp_path / "lid.nc"
    path.write_bytes(before)
    for _ in range(2):  # the second time it is there already
        result = gate(str(path), override="clamps seen by the foreman")
        assert (result.code, result.verdict) == (0, "not_checked")
        assert result.summary == "hold not checked: clamps seen by the foreman"
        assert path.read_bytes() == after


def test_nobody_is_asked(tmp_path, service):
    path = tmp_path / "lid.nc"
    path.write_bytes(b"G21\n")
    gate(str(path), override=True, client=Client(service.url))
    assert service.seen == []


def test_an_empty_reason_is_no_override(program, act, service):
    before = program.read_bytes()
    service.acts = [act.reply({"verdict": "lets_go"})]
    assert gate(str(program), override="", client=Client(service.url)).code == 1
    assert program.read_bytes() == before


def test_a_write_that_fails_leaves_the_program_whole_and_the_gate_shut(program, monkeypatch):
    before, names = program.read_bytes(), sorted(program.parent.iterdir())

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    result = gate(str(program), override="in a hurry")
    assert result.code == 2
    assert "No space left" in result.summary
    assert program.read_bytes() == before
    assert sorted(program.parent.iterdir()) == names


def test_a_program_that_another_keeps_open_is_left_whole(program, monkeypatch):
    before, names = program.read_bytes(), sorted(program.parent.iterdir())

    def held(*_):
        raise PermissionError(13, "in use by another program")

    monkeypatch.setattr(os, "replace", held)
    assert gate(str(program), override="in a hurry").code == 2
    assert program.read_bytes() == before
    assert sorted(program.parent.iterdir()) == names


def test_the_file_is_replaced_from_the_same_folder(program, monkeypatch):
    moves: list[tuple[str, str]] = []
    replace = os.replace

    def move(*paths):
        moves.append(paths)
        replace(*paths)

    monkeypatch.setattr(os, "replace", move)
    gate(str(program), override="in a hurry")
    [(source, goal)] = moves
    assert Path(source).parent == Path(goal).parent == program.parent


def test_mode_and_link_stay(program, tmp_path):
    program.chmod(0o640)
    link = tmp_path / "link.nc"
    link.symlink_to(program)
    gate(str(link), override="in a hurry")
    assert link.is_symlink()
    assert LINE in program.read_bytes()
    assert stat.S_IMODE(program.stat().st_mode) == 0o640


def test_utf_16_is_refused(tmp_path):
    path = tmp_path / "lid.nc"
    path.write_bytes("G21\r\n".encode("utf-16"))
    before = path.read_bytes()
    assert gate(str(path), override="in a hurry").code == 2
    assert path.read_bytes() == before


def test_missing_program_could_not_tell(tmp_path):
    assert gate(str(tmp_path / "gone.nc"), override="in a hurry").code == 2
    assert not (tmp_path / "gone.nc").exists()
