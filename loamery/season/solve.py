"""Solve a season: one aim after the other, each held within its slack while the next has its turn."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from loamery.errors import NoPlan
from loamery.say import say
from loamery.season.aims import set_aims, slack
from loamery.season.buckets import hold_whole_buckets
from loamery.season.conflict import explain_no_plan
from loamery.season.decision import AIMS, Solution
from loamery.season.matrix import Array, Matrix
from loamery.season.problem import Problem
from loamery.season.programme import season_matrix, stocks_of
from loamery.season.sacks import bought_late
from loamery.season.solver import Answer, Engine

TIME_LIMIT_S = 600.0
"""A far backstop only: what ends a search is `MOST_NODES`, so that a busy machine finds the same plan."""
MOST_NODES = 400
"""Each aim's search ends after so many nodes."""
BUCKET_NODES = 200
"""The same in whole buckets."""
GAPS: Mapping[str, float] = {"shortfall": 1e-3, "cost": 0.5, "kept_away": 20.0}
"""A plan is good enough when no other can be better by more: points, hours, kg."""
ROUGH_GAPS: Mapping[str, float] = {"shortfall": 2e-3, "cost": 2.0, "kept_away": 400.0}
"""For a plan that is only weighed against others."""
SOON_NODES = 40
"""Where the report is to be there soon, each aim's search ends after so many nodes."""
DECIDED = ("take", "buy", "sacks", "spread", "build", "start", "feed")
"""What a plan decides: with nothing of it the rest follows, which is the plan to fall back on when the time was too short for any other."""
BUCKETS_GAP = 5.0
"""In whole buckets, so many times the gap will do."""
BUCKETS_TIME_SHARE = 0.5
"""Of the backstop, at least this share is for whole buckets."""


def solve_season(
    problem: Problem,
    *,
    gaps: Mapping[str, float] = GAPS,
    time_limit_s: float = TIME_LIMIT_S,
    most_nodes: int = MOST_NODES,
) -> Solution:
    """Return the best plan for a season.

    Parameters
    ----------
    gaps : by aim, how far from the proven best a plan may be.
    time_limit_s : for all aims together; then the best plan so far is returned with what is not proven of it.
    most_nodes : of the search for each aim.

    Raises
    ------
    NoPlan : nothing can be had, or no plan keeps the limits (it names the smallest set of them in conflict), or none was found in the time.
    """
    started = time.perf_counter()
    matrix, columns = season_matrix(problem)
    set_aims(matrix, columns, problem)
    engine = Engine(matrix, time_limit_s=time_limit_s, most_nodes=most_nodes)
    found = _in_turn(engine, matrix, problem, gaps)
    if problem.garden.info.whole_buckets:
        left_s = max(time_limit_s - (time.perf_counter() - started), time_limit_s * BUCKETS_TIME_SHARE)
        return _in_whole_buckets(problem, found, matrix, gaps, left_s, min(most_nodes, BUCKET_NODES))
    return _solution(matrix, problem, found)


@dataclass(frozen=True)
class _Found:
    """The columns of the best plan, what each aim reached in its turn and what bounds it, and the status."""

    x: Array
    turns: dict[str, float]
    bounds: dict[str, float]
    status: str


def _in_turn(engine: Engine, matrix: Matrix, problem: Problem, gaps: Mapping[str, float]) -> _Found:
    best: Answer | None = None
    turns, bounds, status = {}, {}, "optimal"
    for aim in AIMS:
        cost = matrix.cost(aim)
        answer = engine.minimise(cost, gap=gaps[aim])
        if best is None and not answer.found:
            idle = None if "infeasible" in answer.status else engine.idle(cost, [matrix.block(one) for one in DECIDED])
            if idle is None or not idle.found:
                raise _no_plan(answer.status, problem)
            answer = replace(idle, status=answer.status)
        best = answer if answer.found else best
        assert best is not None
        if answer.status != "optimal" and status == "optimal":
            status = answer.status
        turns[aim] = float(cost @ best.x)
        bounds[aim] = answer.bound if answer.found else -np.inf
        if aim != AIMS[-1]:
            engine.hold(cost, turns[aim] + slack(aim, turns[aim]))
    assert best is not None
    return _Found(best.x, turns, bounds, status)


def _in_whole_buckets(
    problem: Problem,
    before: _Found,
    plain: Matrix,
    gaps: Mapping[str, float],
    time_limit_s: float,
    most_nodes: int,
) -> Solution:
    """Return the plan in whole buckets, with the heaps of the plan without them; where none is found in time, say so."""
    matrix, columns = season_matrix(problem)
    set_aims(matrix, columns, problem)
    hold_whole_buckets(matrix, columns, problem, plain.read("spread", before.x))
    engine = Engine(matrix, time_limit_s=time_limit_s, most_nodes=most_nodes)
    for name in ("start", "sacks"):
        engine.fix(matrix.block(name), plain.read(name, before.x))
    loose = {aim: BUCKETS_GAP * gap for aim, gap in gaps.items()}
    found = _in_turn(engine, matrix, problem, loose)
    # the shortfall is held against what no plan can beat, in whole buckets or not
    bounds = found.bounds | {"shortfall": min(before.bounds["shortfall"], found.turns["shortfall"])}
    return _solution(matrix, problem, replace(found, bounds=bounds))


def _no_plan(status: str, problem: Problem) -> NoPlan:
    if "infeasible" in status:
        return explain_no_plan(problem)
    text = say(
        "The solver found no plan for {beds} beds, {materials} materials, {weeks} weeks in the time it has ({status}).",
        beds=len(problem.needs),
        materials=len(problem.raw),
        weeks=problem.calendar.weeks,
        status=status,
    )
    ways = [say("allow it more time"), say("plan fewer weeks, or with fewer scenarios"), say("leave out whole_buckets")]
    return NoPlan(text, remedies=ways)


def _solution(m: Matrix, p: Problem, found: _Found) -> Solution:
    names = ("take", "buy", "spread", "build", "start", "feed", "stock", "thrown", "sacks", "short_n", "short_pk", "surplus", "loss", "bare")  # fmt: skip
    blocks: dict[str, Any] = {name: np.maximum(m.read(name, found.x), 0.0) for name in names}
    blocks["buy"] = bought_late(p, blocks, stocks_of(p, blocks))
    blocks["stock"] = stocks_of(p, blocks)
    return Solution(
        **blocks,
        lacking=float(m.read("lacking", found.x)[0]),
        values={aim: float(m.cost(aim) @ found.x) for aim in AIMS},
        turns=found.turns,
        bounds=found.bounds,
        status=found.status,
    )
