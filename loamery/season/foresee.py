"""What the heap model says of a plan: each batch, each mulch, each feeding that the plan asks for, run and judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from loamery.garden.model import Garden, WormBed
from loamery.heap.climate import Normals
from loamery.heap.forecast import Forecast, HeapPlan, forecast
from loamery.heap.hygiene import HygieneRule, hygiene_rules
from loamery.heap.matter import Part
from loamery.heap.mulch_limit import MulchLimit, mulch_limit
from loamery.heap.weather import Weather
from loamery.reference import coefficient, table
from loamery.season.mulch_depths import MULCH_DRAWS, mulch_site
from loamery.season.plan import Batch, SeasonPlan
from loamery.season.worm_bed import bed_air
from loamery.season.worm_feeding import Feeding, feeding_limit
from loamery.worms.population import WormForecast, forecast_worms

DAYS, DRAWS, FEED_DRAWS = 180, 24, 12
LEAST_KG = 0.05
"""Less than this is no difference that a kitchen scale would show."""


@dataclass(frozen=True, eq=False)
class BatchForecast:
    """One batch of the plan as the heap model foresees it."""

    batch: Batch
    told: Forecast

    @property
    def planned_days(self) -> int:
        """Return the days from building to usable compost that the plan reckons with."""
        return (self.batch.ready_day - self.batch.day).days


@dataclass(frozen=True, eq=False)
class MulchCheck:
    """A material that the plan spreads, the thickest layer it asks for (m), and how thick one may be."""

    material: str
    name: str
    planned_m: float
    found: MulchLimit


@dataclass(frozen=True, eq=False)
class FeedCheck:
    """A feed of a worm bed, how much of it is planned for each week (kg as received), and how much the bed takes."""

    name: str
    planned_kg: tuple[float, ...]
    found: Feeding

    @property
    def over(self) -> int:
        """Return in how many weeks more is planned than the bed takes."""
        return sum(one > most + LEAST_KG for one, most in zip(self.planned_kg, self.found.weekly_kg, strict=True))


@dataclass(frozen=True, eq=False)
class BedCheck:
    """A worm bed fed as planned.

    Parameters
    ----------
    weekly_kg : planned feed of each week, as received.
    """

    bed: WormBed
    feeds: tuple[FeedCheck, ...]
    weekly_kg: tuple[float, ...]
    forecast: WormForecast


@dataclass(frozen=True, eq=False)
class Foreseen:
    """What the heap model says of a plan."""

    batches: tuple[BatchForecast, ...]
    mulches: tuple[MulchCheck, ...]
    worm_beds: tuple[BedCheck, ...]


def foresee(plan: SeasonPlan, progress: Callable[[str], None] = lambda _: None) -> Foreseen:
    """Return what the heap model says of each batch, mulch and worm bed of a plan."""
    progress("preparing the heap model (once after installing this takes half a minute)")
    place = place_of(plan.garden)
    rules = garden_rules(plan.garden)
    batches = []
    for one in plan.batches:
        progress(f"foreseeing {one.id}")
        told = forecast(heap_plan(plan, one), place, DAYS, DRAWS, plan.garden.info.seed, rules=rules)
        batches.append(BatchForecast(one, told))
    progress("foreseeing mulches and worm beds")
    return Foreseen(tuple(batches), _mulches(plan), _worm_beds(plan, place))


def place_of(garden: Garden) -> Normals:
    """Return the weather of a garden: days measured, and normals."""
    return Normals(garden.climate.mean_temp_c, garden.climate.rain_mm, garden.weather)


def garden_rules(garden: Garden) -> tuple[HygieneRule, ...]:
    """Return the rules of hygiene of the garden's jurisdiction."""
    row = next(row for row in table("jurisdictions") if row["key"] == garden.info.jurisdiction)
    return hygiene_rules([key for key in row["hygiene_limits"].split(";") if key])


def heap_plan(plan: SeasonPlan, batch: Batch) -> HeapPlan:
    """Return a batch as the heap model takes it, turned on the days the plan says."""
    heap = next(one for one in plan.garden.heaps if one.id == batch.heap)
    later = [one.day for one in plan.batches if one.heap == batch.heap and one.day > batch.day]
    until = min([batch.ready_day, *later])  # what is turned after the next batch was built is that one
    turns = tuple(
        float((one.day - batch.day).days)
        for one in plan.actions
        if one.task == "turn" and one.target == batch.heap and batch.day < one.day <= until
    )
    return HeapPlan(
        parts=tuple(Part(plan.compositions[key], kg) for key, kg in batch.parts_kg.items()),
        start=batch.day,
        shape="pile" if heap.kind == "pile" else "bin",
        volume_m3=batch.volume_m3,
        water_kg=batch.water_l,
        turn_days=turns,
    )


def _mulches(plan: SeasonPlan) -> tuple[MulchCheck, ...]:
    thickest: dict[str, float] = {}
    for one in plan.actions:
        if one.task == "mulch" and one.stuff in plan.compositions:
            thickest[one.stuff] = max(thickest.get(one.stuff, 0.0), one.depth_m)
    warm, month_mm = mulch_site(plan.garden)
    seed = plan.garden.info.seed
    return tuple(
        MulchCheck(
            key, plan.garden.material(key).name, depth,
            mulch_limit([Part(plan.compositions[key], 1.0)], warm, MULCH_DRAWS, seed, month_mm=month_mm),
        )
        for key, depth in thickest.items()
    )  # fmt: skip


def _worm_beds(plan: SeasonPlan, place: Normals) -> tuple[BedCheck, ...]:
    weeks = plan.calendar.weeks
    air = bed_air(place, plan.calendar.start, weeks, FEED_DRAWS, plan.garden.info.seed)
    found = []
    for bed in plan.garden.worm_beds:
        fed = [one for one in plan.actions if one.task == "feed" and one.target == bed.id]
        if fed:
            found.append(_bed(plan, bed, air))
    return tuple(found)


def _bed(plan: SeasonPlan, bed: WormBed, air: Sequence[Weather]) -> BedCheck:
    by_stuff: dict[str, list[float]] = {}
    for one in plan.actions:
        if one.task == "feed" and one.target == bed.id:
            by_stuff.setdefault(one.stuff, [0.0] * plan.calendar.weeks)[one.week] += one.kg
    worms = bed.worms_kg or coefficient("worm_stocking").value * bed.area_m2
    feeds, seed = [], plan.garden.info.seed
    for key, weekly in by_stuff.items():
        part = Part(plan.compositions[key], 1.0)
        limit = feeding_limit(bed.name, [part], bed.area_m2, worms, air, draws=FEED_DRAWS, seed=seed)
        feeds.append(FeedCheck(plan.garden.material(key).name, tuple(weekly), limit))
    weekly_kg = tuple(float(one) for one in np.sum(list(by_stuff.values()), axis=0))
    dry = _dry_share(plan, by_stuff)
    temps = np.median([one.found.course.bed_temp_c[1] for one in feeds], axis=0)
    told = forecast_worms(worms, bed.area_m2, weekly_kg, dry, [float(one) for one in temps], seed=seed)
    return BedCheck(bed, tuple(feeds), weekly_kg, told)


def _dry_share(plan: SeasonPlan, by_stuff: dict[str, list[float]]) -> float:
    """Return the dry matter of all the feed, kg/kg."""
    kg = {key: sum(weekly) for key, weekly in by_stuff.items()}
    dry = sum(one * (1.0 - plan.compositions[key].median("moisture")) for key, one in kg.items())
    return float(dry / sum(kg.values()))
