"""What one material does to one bed: the bed with it against the same bed without it, draw by draw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from loamery.bed.ceilings import Ceiling, relative_yield
from loamery.bed.crop import Crop
from loamery.bed.elements import element_course
from loamery.bed.kernels import usual_place
from loamery.bed.matter import Matter
from loamery.bed.parameters import Parameters
from loamery.bed.place import Place
from loamery.bed.record import BedRun
from loamery.bed.simulate import WEEK, Portion, simulate_bed
from loamery.bed.weather import BedWeather
from loamery.finding import Band
from loamery.reference import coefficient
from loamery.uncertain import band
from loamery.units import from_si

Array = NDArray[np.float64]
G_M2 = "g/m2"
YEARS = 3
FREED = ("P", "K", "S", "Ca", "Mg", "B", "Cu", "Mn", "Mo", "Zn")
"""Nutrients whose coming free is told by year; of iron a soil holds so much that a gift does not show."""


@dataclass(frozen=True, eq=False)
class BedQuestion:
    """What is given to which bed.

    Parameters
    ----------
    portions, kg_m2 : materials, and kilograms as received per m2 of each, all given on `day`.
    start : first day of the run. crop : what grows. crop_slugs : its names, for salt.
    """

    portions: tuple[Portion, ...]
    kg_m2: tuple[float, ...]
    place: Place
    weather: BedWeather
    crop: Crop
    crop_slugs: tuple[str, ...]
    start: date
    day: date
    numbers: Parameters
    watered: bool = True

    @property
    def week(self) -> int:
        """Return the week in which it is given, 0 for the first."""
        return (self.day - self.start).days // WEEK


@dataclass(frozen=True, eq=False)
class Reach:
    """How far one ceiling of the bed is used: what is brought, what is allowed, the share, kg per m2."""

    ceiling: Ceiling
    load: Band
    share: float


@dataclass(frozen=True, eq=False)
class BedAnswer:
    """What it does; bands are medians with 90 % of the draws.

    Parameters
    ----------
    weeks : last day of each week. net : nitrogen given (above zero) and taken in each week, g per m2, with its own
        mineral nitrogen. total : the same added up. asked : what the crops take up in each week, g per m2.
    taken_with, taken_without : uptake added up, median, g per m2.
    lowest : deepest drawdown, g per m2, zero or below. lowest_week, back_week : weeks after giving, None when never.
    drawing_share : share of draws in which at least `bed_drawdown_told` is drawn down.
    ph_change : at the end against the bed without it; ph_moved : the largest change on the way, with its sign.
    ph_course, ec_course : pH of the bed with the gift and conductivity of its paste (dS/m) after each week; ph_alone, ec_alone : the same without it, median.
    ec_before, ec_peak : conductivity of the paste on the morning of giving and right after, dS/m. yields : share of yield left at the season's mean, by crop.
    leached : more nitrate-N leached than without, g per m2. volatilised : ammonia lost, g per m2.
    years : available in each of three years, g per m2, by element. brought : total, g per m2, by element.
    reaches : ceilings, the fullest first. decayed : share of the carbon gone by the end.
    """

    question: BedQuestion
    weeks: tuple[date, ...]
    net: tuple[Band, ...]
    total: tuple[Band, ...]
    asked: tuple[float, ...]
    soil_gives: tuple[float, ...]
    taken_with: tuple[float, ...]
    taken_without: tuple[float, ...]
    lowest: Band
    lowest_week: int
    back_week: int | None
    drawing_share: float
    ph_before: float
    ph_change: Band
    ph_moved: Band
    ph_course: tuple[Band, ...]
    ph_alone: tuple[float, ...]
    ec_course: tuple[Band, ...]
    ec_alone: tuple[float, ...]
    ec_before: float
    ec_peak: Band
    yields: Mapping[str, Band]
    leached: Band
    volatilised: Band
    years: Mapping[str, tuple[Band, ...]]
    brought: Mapping[str, Band]
    reaches: tuple[Reach, ...]
    decayed: Band

    @property
    def season(self) -> Band:
        """Return nitrogen given by the end of the run, g per m2."""
        return self.total[-1]


def answer_bed(question: BedQuestion, ceilings: Mapping[str, Ceiling] | None = None) -> BedAnswer:
    """Return what a gift does to a bed.

    Parameters
    ----------
    ceilings : of the bed, by key; none are held against it when None.
    """
    doses = np.zeros((len(question.portions), question.weather.weeks))
    doses[:, question.week] = question.kg_m2
    with_it = _simulated(question, question.portions, doses)
    without = _simulated(question, (), np.zeros((0, question.weather.weeks)))
    net = _net(question, with_it)
    total = np.cumsum(net, axis=0)
    since = total[question.week :]
    deepest = int(np.argmin(np.median(since, axis=-1)))
    change = with_it.stock["ph"][1:, 0] - without.stock["ph"][1:, 0]
    brought = _brought(question)
    return BedAnswer(
        question=question,
        weeks=tuple(question.start + timedelta(days=WEEK * (one + 1) - 1) for one in range(with_it.weeks)),
        net=_bands(net),
        total=_bands(total),
        asked=_weekly(question.crop),
        soil_gives=tuple(1000.0 * np.median(with_it.flow["soil_release"][:, 0], axis=-1)),
        taken_with=_course(with_it),
        taken_without=_course(without),
        lowest=band(np.minimum(since.min(axis=0), 0.0), G_M2),
        lowest_week=deepest,
        back_week=_back(np.median(since, axis=-1), deepest),
        drawing_share=float(np.mean(since.min(axis=0) < -coefficient("bed_drawdown_told").value)),
        ph_before=float(question.place.ph[0, 0]),
        ph_change=band(change[-1], "pH"),
        ph_moved=band(np.take_along_axis(change, np.abs(change).argmax(axis=0)[None, :], axis=0)[0], "pH"),
        ph_course=tuple(band(one, "pH") for one in with_it.stock["ph"][1:, 0]),
        ph_alone=_medians(without.stock["ph"]),
        ec_course=tuple(band(from_si(one, "dS/m"), "dS/m") for one in with_it.stock["ec_si"][1:, 0]),
        ec_alone=_medians(from_si(without.stock["ec_si"], "dS/m")),
        ec_before=float(from_si(np.median(with_it.stock["ec_si"][question.week, 0]), "dS/m")),
        ec_peak=band(from_si(1.0, "dS/m") * _salt_peak(question, with_it), "dS/m"),
        yields=_yields(question, with_it),
        leached=band(1000.0 * (with_it.flow["leached"] - without.flow["leached"])[:, 0].sum(axis=0), G_M2),
        volatilised=band(1000.0 * with_it.flow["volatilised"][:, 0].sum(axis=0), G_M2),
        years=_years(question, brought),
        brought={key: band(1000.0 * one, G_M2) for key, one in brought.items()},
        reaches=_reaches(question, brought, ceilings or {}),
        decayed=_decayed(with_it),
    )


def _simulated(question: BedQuestion, portions: Sequence[Portion], doses: Array) -> BedRun:
    return simulate_bed(
        portions, doses, question.place, question.weather, question.crop, question.numbers, watered=question.watered
    )  # fmt: skip


def _net(question: BedQuestion, run: BedRun) -> Array:
    """Return nitrogen that came to the soil or left it for decomposers in each week, g per m2, shape (weeks, draws)."""
    net = run.net_n[:, :, 0].sum(axis=1) + (run.flow["mineral_n_in"] - run.flow["volatilised"])[:, 0]
    return np.asarray(1000.0 * net)


def _bands(values: Array) -> tuple[Band, ...]:
    return tuple(band(one, G_M2) for one in values)


def _medians(course: Array) -> tuple[float, ...]:
    return tuple(float(one) for one in np.median(course[1:, 0], axis=-1))


def _weekly(crop: Crop) -> tuple[float, ...]:
    ends = 1000.0 * crop.nitrogen_kg_m2[0, ::WEEK]
    return tuple(float(one) for one in np.diff(ends))


def _course(run: BedRun) -> tuple[float, ...]:
    return tuple(float(one) for one in 1000.0 * np.median(np.cumsum(run.taken[:, 0], axis=0), axis=-1))


def _back(course: Array, deepest: int) -> int | None:
    """Return the first week after the deepest in which nothing is owed any more."""
    after = np.flatnonzero(course[deepest:] >= 0.0)
    return int(after[0]) + deepest if after.size else None


def _salt_peak(question: BedQuestion, run: BedRun) -> Array:
    """Return the conductivity right after giving, before any rain, S/m."""
    brought = run.flow["salts_in"][question.week, 0]
    return np.asarray(run.stock["ec_si"][question.week, 0] + brought * question.place.salt_to_ec[0])


def _yields(question: BedQuestion, run: BedRun) -> dict[str, Band]:
    """Return the share of yield salt leaves each crop, at the mean conductivity from giving to the end of its stand."""
    standing = question.crop.cover[0].reshape(-1)[: WEEK * run.weeks].reshape(run.weeks, WEEK).max(axis=1) > 0
    after = standing & (np.arange(run.weeks) >= question.week)
    if not after.any():
        return {}
    mean = run.stock["ec_si"][1:, 0][after].mean(axis=0)
    out: dict[str, Band] = {}
    for slug in dict.fromkeys(question.crop_slugs):
        left = [relative_yield(slug, float(one)) for one in mean]
        known = [one for one in left if one is not None]
        if known:
            out[slug] = band(np.array(known), "1")
    return out


def _brought(question: BedQuestion) -> dict[str, Array]:
    """Return what the gift holds in all, kg per m2, by element."""
    keys = dict.fromkeys(["N", *(key for one in question.portions for key in one.matter.elements), "salt"])
    return {key: _sum(question, key) for key in keys}


def _sum(question: BedQuestion, key: str) -> Array:
    total = np.zeros(question.numbers.draws)
    for one, kg in zip(question.portions, question.kg_m2, strict=True):
        total = total + kg * _held(one.matter, key)
    return total


def _held(matter: Matter, key: str) -> Array:
    if key == "N":
        return matter.organic_n + matter.ammonium_n + matter.nitrate_n
    if key == "salt":
        return matter.salts
    return matter.elements.get(key, np.zeros_like(matter.dry))


def _reaches(question: BedQuestion, brought: Mapping[str, Array], ceilings: Mapping[str, Ceiling]) -> tuple[Reach, ...]:
    out = []
    for key, ceiling in ceilings.items():
        if key in brought and np.any(brought[key] > 0):
            load = band(brought[key], "kg/m2")
            out.append(Reach(ceiling, load, load.median / ceiling.limit_kg_m2 if ceiling.limit_kg_m2 > 0 else np.inf))
    return tuple(sorted(out, key=lambda one: -one.share))


def _decayed(run: BedRun) -> Band:
    given = run.carbon_given[-1, :, 0].sum(axis=0)
    left = run.carbon_left[-1, :, 0].sum(axis=0)
    return band(np.where(given > 0, 1.0 - left / np.maximum(given, 1e-15), 0.0), "1")


def _years(question: BedQuestion, brought: Mapping[str, Array]) -> dict[str, tuple[Band, ...]]:
    """Return what becomes available in each of three years, g per m2: a moist bare soil at the mean warmth of the run's year."""
    run = _three_years(question)
    ends = [52, 104, 156]
    net = np.cumsum(run.net_n[:, :, 0].sum(axis=1), axis=0)
    mineral = sum(
        kg * (one.matter.ammonium_n + one.matter.nitrate_n)
        for one, kg in zip(question.portions, question.kg_m2, strict=True)
    )
    course = {"N": [net[end - 1] + mineral for end in ends]}
    for key in FREED:
        if key == "P" and key in brought:
            course[key] = _phosphorus(question)
        elif key in brought:
            freed = element_course(run, question.portions, key).freed
            course[key] = [freed[end, 0] for end in ends]
    return {key: tuple(_bands(1000.0 * np.diff(np.stack(one), axis=0, prepend=0.0))) for key, one in course.items()}


