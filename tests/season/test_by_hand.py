"""The rules of the hand are played as they are written."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.reference import coefficient
from loamery.season.by_hand import play_by_hand
from loamery.season.make import solve_prepared
from loamery.season.mulch import cover_wanted
from loamery.season.on_beds import ceiling_contents
from loamery.season.prepare import prepare
from loamery.season.replay import replay
from loamery.season.years import draw_years
from tests.season.small_season import small, small_garden


def test_a_heap_is_built_of_equal_weights() -> None:
    one = small()
    problem, decision = play_by_hand(one.prepared, one.problem)
    assert problem.recipes
    green = {"grass", "trimmings"}
    for recipe in problem.recipes:
        shares = dict(recipe.shares)
        assert sum(share for key, share in shares.items() if key in green) == pytest.approx(0.5, abs=0.02)
    volume = decision.build.sum(axis=(1, 2)) * [(1 + each.water_kg_kg) / each.density_kg_m3 for each in problem.recipes]
    assert (volume >= coefficient("heap_min_volume").value * 0.98).all()


def test_no_more_is_fetched_than_is_offered_and_all_of_it_is_used() -> None:
    one = small()
    problem, decision = play_by_hand(one.prepared, one.problem)
    assert (decision.take <= problem.lot_kg + 1e-9).all()
    years = draw_years(one.prepared, problem.calendar, 20, 5)
    found = replay(one.prepared, problem, decision, years=years, simulate=False)
    assert found.balance_error() < 1e-9
    assert not next(each.broken for each in found.limits if each.key == "supply").any()


def test_mulch_waits_until_the_crop_stands() -> None:
    one = small()
    problem, decision = play_by_hand(one.prepared, one.problem)
    wanted = cover_wanted(problem)
    for row, spread in enumerate(problem.spreads):
        if spread.use == "mulch":
            assert (decision.spread[row][wanted == 0] == 0.0).all()
        assert (decision.spread[row][~problem.allowed[row]] == 0.0).all()


def test_compost_goes_down_at_the_rate_of_the_label() -> None:
    one = small()
    problem, decision = play_by_hand(one.prepared, one.problem)
    row = next(at for at, each in enumerate(problem.spreads) if each.name == "compost / dig_in")
    stuff = problem.spreads[row].stuff
    need = problem.needs[0]
    asked = float(need.n_demand_kg_m2[-1] - need.n_soil_kg_m2[-1])
    rate = asked / (float(np.median(stuff.nitrogen)) * coefficient("hand_compost_n_share").value)
    rate = min(rate, coefficient("compost_rate_max").value)
    given = float(decision.spread[row, 0].sum()) / need.bed.area_m2
    offered = float(problem.lot_kg[problem.lot_material == 4].sum()) / need.bed.area_m2
    assert given == pytest.approx(min(rate, offered), rel=0.35)
    assert given > 0.0


def test_within_limits_no_bed_gets_more_than_its_ceilings_take() -> None:
    one = small()
    problem, decision = play_by_hand(one.prepared, one.problem, within_limits=True)
    for key in ("P", "K", "salt"):
        per_kg = ceiling_contents(problem, key)
        for bed, need in enumerate(problem.needs):
            load = float(per_kg @ decision.spread[:, bed].sum(axis=1)) / need.bed.area_m2
            assert load <= need.ceilings[key].limit_kg_m2 * (1 + 1e-9)


def test_hours_that_are_not_there_are_not_worked() -> None:
    garden = small_garden()
    lazy = garden.model_copy(update={"info": garden.info.model_copy(update={"hours_per_week": 0.0})})
    prepared = prepare(lazy)
    one = solve_prepared(prepared, scenarios=1)
    _, decision = play_by_hand(prepared, one.problem)
    assert decision.build.sum() == 0.0
    assert decision.spread.sum() == pytest.approx(0.0, abs=1e-6)


def test_a_garden_without_heaps_worms_or_crops_is_played_too() -> None:
    prepared = prepare(small_garden(heaps=(), worm_beds=(), plantings=()))
    one = small()
    needs = tuple(each for each in one.problem.needs)
    assert needs
    solved = solve_prepared(prepare(small_garden(heaps=(), worm_beds=())), scenarios=1)
    problem, decision = play_by_hand(solved.prepared, solved.problem)
    assert not problem.recipes
    assert decision.build.size == 0
    assert prepared.garden.plantings == ()
