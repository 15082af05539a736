"""How the stock lets go, as a picture: its outline moved, an arrow, the axis or the pivot about which it turns."""

import numpy as np

from stillstock.engine.drawing import Circle, Label, Polyline
from stillstock.engine.mechanics.motion import LetGo, Motion
from stillstock.engine.set_up import FloatArray

__all__ = ["arrow", "motion_shapes"]

#: How far the picture moves the stock, as a share of its size. [-]
SHOWN = 0.06

Shape = Polyline | Circle | Label


def arrow(layer: str, start: FloatArray, end: FloatArray, head: float) -> list[Shape]:
    """Draw an arrow from `start` to `end`, (2,), with barbs of length `head`. [m]"""
    along = (end - start) / max(float(np.hypot(*(end - start))), 1e-12)
    side = np.array([-along[1], along[0]])
    barbs = np.array([end - head * along + 0.45 * head * side, end, end - head * along - 0.45 * head * side])
    return [Polyline(layer=layer, points=np.array([start, end])), Polyline(layer=layer, points=barbs)]


def _turned_arrow(motion: LetGo, center: FloatArray, radius: float, size: float) -> list[Shape]:
    sense = 1.0 if motion.direction[2] > 0.0 else -1.0
    angles = np.linspace(0.2, 1.7, 25) * np.pi
    arc = center + radius * np.column_stack([np.cos(sense * angles), np.sin(sense * angles)])
    return [Polyline(layer="motion", points=arc[:-1]), *arrow("motion", arc[-2], arc[-1], size)]


def motion_shapes(motion: LetGo, plan: FloatArray, *, size: float) -> list[Shape]:
    """Draw how the stock lets go: its outline moved and dashed, an arrow, the pivot or the axis it tips about.

    Parameters
    ----------
    motion : LetGo
    plan : (n, 2) array
        The stock's outline. [m]
    size : float
        Of symbols. [m]
    """
    reach = SHOWN * float(np.ptp(plan, axis=0).max())
    corners = np.column_stack([plan, np.zeros(len(plan))])
    moved = corners + reach * (motion.twist[:3] + np.cross(motion.twist[3:], corners))
    shapes: list[Shape] = [Polyline(layer="moved-stock", points=moved[:, :2], closed=True)]
    middle = plan.mean(axis=0)
    if motion.kind is Motion.SLIDE:
        shapes += arrow("motion", middle, middle + 2.5 * reach * np.array(motion.direction[:2]), size)
    elif motion.kind is Motion.LIFT:
        shapes += [
            Circle(layer="motion", center=(float(middle[0]), float(middle[1])), radius=r * size) for r in (1.2, 0.3)
        ]
    elif motion.pivot is not None:
        pivot, axis = np.array(motion.pivot[:2]), np.array(motion.direction[:2])
        if motion.kind is Motion.TIP:
            half = 0.6 * float(np.abs(axis) @ np.ptp(plan, axis=0))
            shapes.append(Polyline(layer="pivot", points=np.array([pivot - half * axis, pivot + half * axis])))
            falling = pivot + 2.5 * reach * np.array([axis[1], -axis[0]])
            shapes += arrow("motion", pivot, falling, size)
        else:
            inside = np.clip(pivot, plan.min(axis=0) - 2 * reach, plan.max(axis=0) + 2 * reach)
            shapes += [
                Polyline(layer="pivot", points=inside + size * np.array([(-1.0, 0.0), (1.0, 0.0)])),
                Polyline(layer="pivot", points=inside + size * np.array([(0.0, -1.0), (0.0, 1.0)])),
                *_turned_arrow(motion, inside, 2.5 * size, size),
            ]
    return shapes
