"""What may go on which bed in which week: the safe rules of raw manure, wood ash, seedlings and standing crops."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from loamery.garden.model import Garden, Planting
from loamery.reference import coefficient, table
from loamery.season.calendar import Calendar
from loamery.season.needs import BedNeed
from loamery.season.spreads import Spread
from loamery.season.stuff import Stuff

WOOD_ASH = "wood-ash"


def allowed_weeks(
    spreads: Sequence[Spread], needs: Sequence[BedNeed], calendar: Calendar, garden: Garden
) -> NDArray[np.bool_]:
    """Return where a stuff may go, shape (spreads, beds, weeks).

    Notes
    -----
    Into the soil before planting or in the first days after it; as a mulch once the crop stands; raw manure only where
    no crop is in the ground within the interval of the jurisdiction; wood ash only on soil known to be below the pH at
    which it stops.
    """
    shape = (len(spreads), len(needs), calendar.weeks)
    weeks = range(calendar.weeks)
    rows = [[[_allowed(one, need, week, calendar, garden) for week in weeks] for need in needs] for one in spreads]
    return np.array(rows, dtype=bool).reshape(shape)


def _allowed(spread: Spread, need: BedNeed, week: int, calendar: Calendar, garden: Garden) -> bool:
    if (
        not spread.planned
        or not need.plantings
        or week > max(calendar.week_of(one.harvested) for one in need.plantings)
    ):
        return False
    if spread.stuff.is_raw_manure and _in_manure_interval(need, week, calendar, garden):
        return False
    if is_ash(spread.stuff) and not takes_ash(need):
        return False
    since = [week - calendar.week_of(one.planted) for one in need.plantings if _stands(one, week, calendar)]
    if spread.use == "dig_in":
        return all(weeks <= coefficient("dig_in_wait_weeks").value for weeks in since)
    return bool(since) and all(weeks >= coefficient("mulch_wait_weeks").value for weeks in since)


def _stands(planting: Planting, week: int, calendar: Calendar) -> bool:
    return calendar.week_of(planting.planted) <= week <= calendar.week_of(planting.harvested)


def is_ash(stuff: Stuff) -> bool:
    """Tell whether the limits of wood ash apply."""
    return stuff.kind == WOOD_ASH


def takes_ash(need: BedNeed) -> bool:
    """Tell whether a bed's soil is known to be sour enough for wood ash."""
    ph = need.test.value("pH")
    return ph is not None and ph < coefficient("wood_ash_ph_max").value


def manure_days(garden: Garden) -> int:
    """Return the days between raw manure and the harvest of a crop that touches the soil."""
    row = next(row for row in table("jurisdictions") if row["key"] == garden.info.jurisdiction)
    return int(row["manure_interval_days_contact"])


def _in_manure_interval(need: BedNeed, week: int, calendar: Calendar, garden: Garden) -> bool:
    spread_on = calendar.monday(week)
    until = spread_on + timedelta(days=manure_days(garden))
    return any(one.planted < until and one.harvested >= spread_on for one in need.plantings)
