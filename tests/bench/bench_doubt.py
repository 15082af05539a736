"""What the margin's distribution costs: ``python -m tests.bench.bench_doubt``. Prints; asserts nothing.

All draws together against each draw by itself with everything built anew, in one run; of the latter a few, and their
time counted up to all.
"""

import time
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.stats import qmc
from tests.engine.holding.drawn_contacts import drawn

from stillstock.answers.drawn_margins import DrawnMargins
from stillstock.answers.hold import Assessed, Stance, assess, held, stance_of, typical_reading
from stillstock.answers.job import Job, job_of
from stillstock.engine.set_up import FloatArray
from stillstock.schemas.set_up import load_set_up
from stillstock.settings import Limits
from stillstock.tables.load import load_tables
from stillstock.tables.scatter import Corner

FEW = 48
CORNERS = [{"kind": "screw", "at": at} for at in ([12, 12], [288, 14], [285, 188], [15, 186])]
MORE = [{"kind": "screw", "at": at} for at in ([150, 10], [150, 190], [10, 100], [290, 104])]
TAPE = {"kind": "foam_tape", "area": [[40, 30], [260, 30], [260, 55], [40, 55]]}
CLAMPS = [
    {"kind": "strap_clamp", "at": [x, y], "torque": 1, "angle": angle}
    for x, y, angle in ((18, 30, 0), (282, 45, 180), (280, 170, 180), (20, 160, 0))
]
HOLDERS: dict[str, list[dict[str, Any]]] = {
    "four clamps": CLAMPS,
    "four screws": CORNERS,
    "eight screws": CORNERS + MORE,
    "tape and two screws": [TAPE, *CORNERS[::2]],
}


def document(holders: list[dict[str, Any]]) -> dict[str, Any]:
    """Return a set-up with these holders."""
    return {
        "units": "metric",
        "stock": {"material": "birch plywood", "size": [300, 200, 18]},
        "bed": {"material": "mdf", "thickness": 18},
        "tools": {"1": {"kind": "end_mill", "diameter": 8, "flutes": 2, "helix": "up"}},
        "holders": holders,
        "cuts": [
            {"kind": "profile", "tool": 1, "depth": 4, "width": 5, "feed": 2500, "speed": 16000, "level": -9,
             "path": [[60, 40], [240, 50], [230, 160]]}
        ],
    }  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A set-up and what is drawn of it."""

    stance: Stance
    job: Job
    worst: Assessed
    margins: DrawnMargins


def drawn_of(holders: list[dict[str, Any]]) -> Drawn:
    """Return a set-up with these holders, made ready to be drawn: all fasteners count, as worst by typical numbers."""
    tables = load_tables()
    set_up = load_set_up(document(holders), tables).set_up
    job, stance = job_of(set_up, limits=Limits()), stance_of(set_up, tables)
    loads, _ = job.loads(Corner.TYPICAL)
    if loads is None:
        raise ValueError("nothing pulls at it")
    worst = assess(stance, [typical_reading()], loads)
    stance = stance.without(worst.left_out)
    margins = DrawnMargins(stance, job, [worst])
    return Drawn(stance=stance, job=job, worst=worst, margins=margins)


def shares_of(one: Drawn) -> FloatArray:
    """Return as many rows of shares as a doubt of 64 samples of six inputs draws, each unlike all others."""
    return np.asarray(qmc.Sobol(d=len(one.margins.names), rng=1).random(64 * (2 + 6)))


def by_itself(one: Drawn, shares: FloatArray) -> FloatArray:
    """Return the margin at each row of shares, everything built anew. [-]"""
    margins, loads = [], one.margins.loads(shares)
    for row, each in zip(shares, loads, strict=True):
        named = dict(zip(one.margins.holding, (float(share) for share in row), strict=False))
        contacts, friction = drawn(one.stance.contacts, one.stance.friction, named)
        (found,) = held(replace(one.stance, contacts=contacts, friction=friction), [typical_reading()])
        margins.append(min(found.capacity.at(load).factor for load in each))
    return np.array(margins)


def main() -> None:
    """Print the ratio for each set-up."""
    for name, holders in HOLDERS.items():
        one = drawn_of(holders)
        shares = shares_of(one)
        begun = time.process_time()
        one.margins.margins(shares)
        together = time.process_time() - begun
        begun = time.process_time()
        by_itself(one, shares[:FEW])
        plain = (time.process_time() - begun) * len(shares) / FEW
        print(
            f"{name}: {len(shares)} draws {together:.2f} s, each by itself {plain:.1f} s, {plain / together:.0f} times"
        )


if __name__ == "__main__":
    main()
