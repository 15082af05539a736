"""Eight jobs of eight shops: data of our own, after the kinds of job that such shops have."""

from typing import Any

Document = dict[str, Any]


def _rectangle(x0: float, y0: float, x1: float, y1: float, z: float) -> list[list[float]]:
    return [[x0, y0, z], [x1, y0, z], [x1, y1, z], [x0, y1, z], [x0, y0, z]]


#: A glued-up softwood sign with a crown: letters in the middle, a margin all round to hold by.
SIGN: Document = {
    "units": "metric",
    "name": "garden sign",
    "stock": {"material": "pine", "size": [860, 420, 36], "bow": 1.2},
    "bed": {"material": "mdf", "thickness": 18},
    "machine": {"z_travel": 130, "nose_to_bed": 160, "spindle_power": "2.2 kW"},
    "tools": {
        "1": {"kind": "end_mill", "diameter": 8, "flutes": 2, "helix": "up", "stickout": 35},
        "2": {"kind": "v_bit", "diameter": 20, "flutes": 2, "helix": "straight", "tip_angle": 60, "stickout": 40},
    },
    "cuts": [
        {"name": "ground", "kind": "pocket", "tool": 1, "width": 4, "depth": 3, "feed": 3000, "speed": 18000,
         "path": _rectangle(90, 90, 770, 330, -6)},
        {"name": "letters", "kind": "engrave", "tool": 2, "width": 6, "depth": 5, "feed": 3000, "speed": 18000,
         "path": _rectangle(150, 150, 700, 270, -5)},
    ],
    "matters": ["time", "finish"],
    "shop": {
        "holders": [
            {"kind": "strap_clamp", "count": 6, "bolt": "M8", "torque": 2, "anchor": "t_slot", "slot": 9},
            {"kind": "foam_tape"},
            {"kind": "tape_and_ca"},
            {"kind": "vise", "size": "150_mm"},
        ],
        "tracks": [[[x, -150], [x, 600]] for x in (-30, 130, 290, 450, 610, 770, 890)],
        "table": [[-150, -150], [1050, 1050]],
    },
}  # fmt: skip

#: Faced chipboard on a nesting router: a sheet cut through into rails, held by a blower through the board.
CABINET: Document = {
    "units": "metric",
    "name": "wardrobe parts",
    "stock": {"material": "particleboard", "size": [1200, 800, 16], "origin": [0, 0, 0]},
    "bed": {"material": "mdf", "thickness": 19, "top": 0},
    "zero": {"z": "bed"},
    "machine": {"z_travel": 200, "nose_to_bed": 260, "spindle_power": "9 kW"},
    "tools": {"1": {"kind": "end_mill", "diameter": 10, "flutes": 2, "helix": "compression", "up_length": 6,
                    "stickout": 40}},
    "cuts": [
        {"name": f"part {number}", "kind": "profile", "tool": 1, "width": 10, "depth": 8, "feed": "8 m/min",
         "speed": 18000, "path": _rectangle(x0 - 5, y0 - 5, x1 + 5, y1 + 5, 0)}
        for number, (x0, y0, x1, y1) in enumerate(
            [(20, 20, 1180, 560), (20, 580, 1180, 780)], 1)
    ],
    "parts": [
        {"name": f"part {number}", "outline": [[x0, y0], [x1, y1]]}
        for number, (x0, y0, x1, y1) in enumerate(
            [(20, 20, 1180, 560), (20, 580, 1180, 780)], 1)
    ],
    "matters": ["time", "no_marks"],
    "batch": 20,
    "shop": {
        "holders": [
            {"kind": "vacuum", "pressure": {"low": 25, "typical": 30, "high": 35}},
            {"kind": "skin", "thickness": 0.5, "counted_from": "bed"},
            {"kind": "strap_clamp", "count": 6},
            {"kind": "vise", "size": "150_mm"},
            {"kind": "film_tape"},
        ],
        "table": [[-20, -20], [1260, 860]],
    },
}  # fmt: skip

