"""What limits a feeding by itself: appetite, water, ammonia, salt, pH."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.reference import coefficient
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


@pytest.mark.parametrize("bad", [(-1.0, 1.0, 7.0), (1.0, 0.0, 7.0), (1.0, 1.0, 0.0), (1.0, 1.0, 1000.0)])
def test_bad_input_is_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(InputError):
        feeding_draws(feed(), bad[0], bad[1], 20.0, bad[2])
