"""Warmth and moisture of the soil: how far and how late it follows the air, and how fast decay runs in it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.reference import coefficient

Array = NDArray[np.float64]


def damping_depth(diffusivity_m2_s: ArrayLike, period_s: ArrayLike) -> Array:
    """Return the depth at which a temperature wave is down to 1/e of its height at the surface, m.

    Source
    ------
    d = sqrt(2 D / w) = sqrt(D P / pi) (Hillel 1982; Ochsner, Rain or Shine, Eq. 13-5).
    """
    product = np.asarray(diffusivity_m2_s, dtype=np.float64) * np.asarray(period_s, dtype=np.float64)
    return np.asarray(np.sqrt(product / np.pi))


def soil_wave(
    depth_m: ArrayLike, time_s: ArrayLike, mean_c: float, swing_k: float, diffusivity_m2_s: float, period_s: float
) -> Array:
    """Return the temperature at a depth under a surface that swings as a sine.

    Parameters
    ----------
    depth_m, time_s : broadcast. mean_c, swing_k : mean and half the swing at the surface.

    Source
    ------
    Ochsner, Rain or Shine, Eq. 13-4: mean + A exp(-z/d) sin(wt - z/d).
    """
    depth = np.asarray(depth_m, dtype=np.float64) / damping_depth(diffusivity_m2_s, period_s)
    turn = 2.0 * np.pi * np.asarray(time_s, dtype=np.float64) / period_s
    return np.asarray(mean_c + swing_k * np.exp(-depth) * np.sin(turn - depth))


def follow(soil_c: ArrayLike, air_c: ArrayLike, days: ArrayLike) -> Array:
    """Return the soil temperature a day later: it closes 1 - exp(-1/days) of its distance to the air.

    Parameters
    ----------
    soil_c, air_c : yesterday's soil and today's mean air temperature. days : time with which the soil follows.
    """
    soil, air = np.asarray(soil_c, dtype=np.float64), np.asarray(air_c, dtype=np.float64)
    return np.asarray(soil + (air - soil) * (1.0 - np.exp(-1.0 / np.asarray(days, dtype=np.float64))))


def warmth_factor(temp_c: ArrayLike, q10: ArrayLike) -> Array:
    """Return the speed of decay against that at 25 °C; nothing moves in frozen soil.

    Source
    ------
    Q10 form; coefficient ``q10`` (Kätterer et al. 1998: 2 is adequate between 5 and 35 °C).
    """
    temp = np.asarray(temp_c, dtype=np.float64)
    reference = coefficient("q10_temp_ref").value
    return np.asarray(np.where(temp > 0.0, np.asarray(q10) ** ((temp - reference) / 10.0), 0.0))


def moisture_factor(filled: ArrayLike, best: ArrayLike) -> Array:
    """Return the speed of decay in a soil against that at the best moisture.

    Parameters
    ----------
    filled : share of the pore space that holds water. best : the share at which decay runs fastest.

    Source
    ------
    Triangle of Linn & Doran 1984 (shape recalled): filled/best below, falling to a fifth at saturation above.
    """
    share, top = np.asarray(filled, dtype=np.float64), np.asarray(best, dtype=np.float64)
    dry = share / top
    wet = 1.0 - WET_FALL * (share - top) / (1.0 - top)
    return np.asarray(np.clip(np.where(share <= top, dry, wet), LEAST, 1.0))


WET_FALL, LEAST = 0.8, 0.02
"""Fall of the speed of decay from the best moisture to saturation, and the speed left in air-dry soil."""
