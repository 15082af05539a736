"""Rows of whole numbers told apart, against the library's own way, which is slower."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from stillstock.engine.cutting import program_loads


@pytest.mark.parametrize("largest", [2**62, 50])
def test_rows_have_the_numbers_that_sorting_them_gives(largest, monkeypatch):
    """Against ``numpy.unique`` over rows; with a small largest number the columns are joined in several steps."""
    monkeypatch.setattr(program_loads, "LARGEST", largest)
    keys = np.random.default_rng(1).integers(-3, 4, (500, 4)) * (1, 5, 1, 2)
    expected = np.unique(keys, axis=0, return_inverse=True)[1].ravel()
    assert len(np.unique(expected)) > 400
    assert_array_equal(program_loads._row_numbers(keys), expected)
