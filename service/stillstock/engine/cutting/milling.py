r"""Forces of the side of a milling cutter on the workpiece: the linear-edge mechanistic model.

Each element of edge of length db pushes with

.. math:: dF_t = (K_{tc} h + K_{te}) db, \quad dF_r = (K_{rc} h + K_{re}) db, \quad dF_a = (K_{ac} h + K_{ae}) db

while it is in the work, h being the chip across the edge (Altintas, "Manufacturing Automation", 2nd ed., Cambridge
University Press, 2012, ch. 2, from memory; Budak, Altintas & Armarego 1996, J. Manuf. Sci. Eng. 118:216). For wood and
panels the same line was found in orthogonal cutting of MDF (Forest Products Journal 2000) and of solid wood (Hlaskova
et al. 2018, BioResources 13(3):6171).
"""

from collections.abc import Sequence

import numpy as np

from stillstock.engine.cutting.coefficients import Coefficients
from stillstock.engine.cutting.cutting_edge import EdgePiece, edge_pieces
from stillstock.engine.cutting.engagement import Arc, Engagement
from stillstock.engine.cutting.force_curve import ForceCurve
from stillstock.engine.set_up import FloatArray, Tool
from stillstock.tables.scatter import Triple

__all__ = ["ENTRY", "chip_loads", "milling_curve", "milling_curves"]

# [-] how much harder a tooth hits while the cutter enters the work. Common practice, no source.
ENTRY = Triple(low=1.2, typical=1.3, high=1.5, what="knock of a cutter entering the work", source="common_practice")

_STEPS = 180  # angles in a revolution: a peak between two of them is missed by less than 0.3 % of its height
_BESIDE = 1e-7  # [rad] either side of where a straight edge meets or leaves the work, for the force jumps there
_ROUNDING = 1e-9  # [-] a smaller part of the feed is none
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)  # exact to 1e-9 for an edge that spans half a turn

_TURN = 2 * np.pi


def chip_loads(feed: float, *, flutes: int, run_out: float) -> FloatArray:
    r"""Feed that each tooth takes in one revolution.

    Parameters
    ----------
    feed : float
        Of the tool, per revolution. [m]
    flutes : int
        Number of teeth N.
    run_out : float
        Total indicated run-out. [m]

    Returns
    -------
    (N,) array
        First tooth min(fz + run-out, N fz); the others share evenly what it leaves. [m]

    Notes
    -----
    Own derivation: a tooth that stands out by e takes e more than its share, yet never more than the whole feed of a
    revolution; all teeth together take N fz. Two flutes at fz = 0.05 mm and run-out 0.05 mm: one does all the work.
    """
    share = feed / flutes
    if flutes == 1:
        return np.array([share])
    most = min(share + run_out, feed)
    loads = np.full(flutes, (feed - most) / (flutes - 1))
    loads[0] = most
    return loads


def _edges_of_arc(arc: Arc, piece: EdgePiece) -> list[float]:
    """Spindle angles at which an end of the engaged edge meets or leaves the arc. [rad]"""
    low, high = max(arc.low, piece.low), min(arc.high, piece.high)
    beside = (-_BESIDE, _BESIDE) if piece.lean == 0.0 else (0.0,)
    return [
        angle + piece.lag + piece.lean * (height - piece.low) + off
        for angle in (arc.entry, arc.leave)
        for height in (low, high)
        for off in beside
    ]


def _angles(engaged: Sequence[tuple[Arc, EdgePiece]], *, flutes: int, period: float) -> FloatArray:
    """Spindle angles over one period: evenly spaced, and each at which the curve has a kink or jump. [rad]"""
    steps = max(36, round(_STEPS * period / _TURN))
    kinks = np.array([angle for arc, piece in engaged for angle in _edges_of_arc(arc, piece)])
    teeth = np.arange(flutes) * _TURN / flutes
    kinks = np.mod(kinks[:, None] - teeth, period).ravel()
    return np.unique(np.concatenate((np.arange(steps) * period / steps, kinks)).round(10))


def _shares(angle: FloatArray, *, period: float) -> FloatArray:
    """Trapezoid weights of angles on a closed curve, sum 1. [-]"""
    gap = np.diff(angle, append=angle[0] + period)
    return np.asarray((gap + np.roll(gap, 1)) / (2 * period))


def _in_arc(tooth: FloatArray, arc: Arc, piece: EdgePiece) -> tuple[FloatArray, FloatArray]:
    """Heights between which an edge, its tip at angle `tooth`, lies in an arc; equal where it does not. [m]"""
    low, high = max(arc.low, piece.low), min(arc.high, piece.high)
    trailing = tooth - piece.lag
    if piece.lean == 0.0:
        inside = (trailing >= arc.entry) & (trailing < arc.leave)
        return np.full(tooth.shape, low), np.where(inside, high, low)
    one = piece.low + (trailing - arc.entry) / piece.lean
    other = piece.low + (trailing - arc.leave) / piece.lean
    return np.clip(np.minimum(one, other), low, high), np.clip(np.maximum(one, other), low, high)


def _turns(angle: FloatArray, arc: Arc, piece: EdgePiece) -> FloatArray:
    """Whole turns that bring some part of an edge into the arc. [rad]"""
    low, high = max(arc.low, piece.low), min(arc.high, piece.high)
    lags = [piece.lag + piece.lean * (height - piece.low) for height in (low, high)]
    first = np.ceil((angle.min() - max(lags) - arc.leave) / _TURN - _BESIDE)
    last = np.floor((angle.max() - min(lags) - arc.entry) / _TURN + _BESIDE)
    return np.arange(first, last + 1) * _TURN


