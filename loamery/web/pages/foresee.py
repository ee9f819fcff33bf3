"""What is reckoned in the background for the pages: reports, plan, and a forecast for every heap that stands or is planned."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from loamery.errors import LoameryError, NoPlan, Where
from loamery.finding import Finding, by_severity
from loamery.garden.fields import Record
from loamery.garden.model import Garden
from loamery.garden.records import Batch
from loamery.heap.calibrate import calibrate
from loamery.heap.climate import Normals
from loamery.heap.forecast import Forecast, HeapPlan, forecast
from loamery.heap.hygiene import hygiene_rules
from loamery.heap.matter import Part
from loamery.heap.readings import Reading
from loamery.lab.composition import Composition
from loamery.reference import table
from loamery.say import say
from loamery.season.holding import Held
from loamery.season.make import solve_prepared
from loamery.season.plan import Batch as PlannedBatch
from loamery.season.plan import SeasonPlan
from loamery.season.prepare import Prepared, prepare
from loamery.season.work import turning_weeks
from loamery.web.pages.drawings import drawings
from loamery.web.pages.sight import Learnt, Reckoned

Progress = Callable[[str], None]
DAYS, DRAWS = 120, 40
"""Days looked ahead and runs of each forecast; a page needs no more, the command line can ask for more."""
MOST_READINGS = 200
SHAPES = {"bin": "bin", "pile": "pile", "tumbler": "bin"}
DAYS_PER_WEEK = 7.0


def reckon(
    garden: Garden, progress: Progress = lambda _: None, *, since: date | None = None, held: Sequence[Held] = ()
) -> Reckoned:
    """Return everything the pages show that takes longer than a page may.

    Parameters
    ----------
    garden : with its folder, so that report files can be read. progress : told what is being done, in a few words.
    since : first day to plan; what was done before is taken as it was written down. held : amounts a person fixed.

    Raises
    ------
    LoameryError : a report cannot be used, or no plan keeps the amounts a person fixed; otherwise without a plan the rest is returned and `failure` says why.
    """
    prepared = prepare(garden, progress)
    plan, failure = None, ""
    try:
        plan = _solved(prepared, progress, since, held)
    except NoPlan as error:
        if any(one.kg > 0 for one in held):
            raise  # the plan before stays until the person lets something go
        failure = str(error)
    heaps = _heaps(garden, plan, prepared.compositions, progress)
    progress("drawing charts")
    built = {one.id: one for one in garden.batches}
    readings = {key: heap_readings(garden, built.get(key)) for key in heaps}
    charts = drawings(prepared, plan, {key: one.told for key, one in heaps.items()}, readings)
    return Reckoned(prepared, plan, failure, heaps, charts)


def _solved(prepared: Prepared, progress: Progress, since: date | None, held: Sequence[Held]) -> SeasonPlan:
    """Return the plan from a day on; where none keeps the limits with what was done, the plan of the whole season, which says so."""
    try:
        return solve_prepared(prepared, progress, since=since, held=held).plan
    except NoPlan:
        if since is None:
            raise
    plan = solve_prepared(prepared, progress, held=held).plan
    told = Finding(
        "not_planned_anew",
        "warning",
        say("This is the plan of the whole season: from today on none keeps all limits"),
        say("with what was written down as done, some limit can no longer be kept"),
        about="garden",
        proposal=say("look through what was written down for amounts or days that are not right"),
    )
    return replace(plan, findings=tuple(by_severity((*plan.findings, told))))


def _heaps(
    garden: Garden, plan: SeasonPlan | None, compositions: Mapping[str, Composition], progress: Progress
) -> dict[str, Learnt]:
    out: dict[str, Learnt] = {}
    for batch in garden.batches:
        if batch.emptied is None and any(one.batch == batch.id for one in garden.batch_parts):
            progress(f"foreseeing {batch.id}")
            out[batch.id] = foreseen(garden, batch, compositions)
    for planned in plan.batches if plan else ():
        progress(f"foreseeing {planned.id}")
        out[f"plan-{planned.id}"] = _foreseen(garden, planned_heap(garden, planned, compositions), ())
    return out


def foreseen(garden: Garden, batch: Batch, compositions: Mapping[str, Composition]) -> Learnt:
    """Return a heap that stands foreseen from everything written down about it."""
    told = _foreseen(garden, built_heap(garden, batch, compositions), heap_readings(garden, batch))
    return replace(told, rests_on=rests_on(garden, batch))


def rests_on(garden: Garden, batch: Batch) -> tuple[Record, ...]:
    """Return every record a heap's forecast rests on."""
    tended = (garden.batch_parts, garden.turnings, garden.waterings, garden.readings)
    return (batch, *(one for part in tended for one in part if one.batch == batch.id))


