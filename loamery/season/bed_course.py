"""What the bed model says of a plan: every gift the plan makes to every bed, run through the season in one go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.bed.crop import Crop, crops
from loamery.bed.matter import matter_of_stuff
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import place_of, places_of
from loamery.bed.record import BedRun
from loamery.bed.simulate import WEEK, Portion, simulate_bed
from loamery.bed.weather import normal_weather
from loamery.finding import Band
from loamery.season.plan import SeasonPlan
from loamery.season.stuff import Stuff, castings_stuff, compost_stuff, raw_stuff
from loamery.uncertain import band

Array = NDArray[np.float64]
DRAWS = 60
"""Runs of a report's bed pages; the command `loamery bed` takes more."""
G_M2 = "g/m2"
SPREAD = ("mulch", "dig_in")


@dataclass(frozen=True, eq=False)
class BedCourse:
    """The season of one bed as the bed model foresees it, nitrogen in g per m2.

    Parameters
    ----------
    net : given (above zero) or taken by all materials in each week. soil_gives : by its own organic matter, medians.
    asked : by the crops in each week. taken : by the crops in each week, medians.
    uptake : over the season. leached : over the season. lowest : deepest of what materials owe. ph_change : at the end.
    """

    bed: str
    net: tuple[Band, ...]
    soil_gives: tuple[float, ...]
    asked: tuple[float, ...]
    taken: tuple[float, ...]
    uptake: Band
    leached: Band
    lowest: Band
    ph_change: Band


def bed_courses(plan: SeasonPlan, draws: int = DRAWS) -> dict[str, BedCourse]:
    """Return the season of every bed of a plan, by bed.

    Notes
    -----
    The plan was made with the bed model's release in other draws, taken to be never short of nitrogen; here scarcity counts.
    """
    garden, calendar = plan.garden, plan.calendar
    numbers = bed_parameters(draws, garden.info.seed)
    portions, doses = _gifts(plan, numbers)
    crop = crops([one.need_data.plantings for one in plan.beds], calendar.start, WEEK * calendar.weeks)
    places = [
        place_of(one.need_data.bed, one.need_data.test, float(root))
        for one, root in zip(plan.beds, crop.root_depth_m, strict=True)
    ]
    weather = normal_weather(
        garden.climate.mean_temp_c, garden.climate.rain_mm, calendar.start, WEEK * calendar.weeks, draws,
        garden.info.seed, garden.climate.latitude_deg, garden.weather,
    )  # fmt: skip
    run = simulate_bed(portions, doses, places_of(places), weather, crop, numbers)
    return {one.id: _course(run, crop, index, one.id) for index, one in enumerate(plan.beds)}


def _gifts(plan: SeasonPlan, numbers: Parameters) -> tuple[list[Portion], Array]:
    """Return every (stuff, use) the plan spreads, and its kilograms per m2, shape (portions, beds, weeks)."""
    chores = [one for one in plan.actions if one.task in SPREAD and one.kg > 0]
    places = {one.id: index for index, one in enumerate(plan.beds)}
    stuffs = _stuffs(plan)
    ways = [way for way in dict.fromkeys((one.stuff, one.task) for one in chores) if way[0] in stuffs]
    doses = np.zeros((len(ways), len(plan.beds), plan.calendar.weeks))
    for one in chores:
        if (one.stuff, one.task) in ways and one.target in places:
            bed = places[one.target]
            area = plan.beds[bed].need_data.bed.area_m2
            doses[ways.index((one.stuff, one.task)), bed, one.week] += one.kg / area
    portions = [
        Portion(matter_of_stuff(stuffs[key], numbers), use == "mulch", stuffs[key].form == "raw") for key, use in ways
    ]
    return portions, doses


def _stuffs(plan: SeasonPlan) -> dict[str, Stuff]:
    """Return everything the plan may spread, by id."""
    raw = {one.id: raw_stuff(one, plan.compositions[one.id]) for one in plan.garden.materials}
    made = {
        one.id: compost_stuff(one.id, one.compost_name, [(raw[key], share) for key, share in one.shares])[0]
        for one in plan.recipes
        if all(key in raw for key, _ in one.shares)
    }
    fed = [(raw[one.stuff], one.kg) for one in plan.actions if one.task == "feed" and one.stuff in raw]
    total = sum(kg for _, kg in fed)
    castings = castings_stuff([(one, kg / total) for one, kg in fed]) if total > 0 else None
    return {**raw, **made, **({castings.id: castings} if castings else {})}


def _course(run: BedRun, crop: Crop, bed: int, name: str) -> BedCourse:
    net = 1000.0 * (run.net_n.sum(axis=1) + run.flow["mineral_n_in"] - run.flow["volatilised"])[:, bed]
    asked = 1000.0 * np.diff(crop.nitrogen_kg_m2[bed, ::WEEK])
    taken = 1000.0 * run.taken[:, bed]
    return BedCourse(
        bed=name,
        net=tuple(band(one, G_M2) for one in net),
        soil_gives=_medians(1000.0 * run.flow["soil_release"][:, bed]),
        asked=tuple(float(one) for one in asked),
        taken=_medians(taken),
        uptake=band(taken.sum(axis=0), G_M2),
        leached=band(1000.0 * run.flow["leached"][:, bed].sum(axis=0), G_M2),
        lowest=band(np.minimum(np.cumsum(net, axis=0).min(axis=0), 0.0), G_M2),
        ph_change=band(run.stock["ph"][-1, bed] - run.stock["ph"][0, bed], "pH"),
    )


def _medians(values: Array) -> tuple[float, ...]:
    rows: Sequence[Array] = list(values)
    return tuple(float(np.median(one)) for one in rows)
