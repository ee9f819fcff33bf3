"""The forecast of a heap: bands, readiness, schedule, and what it refuses."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.heap import layout as at
from loamery.heap.climate import Normals
from loamery.heap.forecast import Forecast, forecast
from loamery.heap.matter import Part, fines_of, fullest_kg_m3, middle, stuff_draws
from loamery.heap.model import simulate
from loamery.heap.nutrients import foods_left
from loamery.heap.readiness import cardinal, oxygen_uptake, pools_left, ready_day, stability_limits
from loamery.heap.remedies import remedies
from loamery.heap.schedule import search_schedule
from tests.heap.gardenstuff import HOT, MILD, START, material, part, plan


@pytest.fixture(scope="module")
def told() -> Forecast:
    return forecast(plan(turn_days=(12.0,)), MILD, 60, 24)


def test_bands_are_in_order_and_nothing_is_not_a_number(told: Forecast) -> None:
    for value in (told.temp_c, told.o2_frac, told.moisture, *told.totals.values()):
        assert np.isfinite(value).all()
        assert (np.diff(value, axis=0) >= -1e-12).all()
    assert told.peak_c.low < told.peak_c.median < told.peak_c.high
    assert told.temp_c.shape == (3, told.day.size, told.depth_m.size)


def test_depth_runs_from_the_surface_to_the_middle(told: Forecast) -> None:
    radius = (3 * 1.5 / (2 * np.pi)) ** (1 / 3)
    assert (np.diff(told.depth_m) > 0).all()
    assert 0 < told.depth_m[0] < 0.01
    assert told.depth_m[-1] == pytest.approx(radius, rel=0.2)
    hot = told.run.temp_c.max(axis=0)[::-1]
    assert hot[-1] > hot[0] + 10  # the middle is warmer than the skin


def test_matter_and_nitrogen_only_go_down(told: Forecast) -> None:
    for key in ("dry_kg", "nitrogen_kg", "organic_kg"):
        assert (np.diff(told.totals[key], axis=1) <= 1e-9).all()
    assert 0.3 < told.kept("organic_kg").median < 1.0
    assert told.kept("nitrogen_kg").median > 0.5


def test_the_ensemble_is_seeded() -> None:
    one, two, other = (forecast(plan(), MILD, 20, 5, seed) for seed in (3, 3, 4))
    assert one.peak_c == two.peak_c
    assert one.peak_c != other.peak_c


def test_a_larger_and_insulated_heap_stays_hot_longer() -> None:
    small = forecast(plan(volume_m3=0.05), MILD, 40, 8)
    large = forecast(plan(volume_m3=2.0, shape="bin", shelter="insulated"), MILD, 40, 8)
    assert large.days_above_55.median > small.days_above_55.median
    assert large.share[0].median >= small.share[0].median


def test_ready_needs_both_cool_and_quiet_to_the_end() -> None:
    day = np.arange(0.0, 60.0)
    quiet, cool = np.where(day > 20, 100.0, 2000.0), np.where(day > 30, 2.0, 30.0)
    assert ready_day(day, cool, quiet) == 31.0
    assert ready_day(day, cool, np.full(60, 2000.0)) == float("inf")
    assert ready_day(day, np.where(day > 57, 0.0, 30.0), quiet) == float("inf")  # too short a time to tell
    assert stability_limits() == (400.0, 8.0)  # CCME 2005, recalled


def test_a_stalled_dry_heap_is_cool_but_not_ready() -> None:
    dry = (part("leaves-mixed", 20), part("grass-clippings", 80))
    spec = plan().spec(middle(dry), MILD.weather(START, 10))
    assert oxygen_uptake(spec, np.array([1.0]))[0] > stability_limits()[0]
    assert oxygen_uptake(spec, np.array([0.4]))[0] < oxygen_uptake(spec, np.array([0.9]))[0]


def test_pools_read_from_the_loss_are_those_of_the_run() -> None:
    spec = plan(turn_days=(10.0,)).spec(plan().middle, MILD.weather(START, 60))
    run = simulate(spec, 60, 14, every_days=1.0)
    whole = run.organic_kg.sum(axis=1)
    guessed = pools_left(spec, whole / whole[0])
    for row, guess, within in ((at.FAST, guessed[0], 0.03), (at.SLOW, guessed[1], 0.03), (at.RECAL, guessed[2], 0.03)):
        real = run.state(row).sum(axis=1) / whole[0]
        assert np.abs(real - guess).max() < within


def test_the_response_to_temperature_is_one_at_its_best() -> None:
    p = {"temp_min": 0.0, "temp_opt": 52.0, "temp_max": 69.0}
    assert cardinal(52.0, p) == pytest.approx(1.0, abs=1e-12)
    assert cardinal(0.0, p) == cardinal(70.0, p) == 0.0


def test_mixes_are_totals_over_totals() -> None:
    parts = (part("coffee-spent", 10.0), part("leaves-mixed", 10.0))
    mix, coffee, leaves = middle(parts), middle(parts[:1]), middle(parts[1:])
    dry = (10 * (1 - coffee.moisture), 10 * (1 - leaves.moisture))
    assert mix.moisture == pytest.approx(1 - sum(dry) / 20, rel=1e-6)
    assert mix.n_dm == pytest.approx((dry[0] * coffee.n_dm + dry[1] * leaves.n_dm) / sum(dry), rel=1e-6)
    # sizes join by surface (Sauter mean)
    assert 1 / mix.particle_m == pytest.approx(
        (dry[0] / coffee.particle_m + dry[1] / leaves.particle_m) / sum(dry), rel=1e-6
    )
    assert fines_of(parts[1:]) < fines_of(parts) < fines_of(parts[:1])
    watered = middle(parts, water_kg=10.0)
    assert watered.moisture == pytest.approx(1 - sum(dry) / 30, rel=1e-6)


def test_draws_never_fill_the_pores() -> None:
    for one in stuff_draws((part("brewers-grain", 5.0), part("coffee-spent", 5.0)), 100, water_kg=30.0):
        assert one.bulk_density_kg_m3 <= fullest_kg_m3(one.moisture, one.ash_dm) * (1 + 1e-12)


def test_weather_strays_about_the_normals() -> None:
    draws = Normals.constant(10.0, 60.0).draws(date(2027, 1, 1), 90, 200, 1)
    air = np.array([one.table[:-1, at.AIR_C].mean() for one in draws])
    rain = np.array([one.table[-1, at.RAIN_SUM] for one in draws])
    assert air.mean() == pytest.approx(10.0, abs=0.4)
    assert 1.2 < air.std() < 2.2
    assert rain.mean() == pytest.approx(60.0 * 90 / 30.4, rel=0.15)


def test_the_search_gains_and_keeps_what_was_planned() -> None:
    found = search_schedule(plan(), MILD, 45, goal="hygiene")
    assert found.after >= found.before
    assert found.after == pytest.approx(found.steps[-1].score if found.steps else found.before)
    assert all(0 < day < 45 for day in found.turn_days)
    kept = search_schedule(plan(turn_days=(5.0,)), MILD, 45, goal="speed")
    assert 5.0 in kept.turn_days


def test_a_dry_heap_is_told_to_be_watered() -> None:
    dry = plan(volume_m3=1.0)
    dry = type(dry)(
        (part("leaves-mixed", 60), part("straw-wheat", 20), part("grass-clippings", 25)),
        START,
        volume_m3=1.0,
        covered=True,
    )
    found = search_schedule(dry, MILD, 60, goal="speed")
    assert middle(dry.parts).moisture < 0.55
    assert found.waterings
    assert found.after > found.before


@pytest.mark.parametrize(
    ("more", "told_of"),
    [
        ({"shape": "cone"}, "shape"),
        ({"shelter": "gold"}, "walls"),
        ({"volume_m3": 0.0}, "volume"),
        ({"water_kg": 5000.0}, "moisture"),
        ({"start_temp_c": 300.0}, "temperature"),
    ],
)
def test_an_impossible_heap_is_refused(more: dict[str, object], told_of: str) -> None:
    with pytest.raises(InputError, match=told_of):
        forecast(plan(**more), MILD, 20, 3)


@pytest.mark.parametrize(("days", "draws"), [(1, 10), (5000, 10), (30, 2), (30, 10_000)])
def test_impossible_lengths_and_numbers_of_runs_are_refused(days: int, draws: int) -> None:
    with pytest.raises(InputError):
        forecast(plan(), MILD, days, draws)


def test_nothing_to_build_of_is_refused() -> None:
    for parts in ((), (Part(material("leaves-mixed"), -1.0),), (Part(material("leaves-mixed"), float("nan")),)):
        with pytest.raises(InputError):
            middle(parts)
    with pytest.raises(InputError, match="goal"):
        search_schedule(plan(), MILD, 20, goal="glory")
    assert HOT


def test_insulation_brings_more_of_a_bin_through_the_heat() -> None:
    walled = forecast(plan(volume_m3=1.0, shape="bin"), MILD, 40, 8)
    tried = {one.change: one for one in remedies(walled, MILD)}
    three_days = next(i for i, one in enumerate(walled.hygiene) if one.rule.hold_days == 3.0)
    assert next(iter(tried)) == "as planned"
    assert tried["insulate walls and top"].share[three_days].median > tried["as planned"].share[three_days].median + 0.1
    assert any("turn it 5 times" in change for change in tried)


def test_what_is_left_of_the_plant_food(told: Forecast) -> None:
    foods = {one.key: one for one in foods_left(told)}
    assert set(foods) == {"N", "P", "K"}
    assert foods["N"].end == told.total("nitrogen_kg", "kg")
    # potassium: 7 % of an open heap is washed out (heap_k_loss), none of a covered one
    assert foods["K"].end.median / foods["K"].start.median == pytest.approx(0.93, abs=0.02)
    covered = {one.key: one for one in foods_left(forecast(plan(covered=True), MILD, 10, 3))}
    assert covered["K"].end == covered["K"].start
    # 1.5 m3 of the mix: phosphorus by hand from the medians
    held = sum(one.kg * (1.0 - one.composition.median("moisture")) * one.composition.median("P") for one in HOT)
    by_hand = held * 1.5 * plan().middle.bulk_density_kg_m3 / sum(one.kg for one in HOT)
    assert foods["P"].start.median == pytest.approx(by_hand, rel=0.15)
