"""Snow: what falls in frost lies until it thaws, so that a winter's water reaches the soil in spring."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loamery.reference import coefficient

Array = NDArray[np.float64]


def thawed(temp_c: Array, fallen_mm: Array) -> Array:
    """Return the water that reaches the ground each day: rain, and snow as it melts.

    Parameters
    ----------
    temp_c : mean air temperature of each day, °C, shape (days, draws).
    fallen_mm : rain and snow of each day as water, mm, same shape.

    Returns
    -------
    mm a day, same shape; snow still lying on the last day is left out.

    Source
    ------
    Degree-day melt, M = f (T - T0); f Kuusisto 1980, Nordic Hydrology 11:235; coefficients ``snow_*``.
    """
    falls_below, melts_above = coefficient("snow_falls_below").value, coefficient("snow_melts_above").value
    could_melt = coefficient("snow_melt").value * np.maximum(temp_c - melts_above, 0.0)
    snow = np.where(temp_c < falls_below, fallen_mm, 0.0)
    lying = np.zeros(fallen_mm.shape[1])
    reached = fallen_mm - snow
    for day in range(fallen_mm.shape[0]):
        lying = lying + snow[day]
        melted = np.minimum(lying, could_melt[day])
        lying -= melted
        reached[day] += melted
    return np.asarray(reached)
