"""What a kilogram gives crops in its first season in a garden, by the bed model, where there is no plan to ask."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from loamery.bed.soil import SoilTest
from loamery.garden.model import Garden
from loamery.season.calendar import calendar_of
from loamery.season.from_bed import Seasons, release_draws, seasons_of
from loamery.season.needs import bed_need
from loamery.season.stuff import Stuff

Array = NDArray[np.float64]


def garden_seasons(garden: Garden, soils: Mapping[str, SoilTest]) -> Seasons:
    """Return the seasons that a garden's plans are made for.

    Parameters
    ----------
    soils : by bed id.
    """
    calendar = calendar_of(garden)
    return seasons_of(garden, calendar, [bed_need(garden, bed, soils[bed.id], calendar) for bed in garden.beds])


def first_season_nitrogen(stuff: Stuff, seasons: Seasons, *, on_surface: bool) -> Array:
    """Return the nitrogen that a kilogram spread in the first week gives the soil by the end of the season, mean of the beds.

    Returns
    -------
    kg per kg as received, below zero where it is tied up, shape (draws,).
    """
    given = [
        patterns[:, 0, -1] @ amount
        for patterns, amount in (release_draws(stuff, on_surface, seasons, soil) for soil in range(seasons.soils))
    ]
    beds = np.bincount(seasons.soil_of, minlength=seasons.soils) if seasons.soil_of.size else np.ones(1)
    return np.asarray(np.average(given, axis=0, weights=beds))
