"""Weeks, dates and temperatures."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from loamery.garden import Garden
from loamery.season.calendar import calendar_of


def with_info(one: Garden, **change: object) -> Garden:
    return one.model_copy(update={"info": one.info.model_copy(update=change)})


def test_weeks_and_dates_go_there_and_back(demo_garden: Garden) -> None:
    calendar = calendar_of(demo_garden)
    assert calendar.weeks == 26
    for week in range(-2, 30):
        monday = calendar.monday(week)
        assert calendar.week_of(monday) == week
        assert calendar.week_of(monday + timedelta(days=6)) == week
        assert calendar.week_of(monday - timedelta(days=1)) == week - 1
    assert calendar.end == calendar.monday(26)
    assert calendar.label(0) == "5 Apr"


def test_temperatures_lie_between_those_of_the_months_around(demo_garden: Garden) -> None:
    calendar = calendar_of(with_info(demo_garden, season_start=date(2027, 1, 4), season_weeks=52))
    normals = demo_garden.climate.mean_temp_c
    for week in range(52):
        middle = calendar.monday(week) + timedelta(days=3)
        here = middle.month - 1
        around = (normals[here - 1], normals[here], normals[(here + 1) % 12])
        assert min(around) - 1e-9 <= calendar.temp_c[week] <= max(around) + 1e-9


def test_the_middle_of_a_month_has_its_normal(demo_garden: Garden) -> None:
    for month in (1, 6, 12):
        calendar = calendar_of(with_info(demo_garden, season_start=date(2027, month, 12), season_weeks=1))
        assert calendar.temp_c[0] == pytest.approx(demo_garden.climate.mean_temp_c[month - 1], abs=1e-9)


def test_temperature_goes_without_jumps_over_the_year(demo_garden: Garden) -> None:
    calendar = calendar_of(with_info(demo_garden, season_start=date(2026, 11, 2), season_weeks=60))
    normals = demo_garden.climate.mean_temp_c
    steepest = max(abs(b - a) for a, b in zip(normals, [*normals[1:], normals[0]], strict=True)) / 28 * 7
    assert max(abs(calendar.temp_c[1:] - calendar.temp_c[:-1])) <= steepest + 0.2


def test_the_same_temperature_all_year_stays(demo_garden: Garden) -> None:
    flat = demo_garden.climate.model_copy(update={"mean_temp_c": (7.5,) * 12})
    assert calendar_of(demo_garden.model_copy(update={"climate": flat})).temp_c == pytest.approx([7.5] * 26)
