"""Monthly normals day by day: the middles of months keep their figures, the year closes, heap and bed read the same."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from loamery.bed.weather import normal_weather
from loamery.errors import InputError
from loamery.garden.normals import normals_by_day
from loamery.heap.weather import Weather

TEMPS = (2.0, 3, 6, 10, 14, 17, 20, 19, 15, 10, 6, 3)
RAIN = (60.0, 50, 45, 40, 45, 50, 55, 60, 60, 65, 70, 65)


def test_the_middle_of_a_month_has_its_own_figure_and_december_runs_into_january() -> None:
    temp, rain = normals_by_day(TEMPS, RAIN, date(2027, 1, 1), 365)
    assert temp[15] == pytest.approx(2.0, abs=0.05)  # 16 January
    assert rain[196] == pytest.approx(55.0 / 30.4375, rel=0.01)  # 16 July
    assert temp[-1] == pytest.approx(2.5, abs=0.05) == pytest.approx(temp[0], abs=0.05)
    assert rain.sum() == pytest.approx(sum(RAIN), rel=0.01)


def test_heap_and_bed_feel_the_same_air() -> None:
    start, days = date(2027, 11, 20), 60
    temp, rain = normals_by_day(TEMPS, RAIN, start, days)
    assert np.array_equal(Weather.from_normals(TEMPS, RAIN, start, days).table[:-1, 0], temp)
    bed = normal_weather(TEMPS, RAIN, start, days)
    assert np.array_equal(bed.temp_c[:, 0], temp)
    assert bed.rain_mm.sum() == pytest.approx(rain.sum(), rel=1e-9)


@pytest.mark.parametrize("months", [(TEMPS[:11], RAIN), (TEMPS, RAIN[:11])])
def test_a_year_without_twelve_months_is_refused(months: tuple[tuple[float, ...], tuple[float, ...]]) -> None:
    with pytest.raises(InputError, match="twelve of each"):
        normals_by_day(*months, date(2027, 1, 1), 10)
