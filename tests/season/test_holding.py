"""Amounts fixed by hand: the plan keeps them to the gram and is solved around them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from loamery.errors import NoPlan
from loamery.season.holding import Held, hold
from loamery.season.make import Solved, solve_prepared
from tests.season.small_season import small


def _laid(solved: Solved) -> tuple[Held, float]:
    """Return the greatest mulch of the plan as it would be fixed."""
    one = max((each for each in solved.plan.actions if each.task == "mulch"), key=lambda each: each.kg)
    return Held(one.stuff, one.stuff_name, "mulch", one.target, one.day, one.kg), one.kg


def _again(held: tuple[Held, ...]) -> Solved:
    return solve_prepared(small().prepared, recipes=small().problem.recipes, scenarios=4, held=held)


def _spread_kg(solved: Solved, one: Held) -> float:
    found = [
        each.kg
        for each in solved.plan.actions
        if (each.stuff, each.task, each.target, each.day) == (one.stuff, one.use, one.bed, one.day)
    ]
    return sum(found)


@pytest.mark.parametrize("share", [0.0, 0.5])
def test_a_fixed_amount_is_kept_and_the_rest_makes_up_for_it(share: float) -> None:
    one, kg = _laid(small())
    again = _again((replace(one, kg=share * kg),))
    assert _spread_kg(again, one) == pytest.approx(share * kg, abs=1e-3)
    # a plan that is free can only be as good or better
    assert again.solution.bound >= small().solution.bound - 1e-6
    assert again.solution.objective < small().solution.objective + 0.5


def test_more_than_there_is_has_no_plan_and_says_why() -> None:
    one, _kg = _laid(small())
    with pytest.raises(NoPlan, match="fixed by hand") as caught:
        _again((replace(one, kg=50_000.0),))
    assert caught.value.conflict[0] == "what donors give"
    assert any(remedy.startswith("let go of") for remedy in caught.value.remedies)


@pytest.mark.parametrize("lost", [{"bed": "gone"}, {"stuff_name": "another compost"}, {"day": date(2032, 1, 1)}])
def test_what_is_no_longer_there_is_told_and_not_held(lost: dict[str, object]) -> None:
    one, _kg = _laid(small())
    problem, told = hold(small().problem, (replace(one, **lost),))  # type: ignore[arg-type]
    assert problem.held is None
    assert [each.code for each in told] == ["hand_not_held"]


def test_a_week_that_is_past_is_left_to_the_records() -> None:
    one, _kg = _laid(small())
    late = replace(small().problem, so_far=replace(small().problem.so_far, week=small().plan.calendar.weeks - 1))
    problem, told = hold(late, (replace(one, day=small().plan.calendar.start + timedelta(7)),))
    assert (problem.held, told) == (None, ())


def test_the_problem_says_where_it_is_fixed() -> None:
    one, kg = _laid(small())
    problem, _told = hold(small().problem, (one,))
    assert problem.held is not None
    assert problem.fixed.sum() == 1
    assert np.nansum(problem.held) == pytest.approx(kg)