def _foreseen(garden: Garden, heap: HeapPlan, readings: tuple[Reading, ...]) -> Learnt:
    normals = Normals(garden.climate.mean_temp_c, garden.climate.rain_mm, garden.weather)
    seed, rules = garden.info.seed, hygiene_rules(rule_keys(garden))
    inside = tuple(one for one in readings if one.day <= DAYS)[:MOST_READINGS]
    if not inside:
        return Learnt(forecast(heap, normals, DAYS, DRAWS, seed, rules=rules))
    try:
        learnt = calibrate(heap, inside, normals)
    except LoameryError as error:
        return Learnt(forecast(heap, normals, DAYS, DRAWS, seed, rules=rules), (str(error),))
    told: Forecast = forecast(
        heap, normals, DAYS, DRAWS, seed, rules=rules, changes=learnt.draws(DRAWS, seed), centre=learnt.values
    )
    return Learnt(told, tuple(learnt.words))


def built_heap(garden: Garden, batch: Batch, compositions: Mapping[str, Composition]) -> HeapPlan:
    """Return a heap as it was built and tended."""
    place = next((one for one in garden.heaps if one.id == batch.heap), None)
    parts = tuple(Part(compositions[one.material], one.kg) for one in garden.batch_parts if one.batch == batch.id)

    def age(on: object) -> float:
        return float((on - batch.built).days)  # type: ignore[operator]

    return HeapPlan(
        parts=parts,
        start=batch.built,
        shape=SHAPES[place.kind] if place else "pile",  # type: ignore[arg-type]
        volume_m3=batch.volume_m3 or (place.capacity_m3 if place else 1.0),
        water_kg=batch.water_kg,
        turn_days=tuple(sorted(age(one.on) for one in garden.turnings if one.batch == batch.id)),
        waterings=tuple(sorted((age(one.on), one.kg) for one in garden.waterings if one.batch == batch.id)),
    )


def planned_heap(garden: Garden, planned: PlannedBatch, compositions: Mapping[str, Composition]) -> HeapPlan:
    """Return a heap as the plan would build and turn it."""
    place = next(one for one in garden.heaps if one.id == planned.heap)
    return HeapPlan(
        parts=tuple(Part(compositions[key], kg) for key, kg in planned.parts_kg.items() if kg > 0),
        start=planned.day,
        shape=SHAPES[place.kind],  # type: ignore[arg-type]
        volume_m3=planned.volume_m3,
        water_kg=planned.water_l,
        turn_days=tuple(DAYS_PER_WEEK * (week - planned.week) for week in turning_weeks(planned.week)),
    )


def heap_readings(garden: Garden, batch: Batch | None) -> tuple[Reading, ...]:
    """Return the thermometer readings of a heap in the order of time."""
    if batch is None:
        return ()
    found = [one for one in garden.readings if one.batch == batch.id and one.temp_c is not None]
    return tuple(
        Reading(
            one.on,
            float((one.on - batch.built).days),
            one.depth_m,
            float(one.temp_c or 0.0),
            Where(file="readings.csv"),
        )
        for one in sorted(found, key=lambda one: one.on)
    )


def rule_keys(garden: Garden) -> tuple[str, ...]:
    """Return the sets of hygiene rules of the garden's jurisdiction."""
    rows = {row["key"]: row["hygiene_limits"].split(";") for row in table("jurisdictions")}
    return tuple(rows.get(garden.info.jurisdiction, ()))
