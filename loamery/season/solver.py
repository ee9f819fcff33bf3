"""HiGHS on a matrix, silently: one aim after the other, each with the bound that proves how good the answer is."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.season.matrix import Array, Index, Matrix

LEAST_S, IDLE_S = 0.5, 30.0
OPTIONS = {
    "output_flag": False,
    "mip_rel_gap": 0.0,
    # The root is tight, so these cost more here than they save (measured on the demo garden).
    "mip_allow_restart": False,
    "mip_heuristic_run_root_reduced_cost": False,
    "mip_heuristic_run_rins": False,
    "mip_heuristic_run_rens": False,
    "mip_pscost_minreliable": 0,
}
LARGE = 20_000
"""From so many columns on the first programme is solved by interior points: with 48 beds 19 s in place of the simplex's 94, with 192 72 s where
the simplex was not done in 300 (both cores busy elsewhere); with 12 beds the whole search takes a quarter more."""


@dataclass(frozen=True)
class Answer:
    """What HiGHS found.

    Parameters
    ----------
    x : value of every column; empty when nothing feasible was found.
    value, bound : of the aim: reached, and what no feasible point can beat.
    status : in words.
    """

    x: Array
    value: float
    bound: float
    status: str

    @property
    def found(self) -> bool:
        """Tell whether there is a feasible point."""
        return bool(self.x.size)


@dataclass(frozen=True)
class Prices:
    """Duals of a linear programme: what one more unit of a side or bound would change the aim by.

    Parameters
    ----------
    value : of the aim. rows, columns : by number.
    """

    value: float
    rows: Array
    columns: Array


class Engine:
    """One HiGHS with one matrix in it, asked for one aim after the other.

    Parameters
    ----------
    time_limit_s : for all aims together. most_nodes : of the search for each; no limit when None.
    """

    def __init__(self, matrix: Matrix, *, time_limit_s: float, most_nodes: int | None = None) -> None:
        import highspy

        self._highspy, self._matrix = highspy, matrix
        self._until = time.perf_counter() + time_limit_s
        self._highs = highspy.Highs()
        for option, value in OPTIONS.items():
            self._highs.setOptionValue(option, value)
        if matrix.shape[1] >= LARGE:
            self._highs.setOptionValue("mip_lp_solver", "ipm")
        if most_nodes is not None:
            self._highs.setOptionValue("mip_max_nodes", most_nodes)
        self._highs.passModel(as_lp(highspy, matrix))
        self._whole = matrix.whole
        self._start: Array | None = None

    def minimise(self, cost: Array, *, gap: float) -> Answer:
        """Return the best point under a cost; good enough when no other can be better by more than the gap."""
        highs = self._highs
        highs.setOptionValue("mip_abs_gap", gap)
        highs.setOptionValue("time_limit", max(self._until - time.perf_counter(), LEAST_S))
        highs.changeColsCost(cost.size, np.arange(cost.size, dtype=np.int32), cost)
        if self._start is not None and self._whole.size:
            known = self._highspy.HighsSolution()
            known.col_value = list(self._start)
            highs.setSolution(known)
        highs.run()
        return self._answer(cost)

    def _answer(self, cost: Array) -> Answer:
        highs = self._highs
        info = highs.getInfo()
        status = highs.modelStatusToString(highs.getModelStatus()).lower().replace("solution limit", "search limit")
        if info.primal_solution_status != self._highspy.SolutionStatus.kSolutionStatusFeasible:
            return Answer(np.zeros(0), float("nan"), float("nan"), status)
        x = np.array(highs.getSolution().col_value)
        x[self._whole] = np.round(x[self._whole])
        self._start = x
        value = float(cost @ x)
        bound = float(info.mip_dual_bound) if self._whole.size else value  # a solved LP is its own bound
        return Answer(x, value, bound, status)

    def idle(self, cost: Array, columns: Sequence[Index]) -> Answer:
        """Return the point at which nothing is done beyond what must be, for a search that found none in its time.

        Parameters
        ----------
        columns : of what can be decided; they are held at their lower bounds, so that the rest follows at once.
        """
        highs = self._highs
        low, high = self._matrix.bounds()
        numbers = np.concatenate([one[one >= 0] for one in columns]).astype(np.int32)
        highs.changeColsBounds(numbers.size, numbers, low[numbers], low[numbers])
        highs.setOptionValue("time_limit", IDLE_S)
        highs.run()
        answer = replace(self._answer(cost), bound=-np.inf)
        highs.changeColsBounds(numbers.size, numbers, low[numbers], _ends(self._highspy, high[numbers]))
        return answer

    def hold(self, cost: Array, most: float) -> None:
        """Let an aim that has had its turn become no worse than a value."""
        kept = np.flatnonzero(cost)
        self._highs.addRow(-self._highspy.kHighsInf, most, kept.size, kept.astype(np.int32), cost[kept])

    def fix(self, columns: Index, values: Array) -> None:
        """Hold a block of columns at values; the block's -1 stand for columns that are not there."""
        kept = columns >= 0
        numbers, fixed = columns[kept].astype(np.int32), np.round(values[kept])
        if numbers.size:
            self._highs.changeColsBounds(numbers.size, numbers, fixed, fixed)

    def prices(self, cost: Array, whole: Array) -> Prices:
        """Return the duals of an aim with the whole numbers fixed.

        Parameters
        ----------
        whole : value of every column; only those of whole numbers are looked at.
        """
        highs, numbers = self._highs, self._whole.astype(np.int32)
        if numbers.size:
            kinds = np.full(numbers.size, self._highspy.HighsVarType.kContinuous)
            highs.changeColsIntegrality(numbers.size, numbers, kinds)
            fixed = np.round(whole[self._whole])
            highs.changeColsBounds(numbers.size, numbers, fixed, fixed)
        highs.changeColsCost(cost.size, np.arange(cost.size, dtype=np.int32), cost)
        highs.run()
        found = highs.getSolution()
        rows, columns = np.array(found.row_dual), np.array(found.col_dual)
        return Prices(float(cost @ np.array(found.col_value)), rows[: self._matrix.shape[0]], columns)


def as_lp(highspy: Any, matrix: Matrix) -> Any:
    """Return a matrix as HiGHS takes it, without an aim."""
    table, (low, high), (least, most) = matrix.table(), matrix.bounds(), matrix.sides()
    lp = highspy.HighsLp()
    lp.num_row_, lp.num_col_ = matrix.shape
    lp.col_cost_ = np.zeros(lp.num_col_)
    lp.col_lower_, lp.col_upper_ = _ends(highspy, low), _ends(highspy, high)
    lp.row_lower_, lp.row_upper_ = _ends(highspy, least), _ends(highspy, most)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = table.indptr, table.indices, table.data
    kinds = np.full(lp.num_col_, highspy.HighsVarType.kContinuous)
    kinds[matrix.whole] = highspy.HighsVarType.kInteger
    lp.integrality_ = list(kinds)
    return lp


def _ends(highspy: Any, values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.clip(values, -highspy.kHighsInf, highspy.kHighsInf)
