"""Water of a bed: what the air asks for, what the crop uses, what the soil holds and what drains away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.reference import coefficient
from loamery.units import to_si

Array = NDArray[np.float64]
ZERO_K = 273.16
"""As FAO-56 prints it."""


def sun_above_air(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Array:
    """Return the sun's energy above the air.

    Parameters
    ----------
    latitude_deg : degrees, north positive. day_of_year : 1 to 366.

    Returns
    -------
    MJ per m2 and day, broadcast shape.

    Source
    ------
    Allen et al. 1998 (FAO-56), Eq. 21 to 25.
    """
    latitude = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    turn = 2.0 * np.pi * np.asarray(day_of_year, dtype=np.float64) / 365.0
    nearness = 1.0 + 0.033 * np.cos(turn)
    declination = 0.409 * np.sin(turn - 1.39)
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    height = sunset * np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    minutes = 24.0 * 60.0 / np.pi
    return np.asarray(minutes * coefficient("solar_constant").value * nearness * height)


def hargreaves(low_c: ArrayLike, high_c: ArrayLike, sun_mj_m2: ArrayLike) -> Array:
    """Return reference evapotranspiration from temperature alone.

    Parameters
    ----------
    low_c, high_c : lowest and highest air temperature of the day. sun_mj_m2 : above the air, MJ per m2 and day.

    Returns
    -------
    mm per day, not below zero, broadcast shape.

    Source
    ------
    Hargreaves & Samani 1985; Allen et al. 1998 (FAO-56), Eq. 52.
    """
    low, high = np.asarray(low_c, dtype=np.float64), np.asarray(high_c, dtype=np.float64)
    warm = 0.5 * (low + high) + coefficient("hargreaves_shift").value
    span = np.sqrt(np.maximum(high - low, 0.0))
    water = coefficient("evaporation_per_energy").value * np.asarray(sun_mj_m2, dtype=np.float64)
    return np.maximum(coefficient("hargreaves_factor").value * warm * span * water, 0.0)


def sun_from_span(low_c: ArrayLike, high_c: ArrayLike, sun_mj_m2: ArrayLike) -> Array:
    """Return the sun at the ground guessed from the day's span of temperature, inland, MJ per m2 and day (FAO-56, Eq. 50).

    Parameters
    ----------
    low_c, high_c : lowest and highest air temperature of the day. sun_mj_m2 : above the air.
    """
    span = np.maximum(np.asarray(high_c, dtype=np.float64) - np.asarray(low_c, dtype=np.float64), 0.0)
    return np.asarray(coefficient("hargreaves_radiation").value * np.sqrt(span) * np.asarray(sun_mj_m2))


def vapour_pressure(temp_c: ArrayLike) -> Array:
    """Return the saturation vapour pressure, kPa (FAO-56, Eq. 11)."""
    temp = np.asarray(temp_c, dtype=np.float64)
    return np.asarray(0.6108 * np.exp(17.27 * temp / (temp + 237.3)))


def penman_monteith(
    low_c: ArrayLike, high_c: ArrayLike, vapour_kpa: ArrayLike, wind_m_s: ArrayLike, sun_mj_m2: ArrayLike,
    above_mj_m2: ArrayLike, height_m: ArrayLike = 0.0, ground_mj_m2: ArrayLike = 0.0,
) -> Array:  # fmt: skip
    """Return reference evapotranspiration from full weather.

    Parameters
    ----------
    low_c, high_c : air temperature. vapour_kpa : actual vapour pressure. wind_m_s : at 2 m.
    sun_mj_m2 : at the ground. above_mj_m2 : above the air. height_m : of the place. ground_mj_m2 : heat into the soil.

    Returns
    -------
    mm per day, broadcast shape.

    Source
    ------
    Allen et al. 1998 (FAO-56), Eq. 6, with Eq. 7, 8, 11 to 13 and 37 to 40.
    """
    low, high = np.asarray(low_c, dtype=np.float64), np.asarray(high_c, dtype=np.float64)
    vapour, wind = np.asarray(vapour_kpa, dtype=np.float64), np.asarray(wind_m_s, dtype=np.float64)
    mean = 0.5 * (low + high)
    slope = 4098.0 * vapour_pressure(mean) / (mean + 237.3) ** 2
    pressure = 101.3 * ((293.0 - 0.0065 * np.asarray(height_m, dtype=np.float64)) / 293.0) ** 5.26
    gamma = coefficient("psychrometric_factor").value * pressure
    lack = 0.5 * (vapour_pressure(low) + vapour_pressure(high)) - vapour
    net = net_radiation(low, high, vapour, sun_mj_m2, above_mj_m2, height_m) - np.asarray(ground_mj_m2)
    energy = coefficient("evaporation_per_energy").value * slope * net
    air = gamma * 900.0 / (mean + 273.0) * wind * lack
    return np.asarray((energy + air) / (slope + gamma * (1.0 + 0.34 * wind)))


def net_radiation(
    low_c: ArrayLike, high_c: ArrayLike, vapour_kpa: ArrayLike, sun_mj_m2: ArrayLike, above_mj_m2: ArrayLike,
    height_m: ArrayLike = 0.0,
) -> Array:  # fmt: skip
    """Return the energy the reference grass keeps, MJ per m2 and day.

    Source
    ------
    Allen et al. 1998 (FAO-56), Eq. 37 to 40.
    """
    sun, above = np.asarray(sun_mj_m2, dtype=np.float64), np.asarray(above_mj_m2, dtype=np.float64)
    clear = (
        coefficient("angstrom_a").value
        + coefficient("angstrom_b").value
        + coefficient("clear_sky_slope").value * np.asarray(height_m, dtype=np.float64)
    ) * above
    fourth = 0.5 * sum((np.asarray(one, dtype=np.float64) + ZERO_K) ** 4 for one in (low_c, high_c))
    cloud = 1.35 * np.minimum(sun / clear, 1.0) - 0.35
    damp = 0.34 - 0.14 * np.sqrt(np.asarray(vapour_kpa, dtype=np.float64))
    lost = coefficient("stefan_boltzmann").value * fourth * damp * cloud
    return np.asarray((1.0 - coefficient("albedo_grass").value) * sun - lost)


@dataclass(frozen=True, eq=False)
class Bucket:
    """One day's water, all in mm: crop and soil use, water given, drainage, and the depletion left."""

    used: Array
    given: Array
    drained: Array
    depletion: Array


