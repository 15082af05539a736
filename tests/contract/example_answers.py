"""What the service answers to each example of the contract, in the few numbers that matter.

They are stored as this code printed them: they guard against a change that nobody meant (of a default, a table, a
bound), and prove nothing about the truth of any number. Where a change is meant, make them anew and read the
difference before it is kept::

    python -m tests.contract.example_answers
"""

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from tests.contract.documents import contract, resolved

from stillstock.app import create_app

STORED = Path(__file__).with_suffix(".json")
#: What is kept of an answer: members by name, ``*`` for each element of a list, ``#`` for how many there are.
KEPT = {
    "/v1/margin": (
        *("verdict", "margin", "worst", "let_go.kind", "let_go.direction", "holders.#", "checks.*.ratio"),
        *("parts.#", "vacuum.#", "remedies.*.detail", "assumptions.#", "warnings.*.code"),
    ),
    "/v1/cutting-force": ("cuts.*.peak", "cuts.*.lift", "cuts.*.torque", "cuts.*.power", "cuts.*.spindle"),
    "/v1/grid": (
        *("marks", "groove", "hole", "skims_left", "layers.*.shapes", "layers.*.depth", "geometry.#"),
        *("broken.#", "left_out.#", "programs.*.time", "programs.*.lengths"),
    ),
    "/v1/retract-height": (
        *("verdict", "clearance", "retract", "clearance_ruled_by", "meetings_total", "rapids_total", "time_saved"),
        *("lead_ins.#", "stickouts", "z_budget.left", "keep_outs.#", "warnings.*.code"),
    ),
    "/v1/positions": (
        *("fits", "fills", "loadings", "places.*.front.machine", "places.*.back.machine", "re_seat.rss"),
        *("re_seat.worst", "re_seat.height.rss", "re_seat.meets", "fit.*.play", "ways.*.turn"),
    ),
    "/v1/recommendation": ("verdict", "ranked.*.method", "ranked.*.margin", "ruled_out.*.method", "judged"),
    "/v1/sheet": ("verdict", "scale", "hold", "holders.rows", "steps.*.lines.#", "checks.#", "cautions.#"),
}


def examples() -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Yield path, name and document of each example of the contract."""
    for path, item in contract()["paths"].items():
        body = item.get("post", {}).get("requestBody", {}).get("content", {}).get("application/json", {})
        for name, example in body.get("examples", {}).items():
            yield path, name, resolved(example)["value"]


@cache
def _client() -> FlaskClient:
    return create_app().test_client()


def answered(path: str, document: dict[str, Any]) -> dict[str, Any]:
    """Return what is kept of the answer to a document."""
    answer = _client().post(path, json=document)
    if answer.status_code != 200:
        raise ValueError(f"{path}: {answer.get_data(as_text=True)}")
    return {member: picked(answer.get_json(), member) for member in KEPT[path]}


def picked(value: Any, member: str) -> Any:
    """Return what stands at a place of an answer, None where the way to it ends in none."""
    first, _, rest = member.partition(".")
    if not first or value is None:
        return value
    if first == "#":
        return len(value)
    if first == "*":
        return [picked(element, rest) for element in value]
    return picked(value[first], rest)


def leaves(value: Any, place: str = "") -> dict[str, Any]:
    """Return each plain value of a document by its place; an empty list or object is one too."""
    if not isinstance(value, dict | list) or not value:
        return {place: value}
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    return {at: leaf for key, below in pairs for at, leaf in leaves(below, f"{place}/{key}").items()}


def stored() -> dict[str, dict[str, Any]]:
    """Return what was kept of each example's answer, by path and name."""
    found: dict[str, dict[str, Any]] = json.loads(STORED.read_text(encoding="utf-8"))
    return found


def main() -> None:
    """Ask for every example and store what is kept of its answer, one member a line."""
    blocks = []
    for path, name, document in examples():
        kept = answered(path, document).items()
        lines = ",\n".join(f"  {json.dumps(member)}: {json.dumps(value)}" for member, value in kept)
        blocks.append(f"{json.dumps(f'{path} {name}')}: {{\n{lines}\n}}")
    STORED.write_text("{\n" + ",\n".join(blocks) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
