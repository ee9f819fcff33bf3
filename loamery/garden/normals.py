"""Monthly normals of a place read day by day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.say import say

YEAR_DAYS, MONTHS = 365.25, 12


def normals_by_day(
    mean_temp_c: Sequence[float], rain_mm: Sequence[float], start: date, days: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the temperature and the rain to expect on each day: straight lines between the middles of months.

    Parameters
    ----------
    mean_temp_c, rain_mm : of each month, January first; rain of the whole month.

    Returns
    -------
    Temperature in °C and rain in mm a day, each of shape (days,).

    Raises
    ------
    InputError : not twelve months of either.
    """
    if len(mean_temp_c) != MONTHS or len(rain_mm) != MONTHS:
        raise InputError(
            say("{count} monthly temperatures and {count_2} of rain", count=len(mean_temp_c), count_2=len(rain_mm)), expected=say("twelve of each"),
            remedy=say("give the normals of all months, January first"),
        )  # fmt: skip
    days_of_year = [(start + timedelta(days=day)).timetuple().tm_yday for day in range(days)]
    month = YEAR_DAYS / MONTHS
    middles = (np.arange(MONTHS) + 0.5) * month
    temp = np.interp(days_of_year, middles, mean_temp_c, period=YEAR_DAYS)
    rain = np.interp(days_of_year, middles, np.asarray(rain_mm) / month, period=YEAR_DAYS)
    return temp, rain
