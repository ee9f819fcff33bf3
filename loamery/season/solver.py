"""HiGHS on the matrices of a labelled model, silently, with the bound that proves how good the answer is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Answer:
    """What HiGHS found.

    Parameters
    ----------
    by_label : value of every variable, indexed by linopy's label; empty when nothing feasible was found.
    objective, bound : value reached, and what no feasible point can beat.
    status : in words.
    """

    by_label: Array
    objective: float
    bound: float
    status: str

    def values(self, variable: Any) -> Array:
        """Return the values of a linopy variable, in its own shape."""
        return np.asarray(self.by_label[variable.labels.to_numpy()])


def run_highs(model: Any, *, time_limit_s: float, gap: float) -> Answer:
    """Solve a linopy model.

    Parameters
    ----------
    model : with a linear objective to minimise.
    time_limit_s : stop then with the best point so far.
    gap : a mixed-integer answer is good enough when no other can be better by more.

    Notes
    -----
    linopy's own call prints HiGHS's banner on standard output, which a JSON document must have for itself.
    """
    import highspy

    solver = highspy.Highs()
    options = {
        "output_flag": False,
        "time_limit": time_limit_s,
        "mip_abs_gap": gap,
        "mip_rel_gap": 0.0,
        # The root is tight, so these cost more here than they save (measured on the demo garden).
        "mip_allow_restart": False,
        "mip_heuristic_run_root_reduced_cost": False,
        "mip_heuristic_run_rins": False,
        "mip_heuristic_run_rens": False,
        "mip_pscost_minreliable": 0,
    }
    for option, value in options.items():
        solver.setOptionValue(option, value)
    matrices = model.matrices
    solver.passModel(_as_lp(matrices))
    solver.run()
    info = solver.getInfo()
    status = solver.modelStatusToString(solver.getModelStatus()).lower()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Answer(np.zeros(0), float("nan"), float("nan"), status)
    by_label = np.zeros(int(matrices.vlabels.max()) + 1)
    by_label[matrices.vlabels] = np.array(solver.getSolution().col_value)
    objective = float(info.objective_function_value)
    bound = float(info.mip_dual_bound) if _has_whole_numbers(matrices) else objective  # a solved LP is its own bound
    return Answer(by_label, objective, bound, status)


def _has_whole_numbers(matrices: Any) -> bool:
    return any(one != "C" for one in matrices.vtypes)


def _as_lp(matrices: Any) -> Any:
    import highspy

    table = matrices.A.tocsr()
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = table.shape[1], table.shape[0]
    lp.col_cost_ = matrices.c
    lp.col_lower_, lp.col_upper_ = matrices.lb, matrices.ub
    lp.row_lower_ = np.where(matrices.sense == "<", -highspy.kHighsInf, matrices.b)
    lp.row_upper_ = np.where(matrices.sense == ">", highspy.kHighsInf, matrices.b)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = table.indptr, table.indices, table.data
    kinds = {"C": highspy.HighsVarType.kContinuous}
    lp.integrality_ = [kinds.get(one, highspy.HighsVarType.kInteger) for one in matrices.vtypes]
    return lp
