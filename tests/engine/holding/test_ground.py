"""Where the bed supports the stock, voids that lie apart and voids that touch."""

import numpy as np
import pytest
from tests.engine.holding.slabs import bed, box, slab

from stillstock.engine.holding.ground import ground_shape

APART = (box(0.02, 0.02, 0.05, 0.06), box(0.08, 0.02, 0.10, 0.06))


def bare(*voids: np.ndarray) -> float:
    """Return the area that voids take from under the stock. [m2]"""
    return float(ground_shape(slab(), bed()).area - ground_shape(slab(), bed(*voids)).area)


@pytest.mark.parametrize(
    ("more", "area"),
    [
        ((), 0.0012 + 0.0008),
        ((box(0.04, 0.02, 0.09, 0.06),), 0.08 * 0.04),  # bridges both
        ((box(0.03, 0.03, 0.04, 0.05),), 0.0012 + 0.0008),  # within one
        ((box(0.05, 0.02, 0.06, 0.06),), 0.0012 + 0.0008 + 0.0004),  # shares an edge
    ],
)
def test_what_several_voids_cover_is_taken_away_once(more, area):
    assert bare(*APART, *more) == pytest.approx(area, rel=1e-9)
    assert bare(*more, *APART) == pytest.approx(area, rel=1e-9)
