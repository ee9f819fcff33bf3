"""Solve a season: one aim after the other, each held within its slack while the next has its turn."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from loamery.errors import NoPlan
from loamery.season.aims import set_aims, slack
from loamery.season.decision import AIMS, Solution
from loamery.season.matrix import Array, Matrix
from loamery.season.problem import Problem
from loamery.season.programme import season_matrix
from loamery.season.solver import Answer, Engine

TIME_LIMIT_S = 20.0
GAPS: Mapping[str, float] = {"shortfall": 1e-3, "cost": 0.5, "kept_away": 20.0}
"""A plan is good enough when no other can be better by more: points, hours, kg."""


def solve_season(problem: Problem, *, gaps: Mapping[str, float] = GAPS, time_limit_s: float = TIME_LIMIT_S) -> Solution:
    """Return the best plan for a season.

    Parameters
    ----------
    gaps : by aim, how far from the proven best a plan may be.
    time_limit_s : for all aims together; then the best plan so far is returned with what is not proven of it.

    Raises
    ------
    NoPlan : nothing can be had, or no plan keeps the limits, or none was found in the time.
    """
    matrix, columns = season_matrix(problem)
    set_aims(matrix, columns, problem)
    engine = Engine(matrix, time_limit_s=time_limit_s)
    best: Answer | None = None
    turns, bounds, status = {}, {}, "optimal"
    for aim in AIMS:
        cost = matrix.cost(aim)
        answer = engine.minimise(cost, gap=gaps[aim])
        if best is None and not answer.found:
            raise _no_plan(answer.status, problem)
        best = answer if answer.found else best
        assert best is not None
        if answer.status != "optimal" and status == "optimal":
            status = answer.status
        turns[aim] = float(cost @ best.x)
        bounds[aim] = answer.bound if answer.found else -np.inf
        if aim != AIMS[-1]:
            engine.hold(cost, turns[aim] + slack(aim, turns[aim]))
    assert best is not None
    return _solution(matrix, problem, best.x, {"turns": turns, "bounds": bounds}, status)


def _no_plan(status: str, problem: Problem) -> NoPlan:
    if "infeasible" in status:
        return NoPlan(
            "No plan keeps all limits at once.",
            conflict=["the limits of this garden"],
            remedies=["raise hours_per_week in garden.toml, or leave it out", "loosen the uses of the materials"],
        )
    size = f"{len(problem.needs)} beds, {len(problem.raw)} materials, {problem.calendar.weeks} weeks"
    return NoPlan(
        f"The solver found no plan for {size} in the time it has ({status}).",
        remedies=["allow it more time", "plan fewer weeks, or with fewer scenarios", "leave out whole_buckets"],
    )


def _solution(m: Matrix, p: Problem, x: Array, proof: Mapping[str, Mapping[str, float]], status: str) -> Solution:
    names = ("take", "buy", "spread", "build", "start", "feed", "stock", "thrown", "sacks", "short_n", "short_pk", "surplus", "loss", "bare")  # fmt: skip
    blocks: dict[str, Any] = {name: np.maximum(m.read(name, x), 0.0) for name in names}
    return Solution(
        **blocks,
        lacking=float(m.read("lacking", x)[0]),
        values={aim: float(m.cost(aim) @ x) for aim in AIMS},
        turns=proof["turns"],
        bounds=proof["bounds"],
        status=status,
    )
