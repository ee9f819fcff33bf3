"""What a bed stands in: weather, soil, crops, water, warmth, and the draws of the coefficients."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from loamery.bed.crop import bare, crops, removed_bases
from loamery.bed.mineral import ammonia_share, mineral_day, reaction_factor, surface_ammonium_day, wet_factor
from loamery.bed.parameters import bed_parameters
from loamery.bed.place import buffer_capacity, place_of, places_of, textures
from loamery.bed.soil import SoilTest
from loamery.bed.warm import follow, moisture_factor, warmth_factor
from loamery.bed.water import bucket_day, leached_share
from loamery.bed.weather import daily_weather, normal_weather
from loamery.errors import InputError, UnknownName
from loamery.garden.model import Bed, Planting, WeatherDay
from tests.bed.beds import RAIN, START, TEMPS, numbers, soil, tomatoes, weather


def test_rain_of_normals_falls_on_some_days_and_adds_up() -> None:
    one = normal_weather(TEMPS, RAIN, START, 182)
    assert 0.2 < float((one.rain_mm > 0).mean()) < 0.5
    assert float(one.rain_mm.sum()) == pytest.approx(182 * np.mean(RAIN[3:9]) * 12 / 365.25, rel=0.05)
    assert one.weeks == 26 and one.weekly_temp_c().shape == (26, 1)


def test_draws_of_weather_differ_and_measured_days_hold_in_all() -> None:
    day = WeatherDay(day=date(2027, 4, 6), min_temp_c=1.0, max_temp_c=9.0, rain_mm=33.0)
    one = normal_weather(TEMPS, RAIN, START, 28, draws=4, measured=(day,))
    assert np.unique(one.temp_c[0]).size == 4
    assert np.all(one.rain_mm[1] == 33.0) and np.all(one.temp_c[1] == 5.0)


@pytest.mark.parametrize(
    ("temp", "rain", "told"),
    [([10.0, 99.0], [0.0, 0.0], "temperature of day 2"), ([10.0, 10.0], [0.0, -1.0], "rain of day 2"), ([10.0, 11.0], [1.0, 2.0, 3.0], "3 days of rain")],
)  # fmt: skip
def test_impossible_weather_is_refused(temp: list[float], rain: list[float], told: str) -> None:
    with pytest.raises(InputError, match=told):
        daily_weather(START, temp, rain)


def test_a_climate_without_twelve_months_is_refused() -> None:
    with pytest.raises(InputError, match="twelve of each"):
        normal_weather(TEMPS[:11], RAIN, START, 7)


def test_every_texture_has_figures_and_clay_holds_more() -> None:
    beds = [Bed.model_validate({"id": "b", "name": "b", "area_m2": 1, "texture": one}) for one in textures()]
    all_of_them = places_of([place_of(one, SoilTest("b", {})) for one in beds])
    assert all_of_them.beds == 7
    assert all_of_them.held_mm[-1] > all_of_them.held_mm[0]
    assert np.all(all_of_them.porosity > all_of_them.field_capacity)


def test_the_buffer_grows_with_carbon_and_clay_between_its_ends() -> None:
    assert float(buffer_capacity(0.03, 0.2)) > float(buffer_capacity(0.01, 0.2)) > 0.0
    assert float(buffer_capacity(0.0, 0.0)) == pytest.approx(0.01)
    assert float(buffer_capacity(0.5, 0.5)) == pytest.approx(0.12)


def test_crops_ask_by_the_course_of_their_planting() -> None:
    one = tomatoes()
    assert np.all(np.diff(one.nitrogen_kg_m2[0]) >= 0.0)
    assert one.nitrogen_kg_m2[0, 45] == 0.0  # not planted yet
    assert 0.0 < float(one.cover.max()) <= 1.0
    assert 0.3 < float(one.root_depth_m[0]) <= 0.6
    assert removed_bases("tomato") > 0.0
    assert float(bare(7).nitrogen_kg_m2.sum()) == 0.0


def test_an_unknown_crop_names_near_ones() -> None:
    planting = Planting(bed="b", crop="tomatoe", planted=START, harvested=date(2027, 8, 1))
    with pytest.raises(UnknownName, match="tomato"):
        crops([[planting]], START, 7)


def test_the_bucket_closes_and_a_watered_bed_never_dries_out() -> None:
    total, readily = np.array(100.0), np.array(40.0)
    day = bucket_day(50.0, 5.0, 6.0, total, readily, 1.0)
    assert float(day.depletion - 50.0) == pytest.approx(float(day.used + day.drained) - 5.0 - float(day.given))
    assert float(bucket_day(100.0, 0.0, 6.0, total, readily, 0.0).used) == 0.0
    assert float(leached_share(0.0, 80.0)) == 0.0 < float(leached_share(40.0, 80.0)) < 1.0


def test_mineral_nitrogen_of_a_day_is_conserved_and_never_negative() -> None:
    rng = np.random.default_rng(3)
    ammonium, nitrate, given, asked = rng.random((4, 1, 200)) * 0.01
    tied = rng.random((1, 200)) * (ammonium + nitrate + given)
    one = np.ones((1, 200))
    day = mineral_day(ammonium, nitrate, given, tied, asked, numbers(), one, one, 0.9 * one, 6.0 * one, 0.3 * one)
    out = day.ammonium + day.nitrate + tied + day.taken_ammonium + day.taken_nitrate + day.gas + day.leached
    assert out == pytest.approx(ammonium + nitrate + given, abs=1e-15)
    assert np.all(day.ammonium >= 0) and np.all(day.nitrate >= 0)


def test_factors_run_between_their_ends() -> None:
    assert float(reaction_factor(3.0)) == pytest.approx(0.1) and float(reaction_factor(7.5)) == 1.0
    assert float(wet_factor(0.5)) == 0.0 and float(wet_factor(1.0)) == 1.0
    assert float(ammonia_share(9.25, 25.0)) == pytest.approx(0.5, abs=0.01)
    assert float(warmth_factor(-1.0, 2.0)) == 0.0 and float(warmth_factor(25.0, 2.0)) == 1.0
    assert float(moisture_factor(0.6, 0.6)) == 1.0 and float(moisture_factor(1.0, 0.6)) == pytest.approx(0.2)
    assert float(follow(10.0, 20.0, 5.0)) == pytest.approx(10.0 + 10.0 * (1.0 - np.exp(-0.2)))


def test_ammonium_on_top_goes_up_in_warm_alkaline_stuff_and_down_with_rain() -> None:
    held = np.full((1, 1, 1), 1.0)
    hot = surface_ammonium_day(held, numbers(), np.array(8.5), np.array([25.0]), np.array([0.0]))
    wet = surface_ammonium_day(held, numbers(), np.array(7.0), np.array([10.0]), np.array([20.0]))
    assert float(hot[0].sum()) > float(wet[0].sum())
    assert float(wet[1].sum()) > 0.9
    assert float(hot[0].sum() + hot[1].sum()) < 1.0


def test_draws_of_coefficients_are_seeded_and_can_be_set() -> None:
    one, same, other = bed_parameters(50, 1), bed_parameters(50, 1), bed_parameters(50, 2)
    assert np.array_equal(one["q10"], same["q10"]) and not np.array_equal(one["q10"], other["q10"])
    assert 0.3 < float(np.median(one["bed_efficiency"])) < 0.5
    assert np.all(one.with_values(q10=3.0)["q10"] == 3.0)
    with pytest.raises(UnknownName, match="luck"):
        one.with_values(luck=1.0)


def test_a_drier_texture_leaves_less_for_the_crop() -> None:
    assert float(soil("sand").available_mm[0, 0]) < float(soil("loam").available_mm[0, 0])
    assert weather().days == 182 and replace(weather(), rain_mm=weather().rain_mm).weeks == 26
