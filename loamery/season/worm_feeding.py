"""How much fresh matter a worm bed can take: the worms' own limits, and the heat the heap model foresees."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band
from loamery.heap.matter import Part, salt_of, stuff_draws
from loamery.heap.model import ensemble
from loamery.heap.parameters import drawn_parameters
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather
from loamery.reference import coefficient
from loamery.worms.feeding import Feed, Limit, appetite_kg, feeding_draws, finite_band, limits_of, weekly_kg
from loamery.worms.population import WormForecast, forecast_worms

Array = NDArray[np.float64]
DEPTHS_M = (0.01, 0.02, 0.03, 0.05, 0.075, 0.10, 0.15, 0.20)
DAYS, CELLS = 14, 8
WARM_BED_K = 1.0
"""A bed that is warmer than the good range already may not gain more than this."""


@dataclass(frozen=True, eq=False)
class Feeding:
    """What a worm bed can be given at a time.

    Parameters
    ----------
    per_feeding : greatest feeding, kg as received, 90 % band.
    limits : each limit, the tightest first.
    heat_c : warmest of the feed by depth of DEPTHS_M, °C, 90 % bands.
    weekly_kg : feed of each week to come, kg as received: appetite follows the bed's temperature, the other limits stay.
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
    weekly_kg: tuple[float, ...]
    forecast: WormForecast

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        weeks = range(0, self.forecast.weeks + 1)
        return {
            "name": self.name, "area_m2": self.area_m2, "worms_kg": self.worms_kg, "worms_assumed": self.stocked,
            "bed_temp_c": self.bed_temp_c, "days_between": self.days, "per_feeding": self.per_feeding.as_dict(),
            "weekly_kg": list(self.weekly_kg), "limits": [one.as_dict() for one in self.limits],
            "heat": [{"depth_m": depth, "warmest": one.as_dict()} for depth, one in zip(DEPTHS_M, self.heat_c, strict=True)],
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
    warmest, mean = _warmest(stuff, now, draws, seed)
    density = np.array([one.bulk_density_kg_m3 for one in stuff])
    found["heat"] = (
        np.minimum(
            _cool_depth_m(warmest, now, coefficient("worm_temp_max").value),
            _cool_depth_m(mean, now, max(coefficient("worm_temp_high").value, now + WARM_BED_K)),
        )
        * area_m2
        * density
    )
    found["depth"] = coefficient("worm_feeding_depth_max").value * area_m2 * density
    whole = np.min(np.stack(list(found.values())), axis=0)
    per = finite_band(whole)
    weekly = tuple(_week_kg(found, worms, one, days) for one in bed_temp_c)
    dry = 1.0 - np.median([one.moisture for one in stuff])
    told = forecast_worms(worms, area_m2, weekly, float(dry), bed_temp_c, seed=seed)
    heat = tuple(finite_band(column) for column in warmest.T)
    heat = tuple(Band(one.median, one.low, one.high, "C") for one in heat)
    because = _because(stuff, worms, now, days, parts)
    return Feeding(name, area_m2, worms, stocked, now, days, per, limits_of(found, because), heat, weekly, told)


def _week_kg(found: Mapping[str, Array], worms: float, bed_c: float, days: float) -> float:
    """Return what a week's feedings come to at the bed's temperature of that week, for the worms there are now, kg."""
    others = [values for key, values in found.items() if key != "appetite"]
    other = float(np.median(np.min(np.stack(others), axis=0)))
    return weekly_kg(min(appetite_kg(worms, bed_c, days), other), days)


def _feed(name: str, parts: Sequence[Part], stuff: Sequence[Stuff]) -> Feed:
    salt = salt_of(parts)
    return Feed(
        name,
        np.array([one.moisture for one in stuff]),
        np.array([one.n_dm * one.ammonium_share for one in stuff]),
        None if salt is None else np.resize(salt, len(stuff)),
        np.array([one.ph for one in stuff]) if all("pH" in part.composition for part in parts) else None,
    )


def _warmest(stuff: Sequence[Stuff], bed_c: float, draws: int, seed: int) -> tuple[Array, Array]:
    """Return the warmest spot and the warmest mean of the feed for each draw and depth, °C; the layer lies on the bed, which stays as warm as it is."""
    weather, numbers = Weather.constant(bed_c, DAYS, humidity=0.8, wind_m_s=0.1), drawn_parameters(draws, seed)
    specs = [
        HeapSpec(
            one, "layer", depth_m=depth, start_temp_c=max(bed_c, 0.0), rain_share=0.0, weather=weather, changes=change
        )
        for one, change in zip(stuff, numbers, strict=True)
        for depth in DEPTHS_M
    ]
    run = ensemble(specs, DAYS, CELLS, every_days=0.5)
    shape = (draws, len(DEPTHS_M))
    return run.temp_c.max(axis=(1, 2)).reshape(shape), run.temp_c.mean(axis=2).max(axis=1).reshape(shape)


def _cool_depth_m(warmest: Array, bed_c: float, most: float) -> Array:
    """Return the depth at which the feed would pass a temperature, m; infinite where the thickest layer stays cool."""
    if bed_c >= most:
        return np.zeros(warmest.shape[0])
    depths = np.array((0.0, *DEPTHS_M))
    out = np.full(warmest.shape[0], np.inf)
    for i, row in enumerate(np.concatenate([np.full((warmest.shape[0], 1), bed_c), warmest], axis=1)):
        over = np.flatnonzero(row > most)
        if over.size:
            k = int(over[0])
            out[i] = depths[k - 1] + (most - row[k - 1]) / (row[k] - row[k - 1]) * (depths[k] - depths[k - 1])
    return out


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
