"""Settings: read strictly, refused with the variable's name."""

import dataclasses
import hashlib
import re
from pathlib import Path

import pytest

import stillstock_client
from stillstock.settings import PROMISED, BadSetting, Limits, Settings, settings_from, settings_table


def test_an_empty_environment_gives_the_defaults():
    assert settings_from({}) == Settings()
    assert settings_from({"PATH": "/bin", "STILL": "x"}) == Settings()


def test_each_setting_is_read_from_its_variable():
    numbers = {f.name: f.metadata["least"] for f in dataclasses.fields(Limits)}
    settings = settings_from({f"STILLSTOCK_{name.upper()}": str(value) for name, value in numbers.items()})
    assert dataclasses.asdict(settings.limits) == numbers
    settings = settings_from({"STILLSTOCK_PORT": " 0 ", "STILLSTOCK_HOST": "::", "STILLSTOCK_CORS_ORIGIN": "*"})
    assert (settings.port, settings.host, settings.cors_origin) == (0, "::", "*")


def test_what_the_client_reads_from_the_environment_is_left_alone():
    read = re.findall(r'"(STILLSTOCK_[A-Z_]+)"', Path(stillstock_client.__file__).read_text())
    assert len(set(read)) >= 2
    assert settings_from(dict.fromkeys(read, "http://127.0.0.1:8710")) == Settings()


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("BODY_BYTES", "16MB"),
        ("BODY_BYTES", ""),
        ("BODY_BYTES", "-1"),
        ("BODY_BYTES", "1e6"),
        ("BODY_BYTES", "١٦٠٠٠"),
        ("BODY_BYTES", "1023"),
        ("BODY_BYTES", "9" * 5000),
        ("JSON_DEPTH", "201"),
        ("PORT", "65536"),
        ("IN_FLIGHT", "0"),
        ("LOG_LEVEL", "loud"),
        ("CORS_ORIGIN", "cam.example"),
        ("CORS_ORIGIN", "https://cam.example/path"),
        ("CORS_ORIGIN", "https://a.example, https://b.example"),
        ("TOKENS", "short"),
        ("TOKENS", "a-token-that-is-long, with blank in one of them"),
        ("TOKENS_FILE", "no/such/file"),
        ("BODY_BYTE", "1000000"),
    ],
)
def test_a_bad_value_refuses_to_start_and_names_the_variable(name, value):
    with pytest.raises(BadSetting, match=f"STILLSTOCK_{name}"):
        settings_from({f"STILLSTOCK_{name}": value})


def test_tokens_come_from_the_environment_and_from_a_file(tmp_path):
    file = tmp_path / "tokens"
    file.write_text("token-from-a-file-1\n\ntoken-from-a-file-2\n")
    environ = {"STILLSTOCK_TOKENS": "token-from-environ-1, token-from-environ-2", "STILLSTOCK_TOKENS_FILE": str(file)}
    expected = ["token-from-environ-1", "token-from-environ-2", "token-from-a-file-1", "token-from-a-file-2"]
    assert settings_from(environ).tokens == {hashlib.sha256(token.encode()).digest() for token in expected}


def test_a_file_without_a_token_is_refused_rather_than_open_to_all(tmp_path):
    file = tmp_path / "tokens"
    file.write_text("\n")
    with pytest.raises(BadSetting, match="holds no token"):
        settings_from({"STILLSTOCK_TOKENS_FILE": str(file)})


def test_the_table_names_every_setting_with_what_it_says():
    stated = {f.name for kind in (Settings, Limits) for f in dataclasses.fields(kind)} - {"limits"}
    table = settings_table()
    assert {name.removeprefix("STILLSTOCK_").lower() for name in table} == stated
    assert all(says for _, says in table.values())


def test_the_client_asks_where_the_service_listens_if_neither_is_told():
    assert f"http://127.0.0.1:{Settings().port}" == stillstock_client.DEFAULT_URL


def test_the_client_waits_for_longer_than_the_service_promises_to_take():
    assert stillstock_client.Client().deadline >= 1.5 * max(promise.seconds for promise in PROMISED.values())
