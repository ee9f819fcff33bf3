"""The weeks of a plan: dates, temperatures, and where a date falls."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from loamery.garden.model import Garden
from loamery.say import day_of_month, joined

Array = NDArray[np.float64]
_MID_MONTH_DAY = 15


@dataclass(frozen=True)
class Calendar:
    """The weeks of one season.

    Parameters
    ----------
    start : first day of week 0.
    weeks : how many weeks there are.
    temp_c : mean air temperature of each week, shape (weeks,).
    """

    start: date
    weeks: int
    temp_c: Array

    def monday(self, week: int) -> date:
        """Return the first day of a week."""
        return self.start + timedelta(weeks=int(week))

    def week_of(self, day: date) -> int:
        """Return the week a day falls in; below 0 or at and above `weeks` for days outside the season."""
        return (day - self.start).days // 7

    def label(self, week: int) -> str:
        """Return a short label such as ``17 May``."""
        day = self.monday(week)
        return joined(" ", (day_of_month(day), f"{day:%b}"))

    @property
    def end(self) -> date:
        """Return the day after the last week."""
        return self.monday(self.weeks)


def calendar_of(garden: Garden) -> Calendar:
    """Return the weeks of a garden's season with temperatures between its monthly normals."""
    weeks = garden.info.season_weeks
    start = garden.info.season_start
    middles = [start + timedelta(days=7 * week + 3) for week in range(weeks)]
    return Calendar(start, weeks, np.array([_temp_on(day, garden.climate.mean_temp_c) for day in middles]))


def _temp_on(day: date, normals: tuple[float, ...]) -> float:
    """Return the temperature of a day, straight lines drawn between the middles of the months."""
    after = day.day >= _MID_MONTH_DAY
    this, other = day.month - 1, (day.month if after else day.month - 2) % 12
    share = abs(day.day - _MID_MONTH_DAY) / 30.4375
    return normals[this] * (1.0 - share) + normals[other] * share
