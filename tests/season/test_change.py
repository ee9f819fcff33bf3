"""A plan changed by hand: untouched it stands as the solver left it; what moves, moves as the programme would reckon it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.season import plan_season
from loamery.season.change import Move, changed
from loamery.season.plan import Action, SeasonPlan
from tests.season import gardens
from tests.season.conftest import Solved


def _first(plan: SeasonPlan, task: str = "mulch") -> tuple[int, Action]:
    return max(
        ((index, one) for index, one in enumerate(plan.actions) if one.task == task), key=lambda item: item[1].kg
    )


@pytest.fixture(scope="module")
def plan(demo: Solved) -> SeasonPlan:
    return demo.plan


def test_an_unchanged_plan_stands_as_it_was_solved(demo: Solved, plan: SeasonPlan) -> None:
    """Chores leave out amounts below half a kilogram, so the two may differ by that much and no more."""
    assert plan.levers is not None
    found = changed(plan, plan.levers, [])
    assert found.findings == ()
    assert found.before == found.after
    assert found.hours == pytest.approx(plan.hours)
    for index, (state, bed) in enumerate(zip(found.after, plan.beds, strict=True)):
        left_out = 0.5 * (demo.solution.spread[:, index] > 0).sum() / bed.need_data.bed.area_m2
        assert state.supplied["N"] == pytest.approx(bed.supply_n[-1], abs=0.3 * left_out + 0.01), bed.name
        for key in "PK":
            most = 0.1 * bed.supplied[key].median + 0.05 * left_out + 0.05  # medians of sums are not sums of medians
            assert state.supplied[key] == pytest.approx(bed.supplied[key].median, abs=most), (bed.name, key)
        for one in bed.ceilings:
            assert state.ceilings[one.ceiling.key] == pytest.approx(one.share, abs=0.1)
        assert state.covered == pytest.approx(bed.cover_share, abs=0.05)


def test_twice_the_amount_brings_twice_the_phosphorus(plan: SeasonPlan) -> None:
    assert plan.levers is not None
    index, one = _first(plan)
    way = plan.levers.way(one.stuff, one.task)
    assert way is not None
    found = changed(plan, plan.levers, [Move(index, 2 * one.kg, one.week)])
    at = next(number for number, bed in enumerate(plan.beds) if bed.id == one.target)
    area = plan.beds[at].need_data.bed.area_m2
    for key, per_kg in (("P", way.p_g_kg), ("K", way.k_g_kg), ("N", float(way.n_g_kg[at, one.week, -1]))):
        gain = found.after[at].supplied[key] - found.before[at].supplied[key]
        assert gain == pytest.approx(per_kg * one.kg / area, rel=1e-9)
    others = [number for number in range(len(plan.beds)) if number != at]
    assert [found.after[number] for number in others] == [found.before[number] for number in others]
    assert sum(found.hours) - sum(plan.hours) == pytest.approx(plan.levers.hours_per_kg * one.kg)


def test_spread_later_it_gives_less_nitrogen_and_the_same_potassium(plan: SeasonPlan) -> None:
    """Of what releases nitrogen; something that takes it up for a while does the reverse."""
    assert plan.levers is not None
    beds = [bed.id for bed in plan.beds]

    def released(one: Action) -> float:
        way = plan.levers.way(one.stuff, one.task) if plan.levers else None
        return float(one.kg * way.n_g_kg[beds.index(one.target), one.week, -1]) if way else 0.0

    index, one = max(enumerate(plan.actions), key=lambda item: released(item[1]))
    later = plan.calendar.weeks - 1
    found = changed(plan, plan.levers, [Move(index, one.kg, later)])
    at = next(number for number, bed in enumerate(plan.beds) if bed.id == one.target)
    before, after = found.before[at], found.after[at]
    assert after.supplied["N"] < before.supplied["N"]
    assert after.supplied["K"] == pytest.approx(before.supplied["K"])
    assert found.actions[index].day == plan.calendar.monday(later)


def test_too_much_is_told(plan: SeasonPlan) -> None:
    assert plan.levers is not None
    index, one = _first(plan)
    codes = {each.code for each in changed(plan, plan.levers, [Move(index, 60 * one.kg, one.week)]).findings}
    assert {"change_over_ceiling", "change_asks_more", "change_too_deep"} <= codes
    most = replace(plan.levers, hours_most=max(plan.hours) + 0.01)
    codes = {each.code for each in changed(plan, most, [Move(index, 60 * one.kg, int(np.argmax(plan.hours)))]).findings}
    assert "change_too_much_work" in codes


def test_more_than_soil_takes_is_told() -> None:
    """Compost only, which may only be worked in: what is spread beyond a season's rate is named."""
    given = plan_season(
        gardens.garden(
            (gardens.material("compost", "compost-yard", "dig_in"),),
            (gardens.supply("compost", 40.0),),
            (gardens.planting("bed", "tomato"),),
        )
    )
    assert given.levers is not None
    index, one = _first(given, "dig_in")
    codes = {each.code for each in changed(given, given.levers, [Move(index, 90 * one.kg, one.week)]).findings}
    assert "change_too_much_dug_in" in codes


def test_an_untimely_week_is_told(plan: SeasonPlan) -> None:
    assert plan.levers is not None
    index, one = _first(plan)
    way = plan.levers.way(one.stuff, one.task)
    assert way is not None
    barred = int(np.flatnonzero(~way.allowed[one.target])[-1])
    found = changed(plan, plan.levers, [Move(index, one.kg, barred)]).findings
    assert "change_untimely" in {each.code for each in found}
    nothing = changed(plan, plan.levers, [Move(index, 0.0, barred)]).findings
    assert "change_untimely" not in {each.code for each in nothing}


@pytest.mark.parametrize(("kg", "week"), [(-1.0, 0), (float("nan"), 0), (float("inf"), 0), (1.0, 99), (1.0, -1)])
def test_nonsense_is_refused(plan: SeasonPlan, kg: float, week: int) -> None:
    assert plan.levers is not None
    with pytest.raises(InputError, match="change of action"):
        changed(plan, plan.levers, [Move(_first(plan)[0], kg, week)])
    fetch = next(index for index, one in enumerate(plan.actions) if one.task == "collect")
    with pytest.raises(InputError, match="change of action"):
        changed(plan, plan.levers, [Move(fetch, 1.0, 0)])
