"""Dry friction as polygons inscribed in the circle of Coulomb's law, so always on the safe side."""

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = ["SIDES", "face_normals", "spokes"]

#: Corners of the inscribed polygon: an answer lies between that of mu cos(pi / 16) and that of mu.
SIDES = 16


def spokes() -> FloatArray:
    """Return the corners of the inscribed polygon of a unit circle; one lies along +x. (SIDES, 2) [-]"""
    angle = 2.0 * np.pi * np.arange(SIDES) / SIDES
    return np.stack([np.cos(angle), np.sin(angle)], axis=1)


def face_normals() -> FloatArray:
    """Return n so that the polygon of `spokes` is ``{t: n t <= 1}``. (SIDES, 2) [-]"""
    angle = 2.0 * np.pi * (np.arange(SIDES) + 0.5) / SIDES
    normals: FloatArray = np.stack([np.cos(angle), np.sin(angle)], axis=1) / np.cos(np.pi / SIDES)
    return normals
