"""Decay: how fast each pool would go with all the oxygen it wants, and what goes once oxygen is known (eq. 6-11)."""

from __future__ import annotations

from typing import Any

from loamery.heap.exponential import exponential
from loamery.heap.fast import fast
from loamery.heap.layout import (
    ACTIVITY,
    ACTIVITY_RATE,
    AIRLESS_HEAT,
    CARBON_AIR,
    CARBON_AIRLESS,
    CARBON_DECAY,
    DEMAND,
    DRY,
    FAST,
    HEAT_AEROBIC,
    HEAT_AIRLESS,
    HEAT_MOVED,
    HEAT_WITH_MATTER,
    LOST,
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
from loamery.heap.physics import DAY_S, cardinal_temperature, exponential_temperature, moisture_response


@fast
def fill_potentials(mid: Any, work: Any, h: Any, p: Any) -> None:
    """Set the decay of each pool in kg/s and its oxygen demand in kg/s, were oxygen no limit (eq. 6).

    Parameters
    ----------
    mid : state at the middle of the step.
    """
    n, kept, per_day = mid.shape[1], 1.0 - p.humus_yield, 1.0 / DAY_S
    for i in range(n):
        water = max(mid[WATER, i], 0.0)
        work[ACTIVITY_RATE, i] = moisture_response(water / (water + work[DRY, i]), p)
    if p.temperature_law > 0.5:
        for i in range(n):
            work[ACTIVITY_RATE, i] *= exponential_temperature(work[TEMP, i], p)
    else:
        for i in range(n):
            work[ACTIVITY_RATE, i] *= cardinal_temperature(work[TEMP, i], p)
    k_fast, k_slow, k_recal, growth = p.k_fast, p.k_slow, p.k_recalcitrant, p.activity_growth * per_day
    oxygen_fast, oxygen_slow, oxygen_recal = kept * h.oxygen_fast, kept * h.oxygen_slow, h.oxygen_recal
    for i in range(n):
        pace = work[ACTIVITY_RATE, i] * mid[ACTIVITY, i] * _nitrogen_response(mid, work, h, p, i) * per_day
        fast = k_fast * pace * max(mid[FAST, i], 0.0)
        slow = k_slow * pace * max(mid[SLOW, i], 0.0)
        recal = k_recal * pace * max(mid[RECAL, i], 0.0)
        work[ACTIVITY_RATE, i] *= growth
        work[POTENTIAL_FAST, i] = fast
        work[POTENTIAL_SLOW, i] = slow
        work[POTENTIAL_RECAL, i] = recal
        work[DEMAND, i] = oxygen_fast * fast + oxygen_slow * slow + oxygen_recal * recal


@fast
def _nitrogen_response(mid: Any, work: Any, h: Any, p: Any, i: int) -> float:
    # decomposers short of nitrogen go at the pace their food itself supplies it (eq. 10)
    carbon = h.carbon_fast * mid[FAST, i] + h.carbon_slow * mid[SLOW, i] + h.carbon_recal * mid[RECAL, i]
    supplied = min(mid[N_ORG, i] / carbon * p.cn_biomass / p.assimilation, 1.0)
    free = mid[N_AMM, i] / (mid[N_AMM, i] + p.ammonium_half * work[DRY, i])
    return free + (1.0 - free) * supplied


@fast
def apply_decay(state: Any, mid: Any, new: Any, work: Any, h: Any, p: Any, dt: float, books: Any) -> None:
    """Take the step's decay from the pools, with oxygen and without, and book carbon, oxygen, water and heat.

    Source rows of water (kg/s) and heat (W) are set, to be spread over the step by the transport of heat and water.
    """
    n, kept = state.shape[1], 1.0 - p.humus_yield
    _activity(state, new, work, dt)
    carbon_fast, carbon_slow, carbon_recal = h.carbon_fast, h.carbon_slow, h.carbon_recal
    anaerobic, humus_share, formed = p.anaerobic_share, p.humus_yield / carbon_recal, p.water_per_matter
    cp_water, cp_solid, airless_heat, aerobic_heat = p.cp_water, p.cp_solid, p.anaerobic_heat, p.heat_per_oxygen
    for i in range(n):
        used = work[OXYGEN_FACTOR, i]
        without = anaerobic * (1.0 - used)
        both = used + without
        fast, slow, recal = work[POTENTIAL_FAST, i], work[POTENTIAL_SLOW, i], work[POTENTIAL_RECAL, i]
        easy_carbon = carbon_fast * fast + carbon_slow * slow
        humus = humus_share * both * easy_carbon
        new[FAST, i] = state[FAST, i] - dt * both * fast
        new[SLOW, i] = state[SLOW, i] - dt * both * slow
        new[RECAL, i] = state[RECAL, i] + dt * (humus - both * recal)
        work[LOST, i] = both * (fast + slow + recal) - humus
        work[CARBON_DECAY, i] = kept * easy_carbon + carbon_recal * recal
    for i in range(n):
        used = work[OXYGEN_FACTOR, i]
        easy, recal = work[POTENTIAL_FAST, i] + work[POTENTIAL_SLOW, i], work[POTENTIAL_RECAL, i]
        work[SOURCE_WATER, i] = formed * used * (kept * easy + recal)
        work[AIRLESS_HEAT, i] = airless_heat * anaerobic * (1.0 - used) * (easy + recal)
        work[HEAT_MOVED, i] = (cp_water * work[SOURCE_WATER, i] - cp_solid * work[LOST, i]) * work[TEMP, i]
        heat = aerobic_heat * used * work[DEMAND, i]
        work[SOURCE_HEAT, i] = heat + work[AIRLESS_HEAT, i] + work[HEAT_MOVED, i]
    with_air = all_carbon = oxygen_used = water_formed = matter_lost = airless = carried = 0.0
    for i in range(n):
        used, carbon = work[OXYGEN_FACTOR, i], work[CARBON_DECAY, i]
        with_air, oxygen_used = with_air + used * carbon, oxygen_used + used * work[DEMAND, i]
        work[CARBON_DECAY, i] = (used + anaerobic * (1.0 - used)) * carbon
        all_carbon += work[CARBON_DECAY, i]
        water_formed, matter_lost = water_formed + work[SOURCE_WATER, i], matter_lost + work[LOST, i]
        airless, carried = airless + work[AIRLESS_HEAT, i], carried + work[HEAT_MOVED, i]
    books[CARBON_AIR] += dt * with_air
    books[CARBON_AIRLESS] += dt * (all_carbon - with_air)
    books[OXYGEN_USED] += dt * oxygen_used
    books[WATER_FORMED] += dt * water_formed
    books[MATTER_LOST] += dt * matter_lost
    books[HEAT_AEROBIC] += dt * aerobic_heat * oxygen_used
    books[HEAT_AIRLESS] += dt * airless
    books[HEAT_WITH_MATTER] += dt * carried


@fast
def _activity(state: Any, new: Any, work: Any, dt: float) -> None:
    # the logistic equation has a closed form over a step in which its rate stands still (eq. 11)
    for i in range(state.shape[1]):
        new[ACTIVITY, i] = exponential(-work[ACTIVITY_RATE, i] * work[OXYGEN_FACTOR, i] * dt)
    for i in range(state.shape[1]):
        a = state[ACTIVITY, i]
        new[ACTIVITY, i] = a / (a + (1.0 - a) * new[ACTIVITY, i])


@fast
def mineralise(mid: Any, new: Any, work: Any, h: Any, p: Any, dt: float) -> None:
    """Release or bind nitrogen along with the decay of carbon (eq. 19)."""
    carbon_fast, carbon_slow, carbon_recal = h.carbon_fast, h.carbon_slow, h.carbon_recal
    needed, half = p.assimilation / p.cn_biomass, p.ammonium_half
    for i in range(mid.shape[1]):
        carbon = carbon_fast * mid[FAST, i] + carbon_slow * mid[SLOW, i] + carbon_recal * mid[RECAL, i]
        net = mid[N_ORG, i] / carbon - needed
        free = mid[N_AMM, i] / (mid[N_AMM, i] + half * work[DRY, i])
        moved = dt * work[CARBON_DECAY, i] * (net * free if net < 0.0 else net)
        new[N_ORG, i] -= moved
        new[N_AMM, i] += moved
