"""What a kilogram gives week by week, for a plan that adds kilograms up: the bed model's decay run once for every week of giving."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.bed.day import AMPLE
from loamery.bed.decomposers import Stock, decay_day
from loamery.bed.mineral import ammonia_share
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import Place, place_of
from loamery.bed.portions import GivenMatter, make_dose, portions_of
from loamery.bed.simulate import WEEK
from loamery.bed.soil import SoilTest
from loamery.bed.warm import follow, moisture_factor, warmth_factor
from loamery.garden.model import Bed

Array = NDArray[np.float64]


def release_kernels(
    portions: Sequence[GivenMatter], weekly_temp_c: ArrayLike, numbers: Parameters | None = None,
    place: Place | None = None, moisture: ArrayLike | None = None,
) -> Array:  # fmt: skip
    """Return the nitrogen a kilogram of each material has given the soil, for every week of giving and every later week.

    Parameters
    ----------
    portions : materials and how they are given.
    weekly_temp_c : mean air temperature of each week, °C, shape (weeks,) or (weeks, draws).
    numbers : draws of the coefficients; best values when None. place : the soil; a moist ordinary loam when None.
    moisture : speed of decay in each week over that at the best moisture, (weeks, draws); a soil at field capacity when None.

    Returns
    -------
    kg N per kg as received, shape (portions, weeks, weeks, draws): row = week of giving, column = end of a week; below
    zero while decomposers hold more than was set free, 0 before it is given. Mineral nitrogen of the material counts
    from its first week, less what the air takes on the surface.

    Notes
    -----
    The soil is taken to be never short of mineral nitrogen, so that kilograms add up; a bed that is short ties up less and
    decays more slowly than the sum says. Every week of giving is a bed of its own.
    """
    numbers = numbers or bed_parameters(1)
    temps = np.asarray(weekly_temp_c, dtype=np.float64)
    temps = temps[:, None] if temps.ndim == 1 else temps
    weeks = temps.shape[0]
    moist = _at_field_capacity(place or usual_place(), numbers) if moisture is None else np.asarray(moisture)
    moist = np.broadcast_to(moist, (weeks, moist.shape[-1]))
    draws = max(numbers.draws, temps.shape[1], moist.shape[1], *(one.matter.carbon.size for one in portions))
    fixed, stock = portions_of(portions, numbers, draws), Stock.empty(len(portions), weeks, draws)
    soil_c, net = temps[0], np.zeros((len(portions), weeks, weeks, draws))
    never_short, nothing = np.full((1, 1), AMPLE), np.zeros((1, 1))
    for week in range(weeks):
        _give(stock, portions, week, draws)
        lying = _given_by(stock, week)
        for _ in range(WEEK):
            soil_c = follow(soil_c, temps[week], numbers["bed_soil_temp_days"])
            pace = np.atleast_2d(warmth_factor(soil_c, numbers["q10"]) * moist[week])
            net[:, : week + 1, week] += decay_day(lying, fixed, numbers, pace, never_short, nothing).net
    mineral = np.stack([_mineral(one, temps, numbers, draws) for one in portions])
    started = np.triu(np.ones((weeks, weeks)))
    return np.asarray(np.cumsum(net, axis=2) + mineral[:, :, None, :] * started[None, :, :, None])


def _at_field_capacity(place: Place, numbers: Parameters) -> Array:
    filled = np.clip(place.field_capacity / place.porosity, 0.0, 1.0)[:1]
    return moisture_factor(filled, numbers["moisture_peak_wfps"])


def _give(stock: Stock, portions: Sequence[GivenMatter], week: int, draws: int) -> None:
    """Lay a kilogram of each material on the bed of a week."""
    for index, one in enumerate(portions):
        dose = make_dose(one, draws)
        stock.carbon[:, index, week], stock.nitrogen[:, index, week] = dose.carbon[:, 0], dose.nitrogen[:, 0]


def _given_by(stock: Stock, week: int) -> Stock:
    """Return the beds that have been given something by a week, as views that change the whole."""
    pools = [one[:, :, : week + 1] for one in (stock.carbon, stock.nitrogen)]
    rest = (stock.living, stock.age, stock.ammonium, stock.alkalinity, stock.lime)
    return Stock(*pools, *(one[:, : week + 1] for one in rest))


def release_kernel(
    portion: GivenMatter, weekly_temp_c: ArrayLike, numbers: Parameters | None = None, place: Place | None = None
) -> Array:
    """Return what a kilogram of one material gives, median of the draws, shape (weeks, weeks); see `release_kernels`."""
    return np.asarray(np.median(release_kernels([portion], weekly_temp_c, numbers, place)[0], axis=-1))


def usual_place() -> Place:
    """Return an ordinary loam, for questions about no bed in particular."""
    bed = Bed.model_validate({"id": "any", "name": "an ordinary loam", "area_m2": 1.0})
    return place_of(bed, SoilTest("any", {}))


def _mineral(portion: GivenMatter, temps: Array, numbers: Parameters, draws: int) -> Array:
    """Return the mineral nitrogen of a kilogram that reaches the soil when given in each week, shape (weeks, draws)."""
    one = portion.matter
    reaching = reaching_share(one.ph, temps, numbers) if portion.on_surface else np.ones((temps.shape[0], 1))
    return np.broadcast_to(one.ammonium_n * reaching + one.nitrate_n, (temps.shape[0], draws))


def reaching_share(ph: Array, temp_c: Array, numbers: Parameters) -> Array:
    """Return the share of ammonium laid on the surface that the air does not take.

    Parameters
    ----------
    ph : of the material, (draws,). temp_c : of the air in each week, (weeks, 1) or (weeks, draws).
    """
    away = numbers["bed_volatilisation"] * ammonia_share(ph, temp_c) / ammonia_share(8.0, 20.0)
    return np.asarray(numbers["bed_surface_entry"] / (numbers["bed_surface_entry"] + away * (temp_c > 0.0)))
