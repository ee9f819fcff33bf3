"""Whole buckets where they are asked for: amounts a bucket measures, close to what is best without them."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.garden import Garden
from loamery.season.decision import AIMS, Solution
from loamery.season.problem import Problem, bucket_kg
from loamery.season.solve import solve_season
from tests.season.independent import independent
from tests.season.test_problem import problem_of
from tests.season.test_programme import EXACT, random_garden

SEEDS = (0, 3, 9, 11)


def solved(seed: int, *uses: str) -> tuple[Problem, Solution]:
    one: Garden = random_garden(seed)
    info = one.info.model_copy(update={"whole_buckets": uses, "bucket_l": 5.0, "hours_per_week": None})
    problem = problem_of(one.model_copy(update={"info": info}))
    return problem, solve_season(problem, gaps=EXACT)


@pytest.mark.parametrize("seed", SEEDS)
def test_amounts_are_whole_buckets_of_the_uses_asked(seed: int) -> None:
    problem, solution = solved(seed, "mulch")
    for row, spread in enumerate(problem.spreads):
        buckets = solution.spread[row] / bucket_kg(spread.stuff, problem.garden)
        if spread.use == "mulch":
            assert buckets == pytest.approx(np.round(buckets), abs=1e-5), spread.name


@pytest.mark.parametrize("seed", SEEDS)
def test_whole_buckets_are_never_better_and_say_how_much_worse_they_may_be(seed: int) -> None:
    problem, solution = solved(seed, "mulch", "dig_in")
    best = independent(problem)["shortfall"]
    assert solution.bound == pytest.approx(best, rel=1e-6, abs=1e-6)
    assert solution.turns["shortfall"] >= best - 1e-7
    assert solution.gap == pytest.approx(solution.turns["shortfall"] - best, abs=1e-6)
    assert set(solution.gaps) == set(AIMS)


def test_some_garden_has_something_to_round() -> None:
    assert any(solved(seed, "mulch", "dig_in")[1].spread.sum() > 1 for seed in SEEDS)
