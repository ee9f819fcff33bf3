"""When a bed wants a mulch, and when the standing mulch is looked at."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient
from loamery.season.problem import Problem

Array = NDArray[np.float64]
MULCH_EVERY_WEEKS = 2


def cover_wanted(problem: Problem) -> Array:
    """Return 1 where a bed's standing crop wants a mulch, shape (beds, weeks)."""
    wait = coefficient("mulch_wait_weeks").value
    weeks = range(problem.calendar.weeks)
    calendar = problem.calendar

    def wants(need: Any, week: int) -> bool:
        return any(
            calendar.week_of(one.planted) + wait <= week <= calendar.week_of(one.harvested) for one in need.plantings
        )

    return np.array([[float(wants(need, week)) for week in weeks] for need in problem.needs])


def mulch_looks(weeks: int) -> NDArray[np.int64]:
    """Return the weeks at whose end the standing mulch is looked at; it thins too slowly to look more often."""
    return np.arange(min(1, weeks - 1), weeks, MULCH_EVERY_WEEKS)
