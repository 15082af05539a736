"""Lopsided tables of holders and tools, drawn with a fixed seed."""

import random
from typing import Any

import numpy as np

from stillstock.engine.clearance.turned_body import ToolPart, tool_parts
from stillstock.engine.holding.body import Body, cylinder
from stillstock.engine.holding.place import rectangle
from stillstock.engine.set_up import Collet, Tool, ToolKind

KINDS: tuple[dict[str, Any], ...] = (
    {"kind": ToolKind.END_MILL, "diameter": 0.006},
    {"kind": ToolKind.BALL_NOSE, "diameter": 0.010},
    {"kind": ToolKind.V_BIT, "diameter": 0.022, "tip_angle": 1.6, "tip_diameter": 0.0004},
    {"kind": ToolKind.DRILL, "diameter": 0.009, "tip_angle": 2.06},
)


def drawn_bodies(draw: random.Random, *, count: int) -> list[Body]:
    """Return bodies of every shape in plan: cylinders, slots with round ends, turned blocks, triangles."""
    bodies = []
    for number in range(count):
        at = (draw.uniform(0.0, 0.25), draw.uniform(0.0, 0.18))
        low = draw.uniform(-0.02, 0.01)
        core = (
            cylinder(at),
            np.array([at, (at[0] + 0.021, at[1] - 0.013)]),
            rectangle(at, along=draw.uniform(0.01, 0.08), across=draw.uniform(0.005, 0.03), angle=draw.uniform(0, 6)),
            np.array([at, (at[0] + 0.03, at[1] + 0.005), (at[0] + 0.01, at[1] + 0.024)]),
        )[number % 4]
        radius = draw.choice((0.0, 0.004, 0.011)) if number % 4 > 1 else draw.uniform(0.002, 0.02)
        high = low + draw.uniform(0.004, 0.05)
        bodies.append(Body(holder=number, part="body", core=core, radius=radius, low=low, high=high))
    return bodies


def drawn_parts(draw: random.Random) -> tuple[ToolPart, ...]:
    tool = Tool(
        number=1, **draw.choice(KINDS), cutting_length=0.016, shank=0.006, nose=Collet(diameter=0.061, length=0.03)
    )
    shoe = draw.choice((None, (0.082, 0.021)))
    return tool_parts(tool, stickout=draw.uniform(0.018, 0.03), collet=Collet(diameter=0.028, length=0.017), shoe=shoe)


def drawn_moves(draw: random.Random, *, count: int, longest: float = 0.03) -> tuple[np.ndarray, np.ndarray]:
    """Return starts and ends: flat, slanting, upright and standing moves. (n, 3) [m]"""
    start, end = [], []
    for number in range(count):
        a = (draw.uniform(-0.02, 0.27), draw.uniform(-0.02, 0.2), draw.uniform(-0.02, 0.05))
        x, y, z = (draw.uniform(-longest, longest) for _ in range(3))
        step = [(x, y, 0.0), (x, y, z), (0.0, 0.0, z), (0.0, y, z / 3)][number % 4]
        start.append(a)
        end.append(tuple(p + q for p, q in zip(a, step, strict=True)))
    return np.array(start), np.array(end)
