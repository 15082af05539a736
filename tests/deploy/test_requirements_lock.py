"""The container's lock file: whatever the service declares is pinned and hashed in it, and it names no address."""

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
LOCK = (ROOT / "service/deploy/requirements.lock").read_text()
#: One requirement of pip's file format: a name at one version, then at least one SHA-256 a line.
PINNED = re.compile(r"(?P<name>[a-z0-9.-]+)==(?P<version>\S+)(?P<hashes>(?: \\\n    --hash=sha256:[0-9a-f]{64})+)\n")
VERSIONS = {canonicalize_name(each["name"]): each["version"] for each in PINNED.finditer(LOCK)}


def declared() -> list[Requirement]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    return [Requirement(text) for text in project["optional-dependencies"]["service"]]


def test_every_line_pins_a_version_by_hash_and_names_no_address():
    assert not PINNED.sub("", LOCK).strip()
    assert len(VERSIONS) == LOCK.count("==")


@pytest.mark.parametrize("requirement", declared(), ids=lambda requirement: requirement.name)
def test_what_the_service_declares_is_locked_within_its_bounds(requirement: Requirement):
    assert requirement.specifier.contains(VERSIONS[canonicalize_name(requirement.name)])


def test_the_image_installs_this_lock_and_only_by_hash():
    dockerfile = (ROOT / "Dockerfile").read_text()
    copied = re.findall(r"^COPY (service/\S+\.lock) ", dockerfile, re.M)
    assert copied == ["service/deploy/requirements.lock"]
    assert "--require-hashes -r requirements.lock" in dockerfile
    for source in re.findall(r"^COPY (?!--from)(.+) \S+$", dockerfile, re.M):
        assert all((ROOT / path).exists() for path in source.split())
