"""Load figures by one command: ``python -m tests.bench.bench_load``. Prints tables; asserts nothing.

Every operation of the contract is asked with its examples, in turn, by wrk (Debian's package `wrk`), and held to an
endpoint that only echoes JSON. Then memory after many requests against after a few, and the time to a ready service.
"""

import argparse
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from tests.contract.documents import contract, resolved
from tests.web.echo import PATH as ECHO_PATH
from tests.web.serving import ECHO, JSON, Service, start

SHIPPED = "stillstock.wsgi:application"
CONNECTIONS, TIMEOUT, LONGEST, STARTS = 4, 120, 120, 3
#: What stands in the path templates of the contract.
NAMES = {"{kind}": "strap_clamp", "{slug}": "invalid-document"}
SCALES = {"us": 1e-6, "ms": 1e-3, "s": 1.0, "m": 60.0}
#: Asks for each of its requests in turn. They are made at the first call: before, `wrk.format` knows no host.
SCRIPT = """
local asks, last = {}, 0
local function read()
  wrk.headers["Host"] = wrk.host .. ":" .. wrk.port
  for line in io.lines("%(list)s") do
    local method, path, body = line:match("^(%%S+) (%%S+) ?(.*)$")
    wrk.headers["Content-Type"] = body ~= "" and "application/json" or nil
    asks[#asks + 1] = wrk.format(method, path, wrk.headers, body ~= "" and body or nil)
  end
end
request = function()
  if #asks == 0 then read() end
  last = last %% #asks + 1
  return asks[last]
end
"""


@dataclass(frozen=True)
class Ask:
    """One request."""

    method: str
    path: str
    document: dict[str, Any] | None = None

    def line(self) -> str:
        body = "" if self.document is None else " " + json.dumps(self.document)
        return f"{self.method} {self.path}{body}"


@dataclass(frozen=True)
class Figures:
    """What wrk found: requests a second, latencies [s], requests in all, and how many were refused."""

    rate: float
    half: float
    most: float
    count: int
    refused: int


@cache
def examples() -> dict[str, list[dict[str, Any]]]:
    """Return the example documents of each operation that takes one, by path."""
    stated = {path: item["post"]["requestBody"] for path, item in contract()["paths"].items() if "post" in item}
    contents = {path: resolved(body)["content"]["application/json"] for path, body in stated.items()}
    return {path: [resolved(each)["value"] for each in body["examples"].values()] for path, body in contents.items()}


def look_ups() -> list[Ask]:
    """Return a request for each operation that takes no document."""
    paths = [path for path, item in contract()["paths"].items() if "get" in item]
    return [Ask("GET", re.sub(r"\{\w+\}", lambda name: NAMES[name[0]], path)) for path in paths]


def computations() -> dict[str, list[Ask]]:
    """Return the requests of each operation that takes a document."""
    return {path: [Ask("POST", path, document) for document in some] for path, some in examples().items()}


def refusals() -> dict[str, list[Ask]]:
    """Return, for each operation that takes a document, its first example with a member that nobody knows."""
    return {path: [Ask("POST", path, {**some[0], "no_such_member": 1})] for path, some in examples().items()}


def figures_in(report: str) -> Figures:
    """Read what wrk prints with ``--latency``."""
    rate = re.search(r"Requests/sec: +([\d.]+)", report)
    count = re.search(r"(\d+) requests in", report)
    if rate is None or count is None or "Socket errors" in report:
        raise RuntimeError(report)
    refused = re.search(r"Non-2xx or 3xx responses: (\d+)", report)
    half, most = (_latency(report, share) for share in ("50%", "99%"))
    return Figures(float(rate[1]), half, most, int(count[1]), int(refused[1]) if refused else 0)


def _latency(report: str, share: str) -> float:
    found = re.search(rf"^ +{share} +([\d.]+)(us|ms|s|m) *$", report, re.M)
    if found is None:
        raise RuntimeError(report)
    return float(found[1]) * SCALES[found[2]]


def loaded(port: int, asks: Iterable[Ask], seconds: int) -> Figures:
    """Ask on and on for so many seconds. [s]"""
    with tempfile.TemporaryDirectory() as folder:
        listed, script = Path(folder) / "asks", Path(folder) / "script.lua"
        listed.write_text("".join(ask.line() + "\n" for ask in asks))
        script.write_text(SCRIPT % {"list": listed})
        command = ["wrk", "-t1", f"-c{CONNECTIONS}", f"-d{seconds}s", f"--timeout={TIMEOUT}s", "--latency"]
        command += ["-s", str(script), f"http://127.0.0.1:{port}"]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
    return figures_in(done.stdout)


