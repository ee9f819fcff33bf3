"""A worm bed run whole by the heap model: feedings laid on bedding, heat and salt that gather, castings taken out, the search."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.heap.matter import Part, stuff_draws
from loamery.heap.model import simulate
from loamery.heap.spec import Stuff
from loamery.heap.weather import Weather
from loamery.lab.combine import compose
from loamery.reference import coefficient
from loamery.season.worm_bed import BedRun, WormBed, run_bed, sheltered, weekly_air, worm_bed
from loamery.season.worm_course import LIMITS, Asked, _nearness, bed_course, greatest_feedings
from loamery.season.worm_feeding import Feeding, feeding_limit
from loamery.season.worm_single import DEPTHS_M, one_feeding
from loamery.worms.feeding import Feed

DRAWS, WEEKS = 6, 10


@cache
def part(kind: str) -> Part:
    return Part(compose(kind, ()), 1.0)


@cache
def stuff(kind: str) -> tuple[Stuff, ...]:
    return tuple(stuff_draws([part(kind)], DRAWS, 1))


def bed_of(kind: str, salt_s_m: float | None = None) -> WormBed:
    given = stuff(kind)
    salt = None if salt_s_m is None else np.full(DRAWS, salt_s_m)
    feed = Feed("x", np.array([one.moisture for one in given]), np.zeros(DRAWS), salt)
    return worm_bed(feed, given, 1)


def fed(bed: WormBed, kg: float, weeks: int = WEEKS, temp_c: float = 20.0, first: bool = False) -> BedRun:
    days = np.arange(weeks) * 7.0
    amounts = np.full((DRAWS, weeks), kg)
    if first:
        amounts[:, 1:] = 0.0
    return run_bed(bed, [weekly_air([temp_c] * weeks)] * DRAWS, days, amounts, np.zeros((DRAWS, weeks)))


def asked(kind: str, worms_kg: float, *, salt_s_m: float | None = None, temp_c: float = 20.0, sour: int = 0) -> Asked:
    density = np.array([one.bulk_density_kg_m3 for one in stuff(kind)])
    dry = float(1.0 - np.median([one.moisture for one in stuff(kind)]))
    return Asked(
        bed_of(kind, salt_s_m), [weekly_air([temp_c] * WEEKS)] * DRAWS, WEEKS, 7.0, worms_kg, 0.05 * density,
        np.arange(DRAWS) < sour, dry, 1,
    )  # fmt: skip


def test_what_is_fed_is_accounted_for_though_it_differs_from_the_bedding() -> None:
    bed, air = bed_of("manure-horse-straw"), weekly_air([20.0] * WEEKS)
    spec = bed.spec(0, air, [(0.0, 5.0), (7.0, 4.0), (21.0, 6.0)], [(8.0, 2.0)])
    run = simulate(spec, 40.0, 10)
    for one in run.balances().values():
        assert one.error < 1e-6, one
    given = 15.0 * bed.wetted[0] * (1.0 - bed.feed[0].moisture)
    assert run.balances()["matter"].came["fed"] == pytest.approx(given, rel=1e-9)


def test_feed_and_heap_of_different_ash_are_refused() -> None:
    spec = bed_of("manure-horse-straw").spec(0, weekly_air([20.0]))
    with pytest.raises(InputError, match="ash"):
        replace(spec, feed=replace(spec.stuff, ash_dm=spec.stuff.ash_dm + 0.1))


def test_a_dry_feed_is_wetted_and_a_wet_one_is_not() -> None:
    leaves, grass = bed_of("leaves-mixed"), bed_of("food-scraps")
    assert min(one.moisture for one in leaves.feed) >= coefficient("worm_moisture_low").value
    dry = 1.0 - np.array([one.moisture for one in stuff("leaves-mixed")])
    assert leaves.wetted * (1.0 - np.array([one.moisture for one in leaves.feed])) == pytest.approx(dry, rel=1e-12)
    assert np.median(grass.wetted) == pytest.approx(1.0)


def test_heat_gathers_over_feedings_that_one_alone_does_not_show() -> None:
    bed = bed_of("coffee-spent")
    once, weekly, never = fed(bed, 8.0, first=True), fed(bed, 8.0), fed(bed, 0.0)
    late = weekly.day > 7.0 * (WEEKS - 2)
    for run in (once, never):
        assert np.median(run.mean_c[:, late].max(axis=1)) < 22.0
    assert np.median(weekly.mean_c[:, late].max(axis=1)) > 24.0
    assert np.median(once.warmest_c.max(axis=1)) < np.median(weekly.warmest_c.max(axis=1))


def test_salt_stays_until_castings_are_taken_out() -> None:
    stay = round(coefficient("worm_lead_weeks").value)
    run = fed(bed_of("manure-horse-straw", 0.5), 5.0, weeks=stay + 4)
    salt = np.median(run.salt_ds_m, axis=0)
    at_end, after = np.searchsorted(run.day, [7.0 * stay, 7.0 * stay + 3.0])
    assert salt[at_end] > 1.5 > 0.6 > salt[after] > 0.0
    # the first feeding by hand: 5 kg at 5 dS/m, wetted, into 120 kg of bedding
    assert salt[1] == pytest.approx(5.0 * 5.0 / 125.0, rel=0.02)
    assert np.all(fed(bed_of("manure-horse-straw"), 5.0, weeks=2).salt_ds_m == 0.0)


def test_a_thick_layer_is_warmer_than_a_thin_one_and_passes_what_worms_stand() -> None:
    bed = bed_of("coffee-spent")
    found = one_feeding(bed, np.array([one.bulk_density_kg_m3 for one in stuff("coffee-spent")]), 20.0)
    median = found.band("warmest_c")[1]
    assert (np.diff(median) > -0.2).all()
    assert median[0] < 25.0 < coefficient("worm_temp_max").value < median[-1]
    assert 0.01 < np.median(found.room_m()) < DEPTHS_M[-1]


def test_the_search_ends_just_inside_the_range_of_the_worms() -> None:
    question = asked("coffee-spent", 12.0)  # so many worms that appetite does not bind
    found = greatest_feedings(question)
    unfed = question.run(np.zeros(found.kg.shape), found.water_kg)
    near = _nearness(question.run(found.kg, found.water_kg), unfed)
    assert (near > 1.05).any(axis=0).mean() < 0.1
    more = _nearness(question.run(1.6 * found.kg, found.water_kg), unfed)
    assert (more > 1.0).any(axis=0).mean() > 0.3
    assert LIMITS.index("heat") in found.limit
    course, _ = bed_course(question, found, 0.5)
    assert np.all(course.planned_kg <= course.feed_kg[2] + 1e-9)
    assert course.inside.min() >= 0.8 - 1.0 / DRAWS
    assert np.all(np.abs(course.daily_moisture[1] - coefficient("worm_bed_moisture").value) < 0.03)


def test_salt_sets_the_limit_of_a_salty_feed() -> None:
    question = asked("manure-horse-straw", 6.0, salt_s_m=2.0)
    found = greatest_feedings(question)
    assert LIMITS.index("salt") in found.limit
    course, _ = bed_course(question, found, 1.0)
    assert course.salt_ds_m[1].max() <= coefficient("worm_ec_max").value + 1e-9
    assert course.feed_kg[1].sum() < 0.7 * WEEKS * 0.5 * 6.0 * 7.0


def test_few_sour_draws_do_not_stop_the_plan_and_many_do() -> None:
    few, many = asked("manure-horse-straw", 1.0, sour=1), asked("manure-horse-straw", 1.0, sour=4)
    assert bed_course(few, greatest_feedings(few), 1.0)[0].planned_kg.min() > 0.0
    assert bed_course(many, greatest_feedings(many), 1.0)[0].planned_kg.max() == 0.0


@cache
def feeding(kind: str, temps: tuple[float, ...], worms_kg: float, area_m2: float = 0.5) -> Feeding:
    return feeding_limit("box", [part(kind)], area_m2, worms_kg, [weekly_air(temps)], draws=DRAWS)


def test_feeding_follows_the_weeks_of_a_bed_outdoors() -> None:
    found = feeding("manure-horse-straw", (4.0,) * 4 + (18.0,) * 6, 0.8)
    assert found.per_feeding.median == pytest.approx(0.0, abs=1e-6)  # too cold now
    assert found.weekly_kg[0] < 1e-6 < 0.5 < found.weekly_kg[-1]
    assert found.course.limit[0] == found.course.limit[-1] == "appetite"
    assert found.forecast.at("worms_kg", 4).median == pytest.approx(0.8, rel=0.05)  # they rest, they do not starve
    assert found.forecast.at("worms_kg", 10).median > 0.79
    assert found.single.bed_c == pytest.approx(18.0)


def test_a_bed_too_hot_takes_nothing() -> None:
    assert feeding("manure-horse-straw", (32.0,) * 2, 1.0).per_feeding.high == pytest.approx(0.0, abs=1e-9)


def test_unweighed_worms_get_the_usual_stocking_and_the_answer_is_for_the_whole_bed() -> None:
    small, large = feeding("manure-horse-straw", (18.0,) * 2, 0.0), feeding("manure-horse-straw", (18.0,) * 2, 0.0, 2.0)
    assert small.stocked
    assert small.worms_kg == pytest.approx(0.5 * coefficient("worm_stocking").value)
    assert small.weekly_kg[0] == pytest.approx(0.5 * small.worms_kg * 7.0, rel=1e-6)
    assert large.weekly_kg == pytest.approx([4.0 * one for one in small.weekly_kg], rel=1e-9)
    assert large.forecast.castings_kg == pytest.approx(4.0 * small.forecast.castings_kg, rel=1e-9)


def test_the_answer_is_ready_for_json() -> None:
    told = feeding("manure-horse-straw", (18.0,) * 2, 0.0).as_dict()
    assert [one["week"] for one in told["course"]] == [0, 1]  # type: ignore[attr-defined]
    assert len(told["heat"]) == len(DEPTHS_M)  # type: ignore[arg-type]


def test_less_than_a_week_of_air_is_refused() -> None:
    with pytest.raises(InputError, match="week"):
        feeding_limit(
            "box", [part("manure-horse-straw")], 0.5, 1.0, [sheltered(Weather.constant(18.0, 3))], draws=DRAWS
        )
