"""The only file that calls the linear programming solver; its status becomes ours here."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import highspy
import numpy as np
import scipy.sparse
from numpy.typing import NDArray

from stillstock.engine.mechanics.adjustable import Demand
from stillstock.engine.mechanics.equilibrium import Family, System
from stillstock.engine.mechanics.work import spend
from stillstock.engine.set_up import FloatArray

__all__ = [
    "GIVES_WAY",
    "Gauge",
    "Hold",
    "IntArray",
    "best_basis",
    "least_forces",
    "least_forces_in_each",
    "least_settings",
    "stacked",
    "standing_motion",
]

IntArray = NDArray[np.int64]

#: Price of a unit of load that nothing resists; a gauge at or above it means that nothing holds. [-]
GIVES_WAY = 1e6

_INFINITE = highspy.kHighsInf

#: Which row leaves the basis: the one that is off the most (0), or as the solver chooses (-1), by the steepest edge.
#: The first takes half the steps where only the right-hand side moves, each cheaper; it might go round in circles.
_PRICING, _MOST_OFF, _AS_IT_CHOOSES = "simplex_dual_edge_weight_strategy", 0, -1

#: Steps after which a run is given up, in all and for each row and column: ten times what programmes take. [-]
_STEPS, _STEPS_EACH = 1000, 5

#: What a run and each of its steps cost, in all, for each row and for each coefficient, by measurement. [units]
_RUN, _STEP = np.array([0.42, 3.3e-4, 1.4e-4]), np.array([1.6e-2, 2.9e-5, 8e-6])

#: Rows, and cubes of basic columns, that it costs a unit to read a basis for. [-]
_ROWS_READ, _CUBES_READ = 1250.0, 7.5e5

#: Option, value and usual value of what is tried where the solver finds no optimum, though by the slacks there is one:
#: from scratch and by the steepest edge, for a warm basis may go numerically stale; then with the primal method, then
#: with interior points, for the price of the slacks may mislead the dual method where nothing holds.
_OTHERWISE = (
    (_PRICING, _AS_IT_CHOOSES, _MOST_OFF),
    ("simplex_strategy", 4, 1),
    ("solver", "ipm", "simplex"),
)


class _Solver(highspy.Highs):
    """The solver without its callback machinery, which prints a banner when it starts and costs a little every run."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        self.setOptionValue("log_to_console", "false")
        self.setOptionValue("output_flag", "false")
        self.setOptionValue("threads", 1)


def stacked(top: FloatArray, entries: tuple[IntArray, IntArray, FloatArray], *, height: int) -> scipy.sparse.csc_array:
    """Return a balance over limits, as columns; never dense: the limits of many fasteners would fill gigabytes.

    Parameters
    ----------
    top : (6, n) array
        Rows of the balance. [-]
    entries : tuple of (k,) int array, (k,) int array, (k,) array
        Row, column and value of what is not nought in the limits. [-]
    height : int
        Limits. [-]
    """
    up, across = np.nonzero(top)
    rows, columns, values = entries
    row, column = np.concatenate([up, rows + len(top)]), np.concatenate([across, columns])
    every = np.concatenate([top[up, across], values])
    found = scipy.sparse.csc_array((every, (row, column)), shape=(len(top) + height, top.shape[1]))
    found.data[np.abs(found.data) < 1e-13] = 0.0
    found.eliminate_zeros()
    return found


def _matrix(system: System, beside: FloatArray, *, bounded: bool) -> scipy.sparse.csc_array:
    """Return G over A as columns, with more columns `beside` G and, if `bounded`, -b under the first of them."""
    rows, columns, values = system.entries
    count = len(system.bounds)
    if bounded:
        rows, columns = np.append(rows, np.arange(count)), np.append(columns, np.full(count, len(system.free)))
        values = np.append(values, -system.bounds)
    return stacked(np.hstack([system.balance, beside]), (rows, columns, values), height=count)


def _programme(
    rows: scipy.sparse.csc_array, cost: FloatArray, lower: FloatArray, *, row_lower: FloatArray, row_upper: FloatArray
) -> highspy.HighsLp:
    programme = highspy.HighsLp()
    programme.num_row_, programme.num_col_ = rows.shape
    programme.col_cost_ = cost
    programme.col_lower_, programme.col_upper_ = lower, np.full(rows.shape[1], _INFINITE)
    programme.row_lower_, programme.row_upper_ = row_lower, row_upper
    programme.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    programme.a_matrix_.start_ = rows.indptr.astype(np.int32)
    programme.a_matrix_.index_ = rows.indices.astype(np.int32)
    programme.a_matrix_.value_ = rows.data
    return programme


