"""More of the same stuff added to a heap: all over a bin, on top of a layer or pile (eq. 26)."""

from __future__ import annotations

from typing import Any

import numpy as np

from loamery.heap.fast import fast
from loamery.heap.layout import (
    ACTIVITY,
    BIN,
    CARBON_FED,
    FAST,
    HEAT,
    HEAT_WITH_FEED,
    MATTER_FED,
    N_AMM,
    N_FED,
    N_ORG,
    OUT_TEMP,
    OXYGEN,
    OXYGEN_IN,
    RECAL,
    SLOW,
    START,
    STATES,
    WATER,
    WATER_FED,
)
from loamery.heap.physics import oxygen_density


@fast
def feed(
    state: Any, work: Any, h: Any, p: Any, outside: Any, share: Any, settled: float, kg: float, books: Any
) -> None:
    """Add stuff like that at the start, at the temperature of the air.

    Parameters
    ----------
    share : share of the whole in each cell.
    settled : share of the room of soft matter lost by settling so far.
    kg : added, as received.
    """
    fresh = _fresh(h, p, outside, settled, kg, books)
    if h.geometry == BIN:
        # it lies on all rings alike; the bin fills upwards
        for i in range(state.shape[1]):
            _add(state[:, i], fresh, share[i])
    else:
        _cut_again(state, fresh, share)


@fast
def _fresh(h: Any, p: Any, outside: Any, settled: float, kg: float, books: Any) -> Any:
    one = np.zeros(STATES)
    dry = kg * (1.0 - h.moisture)
    organic = dry * (1.0 - h.ash_share)
    one[FAST], one[SLOW], one[RECAL] = organic * h.fast, organic * h.slow, organic * h.recal
    one[N_AMM] = dry * h.nitrogen * h.ammonium_share
    one[N_ORG] = dry * h.nitrogen - one[N_AMM]
    one[ACTIVITY], one[WATER], one[START] = h.activity, kg * h.moisture, dry
    one[HEAT] = (dry * p.cp_solid + one[WATER] * p.cp_water) * outside[OUT_TEMP]
    ash = h.ash_share * dry
    full = organic / p.rho_organic + ash / p.rho_ash + one[WATER] / p.rho_water
    room = h.loose_m3_per_kg * (p.soft_volume * (one[FAST] + one[SLOW]) * (1.0 - settled) + one[RECAL] + ash)
    air = max(room - full, p.air_space_floor * full / (1.0 - p.air_space_floor))
    one[OXYGEN] = h.oxygen_outside * oxygen_density(p.oxygen_store_temp, p) * air
    books[MATTER_FED] += dry
    books[CARBON_FED] += h.carbon_fast * one[FAST] + h.carbon_slow * one[SLOW] + h.carbon_recal * one[RECAL]
    books[N_FED] += one[N_ORG] + one[N_AMM]
    books[WATER_FED] += one[WATER]
    books[HEAT_WITH_FEED] += one[HEAT]
    books[OXYGEN_IN] += one[OXYGEN]
    return one


@fast
def _add(cell: Any, part: Any, share: float) -> None:
    # all rows are totals but the activity, which is a mean over the dry matter brought in
    begun = cell[START] + share * part[START]
    active = cell[ACTIVITY] * cell[START] + part[ACTIVITY] * share * part[START]
    for row in range(STATES):
        cell[row] += share * part[row]
    cell[ACTIVITY] = active / begun


@fast
def _cut_again(state: Any, fresh: Any, share: Any) -> None:
    """Lay the fresh stuff outside the last cell and cut the whole anew, each cell with its share of the dry matter."""
    n = state.shape[1]
    old = state.copy()
    total = fresh[START]
    for i in range(n):
        total += old[START, i]
    state[:] = 0.0
    at, left = 0, old[START, 0]
    for i in range(n):
        wanted = share[i] * total
        while wanted > 1e-12 * total:
            part = old[:, at] if at < n else fresh
            taken = min(wanted, left)
            if i == n - 1 and at == n:
                taken = left
            _add(state[:, i], part, taken / part[START])
            wanted, left = wanted - taken, left - taken
            if left <= 1e-12 * total:
                # what rounding leaves goes along
                _add(state[:, i], part, left / part[START])
                at += 1
                if at > n:
                    break
                left = old[START, at] if at < n else fresh[START]