#: An instrument body in ash: deep pockets, outline with a long tool, both sides; little travel.
BODY: Document = {
    "units": "metric",
    "name": "instrument body",
    "stock": {"material": "ash", "size": [520, 380, 44], "origin": [0, 0, 0]},
    "bed": {"material": "mdf", "thickness": 18, "top": 0},
    "zero": {"z": "bed"},
    "machine": {"z_travel": 120, "nose_to_bed": 155, "spindle_power": "2.2 kW"},
    "tools": {"1": {"kind": "end_mill", "diameter": 12, "flutes": 2, "helix": "up", "stickout": 62,
                    "collet": {"diameter": 34, "length": 30}}},
    "cuts": [
        {"name": "outline", "kind": "profile", "tool": 1, "depth": 4, "feed": 1800, "speed": 16000,
         "path": _rectangle(54, 44, 466, 336, 0)},
    ],
    "parts": [{"name": "body", "outline": [[60, 50], [460, 330]]}],
    "matters": ["both_faces", "time"],
    "batch": 2,
    "shop": {
        "holders": [
            {"kind": "screw", "count": 12, "diameter": 5, "depth": 15, "proud": 5},
            {"kind": "dowel_pin", "count": 2, "diameter": 8, "depth": 12, "reach": 30},
            {"kind": "tab", "width": 12, "height": 8, "counted_from": "bed"},
            {"kind": "strap_clamp", "count": 4, "bolt": "M8", "torque": 4, "arm_height": 16, "heel_reach": 50,
             "toe_reach": 70, "slot": 9},
            {"kind": "polymer_nail", "count": 100},
        ],
        "table": [[-100, -100], [700, 560]],
    },
}  # fmt: skip

#: Plate in aluminium with holes of its own: a batch, on a fixture plate.
PLATE: Document = {
    "units": "metric",
    "name": "bearing plates",
    "stock": {"material": "aluminium", "size": [220, 140, 10]},
    "bed": {"material": "aluminium", "thickness": 20},
    "machine": {"z_travel": 160, "nose_to_bed": 180, "spindle_power": "1.5 kW"},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 1, "helix": "up", "stickout": 20}},
    "cuts": [
        {"name": "pocket", "kind": "pocket", "tool": 1, "width": 2, "depth": 1, "feed": 1200, "speed": 18000,
         "path": _rectangle(70, 45, 150, 95, -4)},
    ],
    "holes": [[12, 12], [208, 12], [208, 128], [12, 128]],
    "batch": 30,
    "shop": {
        "holders": [
            {"kind": "fixture_plate", "count": 4, "torque": 5, "washer": 12},
            {"kind": "polymer_nail", "count": 100},
            {"kind": "tape_and_ca"},
            {"kind": "strap_clamp", "count": 4, "torque": 4},
            {"kind": "screw", "count": 10},
            {"kind": "vise", "size": "100_mm"},
        ],
    },
}  # fmt: skip

#: A sheet of acrylic, cut through into one panel: no margin to speak of, no marks.
ACRYLIC: Document = {
    "units": "metric",
    "name": "display front",
    "stock": {"material": "acrylic", "size": [320, 220, 5], "origin": [0, 0, 0]},
    "bed": {"material": "mdf", "thickness": 18, "top": 0, "condition": "sealed"},
    "zero": {"z": "bed"},
    "tools": {"1": {"kind": "end_mill", "diameter": 3, "flutes": 1, "helix": "down", "stickout": 18}},
    "cuts": [
        {"name": "outline", "kind": "profile", "tool": 1, "depth": 1.25, "feed": 1800, "speed": 18000,
         "path": _rectangle(6.5, 6.5, 313.5, 213.5, 0)},
    ],
    "parts": [{"name": "front", "outline": [[8, 8], [312, 212]]}],
    "matters": ["no_marks", "time"],
    "shop": {
        "holders": [
            {"kind": "film_tape"},
            {"kind": "tape_and_ca"},
            {"kind": "strap_clamp", "count": 6, "torque": 1},
            {"kind": "screw", "count": 20},
            {"kind": "vise", "size": "100_mm"},
            {"kind": "polymer_nail", "count": 100},
            {"kind": "vacuum", "seal": "gasket", "pump": "venturi"},
        ],
    },
}  # fmt: skip

