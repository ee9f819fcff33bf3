"""A worm bed fed week by week: what it takes as it warms, cools, salts up and fills with worms, and what that does to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.finding import Band
from loamery.heap.model import ensemble
from loamery.heap.parameters import drawn_parameters
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather
from loamery.reference import coefficient
from loamery.worms.feeding import Feed, appetite_kg
from loamery.worms.population import DAYS_PER_WEEK

Array = NDArray[np.float64]
DEPTHS_M = (0.01, 0.02, 0.03, 0.05, 0.075, 0.10, 0.15, 0.20)
DAYS, CELLS = 14, 8
QUANTILES = (0.05, 0.5, 0.95)
WARM_BED_K = 1.0
"""A bed that is warmer than the good range already may not gain more than this."""
MOST_TEMPS, APART_K = 5, 3.0
"""Bed temperatures at which layers of feed are run; weeks between them are interpolated."""
MG_PER_G, DS_PER_S = 1000.0, 10.0


@dataclass(frozen=True, eq=False)
class BedCourse:
    """A worm bed fed as much as it takes, bands (5th, 50th, 95th percentile) of shape (3, weeks).

    Parameters
    ----------
    bed_temp_c : of each week.
    feed_kg : a week, as received.
    warmest_c : of the fresh feed; moisture, ammonia (mg/g) and salt (dS/m) of the bed just after feeding.
    limit : what sets the limit in most draws.
    """

    bed_temp_c: tuple[float, ...]
    feed_kg: Array
    warmest_c: Array
    moisture: Array
    ammonia_mg_g: Array
    salt_ds_m: Array
    limit: tuple[str, ...]

    def at(self, name: str, week: int, unit: str) -> Band:
        """Return one band in one week."""
        low, median, high = (float(one) for one in getattr(self, name)[:, week])
        return Band(median, low, high, unit)

    def as_dict(self) -> list[dict[str, object]]:
        """Return the weeks ready for JSON."""
        units = {"feed_kg": "kg", "warmest_c": "C", "moisture": "1", "ammonia_mg_g": "mg/g", "salt_ds_m": "dS/m"}
        return [
            {
                "week": week, "bed_temp_c": temp, "limit": self.limit[week],
                **{name: self.at(name, week, unit).as_dict() for name, unit in units.items()},
            }
            for week, temp in enumerate(self.bed_temp_c)
        ]  # fmt: skip


@dataclass(frozen=True, eq=False)
class Heat:
    """Warmest spot and warmest mean of layers of feed at several bed temperatures, °C, shape (temps, draws, depths)."""

    bed_c: Array
    warmest: Array
    mean: Array

    def room_m(self, bed_c: float) -> Array:
        """Return the depth of feed that stays cool enough on a bed of a temperature, m, shape (draws,)."""
        top, good = coefficient("worm_temp_max").value, coefficient("worm_temp_high").value
        return np.minimum(
            cool_depth_m(self._between(self.warmest, bed_c), bed_c, top),
            cool_depth_m(self._between(self.mean, bed_c), bed_c, max(good, bed_c + WARM_BED_K)),
        )

    def warmest_at(self, bed_c: float, depth_m: Array) -> Array:
        """Return the warmest spot of feed of a depth for each draw, °C."""
        rows = np.concatenate([np.full((depth_m.size, 1), bed_c), self._between(self.warmest, bed_c)], axis=1)
        depths = np.array((0.0, *DEPTHS_M))
        return np.array([np.interp(one, depths, row) for one, row in zip(depth_m, rows, strict=True)])

    def _between(self, table: Array, bed_c: float) -> Array:
        """Return warming above the bed between the temperatures that were run, added to the bed's."""
        rise = table - self.bed_c[:, None, None]
        at = float(np.clip(np.interp(bed_c, self.bed_c, np.arange(self.bed_c.size)), 0, self.bed_c.size - 1))
        low, part = int(at), at - int(at)
        high = min(low + 1, self.bed_c.size - 1)
        return np.asarray(bed_c + (1.0 - part) * rise[low] + part * rise[high])


def heat_of(stuff: Sequence[Stuff], bed_c: Sequence[float], seed: int) -> Heat:
    """Return how warm layers of feed get on beds between the coldest and the warmest week, by the heap model.

    Notes
    -----
    The layer lies on a bed that stays as warm as it is; below freezing nothing is run, the worms do not eat.
    """
    low, high = max(min(bed_c), 0.0), max(max(bed_c), 0.0)
    count = min(int((high - low) / APART_K) + 1, MOST_TEMPS)
    temps = np.linspace(low, high, count) if count > 1 else np.array([high])
    runs = [_layers(stuff, float(one), seed) for one in temps]
    return Heat(temps, np.stack([one for one, _ in runs]), np.stack([one for _, one in runs]))


