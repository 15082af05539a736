"""The bill of materials by the command that the page names: valid CycloneDX, and exactly what the lock installs."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from cyclonedx.schema import OutputFormat, SchemaVersion
from cyclonedx.validation import make_schemabased_validator

ROOT = Path(__file__).parents[2]
LOCK = (ROOT / "service/deploy/requirements.lock").read_text()


@pytest.fixture(scope="module")
def bill(tmp_path_factory: pytest.TempPathFactory) -> str:
    page = (ROOT / "service/deploy/README.md").read_text()
    stated = re.search(r"&& cyclonedx-py (requirements .*) -o sbom\.cdx\.json$", page, re.M)
    assert stated is not None
    path = tmp_path_factory.mktemp("bill") / "sbom.cdx.json"
    command = [sys.executable, "-m", "cyclonedx_py", *stated[1].split(), "-o", str(path)]
    subprocess.run(command, cwd=ROOT, capture_output=True, timeout=120, check=True)
    return path.read_text()


def test_it_keeps_the_published_schema(bill):
    """OWASP, "CycloneDX Specification", JSON schema of the version that the document names, as the library has it."""
    version = SchemaVersion.from_version(json.loads(bill)["specVersion"])
    judge = make_schemabased_validator(OutputFormat.JSON, version)
    assert judge.validate_str(bill) is None
    assert judge.validate_str(bill.replace('"name"', '"nome"')) is not None


def test_it_names_what_the_lock_file_installs_with_its_hashes_and_nothing_else(bill):
    document = json.loads(bill)
    locked = dict(re.findall(r"^([a-z0-9.-]+)==(\S+)", LOCK, re.M))
    assert {each["name"]: each["version"] for each in document["components"]} == locked
    assert all(each["purl"] == f"pkg:pypi/{each['name']}@{each['version']}" for each in document["components"])
    hashes = re.findall(r'"content": "([0-9a-f]{64})"', bill)
    assert sorted(hashes) == sorted(re.findall(r"sha256:([0-9a-f]{64})", LOCK))
    assert document["metadata"]["component"]["name"] == "stillstock"