#: Cutting boards by the dozen: a groove and the face free; saw-cut blanks against a fence.
BOARDS: Document = {
    "units": "metric",
    "name": "cutting boards",
    "stock": {"material": "maple", "size": [380, 250, 36], "thickness": [35.5, 36.5]},
    "bed": {"material": "mdf", "thickness": 18},
    "machine": {"spindle_power": "1.5 kW", "z_travel": 120, "nose_to_bed": 170},
    "tools": {"1": {"kind": "ball_nose", "diameter": 12, "flutes": 2, "helix": "straight", "stickout": 30}},
    "cuts": [
        {"name": "groove", "kind": "slot", "tool": 1, "depth": 2, "feed": 2500, "speed": 18000,
         "path": _rectangle(22, 22, 358, 228, -6)},
    ],
    "batch": 40,
    "shop": {
        "holders": [
            {"kind": "stop", "count": 4, "height": 26},
            {"kind": "side_clamp", "count": 2, "drive": "cam", "force": {"low": 400, "typical": 600, "high": 800},
             "height": 13, "tip": [40, 16], "body_top": 28, "stiff_sideways": True},
            {"kind": "tape_and_ca"},
            {"kind": "strap_clamp", "count": 4, "torque": 2},
            {"kind": "vise", "size": "150_mm"},
        ],
    },
}  # fmt: skip

#: A thin veneered plaque for an inlay: tiny loads, all hangs on the height.
INLAY: Document = {
    "units": "metric",
    "name": "inlaid plaque",
    "stock": {"material": "walnut", "size": [200, 150, 6]},
    "bed": {"material": "mdf", "thickness": 18, "condition": "sealed"},
    "tools": {"1": {"kind": "v_bit", "diameter": 6, "flutes": 2, "helix": "straight", "tip_angle": 30, "stickout": 25}},
    "cuts": [
        {"name": "socket", "kind": "engrave", "tool": 1, "width": 1.5, "depth": 1.5, "feed": 900, "speed": 18000,
         "path": _rectangle(12, 12, 188, 138, -3)},
    ],
    "matters": ["finish", "no_marks", "time"],
    "shop": {
        "holders": [
            {"kind": "film_tape"},
            {"kind": "tape_and_ca"},
            {"kind": "foam_tape"},
            {"kind": "strap_clamp", "count": 4, "torque": 1},
            {"kind": "vise", "size": "150_mm"},
        ],
    },
}  # fmt: skip

#: A bowed plywood sheet with many parts and no vacuum: screws in the waste between them, and tabs.
NEST: Document = {
    "units": "metric",
    "name": "nest of brackets",
    "stock": {"material": "birch plywood", "size": [1000, 700, 12], "origin": [0, 0, 0], "bow": 3},
    "bed": {"material": "mdf", "thickness": 18, "top": 0},
    "zero": {"z": "bed"},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "compression", "up_length": 5,
                    "stickout": 30}},
    "cuts": [
        {"name": f"bracket {number}", "kind": "profile", "tool": 1, "depth": 6.2, "feed": 3000, "speed": 18000,
         "path": _rectangle(x - 3, y - 3, x + 303, y + 203, 0)}
        for number, (x, y) in enumerate([(80, 80), (560, 420)], 1)
    ],
    "parts": [
        {"name": f"bracket {number}", "outline": [[x, y], [x + 300, y + 200]]}
        for number, (x, y) in enumerate([(80, 80), (560, 420)], 1)
    ],
    "shop": {
        "holders": [
            {"kind": "screw", "count": 40, "diameter": 4, "depth": 15},
            {"kind": "tab", "width": 12, "height": 6, "counted_from": "bed"},
            {"kind": "film_tape"},
            {"kind": "vacuum", "pump": "shop_vacuum"},
            {"kind": "vise", "size": "150_mm"},
        ],
    },
}  # fmt: skip
