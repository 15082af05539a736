"""Speed of the main job as ratios within one run: ``python tests/bench/bench_margin.py``. Prints; asserts nothing."""

import json
import os
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path

import numpy as np
from scipy.optimize import linprog

from stillstock.answers.hold import stance_of, typical_reading
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.equilibrium import System
from stillstock.engine.mechanics.sweep import Fan, Sweep, worst_of_sweep
from stillstock.schemas.set_up import load_set_up
from stillstock.tables.load import load_tables

ROOT = Path(__file__).parents[2]
MOVES, LOADS_A_FAN, SAMPLE, REQUESTS, FEW = 100_000, 90, 200, 300, 10
LIBRARIES = (
    *("gunicorn.app.wsgiapp", "flask", "jinja2", "marshmallow", "pint", "yaml", "prometheus_client"),
    *("numpy", "scipy.spatial", "scipy.stats", "highspy", "shapely", "ezdxf", "reportlab.platypus"),
)
"""Those that the service imports at its start."""
DOCUMENT = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up"}},
    "holders": [
        {"kind": "strap_clamp", "at": [x, y], "torque": 1, "angle": angle}
        for x, y, angle in ((18, 30, 0), (282, 45, 180), (280, 170, 180), (20, 160, 0))
    ],
    "cuts": [
        {"name": "outline", "kind": "profile", "tool": 1, "width": 6, "depth": 3, "feed": 2400, "speed": 18000,
         "path": [[40, 40, -3], [260, 40, -3], [260, 160, -3]]}
    ],
}  # fmt: skip


