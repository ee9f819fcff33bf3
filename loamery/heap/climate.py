"""Weather to come: normals of the place, and how far a year may stray from them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from loamery.heap.layout import AIR_C, RAIN_SUM
from loamery.heap.weather import MONTHS, Weather
from loamery.reference import coefficient
from loamery.uncertain import scores

AIR_ENDS = (-55.0, 55.0)
MOST_RAIN_MM = 900.0


@dataclass(frozen=True)
class Normals:
    """Monthly normals of a place, January first.

    Parameters
    ----------
    mean_temp_c : mean air temperature.
    rain_mm : rain of the month.
    """

    mean_temp_c: tuple[float, ...]
    rain_mm: tuple[float, ...]

    @classmethod
    def constant(cls, temp_c: float, rain_mm: float = 0.0) -> Normals:
        """Return the same mean temperature and rain in every month."""
        return cls((temp_c,) * MONTHS, (rain_mm,) * MONTHS)

    def weather(self, start: date, days: int) -> Weather:
        """Return smooth weather with nothing but the normals in it."""
        return Weather.from_normals(self.mean_temp_c, self.rain_mm, start, days)

    def draws(self, start: date, days: int, n: int, seed: int) -> list[Weather]:
        """Return n seeded courses of weather about the normals.

        Notes
        -----
        A season's departure in temperature and rain, days that remember the day before, and rain on some days only.
        """
        plain = self.weather(start, days).table
        air, rain = plain[:-1, AIR_C], np.diff(plain[:, RAIN_SUM])
        season = coefficient("weather_season_sd").value * scores(n, seed, "weather", "season")
        wetness = np.exp(coefficient("weather_rain_sd").value * scores(n, seed, "weather", "wetness"))
        rng = np.random.default_rng([seed, 7919])
        return [
            Weather.daily(
                np.clip(air + season[i] + _departures(rng, days), *AIR_ENDS), _showers(rng, rain * wetness[i])
            )
            for i in range(n)
        ]


def _departures(rng: np.random.Generator, days: int) -> NDArray[np.float64]:
    memory, spread = coefficient("weather_day_memory").value, coefficient("weather_day_sd").value
    out = np.empty(days)
    out[0] = spread * rng.standard_normal()
    for day in range(1, days):
        out[day] = memory * out[day - 1] + spread * np.sqrt(1.0 - memory**2) * rng.standard_normal()
    return out


def _showers(rng: np.random.Generator, rain_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    wet = coefficient("weather_wet_share").value
    falls = (rng.random(rain_mm.size) < wet) * rng.exponential(1.0, rain_mm.size) / wet
    return np.minimum(rain_mm * falls, MOST_RAIN_MM)
