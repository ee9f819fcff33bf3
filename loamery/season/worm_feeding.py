"""How much fresh matter a worm bed can take: the worms' own limits, what one feeding does, and a season of them run whole."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.finding import Band
from loamery.heap.layout import AIR_C
from loamery.heap.matter import Part, salt_of, stuff_draws
from loamery.heap.spec import Stuff
from loamery.heap.weather import Weather
from loamery.reference import coefficient
from loamery.say import say
from loamery.season.worm_bed import WEEK, worm_bed
from loamery.season.worm_course import Asked, BedCourse, bed_course, greatest_feedings
from loamery.season.worm_single import OneFeeding, one_feeding
from loamery.worms.feeding import Feed, Limit, feeding_draws, finite_band, limits_of
from loamery.worms.population import WormForecast

Array = NDArray[np.float64]
DRAWS, SAME_K = 20, 1.0


@dataclass(frozen=True, eq=False)
class Feeding:
    """What a worm bed can be given at a time.

    Parameters
    ----------
    per_feeding : greatest feeding now, kg as received, 90 % band.
    limits : each limit of a single feeding now, the tightest first.
    single : what one feeding does to the bed in the warmest week.
    course : the bed fed in each week to come with what keeps it in the range of the worms.
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
    single: OneFeeding
    course: BedCourse
    forecast: WormForecast

    @property
    def weekly_kg(self) -> tuple[float, ...]:
        """Return the feed of each week to come that keeps the bed in range in most runs, kg as received."""
        return tuple(float(one) for one in self.course.planned_kg)

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        weeks = range(0, self.forecast.weeks + 1)
        return {
            "name": self.name, "area_m2": self.area_m2, "worms_kg": self.worms_kg, "worms_assumed": self.stocked,
            "bed_temp_c": self.bed_temp_c, "days_between": self.days, "per_feeding": self.per_feeding.as_dict(),
            "weekly_kg": list(self.weekly_kg), "limits": [one.as_dict() for one in self.limits],
            "heat": self.single.as_dict(), "course": self.course.as_dict(),
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
    air: Sequence[Weather],
    *,
    days: float = 7.0,
    draws: int = DRAWS,
    seed: int = 1,
    progress: Callable[[str], None] = lambda _: None,
) -> Feeding:
    """Return how much of a mix a worm bed can be given at a time, and what comes of it.

    Parameters
    ----------
    worms_kg : live worms; 0 when they were never weighed, then the usual stocking is taken.
    air : over the bed, of each draw or one for all; it says how many weeks are run.
    days : between feedings.

    Raises
    ------
    InputError : a number or material that cannot be used.
    """
    stocked = worms_kg <= 0.0
    worms = coefficient("worm_stocking").value * area_m2 if stocked else worms_kg
    over, weeks = [air[draw % len(air)] for draw in range(draws)], air[0].days // WEEK
    if weeks < 1:
        raise InputError(
            say("air of {days} days", days=air[0].days), expected=say("at least a week"), remedy=say("give more days")
        )
    now = float(np.mean([one.table[:WEEK, AIR_C].mean() for one in over]))
    stuff = stuff_draws(parts, draws, seed)
    feed = _feed(name, parts, stuff)
    found = dict(feeding_draws(feed, worms, area_m2, now, days))
    density = np.array([one.bulk_density_kg_m3 for one in stuff])
    bed = worm_bed(feed, stuff, seed)
    progress("running single feedings")
    warm = float(max(np.mean([_weekly_c(one, weeks) for one in over], axis=0)))
    single = one_feeding(bed, density, warm)
    this_week = single if warm - now < SAME_K else one_feeding(bed, density, now)
    found["heat"] = this_week.room_m() * area_m2 * density
    found["depth"] = coefficient("worm_feeding_depth_max").value * area_m2 * density
    progress(f"running the bed for {weeks} weeks")
    dry = float(1.0 - np.median([one.moisture for one in stuff]))
    asked = Asked(bed, over, weeks, days, worms / area_m2, found["depth"] / area_m2, found["pH"] == 0.0, dry, seed)
    greatest = greatest_feedings(asked)
    course, told = bed_course(asked, greatest, area_m2)
    per, because = finite_band(area_m2 * greatest.kg[:, 0]), _because(stuff, worms, now, days, parts)
    return Feeding(name, area_m2, worms, stocked, now, days, per, limits_of(found, because), single, course, told)


def _weekly_c(air: Weather, weeks: int) -> Array:
    return np.asarray(air.table[: WEEK * weeks, AIR_C].reshape(weeks, WEEK).mean(axis=1))


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
        "appetite": say(
            "{worms:.2g} kg of worms eat up to {most:g} of their mass a day, at {air_c:.0f} °C for {days:g} days",
            worms=worms, most=value["worm_feed_ceiling"], air_c=bed_c, days=days,
        ),
        "moisture": say("the feed holds {feed:.0%} water, the bed may hold {most:.0%}", feed=moisture, most=value["worm_moisture_high"]),
        "ammonia": say("the feed holds {feed:.2g} mg/g ammoniacal nitrogen, worms stand {most:g} mg/g", feed=ammonium, most=value["worm_ammonia_max"]),
        "salt": say("conductivity is not known") if salt is None else
                say("the feed has {feed:.2g} dS/m, worms stand {most:g} dS/m", feed=10.0 * float(np.median(salt)), most=value["worm_ec_max"]),
        "pH": say("worms need {low:g} to {high:g}", low=value["worm_ph_low"], high=value["worm_ph_high"]),
        "heat": say(
            "no spot of the bed above {most:g} °C and its mean at most {mean:g} °C, by the heap model",
            most=value["worm_temp_max"], mean=value["worm_temp_high"],
        ),
        "depth": say("a layer of at most {depth:g} cm at a time", depth=100.0 * value["worm_feeding_depth_max"]),
    }  # fmt: skip
