"""Weather of a place: days that were measured, normals for the others, and how far a year may stray from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from loamery.garden.model import WeatherDay
from loamery.garden.normals import MONTHS, normals_by_day
from loamery.heap.weather import Weather
from loamery.reference import coefficient
from loamery.uncertain import scores

Array = NDArray[np.float64]
AIR_ENDS = (-55.0, 55.0)
MOST_RAIN_MM = 900.0
WATT_PER_MJ_DAY = 1e6 / 86400.0


@dataclass(frozen=True)
class Span:
    """How far measured weather reaches over a stretch of days.

    Parameters
    ----------
    measured : days that were measured, of `days`.
    gaps : first and last day of each stretch without a record before the last measured day.
    after : days after the last measured one.
    """

    days: int
    measured: int
    gaps: tuple[tuple[date, date], ...]
    after: int

    @property
    def gap_days(self) -> int:
        """Return how many days lie in gaps."""
        return sum((last - first).days + 1 for first, last in self.gaps)

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        gaps = [{"first": first.isoformat(), "last": last.isoformat()} for first, last in self.gaps]
        return {"days": self.days, "measured": self.measured, "gaps": gaps, "after": self.after}


@dataclass(frozen=True)
class Normals:
    """Weather of a place: monthly normals, January first, and the days that were measured.

    Parameters
    ----------
    mean_temp_c : mean air temperature.
    rain_mm : rain of the month.
    measured : days that stand before the normals, each once.
    """

    mean_temp_c: tuple[float, ...]
    rain_mm: tuple[float, ...]
    measured: tuple[WeatherDay, ...] = ()

    @classmethod
    def constant(cls, temp_c: float, rain_mm: float = 0.0, measured: Sequence[WeatherDay] = ()) -> Normals:
        """Return the same mean temperature and rain in every month."""
        return cls((temp_c,) * MONTHS, (rain_mm,) * MONTHS, tuple(measured))

    def weather(self, start: date, days: int) -> Weather:
        """Return the weather to expect: days measured as they were, the others smooth.

        Notes
        -----
        After a measured day the departure from the normal fades as fast as days forget it (`weather_day_memory`).
        """
        air, rain = self._plain(start, days)
        known = self._known(start, days)
        return _joined(air + _departures(known, air, np.zeros(days)), rain, known)

    def draws(self, start: date, days: int, n: int, seed: int) -> list[Weather]:
        """Return n seeded courses of weather; days measured are the same in all.

        Notes
        -----
        A season's departure in temperature and rain, days that remember the day before, and rain on some days only.
        """
        air, rain = self._plain(start, days)
        known = self._known(start, days)
        season = coefficient("weather_season_sd").value * scores(n, seed, "weather", "season")
        wetness = np.exp(coefficient("weather_rain_sd").value * scores(n, seed, "weather", "wetness"))
        rng = np.random.default_rng([seed, 7919])
        out = []
        for i in range(n):
            mean = air + season[i]
            strayed = np.clip(mean + _departures(known, mean, rng.standard_normal(days)), *AIR_ENDS)
            out.append(_joined(strayed, _showers(rng, rain * wetness[i]), known))
        return out

    def span(self, start: date, days: int) -> Span:
        """Return how far the measured days reach over a stretch."""
        known = self._known(start, days)
        last = max((i for i, one in enumerate(known) if one is not None), default=-1)
        missing = [i for i, one in enumerate(known[: last + 1]) if one is None]
        runs = [[i for _, i in run] for _, run in groupby(enumerate(missing), key=lambda placed: placed[1] - placed[0])]
        gaps = tuple((start + timedelta(days=run[0]), start + timedelta(days=run[-1])) for run in runs)
        return Span(days, sum(one is not None for one in known), gaps, days - 1 - last)

    def _plain(self, start: date, days: int) -> tuple[Array, Array]:
        return normals_by_day(self.mean_temp_c, self.rain_mm, start, days)

    def _known(self, start: date, days: int) -> list[WeatherDay | None]:
        by_day = {one.day: one for one in self.measured}
        return [by_day.get(start + timedelta(days=i)) for i in range(days)]


def _departures(known: Sequence[WeatherDay | None], mean: Array, shocks: Array) -> Array:
    """Return how far each day lies from its mean, K: days remember the day before; measured days are what they were.

    Parameters
    ----------
    shocks : standard normal, one for each day; zeros give the departure to expect.
    """
    memory, spread = coefficient("weather_day_memory").value, coefficient("weather_day_sd").value
    fresh = spread * np.sqrt(1.0 - memory**2)
    out = np.empty(mean.size)
    for day, one in enumerate(known):
        if one is not None:
            out[day] = one.mean_temp_c - mean[day]
        elif day == 0:
            out[day] = spread * shocks[day]
        else:
            out[day] = memory * out[day - 1] + fresh * shocks[day]
    return out


def _showers(rng: np.random.Generator, rain_mm: Array) -> Array:
    wet = coefficient("weather_wet_share").value
    falls = (rng.random(rain_mm.size) < wet) * rng.exponential(1.0, rain_mm.size) / wet
    return np.minimum(rain_mm * falls, MOST_RAIN_MM)


def _joined(air: Array, rain: Array, known: Sequence[WeatherDay | None]) -> Weather:
    """Return weather with what was measured on the days that were measured; `air` holds them already."""
    if not any(known):
        return Weather.daily(air, rain)
    # half of the sun that is taken up goes back to the sky as heat; the model's surface sees air, not sky
    share = 1.0 - coefficient("weather_sky_share").value
    sun = np.array([share * WATT_PER_MJ_DAY * ((one.sun_mj_m2 or 0.0) if one else 0.0) for one in known])
    fallen = np.array([own if one is None else one.rain_mm for one, own in zip(known, rain, strict=True)])
    humidity, wind = coefficient("weather_humidity").value, coefficient("weather_wind").value
    return Weather.daily(
        air,
        fallen,
        np.array([humidity if one is None or one.humidity_frac is None else one.humidity_frac for one in known]),
        np.array([wind if one is None or one.wind_m_s is None else one.wind_m_s for one in known]),
        sun,
    )
