"""Programs for tests, made as a CAM program would post them; the same text every time."""

import math

__all__ = ["cabinet_door_program", "raster_program"]

SAFE = 8.0
TABS = ((67.0, 81.0), (187.0, 201.0), (307.0, 321.0))  # 8 mm and the tool's width


def cabinet_door_program() -> str:
    """A small cabinet door: a recessed panel, hinge and shelf holes, and the outline with tabs.

    Stock: birch plywood, 400 x 300 x 18 mm. Zero: top of the stock at its front left corner, so X runs to 400, Y to 300
    and the bed is at Z-18. Tool 1: 6 mm two-flute up-cut end mill. Tool 2: 5 mm drill. Metric, G54, spindle 18000 and
    4500 rev/min. At least 3,000 lines.

    1. Pocket, tool 1: a recess of some 240 x 150 mm with a waved edge, 3 levels of 2 mm, let in by a ramp in its middle
       and widened ring by ring, at most 5 mm apart, climb. Feed 2400 mm/min.
    2. Holes, tool 2: two rows of 5 mm shelf holes 12 mm deep by pecks (G83), four through-holes by G81 at the corners.
    3. Outline, tool 1: 380 x 280 mm with rounded corners, climb, down to 0.3 mm into the bed along ramps of 3 mm on the
       left side; six tabs 8 mm wide and 3 mm high on the two long sides in the last passes. Feed 3000 mm/min.
    """
    lines = ["%", "O1042 (CABINET DOOR)", "(STOCK 400 X 300 X 18 BIRCH PLYWOOD, ZERO TOP FRONT LEFT)"]
    lines += ["(T1 6 MM END MILL, UP-CUT, 2 FLUTES)", "(T2 5 MM DRILL)", "G21 G90 G94 G17 G40 G49 G80"]
    lines += ["(POCKET)", *_tool(1, 18000), *_pocket()]
    lines += ["(HOLES)", *_tool(2, 4500), *_holes()]
    lines += ["(OUTLINE)", *_tool(1, 18000), *_outline()]
    lines += ["M5", "M9", "G53 G0 Z0", "M30", "%"]
    return "\n".join(lines) + "\n"


def _tool(number: int, speed: int) -> list[str]:
    return ["M5", f"T{number} M6", f"S{speed} M3", "G54", f"G43 H{number}"]


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0") if value else "0."


def _recess(share: float, points: int = 60) -> list[tuple[float, float]]:
    """Closed ring of the tool's centre at a share of the way from the middle to the edge, counter-clockwise."""
    ring = []
    for k in range(points):
        phi = math.tau * k / points
        wave = share * (1.0 + 0.03 * math.sin(6 * phi))
        ring.append((200.0 + 117.0 * wave * _flat(math.cos(phi)), 150.0 + 72.0 * wave * _flat(math.sin(phi))))
    return ring


def _flat(share: float) -> float:
    """Press a circle towards a rectangle."""
    return math.copysign(abs(share) ** 0.6, share)


def _pocket() -> list[str]:
    lines = ["G0 X200. Y150.", f"G0 Z{SAFE:.3f}"]
    for level in (-2.0, -4.0, -6.0):
        rings = [_recess(k / 25) for k in range(1, 26)]
        x, y = rings[0][0]
        lines += [f"G0 X{_number(x)} Y{_number(y)}", "Z1.", f"G1 Z{_number(level + 2.0)} F600."]
        # One round down the ramp, then the ring once more on the level.
        for k, (x, y) in enumerate(rings[0], 1):
            lines.append(f"X{_number(x)} Y{_number(y)} Z{_number(level + 2.0 - 2.0 * k / 60)} F1200.")
        for ring in rings:
            lines += [f"X{_number(x)} Y{_number(y)} F2400." for x, y in [*ring, ring[0]]]
        lines.append(f"G0 Z{SAFE:.3f}")
    return lines


