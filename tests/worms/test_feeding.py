"""What limits a feeding, by itself and with the heat of the heap model."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.heap.matter import Part
from loamery.lab.combine import compose
from loamery.reference import coefficient
from loamery.season.worm_course import Heat, bed_course
from loamery.season.worm_feeding import feeding_limit
from loamery.worms.feeding import Feed, feeding_draws, limits_of


def feed(moisture: float = 0.8, ammonium: float = 0.0, salt: float | None = None, ph: float | None = None) -> Feed:
    def one(value: float) -> np.ndarray:
        return np.array([value])

    return Feed("x", one(moisture), one(ammonium), None if salt is None else one(salt), None if ph is None else one(ph))


BED_KG = coefficient("worm_bed_depth").value * coefficient("worm_bed_density").value


def test_appetite_is_the_ceiling_times_worms_and_days() -> None:
    assert feeding_draws(feed(), 2.0, 1.0, 20.0, 7.0)["appetite"][0] == pytest.approx(0.5 * 2.0 * 7.0)
    assert feeding_draws(feed(), 2.0, 1.0, 31.0, 7.0)["appetite"][0] == 0.0


def test_ammonia_and_salt_are_thinned_by_the_bed() -> None:
    # 10 mg/g in the dry matter at 80 % moisture is 2 mg/g as received; mixed into the bed it may come to 0.5
    found = feeding_draws(feed(ammonium=0.01), 2.0, 1.0, 20.0, 7.0)["ammonia"][0]
    assert 2.0 * found / (found + BED_KG) == pytest.approx(coefficient("worm_ammonia_max").value, rel=1e-9)
    salt = feeding_draws(feed(salt=1.0), 2.0, 1.0, 20.0, 7.0)["salt"][0]
    assert 10.0 * salt / (salt + BED_KG) == pytest.approx(coefficient("worm_ec_max").value, rel=1e-9)
    assert np.isinf(feeding_draws(feed(), 2.0, 1.0, 20.0, 7.0)["salt"][0])


def test_water_of_a_wet_feed_sets_a_limit_and_of_a_dry_one_none() -> None:
    wet = feeding_draws(feed(0.92), 2.0, 1.0, 20.0, 7.0)["moisture"][0]
    bed = coefficient("worm_bed_moisture").value
    assert (0.92 * wet + bed * BED_KG) / (wet + BED_KG) == pytest.approx(
        coefficient("worm_moisture_high").value, rel=1e-9
    )
    assert np.isinf(feeding_draws(feed(0.2), 2.0, 1.0, 20.0, 7.0)["moisture"][0])


def test_a_sour_feed_is_not_for_worms() -> None:
    found = feeding_draws(feed(ph=4.0), 2.0, 1.0, 20.0, 7.0)
    assert found["pH"][0] == 0.0
    assert limits_of(found, {})[0].name == "pH"


def test_a_thick_layer_of_hot_stuff_is_limited_by_its_heat() -> None:
    parts = (Part(compose("coffee-spent", ()), 1.0),)
    found = feeding_limit("box", parts, 0.5, 100.0, [20.0] * 8, draws=12)  # so many worms that appetite does not bind
    kg = {one.name: one.kg.median for one in found.limits}
    assert kg["heat"] < kg["appetite"]
    warmest = [one.median for one in found.heat_c]
    assert warmest[0] == pytest.approx(20.0, abs=1.0)
    assert warmest[-1] > 30.0
    assert found.per_feeding.median <= min(kg.values()) + 1e-9


def test_unweighed_worms_get_the_usual_stocking() -> None:
    parts = (Part(compose("manure-horse-straw", ()), 1.0),)
    found = feeding_limit("box", parts, 0.5, 0.0, [20.0] * 4, draws=6)
    assert found.stocked
    assert found.worms_kg == pytest.approx(0.5 * coefficient("worm_stocking").value)


def test_a_bed_too_hot_takes_nothing() -> None:
    parts = (Part(compose("manure-horse-straw", ()), 1.0),)
    assert feeding_limit("box", parts, 0.5, 1.0, [32.0] * 2, draws=6).per_feeding.high == 0.0


@pytest.mark.parametrize("bad", [(-1.0, 1.0, 7.0), (1.0, 0.0, 7.0), (1.0, 1.0, 0.0), (1.0, 1.0, 1000.0)])
def test_bad_input_is_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(InputError):
        feeding_draws(feed(), bad[0], bad[1], 20.0, bad[2])


def test_feeding_follows_the_weeks_of_a_bed_outdoors() -> None:
    parts = (Part(compose("manure-horse-straw", ()), 1.0),)
    found = feeding_limit("box", parts, 0.5, 0.8, [4.0] * 4 + [18.0] * 8, draws=6)
    assert found.per_feeding.median == 0.0  # too cold now
    assert found.weekly_kg[0] == 0.0 < found.weekly_kg[-1] == pytest.approx(0.5 * 0.8 * 7.0)
    assert found.course.limit[0] == found.course.limit[-1] == "appetite"
    assert found.forecast.at("worms_kg", 4).median == pytest.approx(0.8)  # they rest, they do not starve
    assert found.forecast.at("worms_kg", 12).median > 0.79


def test_the_bed_stays_in_the_range_of_the_worms() -> None:
    parts = (Part(compose("coffee-spent", ()), 1.0), Part(compose("manure-horse-straw", ()), 3.0))
    course = feeding_limit("box", parts, 0.5, 3.0, [16.0, 18.0, 20.0, 22.0, 24.0, 20.0], draws=12).course
    most = {
        key: coefficient(key).value
        for key in ("worm_temp_max", "worm_moisture_high", "worm_ammonia_max", "worm_ec_max")
    }
    assert (course.warmest_c[1] <= most["worm_temp_max"] + 0.5).all()
    assert (course.moisture <= most["worm_moisture_high"] + 1e-9).all()
    assert (course.ammonia_mg_g <= most["worm_ammonia_max"] + 1e-9).all()
    assert (course.salt_ds_m <= most["worm_ec_max"] + 1e-9).all()
    assert (course.feed_kg[0] <= course.feed_kg[1]).all() and (course.feed_kg[1] > 0.0).all()


def test_salt_gathers_week_by_week_until_it_sets_the_limit() -> None:
    salty, n = feed(salt=2.0), 60
    room = feeding_draws(salty, 5.0, 1.0, 20.0, 7.0)
    cool = Heat(np.array([20.0]), np.full((1, 1, 8), 20.0), np.full((1, 1, 8), 20.0))
    found = bed_course(salty, room, cool, np.array([600.0]), 1.0, [5.0] * n, [20.0] * n, 7.0)
    salt = found.salt_ds_m[1]
    assert salt[0] < salt[1] < salt[2] and (np.diff(salt) >= -1e-9).all()
    assert salt.max() <= coefficient("worm_ec_max").value + 1e-9
    assert "salt" in found.limit and found.limit[0] == "appetite"
    # the first feeding by hand: 17.5 kg at 20 dS/m into 120 kg of bedding
    assert salt[0] == pytest.approx(17.5 * 20.0 / (120.0 + 17.5), rel=1e-9)
