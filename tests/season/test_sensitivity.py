"""What moves the outcome of a plan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from loamery.season.replay import replay
from loamery.season.sensitivity import inputs_of, movers
from loamery.season.years import draw_years
from tests.season.small_season import small


def test_an_input_that_makes_the_outcome_is_found_first() -> None:
    one = small()
    years = draw_years(one.prepared, one.problem.calendar, 200, 9)
    played = replay(one.prepared, one.problem, one.solution, years=years, simulate=False)
    planted = years.compositions["chips"].draws("K")
    made = replace(played.outcome, figures={**played.outcome.figures, "short_n": np.exp(-planted)})
    found = movers(replace(played, outcome=made))
    assert found[0].name == "Chips (invented): potassium"
    assert found[0].rank < -0.99
    assert found[0].told
    assert found[0].high < 0.0
    assert sum(each.told for each in found) <= max(0.2 * len(found), 2)


def test_a_figure_that_never_changes_has_no_movers() -> None:
    one = small()
    years = draw_years(one.prepared, one.problem.calendar, 60, 9)
    played = replay(one.prepared, one.problem, one.solution, years=years, simulate=False)
    assert movers(played, "hours") == []


def test_inputs_are_those_of_what_is_used() -> None:
    one = small()
    years = draw_years(one.prepared, one.problem.calendar, 20, 9)
    names = {name for name, _ in inputs_of(one.problem, years, {"grass"})}
    assert "Grass (invented): nitrogen" in names
    assert not any(name.startswith("Leaves") for name in names)
    assert {"warmth of the season", "rain of the season"} <= names