def _holes() -> list[str]:
    lines = ["G0 X30. Y40.", f"G0 Z{SAFE:.3f}", "G98 G83 X30. Y40. Z-12. R2. Q4. F900."]
    lines += [f"Y{40 + 32 * k}." for k in range(1, 7)]
    lines += [f"X370. Y{40 + 32 * k}." for k in range(7)]
    lines += ["G80", "G99 G81 X20. Y20. Z-18.5 R2. F1200.", "X380.", "Y280.", "X20.", "G80", f"G0 Z{SAFE:.3f}"]
    return lines


def _outline() -> list[str]:
    """Clockwise about the part, which leaves it to the right of the tool: climb with M3."""
    lines = ["G0 X7. Y150.", f"G0 Z{SAFE:.3f}", "G0 Z1.", "G1 Z0. F600."]
    depth = 0.0
    for target in (-3.0, -6.0, -9.0, -12.0, -15.3, -18.3):
        lines.append(f"G1 Y200. Z{_number(target)} F1200.")
        lines += _lap(target, tabs=target < -15.0)
        depth = target
    lines += _lap(depth, tabs=True)
    lines.append(f"G0 Z{SAFE:.3f}")
    return lines


def _lap(level: float, *, tabs: bool) -> list[str]:
    lines = ["Y288. F3000.", "G2 X12. Y293. I5. J0.", *_side(12.0, 388.0, 293.0, level, tabs=tabs)]
    lines += ["G2 X393. Y288. R5.", "G1 Y12.", "G2 X388. Y7. R5.", *_side(388.0, 12.0, 7.0, level, tabs=tabs)]
    lines += ["G2 X7. Y12. I0. J5.", "G1 Y150.", "Y160."]
    return lines


def _side(start: float, end: float, y: float, level: float, *, tabs: bool) -> list[str]:
    """One long side, the tool lifted over its tabs."""
    lines = ["G1"] if tabs else [f"G1 X{_number(end)}"]
    if tabs:
        for near, far in TABS if end > start else tuple((far, near) for near, far in reversed(TABS)):
            lines += [f"X{_number(near)}", f"Z{_number(max(level, -15.0))} F1500.", f"X{_number(far)}"]
            lines += [f"Z{_number(level)} F900.", "F3000."]
        lines.append(f"X{_number(end)} Y{_number(y)}")
    return lines


def raster_program(lines: int) -> str:
    """A carve of `lines` lines in all: rows of short moves over a waved face, an arc to the next row.

    Same stock, zero and tool 1 as in `cabinet_door_program`; rows along X, 1 mm apart and 0.5 mm a move, going round
    again a little deeper at the end of the board.
    """
    text = ["G21 G90 G94 G17 G54", "T1 M6", "S18000 M3", "G0 X10. Y10.", "G0 Z5.", "G1 Z-1. F3000."]
    row, columns = 0, 720
    while len(text) < lines - 2:
        y = 10.0 + row % 278
        deep = 1.0 + 0.5 * (row // 278)
        steps = range(1, columns + 1) if row % 2 == 0 else range(columns - 1, -1, -1)
        for k in steps:
            z = -deep - 0.6 * math.sin(k / 23.0) * math.cos(row / 17.0)
            if k % 9 == 4:
                text.append(f"Z{z:.3f}")
            else:
                text.append(f"G1 X{10.0 + 0.5 * k:.3f} Z{z:.3f}" if k % 50 == 0 else f"X{10.0 + 0.5 * k:.3f} Z{z:.3f}")
        turn = "G3" if row % 2 == 0 else "G2"
        if (row + 1) % 278:
            text += [f"{turn} X{370.0 if row % 2 == 0 else 10.0:.3f} Y{y + 1.0:.3f} R0.5", "G1"]
        else:
            text += ["G0 Z5.", "G0 X10. Y10.", "G1 Z-1. F3000."]
            row += row % 2 == 0
        row += 1
    return "\n".join([*text[: lines - 2], "G0 Z5.", "M30"]) + "\n"
