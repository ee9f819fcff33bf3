"""The beds of a plan in seasons that may come, by the bed model: nitrogen day by day, what it loses, and its account."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from loamery.bed.crop import crops
from loamery.bed.matter import matter_of_stuff
from loamery.bed.parameters import Parameters, bed_parameters
from loamery.bed.place import Place, place_of, places_of
from loamery.bed.record import BedRun
from loamery.bed.simulate import Portion, simulate_bed
from loamery.bed.weather import BedWeather, daily_weather
from loamery.heap.layout import AIR_C, RAIN_SUM
from loamery.season.carry_out import nitrogen_of
from loamery.season.layers import Laid
from loamery.season.problem import Problem
from loamery.season.stuff import Stuff
from loamery.season.years import DAYS, Years

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SoilYears:
    """What the bed model found.

    Parameters
    ----------
    run : all beds side by side, in the order of the problem's needs.
    nitrogen : of each bed: missing at each check (n, checks) and taken up by nobody (n,), kg per m2.
    gap : the most by which an account of nitrogen does not close, in the beds or on the way into them, kg per kg given.
    """

    run: BedRun
    nitrogen: tuple[tuple[Array, Array], ...]
    gap: float


def soil_years(problem: Problem, laid: Sequence[Laid], years: Years) -> SoilYears:
    """Return what becomes of the nitrogen on every bed."""
    numbers = bed_parameters(years.n, years.seed)
    beds = range(len(problem.needs))
    days = DAYS * problem.calendar.weeks
    grown = crops([need.plantings for need in problem.needs], problem.calendar.start, days)
    soils = [
        place_of(need.bed, need.test, float(depth))
        for need, depth in zip(problem.needs, grown.root_depth_m, strict=True)
    ]
    rows = sorted({one.row for one in laid if one.held})
    given = [_given(problem, [one for one in laid if one.row == row and one.held], row, numbers) for row in rows]
    doses = np.stack([one[1] for one in given]) if given else np.zeros((0, len(problem.needs), problem.calendar.weeks))
    places = _as_drawn(places_of(soils), problem, years)
    run = simulate_bed([one[0] for one in given], doses, places, bed_weather(problem, years), grown, numbers)
    nitrogen = tuple(_missing_and_spare(problem, run, bed) for bed in beds)
    return SoilYears(run, nitrogen, _gap(problem, laid, run))


def _as_drawn(places: Place, problem: Problem, years: Years) -> Place:
    """Return the soils with the organic matter of those nobody tested as it is drawn in each season."""
    drawn = np.ones((places.beds, years.n))
    for row, need in enumerate(problem.needs):
        if need.bed.id in years.soils:
            drawn[row] = years.soils[need.bed.id]["n"]
    return replace(places, organic_matter_frac=np.minimum(places.organic_matter_frac * drawn, 1.0))


def bed_weather(problem: Problem, years: Years) -> BedWeather:
    """Return the weather of the season as beds feel it; the same that the heaps have."""
    days = DAYS * problem.calendar.weeks
    air = np.stack([one.table[:days, AIR_C] for one in years.weather], axis=1)
    rain = np.stack([np.diff(one.table[: days + 1, RAIN_SUM]) for one in years.weather], axis=1)
    return daily_weather(problem.calendar.start, air, rain, latitude_deg=problem.garden.climate.latitude_deg)


def _given(problem: Problem, laid: Sequence[Laid], row: int, numbers: Parameters) -> tuple[Portion, Array]:
    """Return one spread as the bed model takes it, and its doses, kg per m2, shape (beds, weeks).

    Notes
    -----
    Doses are the same in all seasons, so what differs from season to season is laid into what a kilogram holds; what all
    beds together get of a product is right in every season.
    """
    spread = problem.spreads[row]
    doses = np.zeros((len(problem.needs), problem.calendar.weeks))
    total: dict[str, Array] = {}
    for one in laid:
        doses[one.bed] += one.held["mass"].mean(axis=0) / problem.needs[one.bed].bed.area_m2
        for key, value in one.held.items():
            total[key] = total.get(key, 0.0) + value.sum(axis=1)
    kg = float(total["mass"].mean())
    portion = Portion(matter_of_stuff(_stuff(spread.stuff, total, kg), numbers), on_surface=spread.use == "mulch")
    return portion, doses


def _stuff(stuff: Stuff, total: Mapping[str, Array], kg: float) -> Stuff:
    """Return a stuff whose kilogram holds what is laid in each season over what is laid on average."""
    per = {key: value / max(kg, 1e-12) for key, value in total.items()}
    return replace(
        stuff,
        dry=per["dry"],
        carbon=per["carbon"],
        n_mineral=per["n_mineral"],
        n_organic=per["n_organic"],
        p=per["p"],
        k=per["k"],
        salts=per["salts"],
        trace={key.removeprefix("trace "): value for key, value in per.items() if key.startswith("trace ")},
        density=np.resize(stuff.density, per["dry"].size),
    )


def _missing_and_spare(problem: Problem, run: BedRun, bed: int) -> tuple[Array, Array]:
    missing = np.maximum(run.stock["wanted"][problem.checks + 1, bed].T, 0.0)
    spare = run.flow["leached"][:, bed].sum(axis=0) + run.mineral_n[-1, bed]
    return missing, spare


def _gap(problem: Problem, laid: Sequence[Laid], run: BedRun) -> float:
    """Return how far nitrogen laid, nitrogen that came into the beds and what the beds did with it disagree."""
    area = np.array([need.bed.area_m2 for need in problem.needs])
    applied = sum((nitrogen_of(one.held).sum(axis=1) for one in laid if one.held), np.zeros(1))
    came = np.einsum("wbn,b->n", run.flow["organic_n_in"] + run.flow["mineral_n_in"], area)
    held = np.einsum("bn,b->n", np.abs(run.nitrogen_gap()[-1]), area)
    scale = max(float(np.max(applied)), 1e-9)
    return float(max(np.max(np.abs(applied - came)), np.max(held)) / scale)
