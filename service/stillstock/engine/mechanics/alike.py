"""Linear programmes of one make, solved many at a time: what settles one of them is read at all the others.

The programmes have the same rows, columns and costs; some coefficients and right-hand sides differ. A basis that is
optimal for one is a basis of every other too. There it gives a cost and a set of prices, and

* where the prices suit every column, the cost is a lower bound (weak duality: here the motion of a gauge's dual);
* where its columns stay within their bounds, the cost is an upper bound (these contact forces do balance the load);
* where both hold, it is the optimum.

So few programmes have to be solved outright, and for the others one small inverse of the basis serves.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse
from numpy.typing import NDArray

from stillstock.engine.mechanics.equilibrium import Family
from stillstock.engine.mechanics.linear_program import GIVES_WAY, IntArray, best_basis, stacked
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray

__all__ = ["Answers", "Make", "agree", "gauge_make", "standing"]

BoolArray = NDArray[np.bool_]

#: By how much a column may pass its bound, or a price its cost, through rounding. [-]
ROUNDING = 1e-11

#: Members at which a basis is read in one go, and numbers that their inverses may have together: more takes memory and
#: no less time. [-]
AT_ONCE, NUMBERS = 256, 2_000_000

#: What it costs to read a basis at a member: for each coefficient that is the same in all, for each that differs, and
#: for each cube of what is inverted; by measurement. [units]
A_STEADY, A_VALUE, A_CUBE = 5e-5, 4e-5, 6e-7

#: Relative distance at which two bounds are one. [-]
SAME = 1e-10


def agree(lower: FloatArray, upper: FloatArray) -> BoolArray:
    """Return whether two bounds are one."""
    return np.isfinite(upper) & (upper - np.where(np.isfinite(upper), lower, 0.0) <= SAME * np.abs(upper))


@dataclass(frozen=True, kw_only=True)
class Make:
    """What programmes of one make have in common, and the numbers in which they differ.

    Attributes
    ----------
    steady : (m, n) sparse array
        Coefficients that are the same in all. [-]
    places : tuple of (v,) int array, (v,) int array
        Rows and columns of the others, each once.
    values : (k, v) array
        What stands there in each of the k members. [-]
    cost : (n,) array
        [-]
    free : (n,) bool array
        Columns that may be negative.
    equal : int
        So many rows, the first, equal their right-hand side; the others do not pass it. [-]
    """

    steady: scipy.sparse.csc_array
    places: tuple[IntArray, IntArray]
    values: FloatArray
    cost: FloatArray
    free: BoolArray
    equal: int

    @cached_property
    def transposed(self) -> scipy.sparse.csr_array:
        """What is the same in all, columns down and rows across. (n, m) [-]"""
        return scipy.sparse.csr_array(self.steady.T)

    @cached_property
    def by_column(self) -> scipy.sparse.csr_array:
        """Adds up what differs by its columns. (n, v) [-]"""
        return _sums(self.places[1], self.steady.shape[1])

    def worth(self, prices: FloatArray, values: FloatArray) -> FloatArray:
        """Return what each column of some members is worth at prices (c, m) of the rows. (c, n) [-]"""
        own = self.by_column @ (prices[:, self.places[0]] * values).T
        return np.asarray((self.transposed @ prices.T + own).T)

    def rows(self, member: int) -> scipy.sparse.csc_array:
        """Return all coefficients of one member, (m, n). [-]"""
        own = scipy.sparse.csc_array((self.values[member], self.places), shape=self.steady.shape)
        return scipy.sparse.csc_array(self.steady + own)


def _sums(groups: IntArray, size: int) -> scipy.sparse.csr_array:
    """Return the matrix that adds up the entries (v,) of each group, (size, v)."""
    return scipy.sparse.csr_array((np.ones(len(groups)), (groups, np.arange(len(groups)))), shape=(size, len(groups)))


class _Basis:
    """One basis, made ready to be read at any member."""

    def __init__(self, make: Make, basic: IntArray) -> None:
        self._make, self.basic, self.served = make, basic, 0
        height, width = make.steady.shape
        self._columns, self._loose = basic[basic >= 0], -basic[basic < 0] - 1
        tight = np.ones(height, dtype=bool)
        tight[self._loose] = False
        self._tight = np.nonzero(tight)[0]
        self._steady = make.steady[:, self._columns].toarray()
        row, column = make.places
        place = np.full(width, -1)
        place[self._columns] = np.arange(len(self._columns))
        self._own = np.nonzero(place[column] >= 0)[0]
        self._own_row, self._own_place = row[self._own], place[column[self._own]]
        inside = np.full(height, -1)
        inside[self._tight] = np.arange(len(self._tight))
        self._within = inside[self._own_row] >= 0
        self._at = inside[self._own_row[self._within]], self._own_place[self._within]
        self._by_row = _sums(self._own_row, height)

    def _inverse(self, values: FloatArray) -> FloatArray:
        size = len(self._tight)
        block = np.broadcast_to(self._steady[self._tight], (len(values), size, size)).copy()
        block[:, self._at[0], self._at[1]] = values[:, self._own[self._within]]
        return np.linalg.inv(block)

    @property
    def cost(self) -> float:
        """What it costs to read it at one member. [units]"""
        make, cubes = self._make, len(self._tight) ** 3
        return float(A_STEADY * make.steady.nnz + A_VALUE * make.values.shape[1] + A_CUBE * cubes)

    @property
    def at_once(self) -> int:
        """Members at which it is read in one go. [-]"""
        return max(1, min(AT_ONCE, NUMBERS // max(1, len(self._tight) ** 2)))

    def read(self, values: FloatArray, right: FloatArray) -> tuple[FloatArray, BoolArray, BoolArray]:
        """Return the cost of the basis for some members, and whether it is a lower and an upper bound. (c,) each

        Raises
        ------
        LinAlgError
            If it is no basis of one of them.
        """
        make, inverse = self._make, self._inverse(values)
        forces = np.einsum("cij,cj->ci", inverse, right[:, self._tight])
        prices = np.einsum("i,cij->cj", make.cost[self._columns], inverse)
        cost: FloatArray = np.einsum("cj,cj->c", prices, right[:, self._tight])
        return cost, self._suits(values, prices), self._stays(values, forces, right)

    def _suits(self, values: FloatArray, prices: FloatArray) -> BoolArray:
        """Return whether prices of the tight rows make no column worth more than it costs."""
        make = self._make
        every = np.zeros((len(values), make.steady.shape[0]))
        every[:, self._tight] = prices
        left = make.cost - make.worth(every, values)
        columns = np.where(make.free, -np.abs(left), left).min(axis=1, initial=0.0)
        rows = -every[:, make.equal :].max(axis=1, initial=0.0)
        return np.asarray(np.minimum(columns, rows) >= -ROUNDING)

    def _stays(self, values: FloatArray, forces: FloatArray, right: FloatArray) -> BoolArray:
        """Return whether basic columns and loose rows stay within their bounds."""
        make = self._make
        own = self._by_row @ (values[:, self._own] * forces[:, self._own_place]).T
        left = (right - forces @ self._steady.T - own.T)[:, self._loose]
        left = np.where(self._loose < make.equal, -np.abs(left), left)
        bounded = forces[:, ~make.free[self._columns]]
        least = np.minimum(left.min(axis=1, initial=0.0), bounded.min(axis=1, initial=0.0))
        return np.asarray(least >= -ROUNDING)


@dataclass(kw_only=True)
class Answers:
    """Bounds on the least cost of programmes of one make, drawn closer as bases become known.

    Attributes
    ----------
    make : Make
    member : (c,) int array
        Whose coefficients each of the programmes has.
    right : (c, r) array
        Right-hand sides of the first rows; those of the others are nought. [-]
    known : sequence of (m,) int array
        Bases that are known from other members.
    lower, upper : (c,) arrays
        Bounds on each least cost. [-]
    solved : int
        Programmes solved outright. [-]
    """

    make: Make
    member: IntArray
    right: FloatArray
    known: Sequence[IntArray] = ()
    solved: int = 0

    def __post_init__(self) -> None:
        count = len(self.member)
        self.lower, self.upper = np.full(count, -np.inf), np.full(count, np.inf)
        self._tried = np.zeros(count, dtype=np.int64)
        self._bases = [_Basis(self.make, basic) for basic in self.known if self._fits(basic)]

    def _fits(self, basic: IntArray) -> bool:
        height, width = self.make.steady.shape
        return len(basic) == height and -height <= int(basic.min()) and int(basic.max()) < width

    def _right(self, these: IntArray) -> FloatArray:
        found = np.zeros((len(these), self.make.steady.shape[0]))
        found[:, : self.right.shape[1]] = self.right[these]
        return found

    def open(self, some: IntArray) -> BoolArray:
        """Return for some programmes whether their bounds are still apart."""
        return ~agree(self.lower[some], self.upper[some])

    def narrow(self, some: IntArray) -> bool:
        """Read every basis that is known at those of some programmes where it was not; return whether there was any."""
        fresh = False
        for number, basis in enumerate(self._bases):
            these = some[(self._tried[some] <= number) & self.open(some)]
            self._tried[some] = np.maximum(self._tried[some], number + 1)
            fresh = fresh or len(these) > 0
            for part in np.split(these, range(basis.at_once, len(these), basis.at_once)):
                self._read(basis, part)
        return fresh

    def _read(self, basis: _Basis, these: IntArray) -> None:
        spend(basis.cost * len(these))
        try:
            cost, below, above = basis.read(self.make.values[self.member[these]], self._right(these))
        except np.linalg.LinAlgError:
            return  # no basis of one of them: it says nothing here
        basis.served += int(np.count_nonzero(below & above))
        self.lower[these] = np.where(below, np.maximum(self.lower[these], cost), self.lower[these])
        self.upper[these] = np.where(above, np.minimum(self.upper[these], cost), self.upper[these])

    def solve(self, one: int) -> None:
        """Solve one programme outright and keep its basis."""
        make, member, right = self.make, int(self.member[one]), self._right(np.array([one]))
        basic = best_basis(make.rows(member), cost=make.cost, free=make.free, right=right[0], equal=make.equal)
        basis = _Basis(make, basic)
        cost, _, _ = basis.read(make.values[[member]], right)
        self.lower[one] = self.upper[one] = cost[0]
        self._bases.append(basis)
        self.solved += 1

    def bases(self) -> list[IntArray]:
        """Return all bases that are known now, those first that settled most."""
        return [basis.basic for basis in sorted(self._bases, key=lambda basis: -basis.served)]


def _made(
    family: Family, more: Sequence[tuple[IntArray, IntArray, FloatArray]], *, cost: FloatArray, idle: int
) -> Make:
    """Return programmes of balance and limits, with more columns and slacks for the balance at the end.

    Parameters
    ----------
    family : Family
    more : sequence of tuple of (k,) int array, (k,) int array, (n, k) array
        Rows, columns and values of what else differs.
    cost : (w,) array
        Of every column, slacks included. [-]
    idle : int
        Columns between those of the family and the slacks. [-]
    """
    head = np.hstack([family.balance, np.zeros((6, idle)), np.eye(6), -np.eye(6)])
    row, column = family.places
    steady = stacked(head, (row, column, family.steady), height=family.bounds.shape[1])
    own = family.varying
    return Make(
        steady=steady,
        places=(
            np.concatenate([6 + row[own], *(rows for rows, _, _ in more)]),
            np.concatenate([column[own], *(columns for _, columns, _ in more)]),
        ),
        values=np.concatenate([family.values, *(values for _, _, values in more)], axis=1),
        cost=cost,
        free=np.concatenate([family.free, np.zeros(idle + 12, dtype=bool)]),
        equal=6,
    )


def gauge_make(family: Family) -> Make:
    """Return the gauge programmes of a family: see `equilibrium`."""
    width, limits = family.balance.shape[1], family.bounds.shape[1]
    at = np.full(6 + limits, width)
    scale = np.concatenate([family.dead, -family.bounds], axis=1)
    cost = np.concatenate([np.zeros(width), [1.0], np.full(12, GIVES_WAY)])
    return _made(family, [(np.arange(6 + limits), at, scale)], cost=cost, idle=1)


def standing(family: Family) -> BoolArray:
    """Return whether the body stays where it is without any load, for each member: see `standing_motion`. (n,)"""
    width, count = family.balance.shape[1], len(family.dead)
    make = _made(family, [], cost=np.concatenate([np.zeros(width), np.ones(12)]), idle=0)
    found = Answers(make=make, member=np.arange(count), right=np.concatenate([-family.dead, family.bounds], axis=1))
    line = 1e-7 * np.maximum(1.0, np.abs(family.dead).max(axis=1))
    while True:
        unclear = np.nonzero((found.lower <= line) & (found.upper > line))[0]
        if not len(unclear):
            return np.asarray(found.upper <= line)
        if not found.narrow(unclear):
            found.solve(int(unclear[0]))
