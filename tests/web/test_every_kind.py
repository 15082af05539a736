"""Every kind of holder through every endpoint that reads a set-up, in every format: what can be stated is answered.

The line of text is left out: it is a member of the JSON.

The set-ups are invented; only that they are answered, and with which words, is judged here.
"""

import copy
from pathlib import Path
from typing import Any

import pytest
import yaml

from stillstock.answers import remedies
from stillstock.app import create_app
from stillstock.engine.holding.register import methods

CLIENT = create_app().test_client()
CONTRACT = yaml.safe_load((Path(__file__).parents[2] / "openapi.yaml").read_text(encoding="utf-8"))
BASE: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18], "origin": [0, 0, -18], "thickness": [17.6, 18.1]},
    "bed": {"material": "mdf", "thickness": 18, "top": -18},
    "machine": {"z_travel": 120, "nose_to_bed": 155, "park": [0, 0, 40]},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up", "stickout": 30}},
    "cuts": [
        {
            "kind": "slot",
            "tool": 1,
            "depth": 1,
            "feed": 900,
            "speed": 18000,
            "name": "groove",
            "path": [[80, 100, -1], [220, 110, -1]],
        }
    ],
}
STRIPS = [[[20, 10], [280, 40]], [[20, 160], [280, 190]]]
HELD: dict[str, list[dict[str, Any]]] = {
    "strap_clamp": [{"at": [12, 100], "torque": 2}, {"at": [288, 100], "torque": 2, "angle": 180}],
    "side_clamp": [{"at": [300, 100], "pushes": "-x", "force": 400}],
    "stop": [{"at": [0, 50], "faces": "+x"}, {"at": [0, 150], "faces": "+x"}],
    "vise": [{"at": [0, 100], "faces": "+x", "force": 2500, "jaw_width": 150, "grip": 10}],
    "fixture_plate": [{"at": [20, 20]}, {"at": [280, 180]}],
    "screw": [{"at": [15, 15]}, {"at": [285, 185]}, {"at": [15, 185]}],
    "polymer_nail": [{"at": [15, 15]}, {"at": [285, 185]}, {"at": [15, 185]}, {"at": [285, 15]}],
    "vacuum": [{"area": [[20, 20], [280, 180]], "pressure": 60}],
    "dowel_pin": [{"at": [15, 15]}, {"at": [285, 185]}],
    "foam_tape": [{"area": area} for area in STRIPS],
    "film_tape": [{"area": area} for area in STRIPS],
    "tape_and_ca": [{"area": area} for area in STRIPS],
    "tab": [{"at": [150, 0], "width": 8, "height": 3}, {"at": [150, 200], "width": 8, "height": 3}],
    "skin": [{"thickness": 1.5}],
}
#: What cannot hold a whole stock by itself, and what helps it.
BESIDE: dict[str, list[dict[str, Any]]] = {
    "stop": [{"kind": "strap_clamp", "at": [288, 100], "torque": 2, "angle": 180}],
    "dowel_pin": [{"kind": "strap_clamp", "at": [288, 100], "torque": 2, "angle": 180}],
    "side_clamp": [{"kind": "stop", "at": [0, y], "faces": "+x"} for y in (60, 140)],
}


def offered() -> list[tuple[str, str]]:
    """Return each operation that reads a set-up, with each media type it offers."""
    found = []
    for path, item in CONTRACT["paths"].items():
        body = item.get("post", {}).get("requestBody", {})
        schema = body.get("content", {}).get("application/json", {}).get("schema", {})
        if schema.get("$ref") == "#/components/schemas/SetUp" and path != "/v1/cutting-force":
            found += [(path, m) for m in item["post"]["responses"]["200"]["content"] if m != "text/plain"]
    return found


def document(kind: str) -> dict[str, Any]:
    stated = copy.deepcopy(BASE)
    stated["holders"] = [{"kind": kind, **holder} for holder in HELD[kind]] + BESIDE.get(kind, [])
    return stated


def test_the_table_has_every_kind_and_the_contract_every_endpoint():
    assert set(HELD) == set(methods())
    assert {path for path, _ in offered()} >= {"/v1/margin", "/v1/retract-height"}


@pytest.mark.parametrize("kind", sorted(methods()))
def test_every_kind_is_answered_everywhere(kind, monkeypatch):
    for path, media in offered():
        response = CLIENT.post(path, json=document(kind), headers={"Accept": media})
        assert response.status_code == 200, (path, media, response.text[:2000])
        assert response.mimetype == media
        assert response.data
        if (path, media) == ("/v1/margin", "application/json"):
            judged(response.get_json(), kind)
            monkeypatch.setattr(remedies, "WORK", 0.0)  # they are the same in every format


def judged(answer: dict[str, Any], kind: str) -> None:
    assert answer["verdict"] in ("holds", "doubtful", "lets_go"), answer["summary"]
    assert kind in {share["kind"] for share in answer["holders"]}
    assert all(isinstance(check["ok"], bool) for check in answer["checks"])
    assert answer["margin"]["typical"] is None or answer["margin"]["typical"] > 0.0, answer["summary"]
