"""Small gardens of known truth: a season carried out with compositions, weather and numbers that nobody in the garden knows, then tested with error.

The truth is drawn from the same published ranges as the forecast, with other seeds: this checks the statistics of the review
from records to bands, not whether the models are right about soils and heaps.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache

import numpy as np

from loamery.bed.crop import Crop, crops
from loamery.bed.elements import element_course
from loamery.bed.matter import matter_of_stuff
from loamery.bed.parameters import bed_parameters, spread_of
from loamery.bed.place import Place, place_of
from loamery.bed.simulate import Portion, simulate_bed
from loamery.bed.soil import SoilTest
from loamery.bed.weather import normal_weather
from loamery.evidence.review_facts import Facts, add_heap, built_plan, soil_changes
from loamery.evidence.review_soil import soil_pairs
from loamery.evidence.skill import Pair
from loamery.garden.model import Bed, Climate, Donor, Garden, Heap, Info, Material, Planting, SoilValue
from loamery.garden.records import Application, Batch, BatchPart, Reading
from loamery.heap.cluster import run_heaps
from loamery.heap.forecast import CELLS, members
from loamery.lab.combine import compose
from loamery.lab.composition import Composition
from loamery.reference import coefficient
from loamery.season.foresee import place_of as climate_of
from loamery.season.prepare import Prepared, prepare
from loamery.season.stuff import raw_stuff
from loamery.uncertain import horwitz_rsd

START, WEEKS = date(2027, 4, 26), 16
KINDS = ("grass-clippings", "leaves-mixed", "coffee-spent", "manure-horse-straw", "chips-arborist", "brewers-grain")
CROPS = ("tomato", "lettuce-leaf", "potato", "bean-snap", "cabbage")
TEXTURES = ("sandy loam", "loam", "silt loam", "clay loam")
READ_ON = (2, 4, 7, 11)


@dataclass(frozen=True)
class Trial:
    """One simulated garden: every figure that was measured beside its forecast."""

    pairs: tuple[Pair, ...]


@cache
def _composition(kind: str, seed: int, n: int) -> Composition:
    return compose(kind, (), material=kind, n=n, seed=seed)


def simulated(seed: int, *, heap: bool = True) -> list[Pair]:
    """Return what was measured in one garden beside what the review foresaw, from its records alone."""
    draw = np.random.default_rng([seed, 20270426])
    garden = _season(draw, seed)
    truth = _truth(garden, seed, draw)
    garden = garden.model_copy(update={"soil_values": tuple(_tests(truth, draw))})
    if heap:
        garden = garden.model_copy(update={"readings": tuple(_readings(garden, seed, draw))})
    known = prepare(garden)
    pairs, findings = soil_pairs(garden, known.compositions, known.soils, list(soil_changes(garden, known)))
    assert not findings
    return pairs + (_heap_pairs(garden, known) if heap else [])


def _heap_pairs(garden: Garden, known: Prepared) -> list[Pair]:
    facts = Facts(garden, START, START + timedelta(weeks=WEEKS), known)
    add_heap(facts, garden.batches[0])
    assert not facts.findings
    return facts.pairs


def _season(draw: np.random.Generator, seed: int) -> Garden:
    """Return a garden's places and what was done there."""
    kinds = [str(one) for one in draw.choice(KINDS, 2, replace=False)]
    day = START + timedelta(days=int(draw.integers(0, 28)))
    bed = Bed(id="bed", name="Bed", area_m2=10.0, depth_m=0.2, texture=str(draw.choice(TEXTURES)), bulk_density_kg_m3=1250.0)  # fmt: skip
    spread = (
        Application(bed="bed", on=day, material=kinds[0], kg=float(draw.uniform(5, 40)), use="dig_in"),
        Application(bed="bed", on=day + timedelta(days=21), material=kinds[1], kg=float(draw.uniform(5, 40)), use="mulch"),
    )  # fmt: skip
    planted = Planting(bed="bed", crop=str(draw.choice(CROPS)), planted=day + timedelta(days=7), harvested=day + timedelta(days=77))  # fmt: skip
    parts = (("grass-clippings", draw.uniform(100, 250)), ("leaves-mixed", draw.uniform(40, 120)))
    materials = dict.fromkeys([*kinds, *(kind for kind, _ in parts)])
    return Garden(
        info=Info(name="Simulated (invented)", jurisdiction="ca-a", season_start=START, season_weeks=WEEKS, draws=100, seed=seed, invented=True),
        climate=Climate(mean_temp_c=(2, 3, 6, 10, 14, 17, 20, 19, 15, 10, 6, 3), rain_mm=tuple(float(one) for one in draw.uniform(20, 110, 12))),
        donors=(Donor(id="cafe", name="Cafe"),), beds=(bed,), heaps=(Heap(id="bin", name="Bin", capacity_m3=1.0),),
        materials=tuple(Material(id=one, name=one, kind=one) for one in materials), applications=spread, plantings=(planted,),
        batches=(Batch(id="one", heap="bin", built=day),), batch_parts=tuple(BatchPart(batch="one", material=kind, kg=float(kg)) for kind, kg in parts),
    )  # fmt: skip


