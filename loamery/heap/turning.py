"""What a person does to a heap: turning it and watering it (eq. 23)."""

from __future__ import annotations

from typing import Any

import numpy as np

from loamery.heap.fast import fast
from loamery.heap.layout import (
    ACTIVITY,
    AIR_SPACE,
    FAST,
    HEAT,
    HEAT_TO_AIR,
    HEAT_WITH_VAPOUR,
    HEAT_WITH_WATER,
    OUT_RHO,
    OUT_TEMP,
    OXYGEN,
    OXYGEN_IN,
    RECAL,
    SLOW,
    START,
    STATES,
    VOLUME,
    WATER,
    WATER_GIVEN,
    WATER_VAPOUR,
)
from loamery.heap.mesh import fill_volumes
from loamery.heap.physics import air_density, oxygen_density, vapour_density, water_activity


@fast
def turn(state: Any, work: Any, h: Any, p: Any, outside: Any, share: Any, books: Any) -> None:
    """Mix everything, open the pores again, let outside air through (eq. 23).

    Parameters
    ----------
    share : share of the whole in each cell as first built.
    """
    total = np.zeros(STATES)
    weight = 0.0
    for i in range(state.shape[1]):
        for row in range(STATES):
            total[row] += state[row, i] * (state[START, i] if row == ACTIVITY else 1.0)
        weight += state[START, i]
    for i in range(state.shape[1]):
        for row in range(STATES):
            state[row, i] = total[row] / weight if row == ACTIVITY else total[row] * share[i]
    fill_volumes(state, work, h, p, 0.0)
    for i in range(state.shape[1]):
        _air(state, work, h, p, outside, i, books)


@fast
def _air(state: Any, work: Any, h: Any, p: Any, outside: Any, i: int, books: Any) -> None:
    dry = state[FAST, i] + state[SLOW, i] + state[RECAL, i] + h.ash_share * state[START, i]
    holds = dry * p.cp_solid + state[WATER, i] * p.cp_water
    temp = state[HEAT, i] / holds
    air_m3 = p.turning_air * work[VOLUME, i]
    wet = water_activity(state[WATER, i] / dry, p) * vapour_density(temp, p) - outside[OUT_RHO]
    vapour = p.latent_transport * air_m3 * wet
    sensible = air_m3 * air_density(outside[OUT_TEMP], p) * p.air_cp * (temp - outside[OUT_TEMP])
    latent = vapour * (p.latent_zero + p.cp_vapour * temp)
    # air cannot take more than brings the heap to the temperature outside, nor more than half of its water
    most = max(holds * (temp - outside[OUT_TEMP]), 0.0)
    part = min(1.0, 0.5 * most / max(sensible + latent, 1e-9)) if sensible + latent > 0.0 else 0.0
    part = min(part, 0.5 * state[WATER, i] / vapour) if vapour > 0.0 else part
    state[WATER, i] -= part * vapour
    state[HEAT, i] -= part * (sensible + latent)
    books[WATER_VAPOUR] += part * vapour
    books[HEAT_TO_AIR] += part * sensible
    books[HEAT_WITH_VAPOUR] += part * latent
    fresh = h.oxygen_outside * oxygen_density(p.oxygen_store_temp, p) * work[AIR_SPACE, i] * work[VOLUME, i]
    books[OXYGEN_IN] += fresh - state[OXYGEN, i]
    state[OXYGEN, i] = fresh


@fast
def give_water(state: Any, p: Any, outside: Any, kg: float, books: Any) -> None:
    """Spread water evenly over the dry matter, at the temperature of the air."""
    whole = 0.0
    for i in range(state.shape[1]):
        whole += state[START, i]
    carried = p.cp_water * max(outside[OUT_TEMP], 0.0)
    for i in range(state.shape[1]):
        part = kg * state[START, i] / whole
        state[WATER, i] += part
        state[HEAT, i] += part * carried
    books[WATER_GIVEN] += kg
    books[HEAT_WITH_WATER] += kg * carried
