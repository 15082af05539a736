"""Thin plates: sag of a rectangle held at its edges, and a whole sheet on whatever holds it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline

from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray

__all__ = ["Sheet", "bending_stiffness", "clamped_sag", "settled", "sheet", "supported_sag"]

#: Short on long side, and coefficients of sag and of stress for a rectangle under even pressure, Poisson's ratio 0.3.
#: W. C. Young and R. G. Budynas, "Roark's Formulas for Stress and Strain", 7th ed., McGraw-Hill, 2002, table 11.4,
#: cases 1a (edges supported; sides of 1 to 2 read on a page that quotes it, longer ones from memory) and 8a (edges
#: clamped, from memory). [-]
SUPPORTED = (
    (0.0, 1 / 5.0, 1 / 4.0, 1 / 3.0, 1 / 2.0, 1 / 1.8, 1 / 1.6, 1 / 1.4, 1 / 1.2, 1.0),
    (0.1421, 0.1417, 0.1400, 0.1335, 0.1110, 0.1017, 0.0906, 0.0770, 0.0616, 0.0444),
)
CLAMPED = (
    (0.0, 1 / 2.0, 1 / 1.8, 1 / 1.6, 1 / 1.4, 1 / 1.2, 1.0),
    (0.0284, 0.0277, 0.0267, 0.0251, 0.0226, 0.0188, 0.0138),
)

#: Share of a bed's stiffness that is left where the sheet has come off it, so that a sheet that nothing holds keeps a
#: finite answer; far below anything that holds. [-]
LOOSE = 1e-7


def bending_stiffness(modulus: float, *, thickness: float, poisson: float) -> float:
    """Return the bending stiffness of a plate per width, E t^3 / 12 (1 - nu^2). [N m]

    `modulus` in Pa, `thickness` in m, `poisson` without unit.
    """
    return modulus * thickness**3 / (12.0 * (1.0 - poisson**2))


def supported_sag(pressure: float, *, sides: tuple[float, float], modulus: float, thickness: float) -> float:
    r"""Return the sag in the middle of a rectangular plate on supported edges.

    Parameters
    ----------
    pressure : float
        Even, q. [Pa]
    sides : (2,) tuple
        Of the rectangle, in either order. [m]
    modulus, thickness : float
        E and t. [Pa], [m]

    Returns
    -------
    float
        [m]

    Notes
    -----
    .. math:: w = \alpha q b^4 / (E t^3)

    with b the short side and alpha after Roark, table 11.4, case 1a, for a Poisson's ratio of 0.3; between the printed
    shapes it is taken linear in the ratio of the sides, at most 1 % off.
    """
    return _sag(pressure, sides, modulus, thickness, SUPPORTED)


def clamped_sag(pressure: float, *, sides: tuple[float, float], modulus: float, thickness: float) -> float:
    """Return the sag in the middle of a rectangular plate on clamped edges, after Roark, table 11.4, case 8a. [m]

    Parameters as in `supported_sag`: [Pa], [m], [Pa], [m].
    """
    return _sag(pressure, sides, modulus, thickness, CLAMPED)


def _sag(
    pressure: float,
    sides: tuple[float, float],
    modulus: float,
    thickness: float,
    table: tuple[tuple[float, ...], tuple[float, ...]],
) -> float:
    short, long = min(sides), max(sides)
    return float(np.interp(short / long, *table)) * pressure * short**4 / (modulus * thickness**3)


#: Solutions after which a settling sheet is taken as it is; a dozen are usual. [-]
MOST_STEPS = 60

#: What it costs to sum up one coefficient of the stiffness over one place of the bed, by measurement. [units]
A_PRODUCT = 4e-7

#: Places where a sheet is held: rows, stiffness, gap.
Held = tuple[FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True, kw_only=True, eq=False)
class Sheet:
    """A rectangular thin plate with free edges, in cubic splines along both sides.

    Attributes
    ----------
    corner, size : (2,) tuples
        Least corner, and extent along x and y. [m]
    stiffness : (n, n) array
        Energy of bending is half of c.K c for spline coefficients c. [N/m]
    knots : (2,) tuple of arrays
        Along x and y. [m]
    points : (g, 2) array
        Gauss points over the whole sheet. [m]
    weights : (g,) array
        Their shares of its area. [m2]
    """

    corner: tuple[float, float]
    size: tuple[float, float]
    stiffness: FloatArray
    knots: tuple[FloatArray, FloatArray]
    points: FloatArray
    weights: FloatArray

    def rows(self, at: FloatArray) -> FloatArray:
        """Return the rows that turn coefficients into heights at places, (m, 2) [m] to (m, n). [-]"""
        local = np.clip(np.asarray(at, dtype=float) - self.corner, 0.0, self.size)
        along, across = (_values(knots, local[:, i], 0) for i, knots in enumerate(self.knots))
        product: FloatArray = np.einsum("mi,mj->mij", along, across).reshape(len(local), -1)
        return product


def _values(knots: FloatArray, at: FloatArray, derivative: int) -> FloatArray:
    count = len(knots) - 4
    return np.asarray(BSpline(knots, np.eye(count), 3)(at, nu=derivative))


def _grams(
    length: float, elements: int
) -> tuple[FloatArray, dict[tuple[int, int], FloatArray], FloatArray, FloatArray]:
    """Return knots, integrals of products of derivatives, and two Gauss points a piece with their weights."""
    breaks = np.linspace(0.0, length, elements + 1)
    knots = np.concatenate([np.zeros(3), breaks, np.full(3, length)])
    half = length / elements / 2.0
    at, weight = np.polynomial.legendre.leggauss(4)
    points = (breaks[:-1, None] + half * (1.0 + at)).ravel()
    weights = np.tile(half * weight, elements)
    values = [_values(knots, points, order) for order in range(3)]
    grams = {(i, j): values[i].T @ (weights[:, None] * values[j]) for i in range(3) for j in range(3)}
    at, weight = np.polynomial.legendre.leggauss(2)
    return knots, grams, (breaks[:-1, None] + half * (1.0 + at)).ravel(), np.tile(half * weight, elements)


def sheet(
    corner: tuple[float, float],
    *,
    size: tuple[float, float],
    stiffnesses: tuple[float, float],
    poisson: float,
    elements: int = 10,
) -> Sheet:
    r"""Return the model of a thin rectangular plate whose stiff directions lie along its sides.

    Parameters
    ----------
    corner, size : (2,) tuples
        Least corner, and extent along x and y. [m]
    stiffnesses : (2,) tuple
        Bending stiffness along x and along y, per width. [N m]
    poisson : float
        [-]
    elements : int
        Pieces along each side. [-]

    Notes
    -----
    Energy :math:`\tfrac12 \int D_x w_{xx}^2 + 2 D_1 w_{xx} w_{yy} + D_y w_{yy}^2 + 4 D_k w_{xy}^2` with
    :math:`D_1 = \nu \sqrt{D_x D_y}` and :math:`D_k = \tfrac{1 - \nu}{2} \sqrt{D_x D_y}`, which is exact for equal
    stiffnesses and Huber's estimate for unequal ones (S. P. Timoshenko and S. Woinowsky-Krieger, "Theory of Plates and
    Shells", 2nd ed., McGraw-Hill, 1959, ch. 11, from memory).
    """
    (knots_x, x, at_x, weight_x), (knots_y, y, at_y, weight_y) = (_grams(side, elements) for side in size)
    mixed = float(np.sqrt(stiffnesses[0] * stiffnesses[1]))
    stiffness = (
        stiffnesses[0] * np.kron(x[2, 2], y[0, 0])
        + stiffnesses[1] * np.kron(x[0, 0], y[2, 2])
        + poisson * mixed * (np.kron(x[2, 0], y[0, 2]) + np.kron(x[0, 2], y[2, 0]))
        + 2.0 * (1.0 - poisson) * mixed * np.kron(x[1, 1], y[1, 1])
    )
    grid = np.stack(np.meshgrid(at_x, at_y, indexing="ij"), axis=-1).reshape(-1, 2)
    return Sheet(
        corner=corner,
        size=size,
        stiffness=stiffness,
        knots=(knots_x, knots_y),
        points=grid + np.asarray(corner),
        weights=np.outer(weight_x, weight_y).ravel(),
    )


def settled(
    model: Sheet,
    *,
    load: FloatArray,
    bed: Held,
    springs: Sequence[Held] = (),
    start: FloatArray | None = None,
) -> FloatArray:
    """Return how a sheet settles under a load, on a bed that only pushes and on springs that also pull.

    Parameters
    ----------
    model : Sheet
    load : (n,) array
        Work of the forces on each coefficient: force times the row of its place, added up. [N]
    bed : (rows, stiffness, gap)
        Of k places: rows (k, n), stiffness (k,) [N/m], height of the unloaded sheet over the bed (k,) [m].
    springs : sequence of (rows, stiffness, gap)
        The same for places that are held both ways, pulled towards the bed.
    start : (n,) array or None
        A movement near the one sought, which saves steps. [m]

    Returns
    -------
    (n,) array
        Coefficients of the movement from the unloaded shape, up positive. [m]

    Notes
    -----
    The least of a convex energy that is quadratic piece by piece: solved for the places that touch now, with steps
    halved until the energy falls, so that it neither cycles nor depends on the start.
    """
    stiffness, right = model.stiffness.copy(), load.copy()
    for rows, stiff, gap in springs:
        stiffness += rows.T @ (stiff[:, None] * rows)
        right -= rows.T @ (stiff * gap)
    rows, stiff, gap = bed
    if len(rows):
        stiffness += LOOSE * (rows.T @ (stiff[:, None] * rows))
    moved = np.zeros(len(load)) if start is None else start
    for _ in range(MOST_STEPS):
        spend(A_PRODUCT * len(rows) * len(load) ** 2)
        touching = gap + rows @ moved < 0.0
        pressed = rows[touching]
        tangent = stiffness + pressed.T @ (stiff[touching][:, None] * pressed)
        target = np.asarray(
            np.linalg.solve(tangent, right - pressed.T @ (stiff[touching] * gap[touching])), dtype=float
        )
        if np.array_equal(gap + rows @ target < 0.0, touching):
            return target
        moved = _lower(moved, target, stiffness=stiffness, right=right, bed=bed)
    return moved


def _lower(start: FloatArray, target: FloatArray, *, stiffness: FloatArray, right: FloatArray, bed: Held) -> FloatArray:
    """Return the first of the points start + (target - start) / 2^k whose energy is below that of the start."""
    rows, stiff, gap = bed

    def energy(moved: FloatArray) -> float:
        sunk = np.minimum(gap + rows @ moved, 0.0)
        return float(0.5 * moved @ stiffness @ moved - right @ moved + 0.5 * stiff @ sunk**2)

    before, step = energy(start), 1.0
    while step > 1e-6:
        tried = start + step * (target - start)
        if energy(tried) < before:
            return tried
        step /= 2.0
    return target
