"""What a season's records say: what was planned and done, forecasts against readings, soil before and after, what was learnt."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from loamery.errors import InputError
from loamery.evidence.benefit_account import Moved, moved_by_records
from loamery.evidence.review_soil import SoilChange, soil_pairs, why_not
from loamery.evidence.skill import Pair
from loamery.finding import Band, Finding
from loamery.garden.model import Garden
from loamery.garden.records import Batch
from loamery.heap.calibrate import Calibration, calibrate
from loamery.heap.forecast import Forecast, HeapPlan, forecast
from loamery.heap.matter import Part
from loamery.heap.readings import Reading, logged_readings
from loamery.lab.combine import compose
from loamery.lab.composition import Composition
from loamery.lab.spellings import extractant_of
from loamery.reference import coefficient
from loamery.reference.lookup import figure
from loamery.say import joined, say
from loamery.season.foresee import place_of
from loamery.season.prepare import Prepared, prepare
from loamery.uncertain import horwitz_rsd
from loamery.units import to_si

DRAWS, MOST_DAYS, Z90 = 24, 120, 1.6448536269514722
LEARNT_KEYS = ("N", "P", "K", "moisture")
Tell = Callable[[str], None]


@dataclass(frozen=True)
class Learnt:
    """A figure of a material before any report and with them, 90 % bands."""

    material: str
    key: str
    before: Band
    after: Band


@dataclass(frozen=True)
class HeapReview:
    """A heap that was built: foreseen from what went in, and what the thermometer said."""

    batch: Batch
    told: Forecast
    readings: tuple[Reading, ...]
    pairs: tuple[Pair, ...]


@dataclass
class Facts:
    """Everything a season's evidence rests on."""

    garden: Garden
    first: date
    last: date
    prepared: Prepared
    moved: Moved | None = None
    heaps: list[HeapReview] = field(default_factory=list)
    harvests: list[Pair] = field(default_factory=list)
    soils: list[SoilChange] = field(default_factory=list)
    soil_pairs: list[Pair] = field(default_factory=list)
    learnt: list[Learnt] = field(default_factory=list)
    calibration: tuple[str, Calibration] | None = None
    findings: list[Finding] = field(default_factory=list)

    @property
    def records(self) -> int:
        """Return how many things were written down."""
        return sum(len(getattr(self.garden, name)) for name in DATED) + len(self.garden.batches)

    @property
    def pairs(self) -> list[Pair]:
        """Return every reading beside its forecast."""
        return [pair for one in self.heaps for pair in one.pairs]


DATED = ("loads", "applications", "turnings", "waterings", "readings", "feedings", "harvests")


def season_of(garden: Garden, year: int | None) -> tuple[date, date]:
    """Return the first and last day that are looked back on: a calendar year, or the season of the garden.

    Raises
    ------
    InputError : a year that cannot be one.
    """
    if year is not None:
        if not 1950 <= year <= 2199:
            raise InputError(f"{year}", expected=say("a year such as 2027"), remedy=say("for example --year 2027"))
        return date(year, 1, 1), date(year, 12, 31)
    return garden.info.season_start, garden.info.season_start + timedelta(weeks=garden.info.season_weeks, days=-1)


def within(garden: Garden, first: date, last: date) -> Garden:
    """Return a garden with the records of some days only; heaps count by the day they were built."""
    batches = tuple(one for one in garden.batches if first <= one.built <= last)
    kept = {one.id for one in batches}
    update: dict[str, object] = {
        name: tuple(one for one in getattr(garden, name) if first <= one.on <= last) for name in DATED
    }
    update["readings"] = tuple(one for one in garden.readings if one.batch in kept)
    update["batches"] = batches
    update["batch_parts"] = tuple(one for one in garden.batch_parts if one.batch in kept)
    return garden.model_copy(update=update)


