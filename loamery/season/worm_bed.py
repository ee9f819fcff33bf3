"""A worm bed in the heap model: bedding, with every feeding of a season laid on it, in one run for each draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from loamery.bed.warm import warmth_factor
from loamery.heap.climate import Normals
from loamery.heap.layout import HUMIDITY, RAIN_SUM, SUN, WATER_SEEPED, WIND
from loamery.heap.matter import Part, fullest_kg_m3, stuff_draws
from loamery.heap.model import ensemble
from loamery.heap.parameters import drawn_parameters
from loamery.heap.result import EnsembleRun
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather
from loamery.lab.combine import compose
from loamery.reference import coefficient
from loamery.uncertain import from_range
from loamery.units import from_si
from loamery.worms.feeding import Feed

Array = NDArray[np.float64]
CELLS, EVERY_DAYS, WEEK = 10, 0.5, 7
WATERED_DAY = 0.25
"""Hour of the week at which the bed is watered, after it was looked at."""
LEAST_KG = 1e-4


@dataclass(frozen=True, eq=False)
class WormBed:
    """A worm bed of 1 m2 and what it is fed, draw by draw.

    Parameters
    ----------
    bedding, feed : as the heap model takes them; the feed is wetted where it is drier than worms like.
    wetted : kg as it is given per kg as received.
    numbers : of the heap model.
    salt_ds_m : of the feed as received; None when not known.
    """

    bedding: tuple[Stuff, ...]
    feed: tuple[Stuff, ...]
    wetted: Array
    numbers: tuple[dict[str, float], ...]
    salt_ds_m: Array | None

    @property
    def draws(self) -> int:
        """Return the number of draws."""
        return len(self.feed)

    def only(self, draws: NDArray[np.int64]) -> WormBed:
        """Return the same bed for some draws."""
        salt = None if self.salt_ds_m is None else self.salt_ds_m[draws]
        bedding, feed = (tuple(one[draw] for draw in draws) for one in (self.bedding, self.feed))
        return WormBed(bedding, feed, self.wetted[draws], tuple(self.numbers[draw] for draw in draws), salt)

    def spec(self, draw: int, air: Weather, feedings: Sequence[tuple[float, float]] = (), water: Sequence[tuple[float, float]] = ()) -> HeapSpec:  # fmt: skip
        """Return one draw as the heap model takes it; feedings are kg as received."""
        return HeapSpec(
            self.bedding[draw],
            "layer",
            depth_m=coefficient("worm_bed_depth").value,
            rain_share=0.0,
            weather=air,
            waterings=tuple(one for one in water if one[1] > LEAST_KG),
            feedings=tuple((day, kg * float(self.wetted[draw])) for day, kg in feedings if kg > LEAST_KG),
            feed=self.feed[draw],
            changes=self.numbers[draw],
        )


@dataclass(frozen=True, eq=False)
class BedRun:
    """What becomes of a worm bed, arrays of shape (draws, times).

    Parameters
    ----------
    day : shape (times,). warmest_c : warmest spot; mean_c of the bed by dry matter. moisture : of the whole.
    ammonia_mg_g, salt_ds_m : of the whole bed, mixed. airy : share of its dry matter with enough oxygen.
    dry_kg, water_kg : per m2.
    """

    day: Array
    warmest_c: Array
    mean_c: Array
    moisture: Array
    ammonia_mg_g: Array
    salt_ds_m: Array
    airy: Array
    dry_kg: Array
    water_kg: Array

    def only(self, draws: NDArray[np.int64]) -> BedRun:
        """Return the same run for some draws."""
        return BedRun(self.day, *(one[draws] for name, one in vars(self).items() if name != "day"))

    def weekly_c(self) -> Array:
        """Return the mean temperature of the bed in each week, shape (draws, weeks)."""
        weeks = int(self.day[-1]) // WEEK
        each = round(WEEK / EVERY_DAYS)
        return np.asarray(self.mean_c[:, 1 : 1 + weeks * each].reshape(-1, weeks, each).mean(axis=2))


def worm_bed(feed: Feed, stuff: Sequence[Stuff], seed: int) -> WormBed:
    """Return a bed of worm-worked bedding that is fed with draws of a mix.

    Notes
    -----
    Bedding has the pools and nitrogen of castings, at the moisture of a worm bed. The heap model has one ash, pH, piece size and
    carbon content for all of a heap: they are the feed's. Ash and recalcitrant matter take up room and hold heat alike.
    """
    n, like = len(stuff), coefficient("worm_moisture_low").value
    castings = stuff_draws([Part(compose("worm-castings", ()), 1.0)], n, seed)
    wet = [replace(one, moisture=max(one.moisture, like)) for one in stuff]
    held = _drawn("worm_bed_holds", n, seed)
    pairs = zip(castings, wet, held, strict=True)
    return WormBed(
        tuple(_bedding(one, given, float(most)) for one, given, most in pairs),
        tuple(wet),
        np.array([(1.0 - one.moisture) / (1.0 - given.moisture) for one, given in zip(stuff, wet, strict=True)]),
        tuple(drawn_parameters(n, seed)),
        None if feed.salt_s_m is None else from_si(feed.salt_s_m, "dS/m"),
    )


def _drawn(key: str, n: int, seed: int) -> Array:
    one = coefficient(key)
    return from_range("logit", one.low, one.high, one.value).draw(n, seed, "worms", key)


def _bedding(castings: Stuff, feed: Stuff, holds: float) -> Stuff:
    moisture = coefficient("worm_bed_moisture").value
    most = fullest_kg_m3(moisture, feed.ash_dm)
    return replace(
        castings,
        moisture=moisture,
        bulk_density_kg_m3=min(coefficient("worm_bed_density").value, most),
        ash_dm=feed.ash_dm,
        c_dm=feed.c_dm,
        ph=feed.ph,
        particle_m=feed.particle_m,
        field_capacity=holds,
        compost_share=1.0,
    )


def bed_air(normals: Normals, start: date, weeks: int, draws: int, seed: int) -> list[Weather]:
    """Return the air over a sheltered bed for each draw: temperatures of the place, no rain, sun or wind to speak of."""
    return [sheltered(one) for one in normals.draws(start, WEEK * weeks + 1, draws, seed)]


def sheltered(weather: Weather) -> Weather:
    """Return weather as it is under the lid of a worm bed."""
    table = weather.table.copy()
    table[:, [RAIN_SUM, SUN]] = 0.0
    table[:, HUMIDITY], table[:, WIND] = coefficient("worm_bed_humidity").value, coefficient("worm_bed_wind").value
    return Weather(table)


def weekly_air(temp_c: Sequence[float]) -> Weather:
    """Return the air over a sheltered bed from the mean of each week."""
    days = np.repeat(np.asarray(temp_c, dtype=np.float64), WEEK)
    return sheltered(Weather.daily(np.append(days, days[-1])))


def run_bed(bed: WormBed, air: Sequence[Weather], fed_on: Array, kg: Array, water_kg: Array) -> BedRun:
    """Return a bed fed and watered over weeks; castings are taken out every `worm_lead_weeks`.

    Parameters
    ----------
    air : of each draw. fed_on : days of feeding, shape (feedings,).
    kg : of each feeding, as received, shape (draws, feedings). water_kg : at the start of each week, shape (draws, weeks).
    """
    weeks, stay = water_kg.shape[1], round(coefficient("worm_lead_weeks").value)
    parts = [
        _stretch(bed, air, fed_on, kg, water_kg, first, min(first + stay, weeks)) for first in range(0, weeks, stay)
    ]
    # a stretch begins with its own bedding: what the one before ends with is taken out
    whole = {name: np.concatenate([_tail(getattr(one, name), place) for place, one in enumerate(parts)], axis=-1) for name in vars(parts[0])}  # fmt: skip
    return BedRun(**whole)


def _tail(values: Array, place: int) -> Array:
    return values[..., 1:] if place else values


def _stretch(
    bed: WormBed, air: Sequence[Weather], fed_on: Array, kg: Array, water_kg: Array, first: int, end: int
) -> BedRun:
    begin, until = WEEK * first, WEEK * end
    here = np.flatnonzero((fed_on >= begin) & (fed_on < until))
    specs = []
    for draw in range(bed.draws):
        table = air[draw].table[begin : until + 1].copy()
        feedings = [(float(fed_on[one]) - begin, float(kg[draw, one])) for one in here]
        water = [(WEEK * (week - first) + WATERED_DAY, float(water_kg[draw, week])) for week in range(first, end)]
        specs.append(bed.spec(draw, Weather(table), feedings, water))
    run = ensemble(specs, float(until - begin), CELLS, every_days=EVERY_DAYS)
    return read_bed(bed, run, fed_on[here] - begin, kg[:, here], begin)


def read_bed(bed: WormBed, run: EnsembleRun, fed_on: Array, kg: Array, begin: float = 0.0) -> BedRun:
    """Return what a run of the heap model says of a worm bed."""
    dry, water = run.dry_kg, run.water_kg
    whole_dry, whole_water = dry.sum(axis=2), water.sum(axis=2)
    share = dry / whole_dry[:, :, None]
    mass = whole_dry + whole_water
    return BedRun(
        run.day + begin,
        run.temp_c.max(axis=2),
        (run.temp_c * share).sum(axis=2),
        whole_water / mass,
        from_si(_ammonium(run, share) / mass, "mg/g"),
        _salt(bed, run, whole_water, fed_on, kg) / mass,
        (share * (run.o2_frac >= coefficient("heap_low_oxygen").value)).sum(axis=2),
        whole_dry,
        whole_water,
    )


def _ammonium(run: EnsembleRun, share: Array) -> Array:
    """Return the ammoniacal nitrogen in the bed, kg: what the heap model sets free or loses, less what is nitrified.

    Notes
    -----
    The heap model has no nitrifiers: hot heaps have none. A worm bed has: first order at `bed_nitrification`, by its warmth.
    """
    total, mean = run.ammonium_kg.sum(axis=2), (run.temp_c * share).sum(axis=2)
    pace = coefficient("bed_nitrification").value * warmth_factor(mean, coefficient("q10").value)
    held = total.copy()
    for k in range(1, run.day.size):
        kept = np.exp(-pace[:, k] * (run.day[k] - run.day[k - 1]))
        held[:, k] = np.maximum(held[:, k - 1] * kept + total[:, k] - total[:, k - 1], 0.0)
    return np.asarray(held)


def _salt(bed: WormBed, run: EnsembleRun, water: Array, fed_on: Array, kg: Array) -> Array:
    """Return the salt in the bed, dS/m times kg: what was fed less what seeped out with the water."""
    held, brought = np.zeros(water.shape), np.zeros(water.shape)
    if bed.salt_ds_m is None:
        return held
    for place, day in enumerate(fed_on):
        brought[:, max(int(np.searchsorted(run.day, day)), 1)] += kg[:, place] * bed.salt_ds_m
    seeped = np.diff(run.accounts[:, :, WATER_SEEPED], axis=1)
    for k in range(1, run.day.size):
        kept = water[:, k] / (water[:, k] + np.maximum(seeped[:, k - 1], 0.0))
        held[:, k] = held[:, k - 1] * kept + brought[:, k]
    return held