def long_path(moves: int) -> Sweep:
    """Return a winding path over the stock with three kinds of cut."""
    i = np.arange(moves)
    at = np.column_stack(
        [
            0.15 + 0.13 * np.sin(0.003 * i),
            0.1 + 0.08 * np.sin(0.0071 * i + 1.0),
            np.where(i % 2000 < 1000, -0.003, -0.009),
        ]
    )
    turn = np.linspace(0.0, 2.0 * np.pi, LOADS_A_FAN, endpoint=False)
    one = np.column_stack([20 + 40 * np.cos(turn), -25 + 45 * np.sin(turn), 12 + 6 * np.sin(2 * turn)])
    couple = np.column_stack([np.zeros((LOADS_A_FAN, 2)), np.full(LOADS_A_FAN, 0.15)])
    fans = tuple(Fan(force=share * one, couple=share * couple) for share in (1.0, 0.6, 0.8))
    heading = np.mod(i * 0.0137 + np.sin(0.01 * i), 2.0 * np.pi)
    return Sweep(fans=fans, fan=(3 * i // moves).astype(np.int64), point=at, heading=heading)


def fresh(system: System, load: np.ndarray) -> float:
    """Return the gauge by a linear programme built and solved anew."""
    n = system.balance.shape[1]
    cost = np.append(np.zeros(n), 1.0)
    limits = np.column_stack([system.limits, -system.bounds])
    balance = np.column_stack([system.balance, system.dead])
    bounds = [(None, None) if free else (0.0, None) for free in system.free] + [(0.0, None)]
    done = linprog(
        cost, A_ub=limits, b_ub=np.zeros(len(limits)), A_eq=balance, b_eq=-system.scale.wrenches(load), bounds=bounds
    )
    return float(done.fun or 0.0)


def worst_case() -> None:
    """Print the exact worst case against one fresh programme a load and system, on a sample of the loads."""
    stance = stance_of(load_set_up(DOCUMENT, load_tables()).set_up, load_tables())
    ways = [way.systems for way in stance.ways(typical_reading())]
    sweep = long_path(MOVES)
    capacity = Capacity(ways)
    start = time.perf_counter()
    worst = worst_of_sweep(capacity, sweep)
    took = time.perf_counter() - start
    rows = np.linspace(0, MOVES - 1, SAMPLE).astype(np.int64)
    loads, _ = sweep.loads(rows)
    some = loads.wrenches[:: len(loads.wrenches) // SAMPLE][:SAMPLE]
    start = time.perf_counter()
    values = [max(fresh(system, load) for way in ways for system in way) for load in some]
    each = (time.perf_counter() - start) / len(some)
    total = MOVES * LOADS_A_FAN
    print(f"worst of {total:,} loads: {took:.2f} s, {capacity.programmes} programmes")
    print(f"fresh linprog: {each * 1e3:.2f} ms a load; ratio {each * total / took:,.0f}")
    print(f"worst gauge {worst.worst.gauge:.4f}, greatest of the sample {max(values):.4f}")


@contextmanager
def served(application: str) -> Iterator[int]:
    """Run gunicorn with two workers on a free port."""
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log"
        environ = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join([str(ROOT / "service"), str(ROOT)]),
            "STILLSTOCK_PORT": "0",
            "OPENBLAS_NUM_THREADS": "1",
        }
        command = [sys.executable, "-m", "gunicorn", "-c", "service/deploy/gunicorn.conf.py", application]
        with log.open("wb") as lines:
            process = subprocess.Popen(command, cwd=ROOT, env=environ, stderr=lines)
        try:
            while not (found := re.search(r"Listening at: http://127\.0\.0\.1:(\d+)", log.read_text())):
                time.sleep(0.01)
            yield int(found[1])
        finally:
            process.terminate()
            process.wait(timeout=30)


def rate(port: int, path: str, document: object, times: int) -> float:
    """Return answers a second over one connection kept open. [1/s]"""
    body = json.dumps(document).encode()
    connection = HTTPConnection("127.0.0.1", port, timeout=60)
    start = time.perf_counter()
    for _ in range(times):
        connection.request("POST", path, body, {"Content-Type": "application/json"})
        answer = connection.getresponse()
        answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{path}: {answer.status}")
    return times / (time.perf_counter() - start)


def requests() -> None:
    """Print the rate of plain requests for one described cut against an endpoint that only echoes JSON."""
    with served("tests.web.echo_wsgi:application") as port:
        echo = rate(port, "/v1/echo", {"weights": [1, 2.5]}, REQUESTS)
    with served("stillstock.wsgi:application") as port:
        force = rate(port, "/v1/cutting-force", DOCUMENT, REQUESTS)
        margin = rate(port, "/v1/margin", DOCUMENT, FEW)
    print(f"echo {echo:.0f}/s; cutting-force {force:.0f}/s, a share of 1/{echo / force:.1f}")
    print(f"margin {margin:.1f}/s, a share of 1/{echo / margin:.0f}")


def start() -> None:
    """Print process start to ready against the bare import of the libraries, and a worker's memory."""
    libraries = f"import {', '.join(LIBRARIES)}"
    begin = time.perf_counter()
    subprocess.run([sys.executable, "-c", libraries], check=True)
    bare = time.perf_counter() - begin
    begin = time.perf_counter()
    with served("stillstock.wsgi:application") as port:
        connection = HTTPConnection("127.0.0.1", port, timeout=60)
        connection.request("GET", "/readyz")
        if connection.getresponse().status != 200:
            raise RuntimeError("not ready")
        ready = time.perf_counter() - begin
        rate(port, "/v1/margin", DOCUMENT, FEW)
        workers = subprocess.run(["pgrep", "-f", "stillstock.wsgi"], capture_output=True, text=True, check=True).stdout
        sizes = [_resident(int(number)) for number in workers.split()]
    print(f"ready after {ready:.2f} s, bare import {bare:.2f} s, ratio {ready / bare:.2f}")
    print(f"resident memory of master and workers: {', '.join(f'{size / 1e6:.0f} MB' for size in sizes)}")


def _resident(process: int) -> int:
    """Return the resident size of a process. [byte]"""
    try:
        fields = Path(f"/proc/{process}/statm").read_text().split()
    except FileNotFoundError:
        return 0
    return int(fields[1]) * os.sysconf("SC_PAGE_SIZE")


if __name__ == "__main__":
    worst_case()
    requests()
    start()
