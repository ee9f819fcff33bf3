"""The bed through a season: materials decay, nitrogen moves, the crop takes its share, water drains, pH and salt shift.

Everything is a pure function of arrays. Beds and draws run side by side: state has shape (beds, draws), materials in or
on the beds shape (portions, beds, draws). The step is one day; results are told by week.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.bed.crop import Crop, bare
from loamery.bed.day import State, Switches, day_of, start_state
from loamery.bed.matter import Matter
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import Place
from loamery.bed.portions import Dose, make_dose, portions_of
from loamery.bed.record import BedRun, Recorder
from loamery.bed.weather import BedWeather
from loamery.errors import InputError
from loamery.say import say

Array = NDArray[np.float64]
WEEK = 7
ALL_ON = Switches()


@dataclass(frozen=True, eq=False)
class Portion:
    """One way of giving one material.

    Parameters
    ----------
    matter : what a kilogram brings. on_surface : left lying on the bed; else worked in. raw : not composted or worm-worked.
    """

    matter: Matter
    on_surface: bool = False
    raw: bool = True


def simulate_bed(
    portions: Sequence[Portion],
    doses_kg_m2: ArrayLike,
    place: Place,
    weather: BedWeather,
    crop: Crop | None = None,
    numbers: Parameters | None = None,
    *,
    watered: bool = True,
    physics: Switches = ALL_ON,
) -> BedRun:
    """Return what a season does to one or several beds.

    Parameters
    ----------
    portions : materials and how they are given; none simulates the bare soil.
    doses_kg_m2 : as received, on the first day of each week, shape (portions, weeks) for all beds alike or
        (portions, beds, weeks).
    place : soils of the beds. weather : daily, at least one week. crop : what grows; nothing when None.
    numbers : draws of the coefficients; best values when None.
    watered : the grower refills the root zone when it runs short. physics : parts of the model to switch off.

    Returns
    -------
    Flows by week and stocks at the start and after each week; the last axis is the draws.

    Raises
    ------
    InputError : doses that do not fit the portions, beds and weeks, or are negative; beds that differ in number.
    """
    numbers = numbers or bed_parameters(1)
    crop = crop or bare(weather.days, place.beds)
    doses = _doses(doses_kg_m2, len(portions), place, weather, crop)
    draws = _draws(portions, weather, numbers)
    fixed = portions_of(portions, numbers, draws)
    state = start_state(len(portions), place, numbers, draws)
    record = Recorder(weather.weeks, len(portions), place.beds, draws)
    record.stocks(0, state)
    gifts = [make_dose(one, draws) for one in portions]
    for week in range(weather.weeks):
        _give(gifts, state, doses[:, :, week], portions, record, week)
        for day in range(WEEK * week, WEEK * (week + 1)):
            record.flows(week, day_of(state, day, fixed, place, weather, crop, numbers, watered, physics))
        record.stocks(week + 1, state)
    return record.finish(doses, tuple(one.matter.name for one in portions))


def _doses(given: ArrayLike, portions: int, place: Place, weather: BedWeather, crop: Crop) -> Array:
    doses = np.asarray(given, dtype=np.float64)
    if portions == 0:
        return np.zeros((0, place.beds, weather.weeks))
    if doses.ndim == 2:
        doses = np.repeat(doses[:, None, :], place.beds, axis=1)
    wanted = (portions, place.beds, weather.weeks)
    if doses.shape != wanted:
        raise InputError(
            say("doses of shape {shape}", shape=doses.shape), expected=say("(portions, beds, weeks) = {wanted}", wanted=wanted),
            remedy=say("give kilograms per m2 for each material, bed and week"),
        )  # fmt: skip
    if not np.all(np.isfinite(doses)) or np.any(doses < 0):
        raise InputError(
            say("a negative or missing dose"), expected=say("0 or more kg per m2"), remedy=say("correct it")
        )
    if weather.weeks < 1 or crop.days < WEEK * weather.weeks or crop.cover.shape[0] != place.beds:
        raise InputError(
            say("{shape} beds of crops over {days} days", shape=crop.cover.shape[0], days=crop.days),
            expected=say("{beds} beds over {WEEK} days, a week at least", beds=place.beds, WEEK=WEEK * weather.weeks),
            remedy=say("make crops, soils and weather for the same beds and days"),
        )  # fmt: skip
    return doses


def _draws(portions: Sequence[Portion], weather: BedWeather, numbers: Parameters) -> int:
    """Return how many draws run side by side: those of coefficients, materials and weather, each of these or one."""
    sizes = {numbers.draws, weather.temp_c.shape[1], *(one.matter.carbon.size for one in portions)}
    sizes |= {one.matter.rate_per_day.shape[-1] for one in portions}
    most = max(sizes)
    if sizes - {1, most}:
        raise InputError(
            say("draws of different number: {sizes}", sizes=sorted(sizes)), expected=say("the same number in coefficients, materials and weather, or one"),
            remedy=say("draw all of them with the same number"),
        )  # fmt: skip
    return int(most)


def _give(
    gifts: Sequence[Dose], state: State, kg: Array, portions: Sequence[Portion], record: Recorder, week: int
) -> None:
    for index, (gift, one) in enumerate(zip(gifts, portions, strict=True)):
        if np.any(kg[index] > 0):
            record.gift(week, index, gift.give(state, index, kg[index][:, None], one.on_surface))