def _phosphorus(question: BedQuestion) -> list[Array]:
    """Return the phosphorus crops can use by the end of each year, kg per m2: what comes free is partly bound by the soil."""
    second, third = coefficient("bed_p_second_year").value, coefficient("bed_p_third_year").value
    out = [np.zeros(question.numbers.draws) for _ in range(YEARS)]
    for one, kg in zip(question.portions, question.kg_m2, strict=True):
        first = one.matter.p_share
        by_year = (first, first + (1.0 - first) * second, first + (1.0 - first) * (second + third))
        for year in range(YEARS):
            out[year] = out[year] + kg * one.matter.elements.get("P", np.zeros(1)) * by_year[year]
    return out


def _three_years(question: BedQuestion) -> BedRun:
    """Run the gift alone for three years on a moist soil, the warmth of the run's weeks repeated through the year."""
    weekly = question.weather.weekly_temp_c()
    year = _whole_year(weekly)
    still = np.zeros((WEEK * 52 * YEARS, 1))
    temps = np.tile(np.repeat(year, WEEK, axis=0), (YEARS, 1))
    weather = BedWeather(temps, still, still)
    doses = np.zeros((len(question.portions), 52 * YEARS))
    doses[:, 0] = question.kg_m2
    rich = replace(usual_place(), nitrate_kg_m2=np.array([[0.05]]))
    return simulate_bed(question.portions, doses, rich, weather, None, question.numbers, watered=False)


def _whole_year(weekly: Array) -> Array:
    """Return 52 weeks: those of the run, the rest of the year filled with its coldest fortnight."""
    if weekly.shape[0] >= 52:
        return weekly[:52]
    cold = np.sort(weekly, axis=0)[:2].mean(axis=0, keepdims=True)
    return np.concatenate([weekly, np.repeat(np.minimum(cold, 5.0), 52 - weekly.shape[0], axis=0)])
