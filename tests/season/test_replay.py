"""A plan played in seasons that may come: nothing appears or is lost, and what is broken is seen to be."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from loamery.season.outcome import MEASURES
from loamery.season.replay import FRESH, Replay, replay
from loamery.season.so_far import Standing
from loamery.season.years import draw_years
from tests.season.small_season import small

DRAWS = 6


@pytest.fixture(scope="module")
def played() -> Replay:
    one = small()
    return replay(one.prepared, one.problem, one.solution, draws=DRAWS)


def limit(played: Replay, key: str) -> np.ndarray:
    return next(one.broken for one in played.limits if one.key == key)


def test_matter_is_conserved_through_heaps_worms_and_beds(played: Replay) -> None:
    assert played.balance_error() < 1e-9
    for account in played.carried.book.values():
        stayed = sum(value for key, value in account.items() if key != "collected")
        np.testing.assert_allclose(stayed, account["collected"], rtol=1e-9)
        assert all((value >= -1e-6).all() for value in account.values())
    assert played.soil is not None
    assert played.soil.gap < 1e-9


def test_a_leak_would_be_seen(played: Replay) -> None:
    book = {key: {**account, "lost": account["lost"] * 0.99} for key, account in played.carried.book.items()}
    assert replace(played, carried=replace(played.carried, book=book)).balance_error() > 1e-6


def test_every_figure_is_told_and_finite(played: Replay) -> None:
    for one in MEASURES:
        values = played.outcome.figures[one.key]
        assert values.shape == (DRAWS,)
        assert np.isfinite(values).all()
    assert (played.outcome.worth <= 0.0).all()
    assert ((played.outcome.by_bed >= 0) & (played.outcome.by_bed <= 1.01)).all()


def test_seasons_are_not_those_the_plan_was_made_for() -> None:
    one = small()
    years = draw_years(one.prepared, one.problem.calendar, 200, one.prepared.garden.info.seed + FRESH)
    assert not np.allclose(years.compositions["grass"].draws("N"), one.prepared.compositions["grass"].draws("N"))
    again = draw_years(one.prepared, one.problem.calendar, 200, one.prepared.garden.info.seed + FRESH)
    np.testing.assert_array_equal(years.compositions["grass"].draws("N"), again.compositions["grass"].draws("N"))
    np.testing.assert_array_equal(years.temp_c, again.temp_c)


def test_the_same_seasons_play_the_same() -> None:
    one = small()
    years = draw_years(one.prepared, one.problem.calendar, 60, 5)
    first, second = (replay(one.prepared, one.problem, one.solution, years=years, simulate=False) for _ in range(2))
    np.testing.assert_array_equal(first.outcome.worth, second.outcome.worth)


def test_ten_times_as_much_breaks_ceilings_and_more_is_used_than_there_is() -> None:
    one = small()
    more = replace(one.solution, spread=10.0 * one.solution.spread)
    years = draw_years(one.prepared, one.problem.calendar, 40, 5)
    found = replay(one.prepared, one.problem, more, years=years, simulate=False)
    assert limit(found, "supply").mean() > 0.75
    assert limit(found, "ceiling_P").any()
    plain = replay(one.prepared, one.problem, one.solution, years=years, simulate=False)
    assert not limit(plain, "supply").any()


def test_no_mulch_is_laid_deeper_than_it_may_be() -> None:
    one = small()
    row = next(at for at, each in enumerate(one.problem.spreads) if each.name == "chips / mulch")
    spread = np.zeros_like(one.solution.spread)
    spread[row, 0, 8] = 400.0
    years = draw_years(one.prepared, one.problem.calendar, 40, 5)
    found = replay(one.prepared, one.problem, replace(one.solution, spread=spread), years=years, simulate=False)
    assert not limit(found, "layer").any()
    assert found.beds[0].layers_m[row].max() <= one.problem.spreads[row].depth_limit_m * (1 + 1e-9)
    assert (found.outcome.figures["left_over"] > 0.1).all()


def test_compost_that_is_not_ready_is_missed_and_made_up_later() -> None:
    one = small()
    problem, weeks = one.problem, one.problem.calendar.weeks
    row = next(at for at, each in enumerate(problem.spreads) if each.stuff.id == "castings" and each.use == "mulch")
    feed, spread = np.zeros_like(one.solution.feed), np.zeros_like(one.solution.spread)
    feed[3, 0, 0] = 8.0
    open_weeks = np.flatnonzero(problem.allowed[row, 1])
    spread[row, 1, open_weeks[0]] = 1.0
    years = draw_years(one.prepared, problem.calendar, 20, 5)
    decision = replace(one.solution, feed=feed, spread=spread, build=np.zeros_like(one.solution.build))
    found = replay(one.prepared, problem, decision, years=years, simulate=False)
    lead = int(np.argmax(problem.castings_ready[0]))
    assert open_weeks[0] < lead < weeks
    assert limit(found, "in_time").all()
    laid = next(each for each in found.carried.laid if each.row == row)
    assert (laid.held["mass"][:, :lead] == 0.0).all()
    assert (laid.held["mass"].sum(axis=1) > 0.0).all()


def test_a_full_heap_takes_no_more() -> None:
    one = small()
    build = np.zeros_like(one.solution.build)
    build[0, 0, 0] = 5000.0
    decision = replace(one.solution, build=build, start=(build > 0).astype(float))
    years = draw_years(one.prepared, one.problem.calendar, 20, 5)
    found = replay(one.prepared, one.problem, decision, years=years, simulate=False)
    assert (found.fates[0].volume_m3 <= 1.2 * (1 + 1e-9)).all()
    assert (found.fates[0].fits < 1.0).all()
    assert found.balance_error() < 1e-9


def test_heaps_are_run_once_for_plans_that_share_them() -> None:
    one = small()
    if not one.plan.batches:
        pytest.skip("the small plan builds no heap")
    years = draw_years(one.prepared, one.problem.calendar, 3, 5)
    replay(one.prepared, one.problem, one.solution, years=years)
    kept = dict(years.fates)
    replay(one.prepared, one.problem, one.solution, years=years)
    assert {key: years.fates[key] is value for key, value in kept.items()} == dict.fromkeys(kept, True)


def test_compost_of_a_heap_that_stood_before_the_season_is_there_to_spread() -> None:
    one = small()
    problem, compost = one.problem, one.problem.composts[0]
    standing = Standing(one.plan.batches[0] if one.plan.batches else None, compost, 30.0, 0)  # type: ignore[arg-type]
    row = next(at for at, each in enumerate(problem.spreads) if each.stuff.id == compost.id and each.use == "mulch")
    week = int(np.flatnonzero(problem.allowed[row, 0])[0])
    spread = np.zeros_like(one.solution.spread)
    spread[row, 0, week] = 20.0
    decision = replace(
        one.solution, spread=spread, build=np.zeros_like(one.solution.build), feed=np.zeros_like(one.solution.feed)
    )
    years = draw_years(one.prepared, problem.calendar, 20, 5)
    found = replay(one.prepared, replace(problem, standing=(standing,)), decision, years=years, simulate=False)
    assert not limit(found, "in_time").any()
    assert found.balance_error() < 1e-9
    assert (found.carried.book["dry"]["applied"] > 0.0).all()
