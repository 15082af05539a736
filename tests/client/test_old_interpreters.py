"""The one file runs on every older interpreter that can be had, with nothing installed in it."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import stillstock_client

CLIENT = Path(stillstock_client.__file__)
NAMES = ["python3.6", "python3.7", "python3.8", "python3.9", "python3.10", "python3.12", "python3.13", "python3.14"]
VERMIN = [sys.executable, "-c", "from vermin import main; main()", "-t=3.6-", "--violations", "--no-tips"]
SELF_CHECK = """
import json, sys
sys.path.insert(0, sys.argv[1])
import stillstock_client as client
assert not any("site-packages" in name for name in sys.path), sys.path
found = {"version": list(sys.version_info[:2]), "dry": sorted(name for name in sys.modules if name.startswith("site"))}
asking = client.Client(sys.argv[2], deadline=10.0)
found["health"] = asking.health()
found["gate"] = client.gate(sys.argv[3], client=asking)._asdict()
found["packed"] = asking.margin({"program": {"text": "G1 X1\\n" * 2000}})["verdict"]
found["svg"] = asking.margin({}, format="svg").decode("ascii")
try:
    asking.sheet({})
except client.Refused as fault:
    found["refused"] = fault.one_line()
try:
    client.Client(sys.argv[4], ca_file=None, retries=0).health()
except client.NoService as fault:
    found["distrusted"] = fault.one_line()
found["trusted"] = client.Client(sys.argv[4], ca_file=sys.argv[5]).health()
found["overridden"] = client.gate(sys.argv[3], override="check")._asdict()
found["grids"] = client.grids(sys.argv[6], sys.argv[7], client=asking)._asdict()
try:
    client.Client("http://127.0.0.1:1", retries=1).health()
except client.NoService as fault:
    found["absent"] = fault.one_line()
print(json.dumps(found))
"""


def version_of(command):
    question = "import sys; print('%d.%d' % sys.version_info[:2])"
    try:
        done = subprocess.run([command, "-c", question], capture_output=True, timeout=20, check=False)
    except OSError:
        return None
    return done.stdout.decode().strip() if done.returncode == 0 else None


def candidates():
    yield sys.executable
    yield from filter(None, map(shutil.which, NAMES))
    manager = shutil.which("pyenv")
    if manager is not None:
        root = subprocess.run([manager, "root"], capture_output=True, check=False).stdout.decode().strip()
        yield from map(str, sorted(Path(root).glob("versions/*/bin/python")))


def interpreters() -> dict[str, str]:
    """Return one command for each version of Python 3 that answers; the current one is always among them."""
    found: dict[str, str] = {}
    for command in candidates():
        version = version_of(command)
        if version is not None and version.startswith("3."):
            found.setdefault(version, command)
    return found


FOUND = interpreters()
VERSIONS = sorted(FOUND, key=lambda version: int(version[2:]))


def test_the_current_interpreter_is_among_those_found(capsys):
    with capsys.disabled():
        print(f"\nthe client is tried on Python {', '.join(VERSIONS)}")
    assert FOUND["{}.{}".format(*sys.version_info[:2])] == sys.executable


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "machines.csv"
    path.write_text("name,pitch [mm]\nbench,25\n")
    return path


def play(act):
    """Answer each endpoint as the self-check expects."""
    pages = {
        "/healthz": act.reply({"status": "alive"}),
        "/v1/margin": act.reply(act.HOLDS),
        "/v1/retract-height": act.reply({"summary": "clear", "verdict": "clear", "meetings": []}),
        "/v1/margin?format=svg": act.reply(b"<svg/>", kind="image/svg+xml"),
        "/v1/grid?format=svg": act.reply(b"<svg/>", kind="image/svg+xml"),
        "/v1/sheet": act.problem(422, title="t", errors=[{"pointer": "/stock", "detail": "missing"}]),
    }
    return [lambda handler: pages[handler.path](handler)]


@pytest.mark.parametrize("isolation", [("-S", "-I"), ("-S", "-E")], ids=["S-I", "S-E"])
@pytest.mark.parametrize("version", VERSIONS)
def test_the_file_checks_itself(version, isolation, serve, act, program, certificate_for, table, tmp_path):
    certificate = certificate_for("IP:127.0.0.1")
    service, secure = serve(), serve(certificate=certificate)
    service.acts = secure.acts = play(act)
    folder = tmp_path / "Nachläufer für alt"
    folder.mkdir()
    shutil.copy(CLIENT, folder)
    script = tmp_path / "self_check.py"
    script.write_text(SELF_CHECK, encoding="utf-8")
    command = [FOUND[version], *isolation, str(script), str(folder), service.url, str(program), secure.url]
    command += [str(certificate[0]), str(table), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr.decode()
    found = json.loads(done.stdout.decode())
    assert "3.{}".format(found["version"][1]) == version
    assert found["dry"] == []  # not even the module `site` was loaded
    assert found["health"] == found["trusted"] == {"status": "alive"}
    assert (found["gate"]["code"], found["gate"]["verdict"], found["packed"]) == (0, "holds", "holds")
    assert found["svg"] == "<svg/>"
    assert found["refused"] == "/stock: missing"
    assert "certificate is not trusted" in found["distrusted"]
    assert "connection refused" in found["absent"]
    assert found["overridden"]["verdict"] == "not_checked"
    assert b"\r\n(HOLD NOT CHECKED)\r\n" in program.read_bytes()
    assert found["grids"]["failed"] == []
    assert (tmp_path / "bench.svg").read_bytes() == b"<svg/>"


@pytest.mark.parametrize("version", VERSIONS)
def test_the_command_line_starts(version, tmp_path):
    path = tmp_path / "lid.nc"
    path.write_bytes(b"G21\r\n")
    command = [FOUND[version], "-S", "-E", str(CLIENT), "gate", str(path), "--override", "check"]
    done = subprocess.run(command, capture_output=True, timeout=60, check=False)
    assert (done.returncode, done.stdout.splitlines()[0]) == (0, b"hold not checked: check")
    assert path.read_bytes() == b"(HOLD NOT CHECKED)\r\nG21\r\n"
    assert subprocess.run([*command[:4], "gate"], capture_output=True, timeout=60, check=False).returncode == 2


def test_the_minimum_version_checker_holds_the_file_to_3_6():
    checked = [str(CLIENT), str(CLIENT.parent / "examples" / "post_hook.py")]
    command = [*VERMIN, *checked]
    done = subprocess.run(command, capture_output=True, timeout=120, check=False)
    assert done.returncode == 0, done.stdout.decode()


def test_the_minimum_version_checker_sees_what_is_too_new(tmp_path):
    path = tmp_path / "new.py"
    path.write_text("if (n := 3) > 2:\n    print(n)\n")
    command = [*VERMIN, str(path)]
    done = subprocess.run(command, capture_output=True, timeout=120, check=False)
    assert done.returncode == 1
    assert b"3.8" in done.stdout
