"""Dry friction as polygons inscribed in the circle of Coulomb's law, so always on the safe side."""

from dataclasses import dataclass

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = ["COARSE", "SIDES", "Polygon", "face_normals", "spokes"]

#: Corners of the inscribed polygon: an answer lies between that of mu cos(pi / 16) and that of mu.
SIDES = 16


@dataclass(frozen=True, kw_only=True)
class Polygon:
    """A regular polygon inscribed in the unit circle.

    Attributes
    ----------
    sides : int
        [-]
    turn : float
        Angle from +x to one of its corners. [rad]
    """

    sides: int = SIDES
    turn: float = 0.0

    def _directions(self, step: float) -> FloatArray:
        angle = 2.0 * np.pi * (np.arange(self.sides) + step) / self.sides + self.turn
        return np.stack([np.cos(angle), np.sin(angle)], axis=1)

    def spokes(self) -> FloatArray:
        """Return its corners, (sides, 2). [-]"""
        return self._directions(0.0)

    def face_normals(self) -> FloatArray:
        """Return n so that it is ``{t: n t <= 1}``. (sides, 2) [-]"""
        normals: FloatArray = self._directions(0.5) / np.cos(np.pi / self.sides)
        return normals


#: What every factor is reckoned with; one corner lies along +x.
COARSE = Polygon()


def spokes() -> FloatArray:
    """Return the corners of the inscribed polygon of a unit circle; one lies along +x. (SIDES, 2) [-]"""
    return COARSE.spokes()


def face_normals() -> FloatArray:
    """Return n so that the polygon of `spokes` is ``{t: n t <= 1}``. (SIDES, 2) [-]"""
    return COARSE.face_normals()
