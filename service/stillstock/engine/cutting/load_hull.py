"""A few loads whose convex hull holds whole force curves."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from stillstock.engine.cutting.force_curve import ForceCurve
from stillstock.engine.set_up import FloatArray

IntArray = NDArray[np.intp]

__all__ = ["enclosing", "load_vertices"]

_GROWTH = 0.05  # [-] aim: the enclosing loads reach no farther beyond the curve; on the safe side
_LEVER = 0.05  # [m] arm at which a couple counts as much as a force: half the width of a small piece of stock
_MAIN = 3  # directions in which the hull is built to begin with; the others are narrow, and padded
_NARROW = 3e-2  # [-] a direction is narrow if the loads differ less in it, beside the widest
_SAME = 1e-12  # [-] and if they differ less than this, it is none
_PADS = (4.0, 16.0)  # [-] a pad reaches so many times as far as the loads in its narrow direction: first try, last
_ROUNDING = 1e-12  # [-]
_FIRST, _MOST, _MORE = 16, 72, 6  # points chosen to begin with, at most, and in one go


def _flattened(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Turn loads to their principal directions.

    Returns
    -------
    (m, d) array, (d, 6) array
        Coordinates, widest direction first, and the loads of a unit of each: points = mean + coordinates @ loads.
    """
    centred = points - points.mean(axis=0)
    force = np.linalg.norm(centred[:, :3], axis=1).max()
    couple = np.linalg.norm(centred[:, 3:], axis=1).max()
    unit = max(force * _LEVER, couple) or 1.0
    scale = np.repeat([unit / _LEVER, unit], 3)
    _, _, directions = np.linalg.svd(centred / scale, full_matrices=False)
    flat = (centred / scale) @ directions.T
    width = np.abs(flat).max(axis=0)
    order = np.argsort(-width)
    order = order[width[order] > _SAME]
    return np.asarray(flat[:, order]), np.asarray(directions[order] * scale)


def _spread_out(flat: FloatArray, *, count: int) -> list[int]:
    """Choose points one after the other, each farthest from those chosen."""
    chosen = [int(np.argmax((flat**2).sum(axis=1)))]
    far = ((flat - flat[chosen[0]]) ** 2).sum(axis=1)
    while len(chosen) < count and far.max() > 0.0:
        chosen.append(int(np.argmax(far)))
        far = np.minimum(far, ((flat - flat[chosen[-1]]) ** 2).sum(axis=1))
    return chosen


def _facets(arms: FloatArray) -> tuple[IntArray, FloatArray]:
    """Facets of the hull of points about the origin: corners' indices (f, d), normals over distance (f, d)."""
    if arms.shape[1] == 1:
        ends = np.array([[np.argmin(arms)], [np.argmax(arms)]])
        return ends, 1.0 / arms[ends[:, 0]]
    hull = ConvexHull(arms)
    return hull.simplices.astype(np.intp), -hull.equations[:, :-1] / hull.equations[:, -1:]


def _mixes(flat: FloatArray, arms: FloatArray) -> FloatArray:
    """Points as mixes of the corners of the facet behind which they lie, (m, n); the parts sum to the reach. [-]"""
    facets, normals = _facets(arms)
    inverse = np.linalg.pinv(arms[facets])
    behind = (flat @ normals.T).argmax(axis=1)
    parts = np.einsum("md,mdc->mc", flat, inverse[behind])
    beside = parts.min(axis=1) < -_ROUNDING  # a flat facet in several pieces: look through them all
    if np.any(beside):
        every = np.einsum("md,fdc->mfc", flat[beside], inverse)
        behind[beside] = every.min(axis=2).argmax(axis=1)
        parts[beside] = every[np.arange(len(every)), behind[beside]]
    mixes = np.zeros((len(flat), len(arms)))
    np.put_along_axis(mixes, facets[behind], np.maximum(parts, 0.0), axis=1)
    return mixes


