"""Shadow prices against what really happens when a limit moves a little."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.season.duals import shadow_prices
from loamery.season.problem import Problem
from loamery.season.solve import solve_season
from tests.season.test_programme import EXACT, small_problem

STEP_KG = 1e-3
SEEDS = (21, 45, 46, 51, 68)
"""Gardens without heaps and sacks in which some donor's material runs out."""


def _more(problem: Problem, lot: int, week: int, kg: float) -> Problem:
    offered = problem.lot_kg.copy()
    offered[lot, week] += kg
    return replace(problem, lot_kg=offered)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_little_more_of_a_donor_s_material_is_worth_its_price(seed: int) -> None:
    """Prices are one-sided where the plan bends: the change lies between the price of less and of more."""
    problem = small_problem(seed)
    assert not problem.recipes and not problem.goods, "whole numbers would move too"
    solution = solve_season(problem, gaps=EXACT)
    prices = shadow_prices(problem, solution)
    assert prices.value == pytest.approx(solution.turns["shortfall"], rel=1e-6, abs=1e-7)
    worth = prices.columns["take"]
    lot, week = np.unravel_index(int(np.argmin(worth)), worth.shape)
    assert worth[lot, week] < -1e-5
    more = solve_season(_more(problem, lot, week, STEP_KG), gaps=EXACT).turns["shortfall"]
    less = solve_season(_more(problem, lot, week, -STEP_KG), gaps=EXACT).turns["shortfall"]
    here = solution.turns["shortfall"]
    assert (less - here) / STEP_KG >= -worth[lot, week] - 1e-6
    assert (here - more) / STEP_KG <= -worth[lot, week] + 1e-6


def test_rows_have_the_shape_of_what_they_hold() -> None:
    problem = small_problem(2)
    solution = solve_season(problem, gaps=EXACT)
    for aim in ("shortfall", "cost"):
        rows = shadow_prices(problem, solution, aim).rows
        assert rows["nitrogen"].shape == (problem.scenarios.count, len(problem.needs), len(problem.checks))
        assert rows["nitrogen"].min() >= -1e-9, "asking for more never helps"
        assert rows["ceiling_P"].max(initial=0.0) <= 1e-9 if "ceiling_P" in rows else True
