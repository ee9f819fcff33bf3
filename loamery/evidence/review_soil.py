"""Soil tests held against a forecast: each bed run by the bed model from its first test to its last, with what was given and grown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from loamery.bed.crop import Crop, crops
from loamery.bed.elements import element_course
from loamery.bed.matter import matter_of_stuff
from loamery.bed.parameters import Parameters, bed_parameters, spread_of
from loamery.bed.place import BOUNDS, Place, place_of
from loamery.bed.record import BedRun
from loamery.bed.simulate import WEEK, Portion, simulate_bed
from loamery.bed.soil import SATURATED, SoilTest, soil_test, soil_unit, table_key
from loamery.bed.weather import normal_weather
from loamery.errors import InputError
from loamery.evidence.skill import Pair
from loamery.finding import Finding
from loamery.garden.model import Garden
from loamery.garden.records import Application
from loamery.lab.composition import Composition
from loamery.names import quantity
from loamery.reference import coefficient
from loamery.say import joined, say
from loamery.season.stuff import Stuff, castings_stuff, compost_stuff, raw_stuff
from loamery.uncertain import band, horwitz_rsd, scores
from loamery.units import from_si

Array = NDArray[np.float64]
Soils = Mapping[str, SoilTest]
COPIES, DRAWS, MOST_WEEKS = 16, 100, 104
"""Starts and yields that are tried, each with as many draws of the model; longest time that is foreseen."""
GROUPS = {
    "pH": "soil pH",
    "EC": "soil salt",
    "P": "soil phosphorus",
    "K": "soil potassium",
    "NO3_N": "soil nitrate",
    "NH4_N": "soil ammonium",
}
"""Figures that are foreseen, and the group their skill is told in."""
SHOWN = {"P": "review_p_shown", "K": "review_k_shown"}
STOCKS = {"NO3_N": "nitrate", "NH4_N": "ammonium"}
Z90 = 1.6448536269514722
NORMAL = NormalDist()


@dataclass(frozen=True)
class SoilChange:
    """One soil test figure before and after by the same method, SI, and what scatter alone would make of no change at all."""

    bed: str
    key: str
    first: date
    last: date
    before: float
    after: float
    scatter: float
    method: str = ""

    @property
    def beyond(self) -> bool:
        """Return whether it changed by more than scatter alone gives in nine of ten cases."""
        return abs(self.after - self.before) > Z90 * self.scatter


@dataclass(frozen=True, eq=False)
class SoilRun:
    """A bed between two tests, its copies side by side.

    Parameters
    ----------
    place : of each copy, shape (copies, 1). gain : of P and K in the soil, kg per m2, shape (copies, draws).
    """

    place: Place
    run: BedRun
    gain: Mapping[str, Array]


def soil_pairs(
    garden: Garden, compositions: Mapping[str, Composition], soils: Soils, changes: Sequence[SoilChange]
) -> tuple[list[Pair], list[Finding]]:
    """Return what was measured at the last test of each bed beside its forecast from the first, and what could not be foreseen.

    Parameters
    ----------
    garden : with all its records. soils : what is known of each bed; figures of the first test go before it.
    changes : figures that were tested twice in the same way.
    """
    pairs: list[Pair] = []
    findings: list[Finding] = []
    for key in dict.fromkeys((one.bed, one.first, one.last) for one in changes):
        told = [one for one in changes if (one.bed, one.first, one.last) == key and _foreseeable(one)]
        if not told:
            continue
        try:
            found = run_between(garden, compositions, _first_test(garden, soils[key[0]], changes, key), key[1], key[2])
        except (InputError, ValueError) as error:
            findings.append(_no_forecast(garden.bed(key[0]).name, why_not(error)))
            continue
        pairs += [_pair(garden, one, found) for one in told]
    return pairs, findings


def why_not(error: ValueError) -> str:
    """Return why something could not be foreseen, in a line."""
    if isinstance(error, InputError):
        return say("{where}: {read}", where=str(error.where), read=error.read)
    return str(error).split("\n")[0]


def _no_forecast(bed: str, why: str) -> Finding:
    text = say(
        "{bed} could not be foreseen from its first soil test, so the later one is held against nothing.", bed=bed
    )
    return Finding("review_no_soil_forecast", "note", text, why, ("PRACTICE",), about=bed)


def _foreseeable(one: SoilChange) -> bool:
    paste = one.key != "EC" or table_key("EC", one.method) == SATURATED
    return one.key in GROUPS and paste and WEEK <= (one.last - one.first).days <= WEEK * MOST_WEEKS


def _first_test(
    garden: Garden, known: SoilTest, changes: Sequence[SoilChange], key: tuple[str, date, date]
) -> SoilTest:
    """Return what was known of a bed at its first test: later figures give way to those of that day."""
    typed = [one for one in garden.soil_values if one.bed == key[0] and one.sampled_on == key[1]]
    first = dict(soil_test(key[0], typed, ()).values)
    for one in changes:
        if (one.bed, one.first) == key[:2] and one.key in known.values and one.key not in first:
            first[one.key] = replace(known.values[one.key], value=one.before, method=one.method)
    steady = {name: value for name, value in known.values.items() if name in ("organic_matter", "C", "clay")}
    return SoilTest(key[0], {**steady, **first})


def run_between(
    garden: Garden, compositions: Mapping[str, Composition], test: SoilTest, first: date, last: date
) -> SoilRun:
    """Return a bed's course from one day to another, run with what was spread and planted.

    Parameters
    ----------
    test : of the first day. Its figures and the yields are drawn within what laboratories scatter and `review_yield_rsd`.
    """
    bed, info = garden.bed(test.bed), garden.info
    weeks = max(round((last - first).days / WEEK), 1)
    numbers = bed_parameters(min(DRAWS, info.draws), info.seed)
    planted = [one for one in garden.plantings if one.bed == bed.id and first <= one.planted < last]
    crop = crops([planted], first, WEEK * weeks)
    place = _places(place_of(bed, test, float(crop.root_depth_m[0])), info.seed)
    portions, doses = _gifts(garden, compositions, numbers, (test.bed, first, weeks))
    weather = normal_weather(
        garden.climate.mean_temp_c, garden.climate.rain_mm, first, WEEK * weeks, numbers.draws, info.seed,
        latitude_deg=garden.climate.latitude_deg, measured=garden.weather,
    )  # fmt: skip
    grown = _crops(crop, info.seed)
    run = simulate_bed(portions, np.repeat(doses[:, None], COPIES, axis=1), place, weather, grown, numbers)
    gain = {}
    for key in SHOWN:
        course = element_course(run, portions, key, grown).soil_gain
        gain[key] = course[-1] - course[0]
    return SoilRun(place, run, gain)


def _places(place: Place, seed: int) -> Place:
    """Return copies of a soil, each as its test may have missed it."""
    values = {name: np.repeat(getattr(place, name), COPIES, axis=0) for name in BOUNDS}
    soil = float(place.soil_kg_m2[0, 0])
    values["ph"] = values["ph"] + _miss("pH", 7.0, COPIES, seed, "start")[:, None]
    salt = float(place.ec_si[0, 0])
    values["ec_si"] = np.maximum(salt + _miss("EC", salt, COPIES, seed, "start"), 0.0)[:, None]
    for key, name in STOCKS.items():
        kg = float(values[f"{name}_kg_m2"][0, 0])
        values[f"{name}_kg_m2"] = np.maximum(kg + soil * _miss(key, kg / soil, COPIES, seed, "start"), 0.0)[:, None]
    return Place(**values)


def _crops(crop: Crop, seed: int) -> Crop:
    """Return copies of what grows, each with another yield."""
    size = np.exp(coefficient("review_yield_rsd").value * _even(COPIES, seed, "review", "yield"))[:, None]
    scaled = {name: size * getattr(crop, name) for name in ("nitrogen_kg_m2", "base_mol_m2", "p_kg_m2", "k_kg_m2")}
    same = {name: np.repeat(getattr(crop, name), COPIES, axis=0) for name in ("cover", "water_factor", "root_depth_m")}
    return Crop(**scaled, **same)


def _gifts(
    garden: Garden, compositions: Mapping[str, Composition], numbers: Parameters, when: tuple[str, date, int]
) -> tuple[list[Portion], Array]:
    """Return what was spread on a bed, and its kilograms per m2, shape (portions, weeks)."""
    bed, first, weeks = when
    last = first + timedelta(days=WEEK * weeks)
    spread = [one for one in garden.applications if one.bed == bed and first <= one.on < last]
    stuffs = {one: _stuff_of(garden, compositions, one) for one in spread}
    ways = list(dict.fromkeys((stuffs[one].id, one.use) for one in spread))
    doses = np.zeros((len(ways), weeks))
    for one in spread:
        way = ways.index((stuffs[one].id, one.use))
        doses[way, (one.on - first).days // WEEK] += one.kg / garden.bed(bed).area_m2
    by_id = {one.id: one for one in stuffs.values()}
    portions = [
        Portion(matter_of_stuff(by_id[key], numbers), use == "mulch", by_id[key].form == "raw") for key, use in ways
    ]
    return portions, doses


def _stuff_of(garden: Garden, compositions: Mapping[str, Composition], one: Application) -> Stuff:
    """Return what was spread: a material, the compost of a heap that was built, or castings."""
    if one.material is not None:
        return raw_stuff(garden.material(one.material), compositions[one.material])
    if one.batch is not None:
        kg = {part.material: part.kg for part in garden.batch_parts if part.batch == one.batch}
    else:
        kg = {}
        for fed in garden.feedings:
            if fed.worm_bed == one.worm_bed and fed.material is not None and fed.on <= one.on:
                kg[fed.material] = kg.get(fed.material, 0.0) + fed.kg
    if not kg:
        raise InputError(
            say("{mixture} was spread, and what went into it was not written down", mixture=one.batch or one.worm_bed),
            expected=say("its parts"), remedy=say("write them into batch_parts.csv or feedings.csv"),
        )  # fmt: skip
    total = sum(kg.values())
    parts = [(raw_stuff(garden.material(key), compositions[key]), each / total) for key, each in kg.items()]
    return castings_stuff(parts) if one.batch is None else compost_stuff(one.batch, one.batch, parts)[0]


def _pair(garden: Garden, one: SoilChange, found: SoilRun) -> Pair:
    """Return a figure at the last test beside its forecast; the band holds the scatter of that test too."""
    known, bed = quantity(one.key), garden.bed(one.bed)
    told = foreseen_si(one, found, garden.info.seed)
    unit = soil_unit(one.key)
    name = joined(", ", (bed.name, known.label))
    return Pair(GROUPS[one.key], name, one.last.isoformat(), band(from_si(told, unit), unit), float(from_si(one.after, unit)), one.bed, one.key)  # fmt: skip


def foreseen_si(one: SoilChange, found: SoilRun, seed: int) -> Array:
    """Return draws of what the last test should read, SI, shape (copies x draws,)."""
    shape = found.run.stock["ph"][-1].shape
    soil = found.place.soil_kg_m2
    if one.key == "pH":
        level = np.ravel(found.run.stock["ph"][-1])
        return np.asarray(level + _miss("pH", level, level.size, seed, "end"))
    if one.key == "EC":
        level = found.run.stock["ec_si"][-1]
    elif one.key in STOCKS:
        level = found.run.stock[STOCKS[one.key]][-1] / soil
    else:
        start = one.before + _miss(one.key, one.before, shape[0], seed, "start")
        drawn = spread_of(coefficient(SHOWN[one.key])).draw(shape[0] * shape[1], seed, "review", SHOWN[one.key])
        level = start[:, None] + drawn.reshape(shape) * found.gain[one.key] / soil
    level = np.ravel(np.maximum(level, 0.0))
    return np.maximum(level + _miss(one.key, level, level.size, seed, "end"), 0.0)


def _miss(key: str, level: float | Array, count: int, seed: int, when: str) -> Array:
    """Return by how much laboratory readings miss a level, SI; how far they scatter is drawn within its range too."""
    noise = _even(count, seed, "review", key, when)
    if key == "pH":
        return np.asarray(spread_of(coefficient("review_ph_sd")).draw(count, seed, "review", "sd", key, when) * noise)
    levels = np.broadcast_to(np.asarray(level, dtype=np.float64), (count,))
    name = "review_other_rsd" if key == "EC" else "review_sampling_rsd"
    share = spread_of(coefficient(name)).draw(count, seed, "review", "sd", key, when)
    if key != "EC":
        share = np.hypot(share, [horwitz_rsd(max(float(one), 1e-9)) for one in levels])
    return np.asarray(levels * share * noise)


def _even(count: int, seed: int, *stream: str) -> Array:
    """Return standard normal scores, one from each of as many equal parts of the distribution, in an order drawn by lot."""
    rank = np.argsort(np.argsort(scores(count, seed, *stream)))
    return np.array([NORMAL.inv_cdf((one + 0.5) / count) for one in rank])
