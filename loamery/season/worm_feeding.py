"""How much fresh matter a worm bed can take: the worms' own limits, and the heat the heap model foresees."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band
from loamery.heap.matter import Part, salt_of, stuff_draws
from loamery.heap.spec import Stuff
from loamery.reference import coefficient
from loamery.season.worm_course import DEPTHS_M, BedCourse, Heat, bed_course, heat_of
from loamery.worms.feeding import Feed, Limit, feeding_draws, finite_band, limits_of
from loamery.worms.population import WormForecast, forecast_worms

Array = NDArray[np.float64]
ROUNDS = 3


@dataclass(frozen=True, eq=False)
class Feeding:
    """What a worm bed can be given at a time.

    Parameters
    ----------
    per_feeding : greatest feeding, kg as received, 90 % band.
    limits : each limit, the tightest first.
    heat_c : warmest of the feed by depth of DEPTHS_M, °C, 90 % bands.
    course : the bed fed with what it takes in each week to come.
    forecast : of worms and castings when fed so.
    """

    name: str
    area_m2: float
    worms_kg: float
    stocked: bool
    bed_temp_c: float
    days: float
    per_feeding: Band
    limits: tuple[Limit, ...]
    heat_c: tuple[Band, ...]
    course: BedCourse
    forecast: WormForecast

    @property
    def weekly_kg(self) -> tuple[float, ...]:
        """Return the feed of each week to come, median, kg as received."""
        return tuple(float(one) for one in self.course.feed_kg[1])

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        weeks = range(0, self.forecast.weeks + 1)
        return {
            "name": self.name, "area_m2": self.area_m2, "worms_kg": self.worms_kg, "worms_assumed": self.stocked,
            "bed_temp_c": self.bed_temp_c, "days_between": self.days, "per_feeding": self.per_feeding.as_dict(),
            "weekly_kg": list(self.weekly_kg), "limits": [one.as_dict() for one in self.limits],
            "heat": [{"depth_m": depth, "warmest": one.as_dict()} for depth, one in zip(DEPTHS_M, self.heat_c, strict=True)],
            "course": self.course.as_dict(),
            "weeks": [
                {
                    "week": week, "worms": self.forecast.at("worms_kg", week).as_dict(),
                    "eaten": self.forecast.at("eaten_kg", week).as_dict(),
                    "castings_dry": self.forecast.at("castings_kg", week).as_dict(),
                }
                for week in weeks
            ],
        }  # fmt: skip


def feeding_limit(
    name: str,
    parts: Sequence[Part],
    area_m2: float,
    worms_kg: float,
    bed_temp_c: Sequence[float],
    *,
    days: float = 7.0,
    draws: int = 60,
    seed: int = 1,
    progress: Callable[[str], None] = lambda _: None,
) -> Feeding:
    """Return how much of a mix a worm bed can be given at a time, and what comes of it.

    Parameters
    ----------
    worms_kg : live worms; 0 when they were never weighed, then the usual stocking is taken.
    bed_temp_c : mean of each week, the first now.
    days : between feedings.

    Raises
    ------
    InputError : a number or material that cannot be used.
    """
    stocked = worms_kg <= 0.0
    worms = coefficient("worm_stocking").value * area_m2 if stocked else worms_kg
    now = float(bed_temp_c[0])
    stuff = stuff_draws(parts, draws, seed)
    found = dict(feeding_draws(_feed(name, parts, stuff), worms, area_m2, now, days))
    progress("running layers of feed")
    heat = heat_of(stuff, bed_temp_c, seed)
    density = np.array([one.bulk_density_kg_m3 for one in stuff])
    found["heat"] = heat.room_m(now) * area_m2 * density
    found["depth"] = coefficient("worm_feeding_depth_max").value * area_m2 * density
    whole = np.min(np.stack(list(found.values())), axis=0)
    per = finite_band(whole)
    course, told = _fed(name, parts, stuff, found, heat, density, area_m2, worms, bed_temp_c, days, seed)
    warmest = tuple(
        Band(b.median, b.low, b.high, "C")
        for b in (finite_band(heat.warmest_at(now, np.full(draws, one))) for one in DEPTHS_M)
    )
    because = _because(stuff, worms, now, days, parts)
    return Feeding(name, area_m2, worms, stocked, now, days, per, limits_of(found, because), warmest, course, told)


def _fed(
    name: str, parts: Sequence[Part], stuff: Sequence[Stuff], found: Mapping[str, Array], heat: Heat, density: Array,
    area_m2: float, worms: float, bed_temp_c: Sequence[float], days: float, seed: int,
) -> tuple[BedCourse, WormForecast]:  # fmt: skip
    """Return the bed fed with what it takes, and its worms; twice, as more worms eat more."""
    feed, dry = _feed(name, parts, stuff), float(1.0 - np.median([one.moisture for one in stuff]))
    alive: Sequence[float] = [worms] * len(bed_temp_c)
    for _ in range(ROUNDS):
        course = bed_course(feed, found, heat, density, area_m2, alive, bed_temp_c, days)
        told = forecast_worms(worms, area_m2, list(course.feed_kg[1]), dry, bed_temp_c, seed=seed)
        # who feeds fewer worms less starves them further: feed at least the worms there are now
        alive = [max(float(one), worms) for one in told.worms_kg[1, :-1]]
    return course, told


def _feed(name: str, parts: Sequence[Part], stuff: Sequence[Stuff]) -> Feed:
    salt = salt_of(parts)
    return Feed(
        name,
        np.array([one.moisture for one in stuff]),
        np.array([one.n_dm * one.ammonium_share for one in stuff]),
        None if salt is None else np.resize(salt, len(stuff)),
        np.array([one.ph for one in stuff]) if all("pH" in part.composition for part in parts) else None,
    )


def _because(stuff: Sequence[Stuff], worms: float, bed_c: float, days: float, parts: Sequence[Part]) -> dict[str, str]:
    moisture = float(np.median([one.moisture for one in stuff]))
    ammonium = float(np.median([1e3 * one.n_dm * one.ammonium_share * (1.0 - one.moisture) for one in stuff]))
    salt = salt_of(parts)
    value = {key: coefficient(key).value for key in ("worm_temp_max", "worm_temp_high", "worm_ammonia_max", "worm_ec_max", "worm_moisture_high",
             "worm_feed_ceiling", "worm_ph_low", "worm_ph_high", "worm_feeding_depth_max")}  # fmt: skip
    return {
        "appetite": f"{worms:.2g} kg of worms eat up to {value['worm_feed_ceiling']:g} of their mass a day, at {bed_c:.0f} °C for {days:g} days",
        "moisture": f"the feed holds {moisture:.0%} water, the bed may hold {value['worm_moisture_high']:.0%}",
        "ammonia": f"the feed holds {ammonium:.2g} mg/g ammoniacal nitrogen, worms stand {value['worm_ammonia_max']:g} mg/g",
        "salt": "conductivity is not known" if salt is None else
                f"the feed has {10.0 * float(np.median(salt)):.2g} dS/m, worms stand {value['worm_ec_max']:g} dS/m",
        "pH": f"worms need {value['worm_ph_low']:g} to {value['worm_ph_high']:g}",
        "heat": f"no spot of the feed above {value['worm_temp_max']:g} °C and its mean at most {value['worm_temp_high']:g} °C, by the heap model",
        "depth": f"a layer of at most {100.0 * value['worm_feeding_depth_max']:g} cm at a time",
    }  # fmt: skip
