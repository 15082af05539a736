"""Removing many passes together against removing them one by one."""

from dataclasses import fields

import numpy as np
import pytest
from numpy.testing import assert_array_equal
from tests.engine.cutting.removal_jobs import path, removed

from stillstock.engine.cutting import pass_blocks


def spiral(tool):
    """A path inwards whose turns overlap, going down and up again, with a plunge, a lift and some level moves."""
    turn = np.linspace(0.0, 6.0 * np.pi, 241)
    reach = 0.018 - 0.0007 * turn
    x, y = 0.012 + reach * np.cos(turn), 0.002 + reach * np.sin(turn)
    z = np.where(turn < 6.0, -0.003, -0.003 - 0.004 * np.sin(turn) ** 2)
    places = [*zip(x, y, z, strict=True), (x[-1], y[-1], -0.02), (x[-1], y[-1], 0.002), (-0.03, 0.004, -0.0045)]
    return path((x[0], y[0], 0.001), *places, (0.12, 0.004, -0.0045), tool=tool)


@pytest.mark.parametrize("tool", [1, 2, 3])
def test_grouping_changes_nothing(tool, monkeypatch):
    """Mill, ball and V-bit: blocks of many passes, of a few and of one leave the same stock and meet the same."""
    moves = spiral(tool)
    together = removed(moves)
    assert np.count_nonzero(together.cutting) > 200
    for block in (0, 3_000):
        monkeypatch.setattr(pass_blocks, "BLOCK", block)
        alone = removed(moves)
        for field in fields(alone):
            if field.name != "map":
                assert_array_equal(getattr(alone, field.name), getattr(together, field.name), err_msg=field.name)
        assert_array_equal(alone.low, together.low)


def test_block_ends_at_a_move_to_look_at():
    """Passes of one size and end: the block stops before the move that is waited for, and at another end."""
    sizes = [(9, 9, 1, move) for move in range(8)] + [(9, 9, 2, 8)]
    assert pass_blocks._block_end(sizes, 0, until=5) == 5
    assert pass_blocks._block_end(sizes, 5, until=99) == 8


def test_block_of_unlike_boxes_ends_before_it_is_mostly_padding():
    """A long pass among short ones would make every box as large as its own."""
    sizes = [(9, 9, 1, 0), (9, 9, 1, 1), (400, 9, 1, 2), (9, 9, 1, 3)]
    assert pass_blocks._block_end(sizes, 0, until=99) == 2
    assert pass_blocks._block_end(sizes, 2, until=99) == 3