def _simplex(size: int) -> _Solver:
    """Return the solver as it serves programmes that are scaled already, of so many rows and columns."""
    solver = _Solver()
    solver.setOptionValue(_PRICING, _MOST_OFF)
    solver.setOptionValue("simplex_iteration_limit", _STEPS + _STEPS_EACH * size)
    solver.setOptionValue("presolve", "off")
    solver.setOptionValue("solver", "simplex")
    # The rows are scaled already, and a perturbed cost must be mended by as many steps again.
    solver.setOptionValue("simplex_scale_strategy", 0)
    solver.setOptionValue("dual_simplex_cost_perturbation_multiplier", 0.0)
    solver.setOptionValue("primal_feasibility_tolerance", 1e-9)
    solver.setOptionValue("dual_feasibility_tolerance", 1e-9)
    return solver


def _run(solver: _Solver) -> None:
    """Solve once, and count what that cost."""
    solver.run()
    size = np.array([1.0, solver.getNumRow(), solver.getNumNz()])
    spend(float(_RUN @ size + solver.getInfo().simplex_iteration_count * (_STEP @ size)))


def _run_to_the_end(solver: _Solver) -> None:
    """Solve, by other means if need be.

    Raises
    ------
    ArithmeticError
        If no optimum is found by any.
    """
    _run(solver)
    for option, value, usual in _OTHERWISE:
        if solver.getModelStatus() == highspy.HighsModelStatus.kOptimal:
            return
        solver.setOptionValue(option, value)
        solver.clearSolver()
        _run(solver)
        solver.setOptionValue(option, usual)
    status = solver.getModelStatus()
    if status != highspy.HighsModelStatus.kOptimal:
        raise ArithmeticError(f"the programme ended with {status}")


def _basic(solver: _Solver) -> IntArray:
    """Return which variables are basic: columns by their number, and -1 - row for a row's own slack."""
    return np.asarray(solver.getBasicVariables()[1], dtype=np.int64)


def best_basis(
    rows: scipy.sparse.csc_array, *, cost: FloatArray, free: NDArray[np.bool_], right: FloatArray, equal: int
) -> IntArray:
    """Return the basis at which a programme has its least cost; it must have one.

    Parameters
    ----------
    rows : (m, n) sparse array
        Scaled to the order of one. [-]
    cost : (n,) array
        [-]
    free : (n,) bool array
        Columns that may be negative.
    right : (m,) array
        [-]
    equal : int
        So many rows, the first, equal their right-hand side; the others do not pass it. [-]

    Returns
    -------
    (m,) int array
        Columns by their number, and -1 - row for a row's own slack.

    Raises
    ------
    ArithmeticError
        If no optimum is found.
    """
    solver = _simplex(sum(rows.shape))
    row_lower = np.concatenate([right[:equal], np.full(len(right) - equal, -_INFINITE)])
    lower = np.where(free, -_INFINITE, 0.0)
    solver.passModel(_programme(rows, cost, lower, row_lower=row_lower, row_upper=right))
    _run_to_the_end(solver)
    return _basic(solver)


@dataclass(frozen=True, kw_only=True)
class Hold:
    """The gauge at one load, and what proves it.

    Attributes
    ----------
    gauge : float
        s: 1 / load factor, 0 if the load only presses home. [-]
    slope : (6,) array
        Scaled dual: for every load, gauge >= slope . load, with equality here; the motion with which the body lets go.
    forces : (n,) array
        Contact forces per unit of load factor, one a column of the system. [-]
    region : (k, 6) array
        The same basis is optimal, and gauge = slope . load, for every load with ``region @ load >= 0``.
    """

    gauge: float
    slope: FloatArray
    forces: FloatArray
    region: FloatArray