def gather_facts(garden: Garden, year: int | None = None, tell: Tell = lambda _: None) -> Facts:
    """Return what the records of a season say."""
    first, last = season_of(garden, year)
    season = within(garden, first, last)
    prepared = prepare(season, tell)
    facts = Facts(season, first, last, prepared, moved_by_records(season))
    for batch in season.batches:
        tell(f"foreseeing {batch.id}")
        add_heap(facts, batch)
    facts.harvests = list(_harvests(season, first, last))
    facts.soils = list(soil_changes(garden, prepared))
    if facts.soils:
        tell("foreseeing the beds from their first soil tests")
        facts.soil_pairs, unforeseen = soil_pairs(garden, prepared.compositions, prepared.soils, facts.soils)
        facts.findings += unforeseen
    facts.learnt = list(_learnt(prepared))
    if facts.heaps:
        most = max(facts.heaps, key=lambda one: len(one.readings))
        tell(f"learning from the thermometer of {most.batch.id}")
        facts.calibration = (most.batch.id, calibrate(most.told.plan, most.readings, place_of(garden)))
    return facts


def add_heap(facts: Facts, batch: Batch) -> None:
    """Foresee a heap from what went in, without its readings, and set them beside it."""
    garden = facts.garden
    parts = [one for one in garden.batch_parts if one.batch == batch.id]
    if not parts or not any(one.batch == batch.id and one.temp_c is not None for one in garden.readings):
        return
    readings = tuple(one for one in logged_readings(garden.readings, batch) if 0.0 <= one.day <= MOST_DAYS)
    try:
        plan = built_plan(garden, facts.prepared.compositions, batch)
        days = max(int(max(one.day for one in readings)) + 2, 6)
        told = forecast(plan, place_of(garden), days, DRAWS, garden.info.seed)
    except (InputError, ValueError) as error:
        facts.findings.append(
            Finding(
                "review_no_forecast",
                "note",
                say("{heap} could not be foreseen, so its readings are held against nothing.", heap=batch.id),
                why_not(error),
                ("PRACTICE",),
                about=batch.id,
            )
        )
        return
    facts.heaps.append(HeapReview(batch, told, readings, tuple(_pairs(batch, told, readings))))


def built_plan(garden: Garden, compositions: Mapping[str, Composition], batch: Batch) -> HeapPlan:
    """Return a heap that was built as the model takes it, turned and watered as it was."""
    heap = next(one for one in garden.heaps if one.id == batch.heap)
    parts = tuple(Part(compositions[one.material], one.kg) for one in garden.batch_parts if one.batch == batch.id)
    turns = tuple(
        float((one.on - batch.built).days) for one in garden.turnings if one.batch == batch.id and one.on > batch.built
    )
    water = tuple(
        (float((one.on - batch.built).days), one.kg)
        for one in garden.waterings
        if one.batch == batch.id and one.on > batch.built
    )
    return HeapPlan(
        parts=parts, start=batch.built, shape="pile" if heap.kind == "pile" else "bin", volume_m3=batch.volume_m3 or heap.capacity_m3,
        water_kg=batch.water_kg, turn_days=tuple(sorted(set(turns))), waterings=tuple(sorted(water)),
    )  # fmt: skip


def _pairs(batch: Batch, told: Forecast, readings: Sequence[Reading]) -> Iterator[Pair]:
    """Yield readings beside the forecast at their day and depth; the band holds the scatter of a reading too."""
    scatter = coefficient("reading_sd").value
    for one in readings:
        depth = float(told.depth_m[-1]) if one.depth_m is None else min(one.depth_m, float(told.depth_m[-1]))
        low, middle, high = (_at(told, which, one.day, depth) for which in range(3))
        under, over = (float(np.hypot(end, Z90 * scatter)) for end in (middle - low, high - middle))
        where = say("middle") if one.depth_m is None else f"{100 * one.depth_m:.0f} cm"
        yield Pair(
            "heap temperature",
            joined(", ", (batch.id, where)),
            one.on.isoformat(),
            Band(middle, middle - under, middle + over, "K"),
            one.temp_c,
            batch.id,
        )


