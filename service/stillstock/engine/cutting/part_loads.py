"""Of a job's loads those that act on one piece of the stock, each stretch cut to where the tool is at that piece."""

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from stillstock.engine.cutting.job_sweep import JobSweep
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray

__all__ = ["loads_within"]

#: A load at a point this near to an area is at it: one that was cut to the area before stands on its edge. [m]
ON_EDGE = 1e-7

#: What it costs to look whether a load is near an area, and to cut a stretch that is; by measurement. [units]
LOOKING, CUTTING = 1e-4, 0.01

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


def _partners(loads: JobSweep) -> IntArray:
    """Return the row of the other end of each row's stretch; its own where a load acts at a point.

    The places of one fan stand together, both ends of each stretch in turn; only a load at a point stands alone.
    """
    fan = loads.sweep.fan
    counts = np.bincount(fan)
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    row = np.arange(len(fan)) - first[fan]
    found: IntArray = np.where(counts[fan] % 2 == 0, first[fan] + (row ^ 1), np.arange(len(fan)))
    return found


def loads_within(loads: JobSweep, wanted: BoolArray, area: BaseGeometry) -> JobSweep:
    """Return the wanted loads that act within an area.

    Parameters
    ----------
    loads : JobSweep
        Of a whole job, as `joined` puts them together.
    wanted : (n,) bool array
        Which places may count at all; both ends of a stretch alike.
    area : BaseGeometry
        In plan. [m]

    Notes
    -----
    The gauge is convex along a stretch, so its ends are its worst places; a stretch that passes the area is cut to
    where it first and last is inside, for beside the area the tool cuts something else.
    """
    partner = _partners(loads)
    spend(LOOKING * len(loads))
    rows = np.flatnonzero(wanted & (np.arange(len(loads)) <= partner))
    rows = rows[_near(loads.tip[rows, :2], loads.tip[partner[rows], :2], area)]
    start, end = loads.tip[rows], loads.tip[partner[rows]]
    inside, span = _span(start[:, :2], end[:, :2], area)
    rows, span, step = rows[inside], span[inside], (end - start)[inside]
    single = partner[rows] == rows
    chosen = np.concatenate([rows, partner[rows[~single]]])
    shift = np.concatenate([span[:, :1] * step, (span[~single, 1:] - 1.0) * step[~single]])
    order = np.argsort(chosen, kind="stable")
    return _moved(loads, chosen[order], shift[order])


def _near(start: FloatArray, end: FloatArray, area: BaseGeometry) -> BoolArray:
    """Return which stretches may meet an area: those whose box meets its box."""
    low, high = np.array(area.bounds).reshape(2, 2) + np.array([[-ON_EDGE], [ON_EDGE]])
    found: BoolArray = ((np.maximum(start, end) >= low) & (np.minimum(start, end) <= high)).all(axis=1)
    return found


def _span(start: FloatArray, end: FloatArray, area: BaseGeometry) -> tuple[BoolArray, FloatArray]:
    """Return which stretches meet an area, and from which share of them to which, (n, 2). [-]"""
    spend(CUTTING * len(start))
    step = end - start
    length = np.maximum(np.einsum("ij,ij->i", step, step), 1e-24)
    common = shapely.intersection(shapely.linestrings(np.stack([start, end], axis=1)), area)
    points, which = shapely.get_coordinates(common, return_index=True)
    share = np.clip(np.einsum("ij,ij->i", points - start[which], step[which]) / length[which], 0.0, 1.0)
    span = np.tile([np.inf, -np.inf], (len(start), 1))
    np.minimum.at(span[:, 0], which, share)
    np.maximum.at(span[:, 1], which, share)
    standing = np.all(step == 0.0, axis=1)
    there = shapely.dwithin(shapely.points(start), area, ON_EDGE)
    inside = np.where(standing, there, np.isfinite(span[:, 0]))
    return inside, np.where(standing[:, None], (0.0, 1.0), span)


def _moved(loads: JobSweep, rows: IntArray, shift: FloatArray) -> JobSweep:
    """Return some of the loads, their places moved. [m]"""
    some = loads.only(rows)
    return replace(some, sweep=replace(some.sweep, point=some.sweep.point + shift), tip=some.tip + shift)