class Gauge:
    """A system's gauge programme, kept warm: between loads only the right-hand side changes."""

    def __init__(self, system: System) -> None:
        n = system.balance.shape[1]
        self._rows = _matrix(system, np.hstack([system.dead[:, None], np.eye(6), -np.eye(6)]), bounded=True)
        self._columns = n
        self._cost = np.concatenate([np.zeros(n), [1.0], np.full(12, GIVES_WAY)])
        self._lower = np.concatenate([np.where(system.free, -_INFINITE, 0.0), np.zeros(13)])
        self.solved = 0

    @cached_property
    def _solver(self) -> _Solver:
        solver, height = _simplex(sum(self._rows.shape)), self._rows.shape[0]
        row_lower = np.concatenate([np.zeros(6), np.full(height - 6, -_INFINITE)])
        solver.passModel(
            _programme(self._rows, self._cost, self._lower, row_lower=row_lower, row_upper=np.zeros(height))
        )
        return solver

    def _run(self, load: FloatArray) -> None:
        for row, value in enumerate(-load):
            self._solver.changeRowBounds(row, float(value), float(value))
        self.solved += 1
        _run_to_the_end(self._solver)

    def _reply(self) -> tuple[FloatArray, NDArray[np.int64]]:
        """Return how each basic variable answers the loads, (rows, 6), and which variables are basic.

        A row whose own slack is basic only says how large that slack is, so the others alone are solved for.
        """
        chosen = _basic(self._solver)
        structural = chosen >= 0
        slack = -chosen[~structural] - 1
        height = self._rows.shape[0]
        tight = np.ones(height, dtype=bool)
        tight[slack] = False
        right = np.zeros((height, 6))
        right[:6] = -np.eye(6)
        spend(1.0 + height / _ROWS_READ + float(structural.sum()) ** 3 / _CUBES_READ)
        columns = self._rows[:, chosen[structural]].toarray()
        reply = np.empty_like(right)
        reply[structural] = np.linalg.solve(columns[tight], right[tight])
        reply[~structural] = columns[slack] @ reply[structural] - right[slack]
        return reply, chosen

    def value(self, load: FloatArray) -> tuple[float, FloatArray]:
        """Return the gauge of a scaled load (6,) and its slope, by the solver's own figures. [-]"""
        self._run(load)
        # The objective itself carries the slacks' rounding times their price; the dual does not.
        slope = -np.asarray(self._solver.getSolution().row_dual[:6])
        return max(float(slope @ load), 0.0), slope

    def letting_go(self, load: FloatArray) -> FloatArray:
        """Return the slope (6,) at a scaled load (6,), the motion with which the body lets go. [-]

        Where several are as near, as under fasteners that all reach their limit at once, the steepest edge finds the
        plainer one.
        """
        self._solver.setOptionValue(_PRICING, _AS_IT_CHOOSES)
        slope = self.at(load).slope
        self._solver.setOptionValue(_PRICING, _MOST_OFF)
        return slope

    def at(self, load: FloatArray) -> Hold:
        """Return the gauge of a scaled load (6,) with its proof, reckoned anew from the final basis."""
        self._run(load)
        reply, chosen = self._reply()
        forces = np.zeros(len(self._cost))
        structural = chosen >= 0
        forces[chosen[structural]] = (reply @ load)[structural]
        bounded = ~structural
        bounded[structural] = np.isfinite(self._lower[chosen[structural]])
        # A limit's slack is stored as -(A x - s b), which is at least zero; its column is -1 on its own row.
        sign = np.where(structural, 1.0, -1.0)
        keep = bounded & (np.where(structural, 6, -chosen - 1) >= 6)
        slope = self._cost[chosen[structural]] @ reply[structural]
        return Hold(
            gauge=max(float(slope @ load), 0.0),
            slope=slope,
            forces=forces[: self._columns],
            region=np.asarray((reply * sign[:, None])[keep], dtype=np.float64),
        )


def standing_motion(system: System) -> FloatArray | None:
    """Return the scaled motion with which the body moves off before any load, or None if it stands.

    Notes
    -----
    Minimises what of the dead wrench is left unbalanced: the dual of that programme is the motion.
    """
    n, m = system.balance.shape[1], len(system.bounds)
    rows = _matrix(system, np.hstack([np.eye(6), -np.eye(6)]), bounded=False)
    solver = _simplex(sum(rows.shape))
    cost = np.concatenate([np.zeros(n), np.ones(12)])
    lower = np.concatenate([np.where(system.free, -_INFINITE, 0.0), np.zeros(12)])
    row_lower = np.concatenate([-system.dead, np.full(m, -_INFINITE)])
    row_upper = np.concatenate([-system.dead, system.bounds])
    solver.passModel(_programme(rows, cost, lower, row_lower=row_lower, row_upper=row_upper))
    _run_to_the_end(solver)
    if solver.getObjectiveValue() <= 1e-7 * max(1.0, float(np.abs(system.dead).max())):
        return None
    return -np.asarray(solver.getSolution().row_dual[:6])


def least_forces(system: System, columns: Sequence[int]) -> FloatArray:
    """Return the least force in each column with which the body can stand without any load; 0 where it cannot. [-]"""
    rows = _matrix(system, np.zeros((6, 0)), bounded=False)
    (least,) = _least_forces(rows, system.free, system.dead[None, :], system.bounds[None, :], columns)
    return np.asarray(least)


