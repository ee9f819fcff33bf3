"""Weather as a bed feels it: daily temperature and rain, from monthly normals or from records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.bed.snow import thawed
from loamery.bed.water import hargreaves, sun_above_air
from loamery.errors import InputError
from loamery.garden.model import WeatherDay
from loamery.garden.normals import normals_by_day
from loamery.reference import coefficient
from loamery.say import say
from loamery.uncertain import scores

Array = NDArray[np.float64]
LIMITS = {"temperature": (-60.0, 60.0, "°C"), "rain": (0.0, 1000.0, "mm a day"), "span": (0.0, 45.0, "K")}


@dataclass(frozen=True, eq=False)
class BedWeather:
    """Daily weather, every array of shape (days, draws) with one draw for all when weather is not drawn.

    Parameters
    ----------
    temp_c : mean air temperature. rain_mm : rain and snow as it melts, a day. asked_mm : reference evapotranspiration a day.
    """

    temp_c: Array
    rain_mm: Array
    asked_mm: Array

    @property
    def days(self) -> int:
        """Return how many days it covers."""
        return int(self.temp_c.shape[0])

    @property
    def weeks(self) -> int:
        """Return how many whole weeks it covers."""
        return self.days // 7

    def weekly_temp_c(self) -> Array:
        """Return the mean air temperature of each whole week, shape (weeks, draws)."""
        return np.asarray(self.temp_c[: 7 * self.weeks].reshape(self.weeks, 7, -1).mean(axis=1))


def daily_weather(
    start: date, temp_c: ArrayLike, rain_mm: ArrayLike, span_k: ArrayLike | None = None,
    latitude_deg: float | None = None, asked_mm: ArrayLike | None = None,
) -> BedWeather:  # fmt: skip
    """Return weather from daily values.

    Parameters
    ----------
    temp_c, rain_mm : shape (days,) or (days, draws); rain and what falls as snow, as water.
    span_k : highest less lowest temperature; coefficient ``bed_day_night_span`` when None.
    latitude_deg : of the place; coefficient ``bed_latitude`` when None.
    asked_mm : reference evapotranspiration where it is known; else Hargreaves.

    Raises
    ------
    InputError : missing or impossible values, or series of different length.
    """
    temp, rain = _column(temp_c), _column(rain_mm)
    span = _column(coefficient("bed_day_night_span").value if span_k is None else span_k)
    if rain.shape[0] not in (1, temp.shape[0]) or span.shape[0] not in (1, temp.shape[0]):
        raise InputError(
            say("{shape} days of rain, {shape_2} of temperature", shape=rain.shape[0], shape_2=temp.shape[0]), expected=say("one value for each day"),
            remedy=say("fill the gaps or cut the records to the same days"),
        )  # fmt: skip
    for name, one in (("temperature", temp), ("rain", rain), ("span", span)):
        _sound(name, one)
    latitude = coefficient("bed_latitude").value if latitude_deg is None else latitude_deg
    numbers = np.array([(start + timedelta(days=day)).timetuple().tm_yday for day in range(temp.shape[0])])
    sun = sun_above_air(latitude, numbers)[:, None]
    asked = hargreaves(temp - 0.5 * span, temp + 0.5 * span, sun) if asked_mm is None else _column(asked_mm)
    shape = np.broadcast_shapes(temp.shape, rain.shape, asked.shape)
    temp, rain, asked = (np.ascontiguousarray(np.broadcast_to(one, shape)) for one in (temp, rain, asked))
    return BedWeather(temp, thawed(temp, rain), asked)


def _column(values: ArrayLike) -> Array:
    array = np.asarray(values, dtype=np.float64)
    return array.reshape(-1, 1) if array.ndim < 2 else array


def _sound(name: str, column: Array) -> None:
    low, high, unit = LIMITS[name]
    bad = np.argwhere(~(np.isfinite(column) & (column >= low) & (column <= high)))
    if bad.size:
        day, draw = bad[0]
        raise InputError(
            say("{name} of day {day}: {column:g}", name=name, day=day + 1, column=column[day, draw]), expected=say("{low:g} to {high:g} {unit}", low=low, high=high, unit=unit),
            remedy=say("correct the record, or fill a missing day from its neighbours"),
        )  # fmt: skip


def normal_weather(
    mean_temp_c: Sequence[float], rain_mm: Sequence[float], start: date, days: int, draws: int = 1, seed: int = 1,
    latitude_deg: float | None = None, measured: Sequence[WeatherDay] = (),
) -> BedWeather:  # fmt: skip
    """Return daily weather from monthly normals, January first, and from what was measured on the days that were.

    Parameters
    ----------
    mean_temp_c, rain_mm : of each month. draws : 1 gives the normals without departures.
    measured : days with records; they hold in every draw.

    Notes
    -----
    Temperature runs straight between the middles of months. Rain falls on some days only, for water that drizzles
    every day would never drain; with draws each has its own days, its own season's departure in warmth and rain.

    Raises
    ------
    InputError : not twelve months of either.
    """
    temp, rain = (one[:, None] for one in normals_by_day(mean_temp_c, rain_mm, start, days))
    if draws > 1:
        temp = temp + coefficient("bed_season_sd").value * scores(draws, seed, "bed weather", "warmth")
        rain = rain * np.exp(coefficient("bed_rain_sd").value * scores(draws, seed, "bed weather", "rain"))
    rain = _showers(np.broadcast_to(rain, temp.shape), seed)
    span = np.full((days, 1), coefficient("bed_day_night_span").value)
    for one in measured:
        day = (one.day - start).days
        if 0 <= day < days:
            temp[day], rain[day], span[day] = one.mean_temp_c, one.rain_mm, one.max_temp_c - one.min_temp_c
    return daily_weather(start, temp, rain, span, latitude_deg)


def _showers(rain_mm: Array, seed: int) -> Array:
    """Return rain on some days only, with the same sum over the whole time as the smooth rain."""
    rng = np.random.default_rng([seed, 53])
    wet = coefficient("bed_wet_days").value
    falls = np.where(rng.random(rain_mm.shape) < wet, rng.exponential(1.0, rain_mm.shape), 0.0) * rain_mm
    scale = rain_mm.sum(axis=0) / np.maximum(falls.sum(axis=0), 1e-12)
    return np.asarray(np.minimum(falls * scale, LIMITS["rain"][1]))
