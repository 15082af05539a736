"""Set-ups whose sheets are looked at: a plain one, and one with more than there is room for."""

from typing import Any

HOSTILE = '<script>alert("x")</script> & \'"><img src=http://else.invalid/x> ) M30 ('

PLAIN: dict[str, Any] = {
    "units": "metric",
    "name": "door sign",
    "stock": {
        "material": "birch plywood",
        "size": [300, 200, 18],
        "thickness": [17.4, 17.8],
        "origin": [-40, -30, -18],
    },
    "bed": {"material": "mdf", "thickness": 18},
    "machine": {"park": [0, 0, 60]},
    "tools": {
        "1": {
            "kind": "end_mill",
            "diameter": 6,
            "flutes": 2,
            "stickout": 28,
            "collet": {"diameter": 32, "length": 40},
        }
    },
    "holders": [
        {"kind": "strap_clamp", "at": [-30, 30], "torque": "1 N m"},
        {"kind": "strap_clamp", "at": [250, 30], "torque": "1 N m", "angle": 180},
        {"kind": "strap_clamp", "at": [-30, 140], "torque": "0.8 N m"},
        {"kind": "strap_clamp", "at": [250, 140], "torque": "0.8 N m", "angle": 180},
    ],
    "cuts": [
        {
            "name": "pocket",
            "kind": "pocket",
            "tool": 1,
            "width": 3,
            "depth": 2,
            "feed": 1200,
            "speed": 18000,
            "path": [[40, 30, -2], [180, 30, -2], [180, 110, -2], [40, 110, -2]],
        }
    ],
    "sheet": {
        "part": "Door sign",
        "revision": "B",
        "prepared_by": "Night shift",
        "machine": "Gantry 2",
        "date": "2026-11-25",
        "pieces": 12,
        "consumables": [{"kind": "cyanoacrylate", "name": "medium", "opened": "2026-09-02", "made": "2026-03-01"}],
        "notes": ["Grain along X."],
    },
}


def _crowded() -> dict[str, Any]:
    """Return a set-up with many unlike holders, tools, names as long as they may be, and hostile text."""
    long = (HOSTILE + " Wirklich sehr langer Name für ein Werkstück mit ÄÖÜ und 木工 " * 4)[:200]
    holders: list[dict[str, Any]] = [
        {"kind": "strap_clamp", "at": [20 + 40 * n, 20], "torque": f"{1 + 0.1 * n:.1f} N m", "angle": 90}
        for n in range(10)
    ]
    holders += [{"kind": "screw", "at": [30 + 60 * n, 380]} for n in range(5)]
    holders += [{"kind": "polymer_nail", "at": [60 + 60 * n, 360]} for n in range(4)]
    holders += [
        {"kind": "film_tape", "area": [[20, 60], [280, 160]]},
        {"kind": "tape_and_ca", "area": [[300, 60], [560, 160]]},
        {"kind": "foam_tape", "area": [[20, 200], [280, 300]]},
        {"kind": "stop", "at": [0, 200], "faces": "+x"},
        {"kind": "dowel_pin", "at": [300, 330]},
    ]
    tools = {
        str(number): {"kind": "end_mill", "diameter": 3 + 0.1 * number, "flutes": 2, "stickout": 30}
        for number in range(1, 13)
    }
    load = {"name": long, "at": [300, 250, 0], "force": [30, 10, 20]}
    return {
        "units": "metric",
        "name": long,
        "stock": {"material": "birch plywood", "size": [600, 400, 18]},
        "bed": {"material": "mdf", "thickness": 30},
        "tools": tools,
        "holders": holders,
        "loads": [load],
        "sheet": {
            "part": long[:80],
            "revision": long[:30],
            "prepared_by": long[:60],
            "machine": long[:60],
            "date": "2026-11-25",
            "consumables": [{"kind": "film_tape", "name": long[:60], "opened": "2025-01-31"}] * 9,
            "notes": [long[:160]] * 9,
        },
    }


CROWDED = _crowded()