def _layers(stuff: Sequence[Stuff], bed_c: float, seed: int) -> tuple[Array, Array]:
    numbers = drawn_parameters(len(stuff), seed)
    weather = Weather.constant(bed_c, DAYS, humidity=0.8, wind_m_s=0.1)
    specs = [
        HeapSpec(one, "layer", depth_m=depth, start_temp_c=bed_c, rain_share=0.0, weather=weather, changes=change)
        for one, change in zip(stuff, numbers, strict=True)
        for depth in DEPTHS_M
    ]
    run = ensemble(specs, DAYS, CELLS, every_days=0.5)
    shape = (len(stuff), len(DEPTHS_M))
    return run.temp_c.max(axis=(1, 2)).reshape(shape), run.temp_c.mean(axis=2).max(axis=1).reshape(shape)


def cool_depth_m(warmest: Array, bed_c: float, most: float) -> Array:
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


def bed_course(
    feed: Feed,
    room: Mapping[str, Array],
    heat: Heat,
    density_kg_m3: Array,
    area_m2: float,
    worms_kg: Sequence[float],
    bed_c: Sequence[float],
    days: float,
) -> BedCourse:
    """Return a bed fed week by week with what it takes, never more than any limit of that week allows.

    Parameters
    ----------
    room : limits that do not change with the weeks, kg a feeding, as `feeding_draws` gives them; its appetite and salt are
        worked out anew here.
    worms_kg, bed_c : live worms and temperature of each week.
    days : between feedings.

    Notes
    -----
    Salt stays in the bed and gathers while castings are made (`kept`: dry feed times `castings_yield`, at the bed's moisture);
    ammonia of one feeding is taken to be gone by the next; the bed is kept at `worm_bed_moisture` by hand.
    """
    still = {key: one for key, one in room.items() if key not in ("appetite", "salt", "heat")}
    bed_kg = area_m2 * coefficient("worm_bed_depth").value * coefficient("worm_bed_density").value
    mass, salt = np.full(feed.moisture.size, bed_kg), np.zeros(feed.moisture.size)
    wet, yielded = coefficient("worm_bed_moisture").value, coefficient("castings_yield").value
    kept = (1.0 - feed.moisture) * yielded / (1.0 - wet)
    often, rows, limits = DAYS_PER_WEEK / days, [], []
    for worms, temp in zip(worms_kg, bed_c, strict=True):
        now = {
            **still, "appetite": np.full(mass.size, appetite_kg(worms, temp, days)),
            "heat": heat.room_m(temp) * area_m2 * density_kg_m3, "salt": _salt_room(feed, mass, salt, kept),
        }  # fmt: skip
        names, table = list(now), np.stack(list(now.values()))
        given = table.min(axis=0)
        limits.append(names[int(np.bincount(table.argmin(axis=0), minlength=len(names)).argmax())])
        rows.append(_after(feed, given, mass, salt, heat, temp, given / (area_m2 * density_kg_m3), often))
        salt = salt + often * given * (0.0 if feed.salt_s_m is None else DS_PER_S * feed.salt_s_m)
        mass = mass + often * given * kept
    fed, warmest, moisture, ammonia, held = np.quantile(np.array(rows), QUANTILES, axis=2).transpose(2, 0, 1)
    return BedCourse(tuple(bed_c), fed, warmest, moisture, ammonia, held, tuple(limits))


def _salt_room(feed: Feed, mass: Array, salt: Array, kept: Array) -> Array:
    """Return the feeding that brings the bed to the limit of salt, fresh or once it is eaten down to castings, kg."""
    if feed.salt_s_m is None:
        return np.full(mass.size, np.inf)
    held, most = DS_PER_S * feed.salt_s_m, coefficient("worm_ec_max").value
    bound = held - most * np.minimum(kept, 1.0)
    with np.errstate(divide="ignore"):
        return np.where(bound > 0.0, np.maximum(most * mass - salt, 0.0) / np.maximum(bound, 1e-12), np.inf)


def _after(
    feed: Feed, given: Array, mass: Array, salt: Array, heat: Heat, bed_c: float, depth_m: Array, often: float
) -> list[Array]:
    """Return feed of the week, warmest spot, moisture, ammonia and salt of the bed just after a feeding, by draw."""
    whole = mass + given
    wet, brought = coefficient("worm_bed_moisture").value, feed.ammonium * (1.0 - feed.moisture)
    # a feed drier than the bed is watered before it is given
    moisture = (mass * wet + given * np.maximum(feed.moisture, wet)) / whole
    ec = 0.0 if feed.salt_s_m is None else DS_PER_S * feed.salt_s_m
    return [
        often * given, heat.warmest_at(bed_c, depth_m), moisture, MG_PER_G * given * brought / whole, (salt + given * ec) / whole
    ]  # fmt: skip
