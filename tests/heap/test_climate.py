"""Measured days stand as they are; normals fill gaps and what comes after; a garden's record reaches the heap."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from loamery.garden.model import WeatherDay
from loamery.heap import layout as at
from loamery.heap.climate import Normals
from loamery.heap.forecast import forecast
from tests.heap.gardenstuff import plan

START = date(2027, 5, 1)


def measured(*days: int, temp_c: float = 4.0, **more: float) -> tuple[WeatherDay, ...]:
    return tuple(
        WeatherDay(
            day=START + timedelta(days=one),
            min_temp_c=temp_c - 3.0,
            max_temp_c=temp_c + 3.0,
            **{"rain_mm": 8.0, **more},
        )
        for one in days
    )


def test_measured_days_are_the_same_in_every_draw() -> None:
    place = Normals.constant(14.0, 60.0, measured(0, 1, 2))
    for one in (place.weather(START, 30), *place.draws(START, 30, 20, 1)):
        assert one.table[:3, at.AIR_C] == pytest.approx(4.0)
        assert np.diff(one.table[:4, at.RAIN_SUM]) == pytest.approx(8.0)
    later = np.array([one.table[20, at.AIR_C] for one in place.draws(START, 30, 20, 1)])
    assert later.std() > 1.0


def test_the_departure_fades_after_the_last_measured_day() -> None:
    course = Normals.constant(14.0, 60.0, measured(0, 1, 2)).weather(START, 40).table[:-1, at.AIR_C]
    assert np.all(np.diff(course[3:20]) > 0.0)
    assert 4.0 < course[3] < 9.0
    assert course[-1] == pytest.approx(14.0, abs=0.01)


def test_wind_sun_and_humidity_are_used_where_measured() -> None:
    table = (
        Normals.constant(14.0, 0.0, measured(1, wind_m_s=5.0, humidity_frac=0.4, sun_mj_m2=17.28))
        .weather(START, 4)
        .table
    )
    assert table[1, [at.WIND, at.HUMIDITY]] == pytest.approx([5.0, 0.4])
    assert table[1, at.SUN] == pytest.approx(100.0)  # half of 200 W/m2
    assert table[2, [at.WIND, at.HUMIDITY, at.SUN]] == pytest.approx([1.0, 0.7, 0.0])


def test_gaps_are_told() -> None:
    span = Normals.constant(14.0, 0.0, measured(0, 1, 4, 6, 90)).span(START, 30)
    day = [START + timedelta(days=one) for one in range(6)]
    assert (span.measured, span.gap_days, span.after) == (4, 3, 23)
    assert span.gaps == ((day[2], day[3]), (day[5], day[5]))
    assert Normals.constant(14.0).span(START, 10).gaps == ()


def test_a_cold_spell_that_was_measured_cools_a_small_heap() -> None:
    small = plan(volume_m3=0.15, shape="bin")
    cold = Normals.constant(14.0, 60.0, measured(*range(12), temp_c=-8.0, rain_mm=0.0, wind_m_s=4.0))
    got, plain = (forecast(small, one, 12, 5, rules=()) for one in (cold, Normals.constant(14.0, 60.0)))
    assert got.peak_c.median < plain.peak_c.median - 3.0
