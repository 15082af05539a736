"""The exact worst case of whole programs against plainer roads, in one run: ``python tests/bench/bench_worst_case.py``.

Prints tables; asserts nothing. Where a road would take hours it is walked on a sample, and the table says so.
"""

import json
import sys
import time
from collections.abc import Callable
from contextlib import closing
from functools import partial
from http.client import HTTPConnection
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.bench_margin import DOCUMENT, LOADS_A_FAN, fresh, long_path, served
from tests.engine.holding.cone_model import load_factors
from tests.engine.holding.slabs import LONG, THICK, WIDE, at, clamp, gathered, weight
from tests.programs import cabinet_door_program, raster_program

from stillstock.answers.hold import assess, stance_of, typical_reading
from stillstock.answers.job import CELLS, job_of
from stillstock.answers.move_margins import move_margins
from stillstock.engine.cutting.stock_removal import remove_stock
from stillstock.engine.mechanics.capacity import Capacity
from stillstock.engine.mechanics.equilibrium import System
from stillstock.engine.mechanics.sweep import worst_of_sweep
from stillstock.engine.mechanics.wrench import wrench
from stillstock.engine.program.read import read_program
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Corner

T = TypeVar("T")
SIZES = (1_000, 10_000, 100_000, 1_000_000)
SAMPLE, CONIC_SAMPLE = 200, 8
#: The board and tools of the programs of `tests.programs`.
DOOR: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [400, 300, 18], "origin": [0, 0, -18]},
    "bed": {"material": "mdf", "thickness": 18, "top": -18},
    "tools": {
        "1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up", "stickout": 28},
        "2": {"kind": "drill", "diameter": 5, "flutes": 2},
    },
    "holders": [
        {"kind": "strap_clamp", "at": [x, y], "torque": "2 N m", "angle": angle}
        for x, y, angle in ((15, 30, 0), (385, 30, 180), (385, 270, 180), (15, 270, 0))
    ],
}

CARVE: dict[str, Any] = DOOR | {
    "stock": DOOR["stock"] | {"size": [460, 360, 18], "origin": [-40, -30, -18]},
    "holders": [
        {"kind": "strap_clamp", "at": [x, y], "torque": "1.2 N m", "angle": angle}
        for x, y, angle in ((-25, 30, 0), (405, 30, 180), (405, 270, 180), (-25, 270, 0))
    ],
}
"""The door's set-up on a larger sheet, with its clamps off the rows that the carve cuts."""


def ways() -> list[tuple[System, ...]]:
    """Return the systems of four strap clamps."""
    stance = stance_of(load_set_up(DOCUMENT, load_tables()).set_up, load_tables())
    return [way.systems for way in stance.ways(typical_reading())]


def roads(moves: int, *, sample: int, conic_sample: int) -> dict[str, float]:
    """Return the time of the exact worst case of a long path, and of each plainer road a load.

    Parameters
    ----------
    moves : int
    sample, conic_sample : int
        Loads on which the plainer roads are timed, spread over the path.

    Returns
    -------
    dict of str to float
        ``worst`` seconds for all loads, ``programmes`` solved for them; seconds a load of a ``linprog`` built anew, a
        ``warm`` programme and a ``conic`` programme, each in every system; ``off``, how far the greatest gauge of the
        sample lies above the worst found (never above 0).
    """
    held, sweep = Capacity(ways()), long_path(moves)
    start = time.perf_counter()
    worst = worst_of_sweep(held, sweep)
    found = {"worst": time.perf_counter() - start, "programmes": float(held.programmes)}
    loads, _ = sweep.loads(np.unique(np.linspace(0, moves - 1, sample).astype(np.int64)))
    some = loads.wrenches[np.linspace(0, len(loads.force) - 1, sample).astype(np.int64)]
    start = time.perf_counter()
    plain = [max(fresh(system, load) for way in ways() for system in way) for load in some]
    found["linprog"] = (time.perf_counter() - start) / sample
    warm = Capacity(ways())
    start = time.perf_counter()
    for load in some:
        warm.holds(load)
    found["warm"] = (time.perf_counter() - start) / sample
    found["conic"] = conic(conic_sample)
    found["off"] = max(plain) / worst.worst.gauge - 1.0
    return found