def _at(told: Forecast, which: int, day: float, depth_m: float) -> float:
    over_time = np.array([np.interp(day, told.day, told.temp_c[which][:, cell]) for cell in range(len(told.depth_m))])
    return float(np.interp(depth_m, told.depth_m, over_time))


def _harvests(garden: Garden, first: date, last: date) -> Iterator[Pair]:
    """Yield finished plantings with what was expected and picked."""
    picked_until = max((one.on for one in garden.harvests), default=first)
    for one in garden.plantings:
        if not first <= one.planted <= last or one.harvested > picked_until:
            continue
        kg = sum(
            each.kg
            for each in garden.harvests
            if (each.bed, each.crop) == (one.bed, one.crop) and one.planted <= each.on <= one.harvested
        )
        published = figure("crop_values", one.crop, "yield")
        area = garden.bed(one.bed).area_m2 * one.share
        if kg > 0.0 and published is not None:
            middle, low, high = (
                area * to_si(value, published.unit) for value in (published.value, published.low, published.high)
            )
            middle = area * one.yield_kg_m2 if one.yield_kg_m2 is not None else middle
            band = Band(middle, min(low, middle), max(high, middle), "kg")
            yield Pair(
                "harvest",
                joined(", ", (one.crop, one.bed)),
                one.harvested.isoformat(),
                band,
                kg,
                f"{one.bed} {one.crop} {one.planted}",
            )


def soil_changes(garden: Garden, prepared: Prepared) -> Iterator[SoilChange]:
    """Yield soil test figures that were taken on two days or more in the same way."""
    taken: dict[tuple[str, str, str], dict[date, float]] = {}
    for one in garden.soil_values:
        if one.sampled_on is not None:
            taken.setdefault((one.bed, one.quantity, _method(one.extractant)), {})[one.sampled_on] = (
                to_si(one.value, one.unit) if one.unit != "pH" else one.value
            )
    for bed, reports in prepared.soil_reports.items():
        for report in reports:
            if not report.sampled_on:
                continue
            for each in report.determinations:
                if each.value is not None:
                    taken.setdefault((bed, each.quantity, _method(each.method)), {})[
                        date.fromisoformat(str(report.sampled_on))
                    ] = each.value
    for (bed, key, method), by_day in taken.items():
        if len(by_day) > 1:
            first, last = min(by_day), max(by_day)
            yield SoilChange(
                bed, key, first, last, by_day[first], by_day[last], _scatter(key, by_day[first], by_day[last]), method
            )


def _method(name: str) -> str:
    """Return a method under one name, however it was printed or typed."""
    return extractant_of(name) or name.strip().casefold()


def _scatter(key: str, before: float, after: float) -> float:
    """Return the standard deviation of the difference of two laboratory figures when nothing changed."""
    if key == "pH":
        return float(np.sqrt(2.0)) * coefficient("review_ph_sd").value
    middle = max(0.5 * (before + after), 1e-12)
    if key == "EC" or middle > 1.0:
        return float(np.sqrt(2.0)) * middle * coefficient("review_other_rsd").value
    sampled = coefficient("review_sampling_rsd").value
    return float(np.sqrt(2.0)) * middle * float(np.hypot(horwitz_rsd(middle), sampled))


def _learnt(prepared: Prepared) -> Iterator[Learnt]:
    """Yield figures that reports moved away from what is published."""
    info = prepared.garden.info
    for material, reports in prepared.reports.items():
        if not reports:
            continue
        kind = prepared.garden.material(material).kind
        plain = compose(kind, (), material=material, n=info.draws, seed=info.seed)
        for key in LEARNT_KEYS:
            if key in plain and key in prepared.compositions[material]:
                yield Learnt(material, key, plain[key].band(), prepared.compositions[material][key].band())
