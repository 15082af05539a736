"""What a recommendation costs: ``python tests/bench/bench_recommendation.py``. Prints; asserts nothing.

Ten ways of holding against one margin request for the first choice, over the application's own views, in one run; and
the share of the time that the solver of linear programmes takes.
"""

import cProfile
import pstats
import time
from typing import Any

from flask.testing import FlaskClient

from stillstock.answers.shop import Shop
from stillstock.answers.ways_to_hold import methods_of
from stillstock.app import create_app
from stillstock.schemas.shop import load_question
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

#: The solver's own call, as the profiler names it.
SOLVER = "highspy._core.run"

QUESTION: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18]},
    "bed": {"material": "mdf", "thickness": 18},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up", "stickout": 28}},
    "cuts": [
        {
            "name": "outline", "kind": "profile", "tool": 1, "width": 6, "depth": 3, "feed": 2400, "speed": 18000,
            "path": [[60, 50, -6], [240, 50, -6], [240, 150, -6], [60, 150, -6], [60, 50, -6]],
        }
    ],
    "shop": {
        "holders": [
            {"kind": "strap_clamp", "count": 8, "torque": 1},
            {"kind": "screw", "count": 30},
            {"kind": "film_tape"},
            {"kind": "foam_tape"},
            {"kind": "tape_and_ca"},
            {"kind": "polymer_nail"},
            {"kind": "vacuum"},
            {"kind": "vise", "size": "150_mm"},
            {"kind": "dowel_pin"},
        ]
    },
}  # fmt: skip


def _shop(question: dict[str, Any]) -> Shop:
    return load_question(question, load_tables(), limits=Limits()).question.shop


def _timed(client: FlaskClient, path: str, document: dict[str, Any]) -> tuple[float, dict[str, Any]]:
    begun = time.process_time()
    answer = client.post(path, json=document).get_json()
    return time.process_time() - begun, answer


def ratio(question: dict[str, Any], *, rounds: int = 3) -> dict[str, float]:
    """Return times and counts of a recommendation and of margins of what it recommends.

    Parameters
    ----------
    question : dict
    rounds : int
        Of the margin, the least of which counts. [-]

    Returns
    -------
    dict of str to float
        ``ways``, ``judged``, ``recommendation`` and ``margin`` in s of this process, ``ratio``, ``programmes``, and the
        solver's share ``solver`` of a profiled run. [-], [s]
    """
    client = create_app().test_client()
    took, answer = _timed(client, "/v1/recommendation", question)
    margins = [min(_timed(client, "/v1/margin", one["set_up"])[0] for _ in range(rounds)) for one in answer["ranked"]]
    mean = sum(margins) / len(margins)
    return {
        "ways": float(len(methods_of(_shop(question)))),
        "judged": float(answer["judged"]),
        "programmes": float(answer["programmes"]),
        "recommendation": took,
        "margin": mean,
        "ratio": took / mean,
        "solver": solver_share(client, question),
    }


def solver_share(client: FlaskClient, question: dict[str, Any]) -> float:
    """Return the share of a recommendation's time that is spent in the solver of linear programmes. [-]"""
    profile = cProfile.Profile()
    profile.runcall(client.post, "/v1/recommendation", json=question)
    stats = pstats.Stats(profile)
    rows: dict[tuple[str, int, str], Any] = stats.stats  # type: ignore[attr-defined]
    inside = sum(row[2] for (_, _, name), row in rows.items() if SOLVER in name)
    return float(inside / stats.total_tt)  # type: ignore[attr-defined]


if __name__ == "__main__":
    found = ratio(QUESTION)
    print(f"{found['ways']:.0f} ways of holding, {found['judged']:.0f} set-ups judged in full")
    print(
        f"recommendation {found['recommendation']:.2f} s, a margin {found['margin']:.2f} s in the mean of those ranked"
    )
    print(f"ratio {found['ratio']:.1f}; {found['programmes']:.0f} programmes; solver {found['solver']:.0%} of the time")