@contextmanager
def serving(application: str, **settings: object) -> Iterator[Service]:
    """Run the service until it is done with."""
    with tempfile.TemporaryDirectory() as folder:
        service = start(Path(folder), application=application, **settings)
        service.timeout = TIMEOUT
        try:
            yield service
        finally:
            service.stop()


def row(name: str, found: Figures, floor: Figures) -> str:
    """Return one line of the table."""
    refused = f", {found.refused} of {found.count} refused" if found.refused else ""
    numbers = (found.rate, found.half * 1e3, found.most * 1e3, floor.rate / found.rate)
    return f"| {name}{refused} | {' | '.join(f'{number:,.1f}' for number in numbers)} |"


def enough(service: Service, asks: Sequence[Ask], seconds: int) -> int:
    """Ask once round, which also warms it up; return for how long to go on, longer where answers take long. [s]"""
    begin = time.perf_counter()
    for ask in asks:
        service.ask(ask.method, ask.path, None if ask.document is None else json.dumps(ask.document), JSON)
    return max(seconds, min(LONGEST, round(2.0 * (time.perf_counter() - begin))))


def rates(seconds: int) -> None:
    """Print rates and latencies of every operation, and of a refusal by each, against the echo just before it."""
    print("| what | requests/s | 50 % [ms] | 99 % [ms] | times the echo |\n|---|---|---|---|---|")
    echo = [Ask("POST", ECHO_PATH, {"weights": [1, 2.5]})]
    asked = [(f"POST {path}, {len(asks)} examples", asks) for path, asks in computations().items()]
    asked += [(f"POST {path}", asks) for path, asks in refusals().items()]
    asked += [(f"GET {ask.path}", [ask]) for ask in look_ups()]
    with serving(ECHO) as plain, serving(SHIPPED) as service:
        enough(plain, echo, seconds)
        floors = []
        for name, asks in asked:
            going_on = enough(service, asks, seconds)
            floors.append(loaded(plain.port, echo, seconds))
            print(row(name, loaded(service.port, asks, going_on), floors[-1]), flush=True)
    middle = statistics.median_low([floor.rate for floor in floors])
    median = next(floor for floor in floors if floor.rate == middle)
    print(row("the echo, in the middle", median, median))


def memory(few: int, many: int) -> None:
    """Print what the workers hold after many requests against after a few; none of them is replaced meanwhile."""
    cheap = "/v1/cutting-force"
    mix = [*look_ups(), *computations()[cheap], *(ask for asks in refusals().values() for ask in asks)]
    with serving(SHIPPED, recycle_after=0) as service:
        counts, sizes = [0], []
        for goal in (few, many):
            while counts[-1] < goal:
                counts.append(counts[-1] + loaded(service.port, mix, 1 if goal == few else 10).count)
            sizes.append(sum(resident(worker) for worker in service.workers()))
            print(f"workers hold {sizes[-1] / 1e6:.1f} MB after {counts[-1]:,} requests", flush=True)
    print(f"growth {sizes[1] / sizes[0] - 1:+.1%}")


def resident(process: int) -> int:
    """Return the resident size of a process. [byte]"""
    return int(Path(f"/proc/{process}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def cold_start() -> None:
    """Print the time from the command to the first ready answer."""
    times = []
    for _ in range(STARTS):
        begin = time.perf_counter()
        with serving(SHIPPED) as service:
            response, _ = service.ask(path="/readyz")
            times.append(time.perf_counter() - begin)
            if response.status != 200:
                raise RuntimeError("not ready")
    print(f"ready after {statistics.median(times):.2f} s (median of {STARTS})")


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Requests a second, latencies, memory and cold start.")
    parser.add_argument("--seconds", type=int, default=5, help="for each operation (default: %(default)s)")
    parser.add_argument("--requests", type=int, default=100_000, help="for the memory (default: %(default)s)")
    stated = parser.parse_args(arguments)
    if shutil.which("wrk") is None:
        print("wrk is not installed: apt-get install wrk (Debian), then ask again", file=sys.stderr)
        return 2
    rates(stated.seconds)
    memory(1000, stated.requests)
    cold_start()
    return 0


if __name__ == "__main__":
    sys.exit(main())