def bucket_day(
    depletion_mm: ArrayLike, rain_mm: ArrayLike, asked_mm: ArrayLike, total_mm: ArrayLike, readily_mm: ArrayLike,
    watered: ArrayLike,
) -> Bucket:  # fmt: skip
    """Return one day of the water balance of a root zone.

    Parameters
    ----------
    depletion_mm : water lacking to field capacity in the morning.
    rain_mm : that day. asked_mm : crop coefficient times reference evapotranspiration.
    total_mm, readily_mm : water available in all and without stress (TAW, RAW).
    watered : 1 where the grower refills the root zone once the readily available water is used up.

    Notes
    -----
    Closes exactly: rain + given = used + drained + change of storage.

    Source
    ------
    Allen et al. 1998 (FAO-56), Eq. 82 to 88.
    """
    total, readily = np.asarray(total_mm, dtype=np.float64), np.asarray(readily_mm, dtype=np.float64)
    morning = np.asarray(depletion_mm, dtype=np.float64)
    given = np.where(morning > readily, morning, 0.0) * np.asarray(watered, dtype=np.float64)
    balance = morning - np.asarray(rain_mm, dtype=np.float64) - given
    drained = np.maximum(-balance, 0.0)
    after = np.maximum(balance, 0.0)
    stress = np.clip((total - after) / np.maximum(total - readily, 1e-12), 0.0, 1.0)
    used = np.minimum(np.asarray(asked_mm, dtype=np.float64) * stress, np.maximum(total - after, 0.0))
    return Bucket(used, given, drained, after + used)