def _truth(garden: Garden, seed: int, draw: np.random.Generator) -> tuple[dict[str, float], dict[str, float]]:
    """Return the true figures of the soil before and after, SI; one draw of everything that is not known."""
    own = seed + 500_000
    numbers = bed_parameters(2, own)
    days = 7 * WEEKS
    grown = _yielding(crops([garden.plantings], START, days), draw)
    before = {
        "pH": draw.uniform(5.4, 7.2), "EC": draw.uniform(0.03, 0.15), "P": draw.uniform(15e-6, 90e-6), "K": draw.uniform(60e-6, 250e-6),
        "NO3_N": draw.uniform(5e-6, 30e-6), "NH4_N": draw.uniform(2e-6, 8e-6),
    }  # fmt: skip
    place = _soil(place_of(garden.beds[0], SoilTest("bed", {}), float(grown.root_depth_m[0])), before)
    portions, doses = [], np.zeros((2, WEEKS))
    for at, one in enumerate(garden.applications):
        stuff = raw_stuff(garden.material(str(one.material)), _composition(str(one.material), own, 2))
        portions.append(Portion(matter_of_stuff(stuff, numbers), one.use == "mulch"))
        doses[at, (one.on - START).days // 7] = one.kg / 10.0
    weather = normal_weather(garden.climate.mean_temp_c, garden.climate.rain_mm, START, days, 2, own)
    run = simulate_bed(portions, doses, place, weather, grown, numbers)
    soil = float(place.soil_kg_m2[0, 0])
    after = {"pH": run.stock["ph"][-1, 0, 0], "EC": run.stock["ec_si"][-1, 0, 0]}
    for key, stock in (("NO3_N", "nitrate"), ("NH4_N", "ammonium")):
        after[key] = run.stock[stock][-1, 0, 0] / soil
    for key, name in (("P", "review_p_shown"), ("K", "review_k_shown")):
        gain = element_course(run, portions, key, grown).soil_gain[-1, 0, 0]
        shown = spread_of(coefficient(name)).draw(1, own, "truth", name)[0]
        after[key] = max(before[key] + shown * gain / soil, 0.0)
    return before, {key: float(one) for key, one in after.items()}


def _yielding(crop: Crop, draw: np.random.Generator) -> Crop:
    size = float(np.exp(coefficient("review_yield_rsd").value * draw.normal()))
    names = ("nitrogen_kg_m2", "base_mol_m2", "p_kg_m2", "k_kg_m2")
    return replace(crop, **{name: size * getattr(crop, name) for name in names})


def _soil(place: Place, before: dict[str, float]) -> Place:
    soil = float(place.soil_kg_m2[0, 0])
    values = {"ph": before["pH"], "ec_si": before["EC"], "nitrate_kg_m2": soil * before["NO3_N"], "ammonium_kg_m2": soil * before["NH4_N"]}  # fmt: skip
    return replace(place, **{name: np.array([[one]]) for name, one in values.items()})


def _tests(truth: tuple[dict[str, float], dict[str, float]], draw: np.random.Generator) -> Iterator[SoilValue]:
    """Yield two soil tests with the error of sampling and laboratory; how large that is nobody knows either."""
    for day, levels in zip((START, START + timedelta(weeks=WEEKS)), truth, strict=True):
        for key, level in levels.items():
            if key == "pH":
                value, unit, how = level + _spread("review_ph_sd", draw) * draw.normal(), "pH", ""
            elif key == "EC":
                value, unit, how = 10.0 * level * (1 + _spread("review_other_rsd", draw) * draw.normal()), "dS/m", "saturated paste"  # fmt: skip
            else:
                rsd = np.hypot(horwitz_rsd(max(level, 1e-9)), _spread("review_sampling_rsd", draw))
                value, unit, how = 1e6 * level * (1 + rsd * draw.normal()), "mg/kg", "mehlich3"
            yield SoilValue(bed="bed", quantity=key, value=max(float(value), 0.0), unit=unit, extractant=how, sampled_on=day)  # fmt: skip


def _spread(key: str, draw: np.random.Generator) -> float:
    return float(spread_of(coefficient(key)).draw(1, int(draw.integers(1 << 31)), "truth", key)[0])


def _readings(garden: Garden, seed: int, draw: np.random.Generator) -> Iterator[Reading]:
    """Yield thermometer readings in the middle of a heap whose materials, numbers and weather were drawn."""
    batch = garden.batches[0]
    plan = built_plan(garden, {one.id: _composition(one.id, seed + 500_000, 8) for one in garden.materials}, batch)
    run = run_heaps(members(plan, climate_of(garden), 13, 3, seed + 500_000)[:1], 13, CELLS, every_days=0.5)
    middle = run.temp_c[0, :, 0]  # cells run from the middle outwards
    scatter = coefficient("reading_sd").value
    for day in READ_ON:
        true = float(np.interp(day + 0.5, run.day, middle))
        yield Reading(batch="one", on=batch.built + timedelta(days=day), temp_c=true + scatter * draw.normal())