def conic(sample: int) -> float:
    """Return the time of one load by a conic solver with true cones, on a slab under four clamps. [s]"""
    places = ((0.02, 0.03), (LONG - 0.02, 0.04), (LONG - 0.03, WIDE - 0.03), (0.03, WIDE - 0.04))
    clamps = [clamp(800.0, *place, holder=number) for number, place in enumerate(places)]
    contacts = gathered(weight(8.0, LONG / 2.0, WIDE / 2.0), *clamps)
    angles = np.arange(sample) * 0.7
    start = time.perf_counter()
    for angle in angles:
        force = (30.0 * np.cos(angle), 30.0 * np.sin(angle), 10.0)
        load_factors(contacts, wrench(at(0.1, 0.07, THICK), force), mu=0.3, shrinks=[1.0])
    return (time.perf_counter() - start) / sample


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Return how long some work takes, and its result. [s]"""
    start = time.perf_counter()
    done = work()
    return time.perf_counter() - start, done


def splitting(text: str) -> float:
    """Return the time of taking a text apart into words and floats, the median of five. [s]"""
    return sorted(timed(lambda: split(text))[0] for _ in range(5))[2]


def split(text: str) -> None:
    """Take a text apart into words and floats, the least that any reader must do."""
    for line in text.split("\n"):
        [(word[0], float(word[1:])) for word in line.split() if word[1:].lstrip("-").replace(".", "").isdigit()]


def stages(text: str, document: dict[str, Any]) -> dict[str, float]:
    """Return what each stage of the answer about a program takes, and plain split and float of the same text. [s]

    ``settled`` is 1 where every bracket came out narrow, 0 where the budget was spent before.
    """
    tables, limits, took = load_tables(), Limits(), {}
    set_up = load_set_up({**document, "program": {"text": text}}, tables).set_up
    took["split"] = splitting(text)
    tools = set_up.tools
    took["reading"], reading = timed(
        lambda: read_program(text, max_moves=limits.program_moves, tool_numbers=tuple(tools))
    )
    took["removal"], removal = timed(
        lambda: remove_stock(reading.moves, set_up.stock, set_up.bed, tools, max_cells=CELLS)
    )
    job = job_of(set_up, limits=limits)
    took["loads"], (loads, _) = timed(lambda: job.loads(Corner.TYPICAL))
    if loads is None:
        raise RuntimeError("the program cuts nothing")
    took["worst"], body = timed(lambda: assess(stance_of(set_up, tables), [typical_reading()], loads))
    took["brackets"], margins = timed(
        lambda: move_margins(
            [body], moves=reading.moves, removal=removal, required=set_up.required, budget=limits.work // 4
        )
    )
    return took | {"settled": float(margins.settled)}


def end_to_end(text: str, document: dict[str, Any]) -> dict[str, float]:
    """Return the time of one whole request over HTTP, answer and drawing, against splitting the text. [s]"""
    took = {"split": splitting(text)}
    body = json.dumps({**document, "program": {"text": text}}).encode()
    with served("stillstock.wsgi:application") as port:
        for name, accept in (("json", "application/json"), ("svg", "image/svg+xml")):
            took[name], status = timed(partial(ask, port, body, accept))
            if status != 200:
                raise RuntimeError(f"/v1/margin: {status}")
    return took


def ask(port: int, body: bytes, accept: str) -> int:
    """Ask for a margin; return the status."""
    with closing(HTTPConnection("127.0.0.1", port, timeout=600)) as connection:
        connection.request("POST", "/v1/margin", body, {"Content-Type": "application/json", "Accept": accept})
        answer = connection.getresponse()
        answer.read()
        return answer.status


def main() -> None:
    """Print every table."""
    print(f"exact worst case, {LOADS_A_FAN} loads a move; other roads on {SAMPLE} loads, conic on {CONIC_SAMPLE}")
    before = 0.0
    for moves in SIZES:
        found = roads(moves, sample=SAMPLE, conic_sample=CONIC_SAMPLE)
        loads, took = moves * LOADS_A_FAN, found["worst"]
        growth = f"{took / before:.1f} times the last" if before else ""
        before = took
        print(
            f"{moves:>9,} moves: {took:6.2f} s; {found['programmes']:.0f} programmes, one for "
            f"{2 * loads / found['programmes']:,.0f} loads and systems; {growth}\n"
            f"          each load anew, sampled: linprog {found['linprog'] * 1e3:.2f} ms = "
            f"{found['linprog'] * loads / took:,.0f} times; warm {found['warm'] * 1e3:.2f} ms = "
            f"{found['warm'] * loads / took:,.0f} times; conic {found['conic'] * 1e3:.0f} ms = "
            f"{found['conic'] * loads / took:,.0f} times; sample's greatest {found['off']:+.1e} from the worst"
        )
    carve = raster_program(100_000)
    for name, document, text in (("cabinet door", DOOR, cabinet_door_program()), ("carve", CARVE, carve)):
        lines, found = text.count("\n"), stages(text, document)
        each = ", ".join(
            f"{stage} {found[stage]:.2f} s" for stage in ("reading", "removal", "loads", "worst", "brackets")
        )
        print(f"{name}, {lines:,} lines: split {found['split']:.2f} s, {each}")
        print(
            f"          {lines / found['reading']:,.0f} lines/s read, {lines / found['removal']:,.0f} lines/s removed"
        )
    found = end_to_end(carve, CARVE)
    print(
        f"100,000 lines over HTTP: {found['json']:.1f} s = {found['json'] / found['split']:.0f} times the split; "
        f"drawing {found['svg']:.1f} s"
    )


if __name__ == "__main__":
    main()
