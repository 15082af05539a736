"""Set-ups that a careless script, a wrong unit or an attacker sends, each with the refusal that it must get.

Each is the sound set-up `SOUND` with one member changed: name, JSON pointer of the member, what stands there instead
(`GONE` takes it away), status, problem type, and the pointer that the refusal must name. Statuses follow RFC 9110 and
the contract: 400 breaks the schema, 422 keeps it and cannot be, 413 is too much.
"""

import copy
from typing import Any, NamedTuple

GONE = object()
SOUND: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [300, 200, 18], "origin": [0, 0, -18]},
    "bed": {"material": "mdf", "thickness": 18, "top": -18},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up"}},
    "holders": [
        {"kind": "strap_clamp", "at": [10, 100], "torque": 4},
        {"kind": "strap_clamp", "at": [290, 100], "torque": 4, "angle": 180},
    ],
    "cuts": [
        {
            "name": "groove",
            "kind": "slot",
            "tool": 1,
            "depth": 4,
            "feed": 2000,
            "speed": 18000,
            "path": [[80, 100, -4], [220, 110, -4]],
        }
    ],
}


class HostileSetUp(NamedTuple):
    name: str
    member: str
    value: object
    status: int
    slug: str
    pointer: str


def changed(pointer: str, value: object) -> dict[str, Any]:
    """Return the sound set-up with one member changed, added or taken away."""
    document = copy.deepcopy(SOUND)
    *way, last = pointer.strip("/").split("/")
    place: Any = document
    for token in way:
        place = place[int(token)] if isinstance(place, list) else place[token]
    key: Any = int(last) if isinstance(place, list) else last
    if value is GONE:
        del place[key]
    elif isinstance(place, list) and key == len(place):
        place.append(value)
    else:
        place[key] = value
    return document


BROKEN = [  # 400: breaks the schema
    ("a power tower for a length", "/bed/thickness", "9**9**9 mm"),
    ("a decimal comma", "/bed/thickness", "1,5 mm"),
    ("a mass for a force", "/holders/0/preload", "10 lb"),
    ("a length for a torque", "/holders/0/torque", "4 mm"),
    ("a unit that nobody knows", "/bed/thickness", "18 furlong"),
    ("a number in words", "/bed/thickness", "eighteen"),
    ("a unit without a number", "/bed/thickness", "mm"),
    ("two numbers", "/bed/thickness", "18 18 mm"),
    ("a newline after a quantity", "/bed/thickness", "18 mm\n"),
    ("a NUL in a quantity", "/bed/thickness", "18 mm\0"),
    ("digits of another script", "/bed/thickness", "\u0661\u0668 mm"),
    ("a fraction over nought", "/bed/thickness", "1/0 in"),
    ("a quantity of ten thousand characters", "/bed/thickness", "1" * 10_000 + " mm"),
    ("an exponent of three digits", "/bed/thickness", "1e999 mm"),
    ("infinity in words", "/bed/thickness", "inf mm"),
    ("code for a number", "/bed/thickness", "__import__('os').getcwd()"),
    ("yes for a number", "/bed/thickness", True),
    ("a list for a number", "/bed/thickness", [18]),
    ("an object for a number", "/bed/thickness", {"mm": 18}),
    ("null for a number", "/bed/thickness", None),
    ("a bed of a text", "/bed", "mdf"),
    ("a stock that is missing", "/stock", GONE),
    ("a material that is missing", "/stock/material", GONE),
    ("a size of two numbers", "/stock/size", [300, 200]),
    ("a size of four numbers", "/stock/size", [300, 200, 18, 1]),
    ("a size of nothing", "/stock/size", []),
    ("units that nobody has", "/units", "imperial"),
    ("units of a list", "/units", ["metric"]),
    ("a member that does not exist", "/stock/thicknes", 18),
    ("a member named like an attribute", "/stock/__class__", "x"),
    ("holders as an object", "/holders", {"kind": "stop"}),
    ("a holder without a kind", "/holders/0/kind", GONE),
    ("a kind that does not exist", "/holders/0/kind", "glue_gun"),
    ("a kind that names a module", "/holders/0/kind", "__init__"),
    ("a kind of a number", "/holders/0/kind", 1),
    ("a bolt that nobody makes", "/holders/0/bolt", "M7.5"),
    ("a place of one number", "/holders/0/at", [10]),
    ("a place of words", "/holders/0/at", ["left", "front"]),
    ("a tool kind that does not exist", "/tools/1/kind", "chainsaw"),
    ("flutes of a half", "/tools/1/flutes", 1.5),
    ("a cut of an unknown kind", "/cuts/0/kind", "nibble"),
    ("a cut of null", "/cuts/0", None),
    ("a path of texts", "/cuts/0/path", ["a", "b"]),
    ("a name of two lines", "/name", "a\nb"),
    ("a name with an escape character", "/name", "\x1b[31m"),
    ("a name of 100,000 characters", "/name", "x" * 100_000),
    ("a program of a number", "/program", 1),
    ("a required factor of text", "/required", {"factor": "two"}),
    ("a band upside down with a stranger in it", "/holders/0/preload", {"low": 1, "typical": 2, "high": 3, "mean": 2}),
    ("a band without its middle", "/holders/0/preload", {"low": 1, "high": 3}),
    ("2,000 holders", "/holders", [{"kind": "stop", "at": [0, 0], "faces": "+x"}] * 2000),
]

IMPOSSIBLE = [  # 422: keeps the schema, and cannot be
    ("a clamp far beside the stock", "/holders/0/at", [900, 900], "impossible-set-up", "/holders/0/at"),
    ("a tool that does not exist", "/cuts/0/tool", 7, "impossible-set-up", "/cuts/0/tool"),
    ("a cut beside the stock", "/cuts/0/path/1", [5000, 100, -4], "impossible-set-up", "/cuts/0/path/1"),
    ("a cut wider than its tool", "/cuts/0/width", 9, "impossible-set-up", "/cuts/0/width"),
    ("a bed of a negative thickness in text", "/bed/thickness", "-18 mm", "impossible-set-up", "/bed/thickness"),
    ("a bed of ten kilometres", "/bed/thickness", "10000 m", "impossible-set-up", "/bed/thickness"),
    ("a band upside down", "/holders/0/preload", {"low": 3, "typical": 2, "high": 1}, "impossible-set-up", None),
    ("a stock inside the bed", "/bed/top", -10, "impossible-set-up", None),
    ("measured thicker than stated", "/stock/thickness", [17, 40], "impossible-set-up", None),
    ("an outline that crosses itself", "/stock/outline", [[0, 0], [300, 200], [300, 0], [0, 200]], None, None),
    ("a stop in the middle of the stock", "/holders/2", {"kind": "stop", "at": [150, 100], "faces": "+x"}, None, None),
    ("a stop that pushes outwards", "/holders/2", {"kind": "stop", "at": [0, 100], "faces": "-x"}, None, None),
    (
        "a side clamp with nothing opposite",
        "/holders",
        [{"kind": "side_clamp", "at": [300, 100], "pushes": "-x", "force": 4000}],
        "not-in-balance",
        None,
    ),
]

SET_UPS = [HostileSetUp(name, at, value, 400, "invalid-document", at) for name, at, value in BROKEN] + [
    HostileSetUp(name, at, value, 422, slug or "impossible-set-up", pointer or "")
    for name, at, value, slug, pointer in IMPOSSIBLE
]
