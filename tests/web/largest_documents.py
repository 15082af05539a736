"""The largest documents that the limits allow: along each list in turn, and all of them at once.

They are made from the limits as they are served, so that they grow with them. What they say is invented; only what they
cost is of interest. No document holds more values than one may, so that a list of long lists is cut short evenly.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tests.programs import raster_program

Limits = Mapping[str, int]
Document = dict[str, Any]
Place = tuple[float, float]
Build = Callable[[Limits], Document]

WIDTH, DEPTH = 1200.0, 800.0
SLOT: Document = {"kind": "slot", "tool": 1, "speed": 18000}
#: Values of a document that are no points of its long lists, at the most. [-]
SPARE_VALUES = 60_000


def set_up(**more: Any) -> Document:
    """Return a sheet with two clamps and one short cut."""
    return {
        "units": "metric",
        "stock": {"material": "birch plywood", "size": [WIDTH, DEPTH, 18], "origin": [0, 0, -18]},
        "bed": {"material": "mdf", "thickness": 18, "top": -18},
        "machine": {"park": [0, 0, 60], "spindle_power": "2.2 kW"},
        "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up", "stickout": 40}},
        "holders": [
            {"kind": "strap_clamp", "at": [15, 400], "torque": 2},
            {"kind": "strap_clamp", "at": [1185, 400], "torque": 2, "angle": 180},
        ],
        "cuts": [
            {**SLOT, "depth": 4, "feed": 2000, "path": [[80, 100, -4], [900, 600, -4]]},
        ],
        **more,
    }


def spread(count: int, *, inset: float = 40.0) -> list[Place]:
    """Return places all over the sheet."""
    columns = math.ceil(math.sqrt(count * WIDTH / DEPTH))
    rows = math.ceil(count / columns)
    across, along = (WIDTH - 2 * inset) / columns, (DEPTH - 2 * inset) / rows
    return [
        (round(inset + across * (k % columns + 0.5), 3), round(inset + along * (k // columns + 0.5), 3))
        for k in range(count)
    ]


def ring(middle: Place, radius: float, points: int) -> list[list[float]]:
    """Return an outline with a waved edge, finer the more corners it has, so that none goes without saying."""
    found = []
    for k in range(points):
        reach, turn = radius * (1.0 - 0.2 / points * (k % 2)), math.tau * k / points
        found.append([round(middle[0] + reach * math.cos(turn), 5), round(middle[1] + reach * math.sin(turn), 5)])
    return found


def points_each(limits: Limits, lists: int, *, most: int, values: int) -> int:
    """Return how many points each of some lists may have; each point has so many values."""
    return max(4, min(most, (limits["json_values"] - SPARE_VALUES) // (lists * (values + 1))))


def holders(limits: Limits, kind: str, **more: Any) -> list[Document]:
    """Return as many holders of a kind as there may be."""
    return [{"kind": kind, "at": list(at), **more} for at in spread(limits["holders"])]


def taped(limits: Limits, kind: str, **more: Any) -> list[Document]:
    """Return as many areas as there may be, each with as many corners."""
    points = points_each(limits, limits["holders"], most=limits["outline_points"], values=2)
    return [{"kind": kind, "area": ring(at, 25.0, points), **more} for at in spread(limits["holders"])]


def stops(limits: Limits) -> list[Document]:
    """Return as many stops in one line as there may be, with a clamp against them."""
    count = limits["holders"] - 1
    line = [{"kind": "stop", "at": [0, round(DEPTH * (k + 0.5) / count, 3)], "faces": "+x"} for k in range(count)]
    return [*line, {"kind": "side_clamp", "at": [WIDTH, 400], "pushes": "-x", "force": 50}]


def cuts(limits: Limits, *, tools: int = 1) -> list[Document]:
    """Return as many cuts as there may be, each with as many points."""
    count = limits["cuts"]
    points = points_each(limits, count, most=limits["path_points"], values=3)
    return [
        {
            **SLOT,
            "name": f"cut {number}",
            "tool": number % tools + 1,
            "depth": 1 + number / count,
            "feed": 1500 + number,
            "path": [
                [round(100 + (k * 37 + number * 11) % 1000, 3), round(100 + (k * 61 + number * 7) % 600, 3), -4]
                for k in range(points)
            ],
        }
        for number in range(count)
    ]


def tools(limits: Limits) -> dict[str, Document]:
    """Return as many tools as there may be, no two alike."""
    count = limits["tools"]
    return {
        str(number + 1): {
            "kind": "end_mill",
            "diameter": round(3 + 5 * number / count, 3),
            "flutes": 1 + number % 6,
            "helix": ("up", "down", "straight")[number % 3],
            "run_out": 0.02,
            "stickout": 40,
        }
        for number in range(count)
    }


def loads(limits: Limits) -> list[Document]:
    """Return as many stated loads as there may be."""
    return [
        {
            "at": [*at, 0],
            "force": [round(100 * math.cos(k), 2), round(100 * math.sin(k), 2), round(30 * math.cos(3 * k), 2)],
            "moment": [1, round(math.sin(k), 3), 0.5],
        }
        for k, at in enumerate(spread(limits["loads"]))
    ]


def parts(limits: Limits) -> tuple[list[Document], list[Document]]:
    """Return as many parts on four tabs as there may be, each with as many corners, and the cuts that free them."""
    count = min(limits["parts"], limits["cuts"])
    points = points_each(limits, count, most=limits["outline_points"], values=2)
    made, freed = [], []
    for number, (x, y) in enumerate(spread(count, inset=10.0)):
        outline = ring((x, y), 28.0, points)
        tabs = [{"kind": "tab", "at": outline[k * points // 4], "width": 4, "height": 3} for k in range(4)]
        made.append({"name": f"part {number}", "outline": outline, "held_by": tabs})
        way = [[*at, -18.3] for at in ring((x, y), 31.0, 40)]
        freed.append({**SLOT, "kind": "profile", "depth": 6, "layer": 18, "feed": 2000, "path": [*way, way[0]]})
    return made, freed


def freed_by_a_program(limits: Limits) -> Document:
    """Return as many parts as there may be, cut free by a program of as many moves as there may be."""
    made, _ = parts(limits)
    each = min(limits["program_lines"], limits["program_moves"]) // len(made) - 10
    lines = ["G21 G90 G94 G17 G54", "T1 M6", "S18000 M3", "G0 Z5."]
    for x, y in spread(len(made), inset=10.0):
        turns = [math.tau * k / each for k in range(each + 1)]
        way = [f"X{x + 31.0 * math.cos(turn):.3f} Y{y + 31.0 * math.sin(turn):.3f}" for turn in turns]
        lines += [f"G0 {way[0]}", "G1 Z-18.3 F1500.", *way[1:], "G0 Z5."]
    document = set_up(parts=made, program={"text": "\n".join([*lines, "M30"])})
    del document["cuts"]
    return document


def voids(limits: Limits) -> list[Any]:
    """Return as many voids in the bed as there may be, each with as many corners."""
    count = limits["holders"]
    points = points_each(limits, count, most=limits["outline_points"], values=2)
    return [ring(at, 12.0, points) for at in spread(count, inset=100.0)]


def program(limits: Limits) -> Document:
    """Return a carve of as many moves as there may be; each arc at the end of a row makes several."""
    lines = min(limits["program_lines"], int(0.95 * limits["program_moves"]))
    return {"text": raster_program(lines).rstrip("\n")[: limits["body_bytes"] - 100_000]}


def long_moves(limits: Limits) -> Document:
    """Return a program of strokes all over the sheet, each a little deeper, as many as there may be."""
    lines = ["G21 G90 G94 G17 G54", "T1 M6", "S18000 M3", "G0 X0. Y0. Z5.", "G1 Z0. F3000."]
    count = min(limits["program_lines"], limits["program_moves"]) - 10
    for k in range(count):
        x, y = 40 + (k * 733) % 1120, 40 + (k * 389) % 720
        lines.append(f"X{x}Y{y}Z{-6.0 * k / count:.3f}")
    return {"text": "\n".join([*lines, "G0 Z5.", "M30"])}


def stroked(limits: Limits, **more: Any) -> Document:
    """Return the sheet with strokes all over it."""
    document = set_up(program=long_moves(limits), **more)
    del document["cuts"]
    return document


def carved(limits: Limits, **more: Any) -> Document:
    """Return the board that the carve is meant for, or a sheet that it lies on if holders are stated."""
    document = set_up(program=program(limits), **more)
    del document["cuts"]
    if "holders" not in more:
        document["stock"] = {"material": "birch plywood", "size": [400, 300, 18], "origin": [0, 0, -18]}
        document["holders"] = [
            {"kind": "strap_clamp", "at": [8, 150], "torque": 2},
            {"kind": "strap_clamp", "at": [392, 150], "torque": 2, "angle": 180},
        ]
    return document


def with_voids(limits: Limits) -> Document:
    document = set_up()
    document["bed"] = {**document["bed"], "voids": voids(limits)}
    return document


def with_parts(limits: Limits) -> Document:
    made, freed = parts(limits)
    return set_up(parts=made, cuts=freed)


def on_many_tabs(limits: Limits) -> Document:
    """Return as many parts on as many tabs each as there may be."""
    made, freed = parts({**limits, "outline_points": limits["holders"]})
    for part in made:
        part["held_by"] = [{"kind": "tab", "at": at, "width": 1, "height": 3} for at in part["outline"]]
    return set_up(parts=made, cuts=freed)


def everything(limits: Limits) -> Document:
    """Return a set-up whose every list is as long as it may be, the long ones as far as there are values left."""
    less = {**limits, "json_values": limits["json_values"] // 4}
    made, freed = parts(less)
    room = limits["cuts"] - len(freed)
    document = set_up(
        tools=tools(limits),
        holders=holders(limits, "screw"),
        cuts=[*freed, *cuts(less, tools=limits["tools"])[:room]],
        loads=loads(limits),
        parts=made,
        detail={"moves": True},
        doubt={"samples": limits["doubt_samples"]},
    )
    document["bed"] = {**document["bed"], "voids": voids(less)}
    return document


def grid(**more: Any) -> Document:
    return {
        "units": "metric",
        "table": {"size": [2400, 1200], "thickness": 18},
        "mark": "crosses",
        "cross_size": 3,
        "bit": {"angle": 60, "diameter": 6},
        "line": {"depth": 0.3},
        "margin": 20,
        **more,
    }


def finest_grid(limits: Limits) -> Document:
    """Return a grid with about as many marks as there may be, and as many places to keep out of as there may be."""
    pitch = math.ceil(100 * math.sqrt(2400 * 1200 / (0.9 * limits["grid_marks"]))) / 100
    places = [
        {"kind": "circle", "at": [2 * x, 1.5 * y], "diameter": 40, "clearance": 3} for x, y in spread(limits["holders"])
    ]
    return grid(pitch=[pitch, pitch], cross_size=round(pitch / 2, 2), keep_outs=places)


def most_positions(limits: Limits) -> Document:
    side = 20 + 5
    table = math.ceil(math.sqrt(limits["positions"])) * 2 * side + 200
    return {
        "units": "metric",
        "part": {"size": [20, 20, 18]},
        "table": {"size": [table, table]},
        "pattern": {"first": [30, 30], "pitch": [5, 5]},
        "locate": {"kind": "lines"},
        "count": limits["positions"],
        "gap": 5,
    }


def whole_shop(limits: Limits, kinds: list[str]) -> Document:
    """Return a question with every kind of holder, as often as the shop may state any, and all places that it may."""
    document = set_up()
    del document["holders"]
    entries = (kinds * limits["shop_holders"])[: limits["shop_holders"]]
    count = limits["holders"]
    points = points_each(limits, count, most=limits["outline_points"], values=2)
    document["shop"] = {
        "holders": [{"kind": kind, **NEEDED.get(kind, {})} for kind in entries],
        "inserts": [list(at) for at in spread(limits["positions"], inset=-100.0)],
        "tracks": [[[-100, 1000 * k / count - 100], [1300, 1000 * k / count - 100]] for k in range(count)],
        "zones": [ring(at, 40.0, points) for at in spread(count)],
        "table": [[-200, -200], [1400, 1000]],
    }
    document["holes"] = [list(at) for at in spread(limits["positions"])]
    document["batch"] = 100
    return document


#: What a shop may have.
SHOP = (
    "strap_clamp",
    "side_clamp",
    "screw",
    "film_tape",
    "foam_tape",
    "tape_and_ca",
    "polymer_nail",
    "vacuum",
    "vise",
    "dowel_pin",
)

#: Members that a kind cannot do without, in the shop.
NEEDED: dict[str, Document] = {
    "vacuum": {"pressure": 60},
    "side_clamp": {"force": 800},
    "skin": {"thickness": 0.5},
    "tab": {"width": 8, "height": 3},
}


def few(document: Document, kind: str, count: int, **more: Any) -> Document:
    """Return a set-up that is held by so many holders of one kind."""
    return {**document, "holders": [{"kind": kind, "at": list(at), **more} for at in spread(count)]}


def mixed(limits: Limits) -> list[Document]:
    """Return as many holders as there may be, of every kind that takes a place."""
    kinds = ("screw", "strap_clamp", "polymer_nail", "dowel_pin")
    found = holders(limits, "screw")
    for number, one in enumerate(found):
        one["kind"] = kinds[number % len(kinds)]
    return found


def parts_under_cuts(limits: Limits) -> Document:
    """Return as many parts as there may be, cut free by the first cuts, and other cuts as long as they may be."""
    less = {**limits, "json_values": limits["json_values"] // 2}
    made, freed = parts({**less, "parts": limits["parts"] // 2})
    return set_up(parts=made, cuts=[*freed, *cuts(less)[len(freed) :]])


def cornered(limits: Limits, each: int) -> list[Document]:
    """Return so many stops along either of two sides, with clamps against them."""
    along: list[Document] = [
        {"kind": "stop", "at": [0, round(DEPTH * (k + 0.5) / each, 3)], "faces": "+x"} for k in range(each)
    ]
    across: list[Document] = [
        {"kind": "stop", "at": [round(WIDTH * (k + 0.5) / each, 3), 0], "faces": "+y"} for k in range(each)
    ]
    clamps: list[Document] = [
        {"kind": "side_clamp", "at": [WIDTH, 400], "pushes": "-x", "force": 50},
        {"kind": "side_clamp", "at": [600, DEPTH], "pushes": "-y", "force": 50},
    ]
    return [*along, *across, *clamps][: limits["holders"]]


def _pushing(limits: Limits) -> list[Document]:
    count = limits["holders"] - 4
    return [
        {"kind": "side_clamp", "at": [WIDTH, round(DEPTH * (k + 0.5) / count, 3)], "pushes": "-x", "force": 5}
        for k in range(count)
        if abs(DEPTH * (k + 0.5) / count - 400) > 1
    ]


def many_tools(limits: Limits) -> Document:
    """Return a carve in which every tool there may be has its turn."""
    lines = program(limits)["text"].splitlines()
    count = limits["tools"]
    step = len(lines) // count
    for number in range(1, count):
        lines[number * step] = f"T{number + 1} M6"
    document = carved(limits, tools=tools(limits))
    document["program"] = {"text": "\n".join(lines)}
    return document


def clamped(limits: Limits, count: int) -> list[Document]:
    """Return so many strap clamps all over the sheet."""
    return [{"kind": "strap_clamp", "at": list(at), "torque": 2} for at in spread(min(count, limits["holders"]))]


def doubted(kind: str, count: int) -> Build:
    """Return what builds a set-up whose margin is drawn as often as it may be."""
    return lambda limits: few(set_up(doubt={"samples": limits["doubt_samples"]}), kind, count)


@dataclass(frozen=True, kw_only=True)
class Case:
    """A document that keeps every limit of a list, and the operation that it is for.

    Attributes
    ----------
    operation : str
        As the contract names it.
    path : str
    build : callable
        From the limits to the document.
    """

    operation: str
    path: str
    build: Build


def _cases(operation: str, builds: Mapping[str, Build], *, query: str = "") -> dict[str, Case]:
    path = f"/v1/{operation.replace('_', '-')}{query}"
    return {name: Case(operation=operation, path=path, build=build) for name, build in builds.items()}


_MARGIN: dict[str, Build] = {
    "12 screws": lambda _: few(set_up(), "screw", 12),
    "24 screws": lambda _: few(set_up(), "screw", 24),
    "40 screws": lambda _: few(set_up(), "screw", 40),
    "screws": lambda limits: set_up(holders=holders(limits, "screw")),
    "strap clamps": lambda limits: set_up(holders=holders(limits, "strap_clamp", torque=2)),
    "polymer nails": lambda limits: set_up(holders=holders(limits, "polymer_nail")),
    "mixed": lambda limits: set_up(holders=mixed(limits)),
    "foam tapes": lambda limits: set_up(holders=taped(limits, "foam_tape")),
    "tape and glue": lambda limits: set_up(holders=taped(limits, "tape_and_ca")),
    "vacuum zones": lambda limits: set_up(holders=taped(limits, "vacuum", pressure=60)),
    "stops": lambda limits: set_up(holders=stops(limits)),
    "voids": with_voids,
    "cuts": lambda limits: set_up(cuts=cuts(limits)),
    "cuts and tools": lambda limits: set_up(tools=tools(limits), cuts=cuts(limits, tools=limits["tools"])),
    "loads": lambda limits: set_up(loads=loads(limits)),
    "parts": with_parts,
    "parts under cuts": parts_under_cuts,
    "parts on many tabs": on_many_tabs,
    "program": carved,
    "every move of a program": lambda limits: carved(limits, detail={"moves": True}),
    "program under clamps": lambda limits: carved(limits, holders=clamped(limits, 1000)),
    "strokes": stroked,
    "fewer strokes": lambda limits: stroked({**limits, "program_moves": 25_000}),
    "strokes and parts": lambda limits: stroked(limits, parts=parts(limits)[0]),
    "doubt of 4 screws": doubted("screw", 4),
    "doubt of 24 screws": doubted("screw", 24),
    "doubt of 60 screws": doubted("screw", 60),
    "doubt of mixed": lambda limits: set_up(holders=mixed(limits), doubt={"samples": limits["doubt_samples"]}),
    "loads on screws": lambda limits: set_up(holders=holders(limits, "screw"), loads=loads(limits)),
    "cuts on screws": lambda limits: set_up(holders=holders(limits, "screw"), cuts=cuts(limits)),
    "cuts on 24 clamps": lambda limits: set_up(holders=clamped(limits, 24), cuts=cuts(limits)),
    "every move on screws": lambda limits: carved(limits, holders=holders(limits, "screw"), detail={"moves": True}),
    "every point on screws": lambda limits: set_up(
        holders=holders(limits, "screw"), cuts=cuts(limits), detail={"moves": True}
    ),
    "program of many tools": many_tools,
    "parts freed by a program": freed_by_a_program,
    "stops in two lines": lambda limits: set_up(holders=cornered(limits, 4)),
    "many stops in two lines": lambda limits: set_up(holders=cornered(limits, 49)),
    "side clamps": lambda limits: set_up(holders=[*cornered(limits, 1), *_pushing(limits)]),
    "everything": everything,
}
_FORCES: dict[str, Build] = {
    "forces of cuts": lambda limits: set_up(tools=tools(limits), cuts=cuts(limits, tools=limits["tools"])),
    "forces of everything": everything,
}
_HEIGHTS: dict[str, Build] = {
    "heights over a program": carved,
    "heights over 30 clamps": lambda limits: carved(limits, holders=clamped(limits, 30)),
    "heights over clamps": lambda limits: carved(limits, holders=clamped(limits, 1000)),
    "heights over strokes": lambda limits: stroked(limits, holders=clamped(limits, 1000)),
    "heights over everything": everything,
    "heights over outlines": lambda limits: set_up(holders=taped(limits, "vacuum", pressure=60)),
}
_SHEETS: dict[str, Build] = {
    "sheet of 24 clamps": lambda _: few(set_up(), "strap_clamp", 24, torque=2),
    "sheet of screws": lambda limits: set_up(holders=holders(limits, "screw")),
    "sheet of mixed": lambda limits: set_up(holders=mixed(limits)),
    "sheet of a program": carved,
    "sheet of half a program": lambda limits: carved({**limits, "program_moves": limits["program_moves"] // 2}),
    "sheet of everything": everything,
}
_SHOPS: dict[str, Build] = {
    "shop of clamps": lambda limits: whole_shop(limits, ["strap_clamp", "screw", "side_clamp", "vise"]),
    "shop for a program": lambda limits: {
        **whole_shop(limits, ["strap_clamp", "screw", "film_tape"]),
        "program": program(limits),
        "cuts": [],
    },
    "shop for many parts": lambda limits: {
        **whole_shop(limits, ["strap_clamp", "screw", "film_tape", "tab"]),
        **dict(zip(("parts", "cuts"), parts(limits), strict=True)),
    },
    "whole shop": lambda limits: whole_shop(limits, list(SHOP)),
}

#: Every document by its name.
CASES: dict[str, Case] = {
    **_cases("positions", {"positions": most_positions}),
    **_cases("cutting_force", _FORCES),
    **_cases("grid", {"grid": finest_grid}),
    **_cases("grid", {"grid as svg": finest_grid}, query="?format=svg"),
    **_cases("grid", {"grid as program": finest_grid}, query="?format=rs274"),
    **_cases("margin", _MARGIN),
    **_cases("margin", {"drawing of a program": carved}, query="?format=svg"),
    **_cases("retract_height", _HEIGHTS),
    **_cases("recommendation", _SHOPS),
    **_cases("sheet", _SHEETS, query="?format=pdf"),
}