def _edge_forces(tooth: FloatArray, feed: FloatArray, *, arc: Arc, piece: EdgePiece, sink: float) -> FloatArray:
    """Force and moment about the tip of all edges, one arc, one piece, for a unit of each cutting coefficient.

    Parameters
    ----------
    tooth : (k, n) array
        Angle of each edge's tip, for every edge and turn. [rad]
    feed : (n,) array
        Horizontal feed that each takes. [m]
    arc, piece : Arc, EdgePiece
    sink : float
        Downward feed that each takes. [m]

    Returns
    -------
    (k, 6, 6) array
        On the workpiece, in the feed frame, one column for each of ktc, krc, kac, kte, kre, kae. [m2 or m, m3 or m2]
    """
    ends = _in_arc(tooth, arc, piece)
    row, edge = np.nonzero(ends[1] > ends[0])
    low, high = (piece.parameter(height[row, edge]) for height in ends)
    half = (high - low)[:, None] / 2
    at = piece.section(low[:, None] + half * (1.0 + _NODES))
    angle = tooth[row, edge, None] - piece.lag - piece.lean * (at.height - piece.low)
    sine, cosine = np.sin(angle), np.cos(angle)
    chip = np.maximum(feed[edge, None] * sine * at.out + sink * at.down, 0.0)
    length = np.where(chip > 0.0, half * _WEIGHTS * piece.stretch, 0.0)
    x, y = at.radius * sine, at.radius * cosine
    total = np.zeros((len(tooth), 6, 6))
    # Tangential, normal and along the edge: a unit of each along x, y and up.
    units = (
        (cosine, -sine, 0.0),
        (at.out * sine, at.out * cosine, -at.down),
        (piece.sense * at.down * sine, piece.sense * at.down * cosine, piece.sense * at.out),
    )
    for column, (fx, fy, up) in enumerate(units):
        about = -at.radius * np.ones_like(sine) if column == 0 else np.zeros_like(sine)
        parts = np.array(np.broadcast_arrays(fx, fy, up, y * up - at.height * fy, at.height * fx - x * up, about))
        np.add.at(total[:, :, column], row, (parts * (chip * length)).sum(axis=2).T)
        np.add.at(total[:, :, 3 + column], row, (parts * length).sum(axis=2).T)
    return total


def _parts(feed: float, *, slope: float) -> tuple[float, float]:
    """Level and downward part of a feed; no edge rubs the wall of a plunge for the rounding of its cosine. [m]"""
    level = feed * float(np.cos(slope))
    return (level if level > _ROUNDING * feed else 0.0), max(feed * float(np.sin(slope)), 0.0)


def milling_curve(tool: Tool, coefficients: Coefficients, engagement: Engagement, *, feed: float) -> ForceCurve:
    """Return the curve of one set of coefficients, as `milling_curves` does of several. [N, N m]"""
    return milling_curves(tool, (coefficients,), engagement, feed=feed)[0]


def milling_curves(
    tool: Tool, sets: Sequence[Coefficients], engagement: Engagement, *, feed: float
) -> tuple[ForceCurve, ...]:
    r"""Force and moment on the workpiece over one period of a milling cutter turning clockwise.

    Parameters
    ----------
    tool : Tool
    sets : sequence of Coefficients
        The load is linear in them, so the geometry is gone through once for all.
    engagement : Engagement
        With at least one arc.
    feed : float
        Along the path, per revolution. [m]

    Returns
    -------
    tuple of ForceCurve
        One a set, of the sides of the cutter; what its end does in a ramp or plunge is `drilling`'s.

    Notes
    -----
    A tooth at angle phi (clockwise from the left of the feed) moves along (cos phi, -sin phi) and looks outward along
    (sin phi, cos phi), so on the work

    .. math:: F_x = F_t \cos\varphi + F_o \sin\varphi, \quad F_y = -F_t \sin\varphi + F_o \cos\varphi

    Its edge's normal points outward by sin(kappa) and down by cos(kappa): the chip is
    :math:`h = f_z \sin\varphi \sin\kappa + f_p \cos\kappa` with the downward feed f_p, and the normal force splits the
    same way; the axial force runs along the edge (Altintas 2012; ball nose after Lee & Altintas 1996, both from
    memory). Each edge's height in the arc is found in closed form, for it leans evenly, and integrated there by
    eight-point Gauss-Legendre, so peaks and kinks are not blurred by slices.
    """
    engaged = [
        (arc, piece)
        for arc in engagement.arcs
        for piece in edge_pieces(tool)
        if min(arc.high, piece.high) > max(arc.low, piece.low)
    ]
    level, sink = _parts(feed, slope=engagement.slope)
    loads = chip_loads(level, flutes=tool.flutes, run_out=tool.run_out)
    period = _TURN / tool.flutes if np.ptp(loads) == 0.0 else _TURN
    angle = _angles(engaged, flutes=tool.flutes, period=period)
    teeth = np.arange(tool.flutes) * _TURN / tool.flutes
    units = np.zeros((len(angle), 6, 6))
    for arc, piece in engaged:
        turns = _turns(angle[:, None] + teeth, arc, piece)
        tooth = (angle[:, None, None] + teeth[:, None] - turns).reshape(len(angle), -1)
        per_edge = np.repeat(loads, len(turns))
        units += _edge_forces(tooth, per_edge, arc=arc, piece=piece, sink=sink / tool.flutes)
    weight = _shares(angle, period=period)
    every = [units @ np.array([c.ktc, c.krc, c.kac, c.kte, c.kre, c.kae]) for c in sets]
    return tuple(ForceCurve(angle=angle, force=load[:, :3], moment=load[:, 3:], weight=weight) for load in every)
