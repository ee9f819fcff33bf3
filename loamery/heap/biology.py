"""Decay: how fast each pool would go with all the oxygen it wants, and what goes once oxygen is known (eq. 6-11)."""

from __future__ import annotations

import math
from typing import Any

from loamery.heap.fast import fast
from loamery.heap.layout import (
    ACTIVITY,
    ACTIVITY_RATE,
    CARBON_AIR,
    CARBON_AIRLESS,
    CARBON_DECAY,
    DEMAND,
    DRY,
    FAST,
    HEAT_AEROBIC,
    HEAT_AIRLESS,
    HEAT_WITH_MATTER,
    MATTER_LOST,
    N_AMM,
    N_ORG,
    OXYGEN_FACTOR,
    OXYGEN_USED,
    POTENTIAL_FAST,
    POTENTIAL_RECAL,
    POTENTIAL_SLOW,
    RECAL,
    SLOW,
    SOURCE_HEAT,
    SOURCE_WATER,
    TEMP,
    WATER,
    WATER_FORMED,
)
from loamery.heap.physics import DAY_S, moisture_response, temperature_response


@fast
def fill_potentials(mid: Any, work: Any, h: Any, p: Any) -> None:
    """Set the decay of each pool in kg/s and its oxygen demand in kg/s, were oxygen no limit (eq. 6).

    Parameters
    ----------
    mid : state at the middle of the step.
    """
    kept = 1.0 - p.humus_yield
    for i in range(mid.shape[1]):
        water = max(mid[WATER, i], 0.0)
        response = temperature_response(work[TEMP, i], p) * moisture_response(water / (water + work[DRY, i]), p)
        work[ACTIVITY_RATE, i] = p.activity_growth * response / DAY_S
        pace = response * mid[ACTIVITY, i] * _nitrogen_response(mid, work, h, p, i) / DAY_S
        fast = p.k_fast * pace * max(mid[FAST, i], 0.0)
        slow = p.k_slow * pace * max(mid[SLOW, i], 0.0)
        recal = p.k_recalcitrant * pace * max(mid[RECAL, i], 0.0)
        work[POTENTIAL_FAST, i] = fast
        work[POTENTIAL_SLOW, i] = slow
        work[POTENTIAL_RECAL, i] = recal
        work[DEMAND, i] = kept * (h.oxygen_fast * fast + h.oxygen_slow * slow) + h.oxygen_recal * recal


@fast
def _nitrogen_response(mid: Any, work: Any, h: Any, p: Any, i: int) -> float:
    # decomposers short of nitrogen go at the pace their food itself supplies it (eq. 10)
    carbon = h.carbon_fast * mid[FAST, i] + h.carbon_slow * mid[SLOW, i] + h.carbon_recal * mid[RECAL, i]
    supplied = mid[N_ORG, i] / carbon * p.cn_biomass / p.assimilation
    if supplied >= 1.0:
        return 1.0
    free = mid[N_AMM, i] / (mid[N_AMM, i] + p.ammonium_half * work[DRY, i])
    return free + (1.0 - free) * supplied


@fast
def apply_decay(state: Any, mid: Any, new: Any, work: Any, h: Any, p: Any, dt: float, books: Any) -> None:
    """Take the step's decay from the pools, with oxygen and without, and book carbon, oxygen, water and heat.

    Source rows of water (kg/s) and heat (W) are set, to be spread over the step by the transport of heat and water.
    """
    with_air = airless_carbon = oxygen_used = water_formed = matter_lost = aerobic = airless = carried = 0.0
    for i in range(state.shape[1]):
        used = work[OXYGEN_FACTOR, i]
        without = p.anaerobic_share * (1.0 - used)
        fast, slow = work[POTENTIAL_FAST, i], work[POTENTIAL_SLOW, i]
        recal = work[POTENTIAL_RECAL, i]
        easy_carbon = h.carbon_fast * fast + h.carbon_slow * slow
        humus = p.humus_yield * (used + without) * easy_carbon / h.carbon_recal
        new[FAST, i] = state[FAST, i] - dt * (used + without) * fast
        new[SLOW, i] = state[SLOW, i] - dt * (used + without) * slow
        new[RECAL, i] = state[RECAL, i] + dt * (humus - (used + without) * recal)
        carbon = (1.0 - p.humus_yield) * easy_carbon + h.carbon_recal * recal
        work[CARBON_DECAY, i] = (used + without) * carbon
        _activity(state, new, work, dt, used, i)
        oxygen = used * work[DEMAND, i]
        water = p.water_per_matter * used * ((1.0 - p.humus_yield) * (fast + slow) + recal)
        lost = (used + without) * (fast + slow + recal) - humus
        heat = p.heat_per_oxygen * oxygen
        heat_without = p.anaerobic_heat * without * (fast + slow + recal)
        heat_moved = (p.cp_water * water - p.cp_solid * lost) * work[TEMP, i]
        work[SOURCE_WATER, i] = water
        work[SOURCE_HEAT, i] = heat + heat_without + heat_moved
        with_air, airless_carbon = with_air + used * carbon, airless_carbon + without * carbon
        oxygen_used, water_formed, matter_lost = oxygen_used + oxygen, water_formed + water, matter_lost + lost
        aerobic, airless, carried = aerobic + heat, airless + heat_without, carried + heat_moved
    books[CARBON_AIR] += dt * with_air
    books[CARBON_AIRLESS] += dt * airless_carbon
    books[OXYGEN_USED] += dt * oxygen_used
    books[WATER_FORMED] += dt * water_formed
    books[MATTER_LOST] += dt * matter_lost
    books[HEAT_AEROBIC] += dt * aerobic
    books[HEAT_AIRLESS] += dt * airless
    books[HEAT_WITH_MATTER] += dt * carried


@fast
def _activity(state: Any, new: Any, work: Any, dt: float, used: float, i: int) -> None:
    # the logistic equation has a closed form over a step in which its rate stands still (eq. 11)
    a = state[ACTIVITY, i]
    new[ACTIVITY, i] = a / (a + (1.0 - a) * math.exp(-work[ACTIVITY_RATE, i] * used * dt))


@fast
def mineralise(mid: Any, new: Any, work: Any, h: Any, p: Any, dt: float) -> None:
    """Release or bind nitrogen along with the decay of carbon (eq. 19)."""
    for i in range(mid.shape[1]):
        carbon = h.carbon_fast * mid[FAST, i] + h.carbon_slow * mid[SLOW, i] + h.carbon_recal * mid[RECAL, i]
        net = mid[N_ORG, i] / carbon - p.assimilation / p.cn_biomass
        if net < 0.0:
            net *= mid[N_AMM, i] / (mid[N_AMM, i] + p.ammonium_half * work[DRY, i])
        moved = dt * net * work[CARBON_DECAY, i]
        new[N_ORG, i] -= moved
        new[N_AMM, i] += moved
