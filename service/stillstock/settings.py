"""Every setting and limit, read once from the environment into frozen dataclasses.

A value that cannot be right refuses to start the service: a limit that was misread is worse than none.
"""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

__all__ = ["PROMISED", "BadSetting", "Limits", "Promise", "Settings", "promised", "settings_from", "settings_table"]

PREFIX = "STILLSTOCK_"
MIB = 1024 * 1024
#: What the client reads; on a shop's machine both may live under one environment.
CLIENT_VARIABLES = frozenset({"STILLSTOCK_URL", "STILLSTOCK_PROFILE"})


class BadSetting(ValueError):
    """An environment variable whose value cannot be used; the message names it."""


def _limit(default: int, says: str, *, least: int = 1, most: int) -> Any:
    return field(default=default, metadata={"says": says, "least": least, "most": most})


def _setting(default: Any, says: str, **metadata: Any) -> Any:
    return field(default=default, metadata={"says": says, **metadata})


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What one request may hold and cost; each is served at ``/v1/limits`` and set by ``STILLSTOCK_<NAME>``."""

    body_bytes: int = _limit(16 * MIB, "bytes of a request body, after inflating", least=1024, most=256 * MIB)
    inflation: int = _limit(200, "times a gzip body may grow once it is over 1 MiB", least=2, most=1032)
    json_depth: int = _limit(32, "levels of nested objects and lists", least=8, most=200)
    json_values: int = _limit(1_000_000, "members and elements in one document", least=1000, most=10_000_000)
    number_digits: int = _limit(40, "characters of one number", least=17, most=400)
    text_characters: int = _limit(200, "characters of a name, note or label", least=20, most=10_000)
    holders: int = _limit(100, "holders in one set-up", most=5000)
    shop_holders: int = _limit(20, "kinds of holders that a shop states for a recommendation", most=200)
    matters: int = _limit(5, "things that matter in a recommendation", most=5)
    tools: int = _limit(100, "tools in one set-up", most=1000)
    cuts: int = _limit(100, "described cuts in one set-up", most=10_000)
    loads: int = _limit(1000, "stated loads in one set-up", most=100_000)
    parts: int = _limit(100, "parts that come free in one set-up", most=5000)
    path_points: int = _limit(10_000, "points of one path", least=3, most=1_000_000)
    outline_points: int = _limit(1000, "points of one outline", least=3, most=100_000)
    program_lines: int = _limit(500_000, "lines of a program", most=10_000_000)
    program_moves: int = _limit(500_000, "moves of a program, canned cycles and arcs unrolled", most=10_000_000)
    listed_moves: int = _limit(2000, "moves whose margins are listed in one answer", most=1_000_000)
    grid_marks: int = _limit(100_000, "lines, crosses, holes and labels of one grid", most=1_000_000)
    positions: int = _limit(1000, "positions of one batch", most=100_000)
    work: int = _limit(72_000, "units of work of one request, some half millisecond each", least=100, most=1_000_000)
    doubt_samples: int = _limit(256, "samples of a margin's distribution", least=32, most=4096)
    faults: int = _limit(50, "faults listed in one refusal", most=1000)
    in_flight: int = _limit(2, "computations at once in one worker process", most=1000)


@dataclass(frozen=True, kw_only=True)
class Promise:
    """Within what an operation answers or refuses any document, with no limit above its default.

    Attributes
    ----------
    seconds : int
        Of one core of an ordinary machine, for one computation. [s]
    megabytes : int
        Resident memory of the worker process at its peak, while that computation is its only one. [MB]
    """

    seconds: int
    megabytes: int


#: By operation: upper bounds. All the work at the dearest rate that was seen, 1.1 ms a unit, takes 79 s; the dearest
#: documents that were tried took half of it, on two cores with other work beside.
PROMISED = {
    "margin": Promise(seconds=80, megabytes=1200),
    "cutting_force": Promise(seconds=20, megabytes=400),
    "grid": Promise(seconds=30, megabytes=600),
    "retract_height": Promise(seconds=80, megabytes=1200),
    "positions": Promise(seconds=10, megabytes=400),
    "recommendation": Promise(seconds=80, megabytes=1200),
    "sheet": Promise(seconds=80, megabytes=1200),
}


def promised(limits: Limits) -> Mapping[str, Promise] | None:
    """Return what is promised under some limits, by operation; None where one is above its default."""
    kept = all(getattr(limits, item.name) <= item.default for item in fields(Limits) if item.name != "in_flight")
    return PROMISED if kept else None


@dataclass(frozen=True, kw_only=True)
class Settings:
    """How the service runs."""

    limits: Limits = field(default_factory=Limits)
    host: str = _setting("127.0.0.1", "address to listen on")
    port: int = _setting(8710, "port to listen on; 0 takes a free one", least=0, most=65535)
    workers: int = _setting(2, "worker processes (POSIX)", least=1, most=256)
    threads: int = _setting(128, "threads of a worker; most of them wait for slow senders", least=2, most=1024)
    read_seconds: int = _setting(10, "seconds within which a request must have arrived in full", least=1, most=600)
    wait_seconds: int = _setting(2, "seconds that a request waits for a place before 503", least=0, most=60)
    graceful_seconds: int = _setting(90, "seconds that a stopping worker gets to finish", least=1, most=600)
    recycle_after: int = _setting(5000, "requests after which a worker is replaced; 0 never", least=0, most=10**9)
    proxies: str = _setting("127.0.0.1,::1", "addresses of proxies whose forwarding headers are believed")
    cors_origin: str = _setting("", "origin of browser pages that may call (or *); empty: none")
    log_level: str = _setting("info", "least grave log line: debug, info, warning or error")
    metrics_dir: str = _setting("", "folder for counters shared by workers; empty makes one")
    tokens: frozenset[bytes] = _setting(
        frozenset(), "bearer tokens of at least 16 characters, separated by commas; empty: none asked for"
    )
    tokens_file: str = _setting("", "file with one bearer token a line, added to the above")


def settings_from(environ: Mapping[str, str]) -> Settings:
    """Return the settings that the environment states.

    Parameters
    ----------
    environ : mapping of str to str
        Such as ``os.environ``; names that do not start with ``STILLSTOCK_``, and the client's, are left alone.

    Raises
    ------
    BadSetting
        If a name is unknown (a limit misspelt would be no limit) or a value out of its range.
    """
    stated = {name for name in environ if name.startswith(PREFIX)} - CLIENT_VARIABLES
    given = {name: environ[name].strip() for name in stated}
    known = set(settings_table())
    for name in sorted(given):
        if name not in known:
            raise BadSetting(f"{name}: no such setting; the settings are {', '.join(sorted(known))}")
    limits = {item.name: _whole(given, item) for item in fields(Limits) if _name(item) in given}
    others = {item.name: _other(given, item) for item in fields(Settings) if _name(item) in given}
    tokens = frozenset(others.get("tokens", frozenset())) | _tokens_in_file(others.get("tokens_file", ""))
    return Settings(limits=Limits(**limits), **{**others, "tokens": tokens})


def settings_table() -> dict[str, tuple[str, str]]:
    """Return each environment variable with its default and what it says, for the documentation."""
    table = {}
    for item in (*fields(Settings), *fields(Limits)):
        if item.name == "limits":
            continue
        default = "" if isinstance(item.default, frozenset) else str(item.default)
        table[_name(item)] = (default, item.metadata["says"])
    return table


def _name(item: Any) -> str:
    return PREFIX + str(item.name).upper()


def _other(given: Mapping[str, str], item: Any) -> Any:
    if isinstance(item.default, int):
        return _whole(given, item)
    check = _CHECKS.get(item.name)
    return check(given[_name(item)], _name(item)) if check else given[_name(item)]


def _whole(given: Mapping[str, str], item: Any) -> int:
    name, least, most = _name(item), item.metadata["least"], item.metadata["most"]
    text = given[name]
    if not (text.isascii() and text.isdigit() and len(text) <= 12):
        raise BadSetting(f"{name}: expected a whole number ({item.metadata['says']}), got {text!r}")
    if not least <= int(text) <= most:
        raise BadSetting(f"{name}: expected {least} to {most} ({item.metadata['says']}), got {text}")
    return int(text)


def _log_level(text: str, name: str) -> str:
    if text not in {"debug", "info", "warning", "error"}:
        raise BadSetting(f"{name}: expected debug, info, warning or error, got {text!r}")
    return text


def _origin(text: str, name: str) -> str:
    parts = urlsplit(text)
    plain = f"{parts.scheme}://{parts.netloc}"
    if text in {"", "*"} or (parts.scheme in {"http", "https"} and parts.netloc and plain == text):
        return text
    raise BadSetting(f"{name}: expected an origin such as https://cam.example, or *, got {text!r}")


def _token_digests(text: str, name: str) -> frozenset[bytes]:
    return frozenset(_digest(token.strip(), name) for token in text.split(",") if token.strip())


def _digest(token: str, name: str) -> bytes:
    if len(token) < 16 or not token.isascii() or not token.isprintable() or " " in token:
        raise BadSetting(f"{name}: a token needs at least 16 printable ASCII characters and no blank")
    return hashlib.sha256(token.encode()).digest()


def _tokens_in_file(path: str) -> frozenset[bytes]:
    if not path:
        return frozenset()
    name = PREFIX + "TOKENS_FILE"
    try:
        lines = Path(path).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as why:
        raise BadSetting(f"{name}: cannot be read: {type(why).__name__}") from why
    tokens = frozenset(_digest(line.strip(), name) for line in lines if line.strip())
    if not tokens:
        raise BadSetting(f"{name}: holds no token; leave the setting empty to ask for none")
    return tokens


_CHECKS: dict[str, Callable[[str, str], Any]] = {
    "log_level": _log_level,
    "cors_origin": _origin,
    "tokens": _token_digests,
}
