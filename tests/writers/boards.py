"""Boards that several tests write and read back: lopsided on purpose, so that no sign or axis can hide."""

from typing import Any

from stillstock.answers.grid import GridAnswer, grid
from stillstock.schemas.grid import load_grid
from stillstock.settings import Limits
from stillstock.tables.load import load_tables

LINES: dict[str, Any] = {
    "units": "metric",
    "title": "Left bench",
    "table": {"size": [610, 410], "origin": [-150, -35], "thickness": 18},
    "mark": "lines",
    "pitch": [25, 50],
    "offset": [3.175, 0],
    "margin": 30,
    "major_every": 4,
    "keep_outs": [
        {"kind": "track", "name": "slanted track", "from": [-150, 40], "to": [460, 190], "width": 19, "clearance": 2},
        {"kind": "circle", "name": "screw", "at": [-100, 300], "diameter": 9, "clearance": 3},
        {"kind": "rectangle", "name": "clock", "corners": [[380, 300], [460, 375]], "clearance": 1.5},
    ],
    "labels": {"x": "distance", "y": "letter", "height": 6},
    "zero_mark": 16,
    "bit": {"angle": 60, "diameter": 6},
    "line": {"depth": 0.3, "major_depth": 0.5},
}
HOLES: dict[str, Any] = {
    "units": "metric",
    "title": "Inserts",
    "table": {"size": [400, 300], "origin": [-20, -10], "thickness": 22},
    "mark": "holes",
    "pitch": [96, 64],
    "offset": [10, 5],
    "margin": 12,
    "keep_outs": [{"kind": "track", "name": "track", "from": [-20, 133], "to": [380, 133], "width": 20}],
    "hole": {
        "kind": "insert",
        "diameter": 12,
        "core": 9.5,
        "length": 13,
        "flange_diameter": 15,
        "flange_thickness": 1.5,
        "sunk": 4,
    },
    "dowels": [{"kind": "corner", "at": [210, 160], "to": [340, 240], "diameter": 8, "depth": 12}],
    "end_mill": {"diameter": 6},
}
INCH: dict[str, Any] = {
    "units": "inch",
    "title": "Inch bench",
    "table": {"size": ["2'", 18], "origin": [-3, '-1-1/2"'], "thickness": "23/32 in"},
    "mark": "lines",
    "pitch": ["3/4 in", '1-1/2"'],
    "offset": ["1/64 in", 0],
    "margin": 1,
    "keep_outs": [{"kind": "circle", "name": "screw", "at": [6, 5], "diameter": "3/8 in", "clearance": "1/8 in"}],
    "labels": {"y": "distance", "height": "1/8 in"},
    "zero_mark": "3/4 in",
    "bit": {"angle": 90, "diameter": "1/4 in"},
    "line": {"width": "1/32 in"},
}
CROSSES: dict[str, Any] = {
    **{name: value for name, value in LINES.items() if name not in ("labels", "major_every")},
    "mark": "crosses",
    "cross_size": 8,
    "order": "least_travel",
}


def answered(document: dict[str, Any]) -> GridAnswer:
    return grid(load_grid(document, load_tables(), limits=Limits()))