def _reaches(flat: FloatArray, chosen: FloatArray, *, main: int, pads: FloatArray) -> FloatArray:
    """How much the chosen points and the pads must grow about the chosen points' mean to hold each point. [-]

    In the main directions a point is a mix of a facet's corners; what that mix misses in the narrow ones comes from
    the pads, each at its own price. The sum of all parts bounds the growth.
    """
    centre = chosen.mean(axis=0)
    arms, rest = chosen - centre, flat - centre
    mixes = _mixes(rest[:, :main], arms[:, :main])
    missed = np.abs(rest - mixes @ arms)[:, main:]
    return np.asarray(mixes.sum(axis=1) + (missed / pads).sum(axis=1))


def _body(flat: FloatArray, *, main: int, pad: float) -> tuple[float, FloatArray]:
    """Choose points, pad the directions beyond the main ones: the growth needed [-], and the body grown by it."""
    pads = pad * np.abs(flat[:, main:]).max(axis=0)
    chosen = _spread_out(flat[:, :main], count=min(_FIRST, len(flat)))
    while True:
        reach = _reaches(flat, flat[chosen], main=main, pads=pads)
        worst = [int(i) for i in np.argsort(-reach, kind="stable")[:_MORE] if reach[i] > 1.0 + _GROWTH]
        new = [i for i in worst if i not in chosen]
        if not new or len(chosen) >= _MOST:
            break
        chosen += new
    growth, centre = max(1.0, float(reach.max())), flat[chosen].mean(axis=0)
    arms = np.eye(flat.shape[1])[main:] * pads[:, None]
    return growth, centre + growth * np.vstack((flat[chosen] - centre, arms, -arms))


def enclosing(points: FloatArray) -> FloatArray:
    """Few loads whose convex hull holds all the given ones and little more.

    Parameters
    ----------
    points : (m, 6) array
        Forces and moments. [N, N m]

    Returns
    -------
    (n, 6) array
        Between one and four dozen loads. Their hull holds every given load (to 1e-9 of its size) and reaches a few per
        cent beyond them. [N, N m]

    Notes
    -----
    Own derivation. The load factor is a convex function of the load, so the corners of any body that holds all loads
    bound it. A moment is no function of the force, so the body must hold them in all six dimensions; but beside a force
    on a lever the size of the stock, the loads of one cut differ much in two or three directions only. There some
    loads are chosen that lie far apart, and their hull is built. In each other, narrow direction two pads are added:
    the mean load plus or minus a few times what the loads differ in it, which is still little. Each load is then
    written as a mix, with no negative part, of a facet's corners and pads; the greatest sum of parts is the growth
    about the mean that makes the body hold all. Loads that take the most are chosen too until it is small; where it
    does not become so, one direction more is taken among the main ones, and then wider pads.
    """
    rows = np.unique(points, axis=0)
    flat, directions = _flattened(rows)
    if flat.shape[1] == 0:
        return rows[:1]
    width = np.abs(flat).max(axis=0)
    fewest = int(np.count_nonzero(width[:_MAIN] > _NARROW * width[0]))
    more = min(fewest + 1, flat.shape[1])
    growth, body = np.inf, flat
    for main, pad in ((fewest, _PADS[0]), *((more, pad) for pad in _PADS)):
        growth, body = min((growth, body), _body(flat, main=main, pad=pad), key=lambda tried: tried[0])
        if growth <= 1.0 + _GROWTH:
            break
    return np.asarray(rows.mean(axis=0) + body @ directions)


def load_vertices(curves: Sequence[ForceCurve]) -> FloatArray:
    """Return loads whose convex hull holds every force and moment of all the curves.

    Parameters
    ----------
    curves : sequence of ForceCurve
        Say those of all corners of the band of coefficients, in one feed frame.

    Returns
    -------
    (n, 6) array
        Force and moment about the tool tip, in the feed frame: `enclosing` of each curve by itself, for loads of
        several curves differ widely in all six directions, and a common body would reach far beyond them. [N, N m]
    """
    return np.unique(np.vstack([enclosing(curve.wrenches) for curve in curves]), axis=0)
