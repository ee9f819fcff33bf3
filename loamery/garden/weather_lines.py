"""Daily weather as it was measured: each day once, its lowest temperature below its highest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path

from loamery.errors import GardenError, InputError, Where
from loamery.garden.model import WeatherDay
from loamery.garden.rows import read_rows, read_text
from loamery.say import say

FILE = "weather.csv"


def read_weather(path: Path) -> tuple[WeatherDay, ...]:
    """Return the days of a CSV file of measured weather, in the order of time.

    Parameters
    ----------
    path : columns ``day``, ``min_temp_c``, ``max_temp_c``, ``rain_mm`` and, where measured, ``wind_m_s``,
        ``humidity_frac``, ``sun_mj_m2``; ``min_temp_f``, ``max_temp_f`` and ``rain_in`` are converted.

    Raises
    ------
    UnreadableFile : missing, or not text.
    GardenError : rows that cannot be used; all are listed at once.
    """
    read_text(path)
    faults: list[InputError] = []
    numbered = read_rows(path, WeatherDay, faults)
    faults += weather_faults(numbered, path.name)
    if not numbered and not faults:
        faults.append(_empty(path.name))
    if faults:
        raise GardenError(faults)
    return in_order(record for _, record in numbered)


def in_order(days: Iterable[WeatherDay]) -> tuple[WeatherDay, ...]:
    """Return days in the order of time."""
    return tuple(sorted(days, key=lambda one: one.day))


def weather_faults(numbered: Sequence[tuple[int, WeatherDay]], file: str) -> list[InputError]:
    """Return what is wrong between the cells and the rows of measured weather.

    Parameters
    ----------
    numbered : row number and record, in the order of the file.
    """
    return [*_repeated(numbered, file), *_upside_down(numbered, file)]


def _repeated(numbered: Sequence[tuple[int, WeatherDay]], file: str) -> Iterator[InputError]:
    first: dict[date, int] = {}
    for row, one in numbered:
        if one.day in first:
            yield InputError(
                say("{isoformat} a second time", isoformat=one.day.isoformat()),
                where=Where(file=file, row=row, column="day"),
                expected=say("each day once (first in row {first})", first=first[one.day]),
                remedy=say("delete one of the two rows, or correct its day"),
            )
        first.setdefault(one.day, row)


def _upside_down(numbered: Sequence[tuple[int, WeatherDay]], file: str) -> Iterator[InputError]:
    for row, one in numbered:
        if one.min_temp_c > one.max_temp_c:
            yield InputError(
                say(
                    "lowest {min_temp_c:.4g} °C above highest {max_temp_c:.4g} °C",
                    min_temp_c=one.min_temp_c,
                    max_temp_c=one.max_temp_c,
                ),
                where=Where(file=file, row=row, column="min_temp_c"),
                expected=say("the lowest at most as high as the highest"),
                remedy=say("swap or correct the two"),
            )


def _empty(file: str) -> InputError:
    return InputError(
        say("no days"),
        where=Where(file=file),
        expected=say("a first row of column names and a row for each day measured"),
        remedy=say("add the days, or leave the file out"),
    )
