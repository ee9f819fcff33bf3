"""What a kilogram gives week by week, for a plan that adds kilograms up: the simulator run once for every week of giving."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.bed.day import Switches
from loamery.bed.mineral import ammonia_share
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import Place, place_of
from loamery.bed.simulate import WEEK, Portion, simulate_bed
from loamery.bed.soil import SoilTest
from loamery.bed.weather import BedWeather
from loamery.garden.model import Bed

Array = NDArray[np.float64]


def release_kernels(
    portions: Sequence[Portion], weekly_temp_c: ArrayLike, numbers: Parameters | None = None, place: Place | None = None
) -> Array:
    """Return the nitrogen a kilogram of each material has given the soil, for every week of giving and every later week.

    Parameters
    ----------
    portions : materials and how they are given.
    weekly_temp_c : mean air temperature of each week, °C, shape (weeks,).
    numbers : draws of the coefficients; best values when None. place : the soil; a moist ordinary loam when None.

    Returns
    -------
    kg N per kg as received, shape (portions, weeks, weeks, draws): row = week of giving, column = end of a week; below
    zero while decomposers hold more than was set free, 0 before it is given. Mineral nitrogen of the material counts
    from its first week, less what the air takes on the surface.

    Notes
    -----
    The soil is taken to be moist and never short of mineral nitrogen, so that kilograms add up; a bed that is short
    ties up less and decays more slowly than the sum says.
    """
    numbers = numbers or bed_parameters(1)
    temps = np.asarray(weekly_temp_c, dtype=np.float64)
    weeks = temps.size
    moist = np.zeros((WEEK * weeks, 1))
    weather = BedWeather(np.repeat(temps, WEEK)[:, None], moist, moist)
    doses = np.broadcast_to(np.eye(weeks), (len(portions), weeks, weeks))
    soils = _as_many(place or usual_place(), weeks)
    run = simulate_bed(
        portions, doses, soils, weather, None, numbers, watered=False, physics=Switches(scarcity=False)
    )  # fmt: skip
    organic = np.cumsum(run.net_n, axis=0).transpose(1, 2, 0, 3)
    mineral = np.stack([_mineral(one, temps, numbers, organic.shape[-1]) for one in portions])
    started = np.triu(np.ones((weeks, weeks)))
    return np.asarray(organic + mineral[:, :, None, :] * started[None, :, :, None])


def release_kernel(
    portion: Portion, weekly_temp_c: ArrayLike, numbers: Parameters | None = None, place: Place | None = None
) -> Array:
    """Return what a kilogram of one material gives, median of the draws, shape (weeks, weeks); see `release_kernels`."""
    return np.asarray(np.median(release_kernels([portion], weekly_temp_c, numbers, place)[0], axis=-1))


def usual_place() -> Place:
    """Return an ordinary loam, for questions about no bed in particular."""
    bed = Bed.model_validate({"id": "any", "name": "an ordinary loam", "area_m2": 1.0})
    return place_of(bed, SoilTest("any", {}))


def _as_many(place: Place, beds: int) -> Place:
    return Place(**{one.name: np.repeat(getattr(place, one.name)[:1], beds, axis=0) for one in fields(Place)})


def _mineral(portion: Portion, temps: Array, numbers: Parameters, draws: int) -> Array:
    """Return the mineral nitrogen of a kilogram that reaches the soil when given in each week, shape (weeks, draws)."""
    one = portion.matter
    reaching = np.ones((temps.size, 1))
    if portion.on_surface:
        away = numbers["bed_volatilisation"] * ammonia_share(one.ph, temps[:, None]) / ammonia_share(8.0, 20.0)
        reaching = numbers["bed_surface_entry"] / (numbers["bed_surface_entry"] + away * (temps[:, None] > 0.0))
    return np.broadcast_to(one.ammonium_n * reaching + one.nitrate_n, (temps.size, draws))
