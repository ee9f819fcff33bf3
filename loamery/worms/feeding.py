"""How much of a material worms can be given, as far as appetite, water, ammonia and salt set the limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.errors import InputError
from loamery.finding import Band
from loamery.reference import coefficient
from loamery.say import say
from loamery.uncertain import band, percentiles
from loamery.units import from_si
from loamery.worms.population import temperature_pace

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Feed:
    """A material as worm feed; arrays of shape (draws,).

    Parameters
    ----------
    moisture : kg/kg as received.
    ammonium : ammoniacal nitrogen, kg/kg dry.
    salt_s_m : conductivity, S/m; None when not known.
    ph : None when not known.
    """

    name: str
    moisture: Array
    ammonium: Array
    salt_s_m: Array | None = None
    ph: Array | None = None


@dataclass(frozen=True)
class Limit:
    """One thing that limits a feeding.

    Parameters
    ----------
    name : appetite, moisture, ammonia, salt, pH, heat or depth.
    kg : greatest feeding, kg as received; an infinite figure is no limit.
    because : with the numbers that led to it.
    """

    name: str
    kg: Band
    because: str

    def as_dict(self) -> dict[str, object]:
        """Return it ready for JSON."""
        return {"name": self.name, "kg": self.kg.as_dict(), "because": self.because}


def feeding_draws(feed: Feed, worms_kg: float, area_m2: float, bed_temp_c: float, days: float) -> Mapping[str, Array]:
    """Return draws of the greatest feeding by each limit, kg as received; infinity where it is no limit.

    Parameters
    ----------
    worms_kg : live worms; area_m2 : of the bed; days : between feedings.

    Notes
    -----
    Water, ammonia and salt of a feeding spread into the bedding it is mixed with (depth, density and moisture of the bed from
    coefficients.csv).

    Raises
    ------
    InputError : a number that cannot be used.
    """
    for name, value, low, high in (
        ("worms", worms_kg, 0.0, 1e5),
        ("area", area_m2, 0.01, 1e5),
        ("days between feedings", days, 0.5, 60.0),
    ):
        if not low <= value <= high:
            raise InputError(
                say("{name} {value:g}", name=name, value=value),
                expected=say("{low:g} to {high:g}", low=low, high=high),
                remedy=say("correct the {name}", name=name),
            )
    bed_kg = area_m2 * coefficient("worm_bed_depth").value * coefficient("worm_bed_density").value
    appetite = appetite_kg(worms_kg, bed_temp_c, days)
    fresh_ammonium = from_si(feed.ammonium, "mg/g") * (1.0 - feed.moisture)
    return {
        "appetite": np.full(feed.moisture.shape, appetite),
        "moisture": _water_room(feed.moisture, bed_kg),
        "ammonia": _diluted(fresh_ammonium, coefficient("worm_ammonia_max").value, bed_kg),
        "salt": _salt_room(feed, bed_kg),
        "pH": _ph_room(feed),
    }


def appetite_kg(worms_kg: float, bed_temp_c: float, days: float) -> float:
    """Return what worms eat in a number of days at a bed temperature, kg as received."""
    return coefficient("worm_feed_ceiling").value * worms_kg * temperature_pace(bed_temp_c) * days


def _water_room(moisture: Array, bed_kg: float) -> Array:
    """Return the feeding that brings the bed to its wettest or driest good moisture, without water given or taken."""
    bed = coefficient("worm_bed_moisture").value
    low, high = coefficient("worm_moisture_low").value, coefficient("worm_moisture_high").value
    with np.errstate(divide="ignore"):
        wet = np.where(moisture > high, bed_kg * (high - bed) / np.maximum(moisture - high, 1e-12), np.inf)
    # a dry feed is watered before it is given, so dryness sets no limit
    return np.asarray(np.where(moisture < low, np.inf, wet))


def _diluted(held: Array, most: float, bed_kg: float) -> Array:
    """Return the feeding that, mixed into the bed, holds no more than a limit; the bed itself is taken to hold none."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(held > most, bed_kg * most / np.maximum(held - most, 1e-12), np.inf))


def _salt_room(feed: Feed, bed_kg: float) -> Array:
    if feed.salt_s_m is None:
        return np.full(feed.moisture.shape, np.inf)
    return _diluted(feed.salt_s_m * 10.0, coefficient("worm_ec_max").value, bed_kg)


def _ph_room(feed: Feed) -> Array:
    if feed.ph is None:
        return np.full(feed.moisture.shape, np.inf)
    low, high = coefficient("worm_ph_low").value, coefficient("worm_ph_high").value
    return np.where((feed.ph < low) | (feed.ph > high), 0.0, np.inf)


def limits_of(draws: Mapping[str, Array], because: Mapping[str, str]) -> tuple[Limit, ...]:
    """Return each limit as a band, the tightest first."""
    out = [Limit(name, finite_band(values), because.get(name, "")) for name, values in draws.items()]
    return tuple(sorted(out, key=lambda one: one.kg.median))


def finite_band(values: Array) -> Band:
    """Return a band of kilograms that may hold infinities."""
    if np.isfinite(values).all():
        return band(values, "kg")
    low, median, high = percentiles(values, between=False)
    return Band(float(median), float(low), float(high), "kg")
