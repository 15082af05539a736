"""How closely a located part comes back: from what each locator may be off to where its corners lie."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from stillstock.engine.set_up import FloatArray

__all__ = ["Locator", "Stack", "Term", "displacements", "locator_terms", "shift_term", "stacked"]

#: Determinant of the locators' matrix, in spans of the locators, below which a part is not located. [-]
_SINGULAR = 1e-6


@dataclass(frozen=True, kw_only=True)
class Locator:
    """A point of contact that fixes the part along its normal. [m, -]"""

    at: tuple[float, float]
    normal: tuple[float, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class Term:
    """One cause of error, with what it does to each point looked at.

    Attributes
    ----------
    what : str
    amount : float
        How far it may be off, either way. [m]
    moves : (k, 2) array
        Displacement of each point when it is off by `amount`. [m]
    """

    what: str
    amount: float
    moves: FloatArray


@dataclass(frozen=True, kw_only=True)
class Stack:
    """Errors put together at the point where they do most.

    Attributes
    ----------
    rss, worst : float
        Root of the sum of squares, and all at once in the worst sense. [m]
    at : int
        Index of the point. [-]
    """

    rss: float
    worst: float
    at: int


def displacements(locators: Sequence[Locator], points: FloatArray) -> FloatArray:
    r"""Return how the points move for a unit of error of each locator.

    Parameters
    ----------
    locators : sequence of 3 Locator
    points : (k, 2) array
        [m]

    Returns
    -------
    (3, k, 2) array
        [-]

    Raises
    ------
    ValueError
        If the three do not locate a part in the plane: all normals parallel, or all meeting in one point.

    Notes
    -----
    A small motion :math:`(t, \theta)` moves contact :math:`p_i` along its normal by
    :math:`n_i \cdot (t + \theta \, k \times p_i) = \delta_i`. Three such rows are the locators' matrix; its inverse
    turns the errors :math:`\delta` into the motion [1]_.

    References
    ----------
    .. [1] H. Asada, A. B. By, "Kinematic Analysis of Workpart Fixturing for Flexible Assembly with Automatically
       Reconfigurable Fixtures", IEEE J. of Robotics and Automation, RA-1(2), 1985 (from memory).
    """
    at, normal = (np.array([getattr(one, name) for one in locators]) for name in ("at", "normal"))
    middle = at.mean(axis=0)
    span = max(float(np.ptp(at, axis=0).max()), 1e-9)
    arm = (at - middle) / span
    matrix = np.column_stack([normal, arm[:, 0] * normal[:, 1] - arm[:, 1] * normal[:, 0]])
    if abs(float(np.linalg.det(matrix))) < _SINGULAR:
        raise ValueError("these three do not locate a part: it may still turn or slide")
    motion = np.linalg.inv(matrix).T  # one row a locator: t, and theta times the span
    reach = (points - middle) / span
    turned = np.stack([-reach[:, 1], reach[:, 0]], axis=-1)
    return np.asarray(motion[:, None, :2] + motion[:, None, 2:] * turned[None])


def locator_terms(
    locators: Sequence[Locator], points: FloatArray, *, names: Sequence[str], amounts: Sequence[float]
) -> tuple[Term, ...]:
    """Return the terms of three locators that may be off along their normals, `amounts` [m] either way."""
    moves = displacements(locators, points)
    return tuple(
        Term(what=name, amount=amount, moves=amount * row)
        for name, amount, row in zip(names, amounts, moves, strict=True)
    )


def shift_term(what: str, shift: tuple[float, float], points: FloatArray) -> Term:
    """Return the term of what shifts the whole part. [m]"""
    amount = float(np.hypot(*shift))
    return Term(what=what, amount=amount, moves=np.tile(np.array(shift), (len(points), 1)))


def stacked(terms: Sequence[Term]) -> Stack:
    r"""Return the errors put together, at the point where the worst case is greatest.

    Notes
    -----
    Root of the sum of squares :math:`\sqrt{\sum |u_i|^2}` for independent causes, and the worst case
    :math:`\max_{s_i = \pm 1} |\sum s_i u_i|`, as for a chain of tolerances [1]_; in one direction they are
    :math:`\sqrt{\sum t_i^2}` and :math:`\sum t_i`.

    References
    ----------
    .. [1] R. G. Budynas, J. K. Nisbett, "Shigley's Mechanical Engineering Design", 10th ed., section 1-14 (from
       memory).
    """
    moves = np.array([term.moves for term in terms if term.amount > 0.0])
    if not len(moves):
        return Stack(rss=0.0, worst=0.0, at=0)
    squares = np.sqrt((moves**2).sum(axis=(0, 2)))
    signs = np.array([(1.0, *rest) for rest in product((1.0, -1.0), repeat=len(moves) - 1)])
    worst = np.linalg.norm(np.einsum("si,ikd->skd", signs, moves), axis=-1).max(axis=0)
    point = int(np.argmax(worst))
    return Stack(rss=float(squares[point]), worst=float(worst[point]), at=point)
