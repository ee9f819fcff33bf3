"""Worms and castings over the weeks."""

from __future__ import annotations

import numpy as np
import pytest

from loamery.errors import InputError
from loamery.reference import coefficient
from loamery.worms.population import forecast_worms, temperature_pace


def test_plenty_of_feed_grows_towards_what_the_bed_carries() -> None:
    found = forecast_worms(0.8, 1.0, [200.0] * 300, 0.3, [20.0] * 300)
    capacity = coefficient("worm_capacity").value
    assert found.at("worms_kg", 0).median == pytest.approx(0.8)
    assert (np.diff(found.worms_kg[1]) >= -1e-9).all()
    assert found.at("worms_kg", 300).median == pytest.approx(capacity, rel=0.3)


def test_the_start_is_the_logistic_of_its_rate() -> None:
    found = forecast_worms(0.001, 1.0, [50.0], 0.3, [20.0], draws=2000)
    rate = coefficient("worm_growth_rate").value
    assert found.at("worms_kg", 1).median == pytest.approx(0.001 * np.exp(7 * rate), rel=0.02)


def test_hungry_worms_dwindle_and_eat_no_more_than_there_is() -> None:
    found = forecast_worms(2.0, 1.0, [1.0] * 60, 0.3, [20.0] * 60)
    assert found.at("worms_kg", 60).median < 2.0
    assert found.at("eaten_kg", 60).high <= 60.0 + 1e-9
    assert found.at("castings_kg", 60).median == pytest.approx(0.3 * 0.6 * found.at("eaten_kg", 60).median, rel=0.05)


def test_nothing_happens_where_nothing_lives_or_it_is_too_cold() -> None:
    none = forecast_worms(0.0, 1.0, [5.0] * 4, 0.3, [20.0] * 4)
    assert none.at("eaten_kg", 4).high == 0.0
    cold = forecast_worms(1.0, 1.0, [5.0] * 4, 0.3, [0.0] * 4)
    assert cold.at("eaten_kg", 4).high == 0.0


def test_pace_by_temperature() -> None:
    assert [temperature_pace(one) for one in (0.0, 15.0, 20.0, 25.0, 35.0)] == [0.0, 1.0, 1.0, 1.0, 0.0]
    assert temperature_pace(27.5) == pytest.approx(0.5)


@pytest.mark.parametrize(
    "bad",
    [
        {"worms_kg": -1.0}, {"area_m2": 0.0}, {"feed_kg_week": [float("nan")]}, {"bed_temp_c": [99.0]},
        {"feed_kg_week": [], "bed_temp_c": []}, {"feed_kg_week": [1.0, 2.0]}, {"draws": 1},
    ],
)  # fmt: skip
def test_bad_input_is_refused(bad: dict[str, object]) -> None:
    good: dict[str, object] = {
        "worms_kg": 1.0,
        "area_m2": 1.0,
        "feed_kg_week": [1.0],
        "feed_dry": 0.3,
        "bed_temp_c": [20.0],
    }
    with pytest.raises(InputError):
        forecast_worms(**{**good, **bad})  # type: ignore[arg-type]