def curve_number(clay_frac: ArrayLike, covered: ArrayLike) -> Array:
    """Return the curve number of a bed's soil.

    Parameters
    ----------
    clay_frac : of the soil, kg/kg. covered : share of the ground under a full mulch, 0 to 1.

    Returns
    -------
    Curve number, 0 to 100, broadcast shape: rows in good condition where bare, ground under litter where covered.

    Source
    ------
    USDA TR-55, Table 2-2, between hydrologic groups by clay (NEH 630, chapter 7).
    """
    clay = [to_si(coefficient(f"run_off_clay_{group}").value, "%") for group in GROUPS]
    rows, litter = (
        np.interp(
            np.asarray(clay_frac, dtype=np.float64),
            clay,
            [coefficient(f"run_off_{cover}_{group}").value for group in GROUPS],
        )
        for cover in ("rows", "litter")
    )
    return np.asarray(rows + (litter - rows) * np.asarray(covered, dtype=np.float64))


GROUPS = ("a", "b", "c", "d")
"""Hydrologic soil groups, from the most to the least pervious."""


def run_off(rain_mm: ArrayLike, number: ArrayLike, scale: ArrayLike = 1.0) -> Array:
    """Return the rain of a day that runs off instead of soaking in.

    Parameters
    ----------
    rain_mm : of the day. number : curve number. scale : factor on the retention it stands for.

    Returns
    -------
    mm, broadcast shape.

    Source
    ------
    USDA NRCS, NEH 630 chapter 10: S = 25400/CN - 254 mm, Q = (P - 0.2 S)^2 / (P + 0.8 S) above P = 0.2 S.
    """
    kept = (25400.0 / np.asarray(number, dtype=np.float64) - 254.0) * np.asarray(scale, dtype=np.float64)
    first = coefficient("run_off_first").value * kept
    above = np.maximum(np.asarray(rain_mm, dtype=np.float64) - first, 0.0)
    return np.asarray(above**2 / np.maximum(above + kept, 1e-12))


def leached_share(drained_mm: ArrayLike, held_mm: ArrayLike, efficiency: ArrayLike = 1.0) -> Array:
    """Return the share of a dissolved thing that drainage carries out of a layer.

    Parameters
    ----------
    drained_mm : water that leaves the layer. held_mm : water it holds.
    efficiency : 1 when the drained water is fully mixed with the water held.

    Returns
    -------
    Share from 0 to 1, broadcast shape.

    Source
    ------
    Full mixing, 1 - exp(-D/W); agrees with Burns 1975 (J. Agric. Sci.) as rewritten by Scotter et al. 1993.
    """
    ratio = np.asarray(drained_mm, dtype=np.float64) / np.maximum(np.asarray(held_mm, dtype=np.float64), 1e-12)
    return np.asarray(1.0 - np.exp(-np.asarray(efficiency, dtype=np.float64) * ratio))


def burns_share(drained_cm: ArrayLike, field_capacity: ArrayLike, depth_cm: ArrayLike) -> Array:
    """Return the share of nitrate on the surface that drainage takes below a depth.

    Parameters
    ----------
    drained_cm : drainage. field_capacity : by volume, 0 to 1. depth_cm : the depth.

    Source
    ------
    Burns 1975, J. Agric. Sci. 85:443: [P / (P + Vm/100)]^h (form recalled).
    """
    water = np.asarray(drained_cm, dtype=np.float64)
    ratio = water / np.maximum(water + np.asarray(field_capacity, dtype=np.float64), 1e-12)
    return np.asarray(ratio ** np.asarray(depth_cm, dtype=np.float64))
