"""The compose file: valid by the Compose Specification's schema, and of one mind with image, proxy and settings.

The schema is the one that the Compose Specification publishes, as the package `check-jsonschema` carries it.
"""

import subprocess
import sys
from pathlib import Path
from typing import Any

import yaml

from stillstock import __version__
from stillstock.settings import PROMISED, Limits, settings_table

FILE = Path(__file__).parents[2] / "service/deploy/compose.yaml"
COMPOSE: dict[str, Any] = yaml.safe_load(FILE.read_text())
REPLICAS = [service for service in COMPOSE["services"].values() if service["image"].startswith("stillstock:")]
PROXY = COMPOSE["services"]["proxy"]


def checked(path: Path) -> int:
    command = [sys.executable, "-m", "check_jsonschema", "--builtin-schema", "vendor.compose-spec", str(path)]
    return subprocess.run(command, capture_output=True, timeout=60, check=False).returncode


def test_it_keeps_the_published_schema_and_a_misspelt_member_would_be_seen(tmp_path):
    wrong = tmp_path / "compose.yaml"
    wrong.write_text(FILE.read_text().replace("read_only:", "readonly:"))
    assert (checked(FILE), checked(wrong)) == (0, 1)


def test_there_are_two_replicas_of_this_version_with_addresses_that_the_proxy_knows():
    assert len(REPLICAS) == 2
    assert {service["image"] for service in REPLICAS} == {f"stillstock:{__version__}"}
    known = COMPOSE["configs"]["replicas"]["content"]
    addresses = [service["networks"]["replicas"]["ipv4_address"] for service in REPLICAS]
    assert known.splitlines() == [f"server {address}:8000 max_fails=0;" for address in addresses]
    believed = {service["environment"]["STILLSTOCK_PROXIES"] for service in REPLICAS}
    assert believed == {PROXY["networks"]["replicas"]["ipv4_address"]}


def test_every_variable_is_a_setting_and_what_is_mounted_is_there():
    for service in REPLICAS:
        assert set(service["environment"]) <= set(settings_table())
        grace = int(service["stop_grace_period"].removesuffix("s"))
        assert grace > int(service["environment"]["STILLSTOCK_GRACEFUL_SECONDS"])
    for mount in PROXY["volumes"]:
        assert (FILE.parent / mount.split(":")[0]).is_file()
    built = [service["build"] for service in REPLICAS if "build" in service]
    assert [(FILE.parent / build["context"] / build["dockerfile"]).is_file() for build in built] == [True]


def test_a_replica_has_the_memory_and_the_time_for_all_that_it_may_compute_at_once():
    most = max(each.megabytes for each in PROMISED.values())
    longest = max(each.seconds for each in PROMISED.values())
    for service in REPLICAS:
        workers = int(service["environment"]["STILLSTOCK_WORKERS"])
        assert service["mem_limit"].endswith("g")
        assert int(service["mem_limit"][:-1]) * 2**30 >= workers * Limits().in_flight * most * 10**6
        assert int(service["environment"]["STILLSTOCK_GRACEFUL_SECONDS"]) >= longest


def test_nothing_may_write_or_rise():
    for service in COMPOSE["services"].values():
        assert service["read_only"] is True
        assert service["cap_drop"] == ["ALL"]
        assert service["security_opt"] == ["no-new-privileges:true"]
        assert service["tmpfs"]
