"""A net of directions over the sphere, and where vectors lie in it."""

from itertools import product

import numpy as np
from numpy.typing import NDArray

from stillstock.engine.set_up import FloatArray

__all__ = ["VERTICES", "in_triangles"]

IntArray = NDArray[np.int64]

#: One face of the octahedron, its edges halved: corners, and the four triangles between them.
_HALF = float(np.sqrt(0.5))
_FACE = np.array([(1, 0, 0), (0, 1, 0), (0, 0, 1), (_HALF, _HALF, 0), (0, _HALF, _HALF), (_HALF, 0, _HALF)])
_PIECES = np.array([(0, 3, 5), (1, 4, 3), (2, 5, 4), (3, 4, 5)])


def _net() -> tuple[FloatArray, IntArray]:
    """Return the directions, (18, 3), and for each octant the numbers of its face's corners, (8, 6)."""
    corners: list[tuple[float, ...]] = []
    numbers = []
    for signs in product((1.0, -1.0), repeat=3):
        face = [tuple(corner) for corner in _FACE * signs + 0.0]
        corners += [corner for corner in face if corner not in corners]
        numbers.append([corners.index(corner) for corner in face])
    return np.array(corners), np.array(numbers)


#: Unit vectors of the net, (18, 3); every mirror image and quarter turn of the axes maps it on itself.
VERTICES, _OCTANTS = _net()


def in_triangles(vectors: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return the triangle in whose cone each vector lies, and its parts.

    Parameters
    ----------
    vectors : (n, 3) array

    Returns
    -------
    corners : (n, 3) int array
        Numbers of the three directions.
    shares : (n, 3) array
        Parts, none negative: ``vector = shares @ VERTICES[corners]`` up to rounding. [as the vectors]
    """
    octant = (vectors < 0.0) @ np.array([4, 2, 1])
    x, y, z = np.abs(vectors).T
    own = np.stack([x - y - z, y - z - x, z - x - y])
    # Near a corner of the face: that corner's excess and the two middles beside it; else all three middles.
    piece = np.where(own.max(axis=0) >= 0.0, own.argmax(axis=0), 3)
    xy, yz, zx = -own[2], -own[0], -own[1]
    near = [
        np.stack(p, axis=1)
        for p in (
            (own[0], 2 * _HALF * y, 2 * _HALF * z),
            (own[1], 2 * _HALF * z, 2 * _HALF * x),
            (own[2], 2 * _HALF * x, 2 * _HALF * y),
            (_HALF * xy, _HALF * yz, _HALF * zx),
        )
    ]
    shares = np.choose(piece[:, None], near)
    return _OCTANTS[octant[:, None], _PIECES[piece]], np.maximum(shares, 0.0)
