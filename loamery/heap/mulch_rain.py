"""Whether a mulch lets a heavy shower in: water that soaks into the layer, runs through it, or stands on it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loamery.reference import coefficient
from loamery.uncertain import from_range

Array = NDArray[np.float64]
STEPS = 240
THINNEST_M = 1e-4
"""Depth of the wet front at its first moment; it stands for the roughness of the surface."""
S_PER_MIN = 60.0


def conductivity(fines: float, draws: int, seed: int) -> Array:
    """Return draws of the saturated conductivity for water of a mulch, m/s.

    Parameters
    ----------
    fines : share of the dry matter finer than 2 mm.

    Notes
    -----
    Geometric between fine wet matter (`mulch_ks_fine`) and coarse chips (`mulch_ks_coarse`), both recalled: no measured value
    for spent grounds was found. A layer that dried out once may repel water and let in less.
    """
    fine, coarse = coefficient("mulch_ks_fine"), coefficient("mulch_ks_coarse")
    low = from_range("lognormal", fine.low, fine.high, fine.value).draw(draws, seed, "mulch", "fine")
    high = from_range("lognormal", coarse.low, coarse.high, coarse.value).draw(draws, seed, "mulch", "coarse")
    return np.asarray(low**fines * high ** (1.0 - fines))


def standing_water_m(
    depth_m: ArrayLike, conductivity_m_s: ArrayLike, air_space: ArrayLike, rain_m_s: float, minutes: float
) -> Array:
    """Return the most water that stands on a mulch during a shower, m; arrays broadcast.

    Parameters
    ----------
    depth_m : of the layer.
    air_space : share of its volume that is air when the shower begins.
    rain_m_s, minutes : the shower.

    Notes
    -----
    A sharp wet front moves down without suction, as wet organic fines have little left; the water that stands and the wet depth
    drive it: flow = K (h + L)/L. Once the front is through, L is the layer's depth and the flow goes on into the soil.

    Source
    ------
    Green and Ampt 1911, with no suction (recalled); Darcy's law.
    """
    depth, k, air = (np.asarray(one, dtype=np.float64) for one in (depth_m, conductivity_m_s, air_space))
    soaked, standing, most = (np.zeros(np.broadcast_shapes(depth.shape, k.shape, air.shape)) for _ in range(3))
    step = S_PER_MIN * minutes / STEPS
    for _ in range(STEPS):
        wet = np.clip(soaked / np.maximum(air, THINNEST_M), THINNEST_M, depth)
        offered = standing + rain_m_s * step
        # what stands at the end of the step drives it: no overshoot where the wet front is thin
        entered = np.minimum(k * step * (offered + wet) / (wet + k * step), offered)
        soaked, standing = soaked + entered, offered - entered
        most = np.maximum(most, standing)
    return np.asarray(most)
