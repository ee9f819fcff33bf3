"""Weather as the heap model takes it: one row per day from the day the heap is built."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.errors import InputError
from loamery.garden.normals import normals_by_day
from loamery.heap.layout import AIR_C, HUMIDITY, RAIN_SUM, SOIL_C, SUN, WEATHER_COLUMNS, WIND
from loamery.reference import coefficient
from loamery.say import say


@dataclass(frozen=True, eq=False)
class Weather:
    """Daily weather from the start of a heap.

    Parameters
    ----------
    table : shape (days, 6): air °C, relative humidity 0-1, wind m/s, rain summed since the start kg/m2, mean sun W/m2,
        soil °C.
    """

    table: NDArray[np.float64]

    @property
    def days(self) -> int:
        """Return the number of days it covers."""
        return int(self.table.shape[0]) - 1

    @classmethod
    def daily(
        cls,
        temp_c: ArrayLike,
        rain_mm: ArrayLike = 0.0,
        humidity: ArrayLike | None = None,
        wind_m_s: ArrayLike | None = None,
        sun_w_m2: ArrayLike = 0.0,
        soil_c: ArrayLike | None = None,
    ) -> Weather:
        """Return weather from daily records; a number counts for every day.

        Parameters
        ----------
        humidity, wind_m_s : `weather_humidity` and `weather_wind` when None; soil_c follows the air when None.

        Raises
        ------
        InputError : records of different length, missing values, or values out of bounds.
        """
        air = np.atleast_1d(np.asarray(temp_c, dtype=np.float64))
        columns = {"temperature": air}
        humid = coefficient("weather_humidity").value if humidity is None else humidity
        wind = coefficient("weather_wind").value if wind_m_s is None else wind_m_s
        given = {"rain": rain_mm, "humidity": humid, "wind": wind, "sun": sun_w_m2}
        for name, one in given.items():
            column = np.asarray(one, dtype=np.float64)
            columns[name] = np.full(air.shape, float(column)) if column.ndim == 0 else column
        columns["soil temperature"] = _soil(air) if soil_c is None else np.broadcast_to(soil_c, air.shape)
        for name, column in columns.items():
            _sound(name, column, air.shape)
        return cls(_table(columns))

    @classmethod
    def constant(
        cls, temp_c: float, days: int = 400, rain_mm_per_day: float = 0.0, humidity: float | None = None,
        wind_m_s: float | None = None, sun_w_m2: float = 0.0, soil_c: float | None = None,
    ) -> Weather:  # fmt: skip
        """Return the same weather on each of a number of days."""
        soil = temp_c if soil_c is None else soil_c
        return cls.daily(np.full(days, temp_c), rain_mm_per_day, humidity, wind_m_s, sun_w_m2, soil)

    @classmethod
    def from_normals(cls, mean_temp_c: Sequence[float], rain_mm: Sequence[float], start: date, days: int) -> Weather:
        """Return smooth weather from monthly normals, January first: a straight line between the middles of months.

        Raises
        ------
        InputError : not twelve months of either.
        """
        return cls.daily(*normals_by_day(mean_temp_c, rain_mm, start, days))


def _soil(air: NDArray[np.float64]) -> NDArray[np.float64]:
    soil, lag = np.array(air), coefficient("weather_soil_days").value
    for day in range(1, soil.size):
        soil[day] = soil[day - 1] + (air[day] - soil[day - 1]) / lag
    return soil


LIMITS = {
    "temperature": (-60.0, 60.0, "°C"),
    "rain": (0.0, 1000.0, "mm a day"),
    "humidity": (0.0, 1.0, "as a share"),
    "wind": (0.0, 60.0, "m/s"),
    "sun": (0.0, 600.0, "W/m2, the mean of the day"),
    "soil temperature": (-40.0, 60.0, "°C"),
}


def _sound(name: str, column: NDArray[np.float64], shape: tuple[int, ...]) -> None:
    low, high, unit = LIMITS[name]
    if column.shape != shape or not shape[0]:
        raise InputError(
            say("{size} days of {name}, {shape} of temperature", size=column.size, name=name, shape=shape[0]), expected=say("one value for each day"),
            remedy=say("fill the gaps or cut the records to the same days"),
        )  # fmt: skip
    bad = np.flatnonzero(~(np.isfinite(column) & (column >= low) & (column <= high)))
    if bad.size:
        raise InputError(
            say("{name} of day {bad}: {column:g}", name=name, bad=bad[0] + 1, column=column[bad[0]]), expected=say("{low:g} to {high:g} {unit}", low=low, high=high, unit=unit),
            remedy=say("correct the record, or fill a missing day from its neighbours"),
        )  # fmt: skip


def _table(columns: dict[str, NDArray[np.float64]]) -> NDArray[np.float64]:
    days = columns["temperature"].size
    table = np.zeros((days + 1, WEATHER_COLUMNS))
    names = {AIR_C: "temperature", HUMIDITY: "humidity", WIND: "wind", SUN: "sun", SOIL_C: "soil temperature"}
    for place, name in names.items():
        table[:days, place] = columns[name]
        table[days, place] = columns[name][-1]
    table[1:, RAIN_SUM] = np.cumsum(columns["rain"])
    return table
