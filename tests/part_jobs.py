"""Jobs that cut parts free, for tests: a square with tabs or a skin, a ring with its slug."""

import copy
from itertools import pairwise
from typing import Any

__all__ = ["SHEET", "TAB_PLACES", "outline_program", "sheet"]

#: Middles of four tabs on a plate from (100, 90) to (300, 240), and the directions of the path there. [mm], [deg]
TAB_PLACES = (((200, 90), 0), ((300, 165), 90), ((200, 240), 180), ((100, 165), -90))

#: Birch plywood 400 x 330 x 12 on strips of tape along two edges, zero on top; the plate holds by nothing of its own.
SHEET: dict[str, Any] = {
    "units": "metric",
    "stock": {"material": "birch plywood", "size": [400, 330, 12], "thickness": [11.9, 12.0]},
    "bed": {"material": "mdf", "thickness": 18, "condition": "sealed"},
    "tools": {"1": {"kind": "end_mill", "diameter": 6, "flutes": 2, "helix": "up"}},
    "holders": [
        {"kind": "film_tape", "area": [[5, 5], [395, 60]], "shear_strength": 200, "tensile_strength": 150},
        {"kind": "film_tape", "area": [[5, 270], [395, 325]], "shear_strength": 200, "tensile_strength": 150},
    ],
    "required": {"factor": 2, "tolerance": 2},
}


def _side(start: tuple[float, float], end: tuple[float, float], *, low: float, over: float) -> list[str]:
    """One side of the last pass; in its middle the tool rides 12 mm (a tab of 6 mm) at the height `over`."""
    (x0, y0), (x1, y1) = start, end
    length = abs(x1 - x0) + abs(y1 - y0)
    lines = []
    for share, z in (((0.5 - 6 / length), over), ((0.5 + 6 / length), low)):
        lines += [f"G1 X{x0 + share * (x1 - x0):.3f} Y{y0 + share * (y1 - y0):.3f} F2000", f"G1 Z{z:.3f} F600"]
    return [*lines, f"G1 X{x1:.3f} Y{y1:.3f} F2000"]


def outline_program(*, low: float = -12.2, tabs: float | None = None) -> str:
    """Cut round the plate in three passes, the last down to `low`; `tabs` is their height over the bed at Z-12."""
    corners = [(97.0, 87.0), (303.0, 87.0), (303.0, 243.0), (97.0, 243.0), (97.0, 87.0)]
    lines = ["G21 G90 G94 G17", "T1 M6", "S18000 M3", "G0 X97 Y87 Z5"]
    for level in (-4.0, -8.0):
        lines += [f"G1 Z{level} F600", *(f"G1 X{x} Y{y} F2000" for x, y in corners[1:])]
    lines.append(f"G1 Z{low} F600")
    for start, end in pairwise(corners):
        over = low if tabs is None else -12.0 + tabs
        lines += _side(start, end, low=low, over=over)
    return "\n".join([*lines, "G0 Z5", "M5", "M30"]) + "\n"


def sheet(*held_by: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """Return the sheet whose plate is cut out by the program with no tabs, held by what is stated."""
    document = copy.deepcopy(SHEET)
    document["parts"] = [{"name": "plate", "outline": [[100, 90], [300, 240]], "held_by": list(held_by)}]
    document["program"] = {"text": outline_program()}
    for name, value in changes.items():
        if isinstance(value, dict) and isinstance(document.get(name), dict):
            document[name] |= value
        else:
            document[name] = value
    return document
