"""Snow lies in frost, melts by degree-days, and no water is lost or made."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from loamery.bed.snow import thawed
from loamery.bed.weather import daily_weather
from loamery.reference import coefficient


def column(*days: float) -> np.ndarray:
    return np.array(days)[:, None]


def test_frost_keeps_it_and_warmth_lets_it_go_by_the_degree() -> None:
    factor = coefficient("snow_melt").value
    reached = thawed(column(-5, -1, 2, 2, 10), column(10, 10, 0, 0, 0))[:, 0]
    assert reached == pytest.approx([0, 0, 2 * factor, 2 * factor, 20 - 4 * factor])


def test_rain_on_snow_comes_through_with_what_melts() -> None:
    assert thawed(column(-5, 2), column(30, 5))[:, 0] == pytest.approx([0, 5 + 2 * coefficient("snow_melt").value])


def test_warm_days_are_left_as_they_are() -> None:
    fallen = column(3, 0, 12)
    assert np.array_equal(thawed(column(8, 15, 21), fallen), fallen)


def test_no_water_is_made_and_only_what_lies_is_missing() -> None:
    rng = np.random.default_rng(3)
    temp = np.concatenate([rng.normal(-3, 4, (120, 40)), rng.normal(15, 3, (60, 40))])
    fallen = np.where(rng.random((180, 40)) < 0.4, rng.exponential(6.0, (180, 40)), 0.0)
    reached = thawed(temp, fallen)
    assert np.all(np.cumsum(reached, axis=0) <= np.cumsum(fallen, axis=0) + 1e-9)
    assert reached.sum(axis=0) == pytest.approx(fallen.sum(axis=0), rel=1e-12)
    assert thawed(temp[:120], fallen[:120]).sum() < fallen[:120].sum()


def test_a_bed_gets_its_winter_water_in_spring() -> None:
    temp = np.r_[np.full(60, -6.0), np.full(30, 4.0)]
    weather = daily_weather(date(2027, 1, 1), temp, np.r_[np.full(60, 2.0), np.zeros(30)])
    assert weather.rain_mm[:60].sum() == 0.0
    assert weather.rain_mm[60:].sum() == pytest.approx(120.0)