def least_forces_in_each(family: Family, columns: Sequence[int]) -> FloatArray:
    """Return the least forces as `least_forces` does, for each member. (n, columns) [-]

    Raises
    ------
    ValueError
        If the members differ in more than what is dead and bounded.
    """
    if len(family.varying):
        raise ValueError("least forces are for members with the same limits")
    rows = stacked(family.balance, (*family.places, family.steady), height=family.bounds.shape[1])
    return _least_forces(rows, family.free, family.dead, family.bounds, columns)


def _least_forces(
    rows: scipy.sparse.csc_array,
    free: NDArray[np.bool_],
    dead: FloatArray,
    bounds: FloatArray,
    columns: Sequence[int],
) -> FloatArray:
    """Return the least force in each column for each dead wrench (n, 6) and its bounds (n, m). (n, columns) [-]"""
    solver, lower = _Solver(), np.where(free, -_INFINITE, 0.0)
    low = np.concatenate([-dead, np.full(bounds.shape, -_INFINITE)], axis=1)
    high = np.concatenate([-dead, bounds], axis=1)
    solver.passModel(_programme(rows, np.zeros(len(free)), lower, row_lower=low[0], row_upper=high[0]))
    least, numbers = np.zeros((len(dead), len(columns))), np.arange(rows.shape[0], dtype=np.int32)
    for member, (least_low, least_high) in enumerate(zip(low, high, strict=True)):
        if member:
            solver.changeRowsBounds(len(numbers), numbers, least_low, least_high)
        least[member] = _least_in_turn(solver, columns)
    return least


def _least_in_turn(solver: _Solver, columns: Sequence[int]) -> FloatArray:
    """Return the least value of each column alone, or 0 for all of them where there is no balance. [-]"""
    least = np.zeros(len(columns))
    for place, column in enumerate(columns):
        solver.changeColCost(int(column), 1.0)
        _run(solver)
        status, least[place] = solver.getModelStatus(), max(solver.getObjectiveValue(), 0.0)
        solver.changeColCost(int(column), 0.0)
        if status != highspy.HighsModelStatus.kOptimal:
            return np.zeros(len(columns))
    return least


def _block(demand: Demand, force: float) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return a demand's rows for the settings and for its own forces, and the rows' lower and upper ends. [-]"""
    held = demand.held_by
    scale = held.system.scale
    load = scale.wrenches(demand.load) * scale.force
    balance = -(load + held.dead - held.dead_by @ held.at) / force
    bound = (held.bounds - held.bounds_by @ held.at) / force
    by_setting = np.vstack([held.dead_by, -held.bounds_by]) / force
    by_force = np.vstack([held.system.balance, held.limits])
    return (
        by_setting,
        by_force,
        np.concatenate([balance, np.full(len(bound), -_INFINITE)]),
        np.concatenate([balance, bound]),
    )


def least_settings(
    demands: Sequence[Demand], *, cost: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray | None:
    """Return the cheapest settings at which every demand is met, or None if none within the ends meets them.

    Parameters
    ----------
    demands : sequence of Demand
        At least one.
    cost : (k,) array
        Price of a unit of each setting. [-]
    low, high : (k,) arrays
        Ends of each setting. [-]

    Notes
    -----
    One linear programme: the settings stand in the rows of every demand, and each demand brings contact forces of its
    own.
    """
    force = max(each.held_by.system.scale.force for each in demands)
    blocks = [_block(each, force) for each in demands]
    rows = scipy.sparse.hstack(
        [
            scipy.sparse.csc_array(np.vstack([settings for settings, *_ in blocks])),
            scipy.sparse.block_diag([scipy.sparse.csc_array(forces) for _, forces, *_ in blocks], format="csc"),
        ],
        format="csc",
    )
    free = np.concatenate([each.held_by.system.free for each in demands])
    programme = _programme(
        rows,
        np.concatenate([cost, np.zeros(len(free))]),
        np.concatenate([low, np.where(free, -_INFINITE, 0.0)]),
        row_lower=np.concatenate([lower for *_, lower, _ in blocks]),
        row_upper=np.concatenate([upper for *_, upper in blocks]),
    )
    programme.col_upper_ = np.concatenate([high, np.full(len(free), _INFINITE)])
    solver = _Solver()
    solver.passModel(programme)
    _run(solver)
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None  # not feasible; or numerically unclear, when a setting cannot be promised either
    return np.asarray(solver.getSolution().col_value[: len(cost)])
