"""The map of the stock before the first cut."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from stillstock.engine.cutting.height_map import height_map
from stillstock.engine.set_up import Material, Stock

MDF = Material(key="mdf", title="MDF", family="panel", properties={})
STOCK = Stock(material=MDF, size=(0.11, 0.07, 0.018), thickness=(0.0176, 0.0183), origin=(-0.013, -0.029, -0.018))
CELL = 0.0005


def test_stock_stands_at_its_greatest_measured_thickness():
    grid = height_map(STOCK, cell=CELL)
    assert grid.heights.shape == (220, 140)
    assert grid.stands.all()
    assert_allclose(grid.heights, 0.0003, atol=1e-12)
    assert_allclose(grid.volume, 0.11 * 0.07 * 0.0183)


def test_area_of_an_outline():
    """An L with its notch at the upper right. Tolerance: the samples along its edges."""
    corners = [(0.0, 0.0), (0.1, 0.0), (0.1, 0.02), (0.03, 0.02), (0.03, 0.06), (0.0, 0.06)]
    ell = replace(STOCK, size=(0.1, 0.06, 0.018), origin=(0.0, 0.0, -0.018), outline=np.array(corners))
    grid = height_map(ell, cell=CELL)
    assert_allclose(grid.volume, (0.1 * 0.02 + 0.03 * 0.04) * 0.0183, rtol=0.01)
    assert not grid.stands[100, 80]
    assert np.isneginf(grid.heights[100, 80])
    assert grid.stands[20, 80]


def test_last_cells_that_overhang_the_stock_count_only_where_their_samples_stand_on_it():
    odd = replace(STOCK, size=(0.1101, 0.0703, 0.018))
    grid = height_map(odd, cell=0.002)
    assert grid.heights.shape == (56, 36)
    assert not grid.stands.all()
    assert_allclose(grid.volume, 0.1101 * 0.0703 * 0.0183, rtol=0.01)


def test_samples_stand_each_in_its_own_cell():
    grid = height_map(STOCK, cell=CELL)
    samples = grid.samples
    for axis in (0, 1):
        place = (samples.by_row[:, None, axis] + samples.by_column[None, :, axis]) / CELL
        cell = np.indices(grid.heights.shape)[axis]
        assert np.all((place >= cell - 1e-9) & (place < cell + 1))


def test_cell_without_a_size_is_refused():
    with pytest.raises(ValueError, match="positive"):
        height_map(STOCK, cell=0.0)
