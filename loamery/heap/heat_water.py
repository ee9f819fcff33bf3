"""Heat and water together: conduction, vapour and liquid between cells, and exchange with air and ground (eq. 13-18).

Temperature and water of a cell hang together through evaporation, so both are unknowns of one block-tridiagonal system.
"""

from __future__ import annotations

from typing import Any

from loamery.heap.exponential import exponential
from loamery.heap.fast import fast
from loamery.heap.layout import (
    AIR_IN,
    AIR_OUT,
    AIR_THROUGH,
    BASE_HEAT,
    BASE_WATER,
    CARRIED_OUT,
    ELIM_A,
    ELIM_B,
    ELIM_C,
    ELIM_D,
    ELIM_R,
    ELIM_S,
    FACE_HEAT,
    FACE_LIQUID,
    FACE_VAPOUR,
    HEAT_BACK,
    HEAT_HELD,
    HEAT_LEAVES,
    HEAT_PASSES,
    HEAT_TO_AIR,
    HEAT_TO_GROUND,
    HEAT_WITH_VAPOUR,
    LIQUID_BACK,
    LIQUID_HEAT,
    LIQUID_PASSES,
    OUT_AIR_HEAT,
    OUT_GROUND,
    OUT_HEAT,
    OUT_RHO,
    OUT_SOIL,
    OUT_TEMP,
    OUT_VAPOUR,
    PER_DRY,
    RHO,
    RHO_T,
    RHO_W,
    STAGE_DRY,
    SWELLING,
    TEMP,
    TRY_HEAT,
    TRY_TEMP,
    TRY_WATER,
    VAPOUR_BACK,
    VAPOUR_COMES,
    VAPOUR_HEAT,
    VAPOUR_LEAVES,
    VAPOUR_PASSES,
    VOLUME,
    WATER_VAPOUR,
)
from loamery.heap.physics import KELVIN, beside_flow, vapour_exponent_and_slope

TRIES = 8
CLOSE_C = 0.3
CLOSE_WATER = 0.01
WILD_C = 200.0
"""A straightened step that moves a temperature by more is none: the step of time is then taken again, shorter."""


@fast
def fill_carried(work: Any, p: Any, outside: Any) -> None:
    """Set what a unit of temperature, vapour and water moves across each face and to the outside (eq. 5, 13, 16-18).

    None of it changes while the step is solved: what passes outwards from a cell, what comes back from the next one,
    what leaves to air and ground and what comes in from there.
    """
    n, air, soil = work.shape[1], outside[OUT_TEMP], outside[OUT_SOIL]
    there, air_heat = p.latent_transport * outside[OUT_RHO], outside[OUT_AIR_HEAT]
    latent, cp_vapour, cp_water = p.latent_zero, p.cp_vapour, p.cp_water
    for i in range(n):
        warm = work[OUT_HEAT, i] + work[AIR_OUT, i] * air_heat
        work[HEAT_LEAVES, i] = warm + work[OUT_GROUND, i]
        work[HEAT_HELD, i] = warm * air + work[OUT_GROUND, i] * soil
    for i in range(n):
        work[CARRIED_OUT, i] = latent + cp_vapour * work[TEMP, i]
        work[VAPOUR_LEAVES, i] = work[OUT_VAPOUR, i] + work[AIR_OUT, i] * work[SWELLING, i]
        work[VAPOUR_COMES, i] = (work[OUT_VAPOUR, i] + work[AIR_IN, i]) * there
    for i in range(n - 1):
        between = 0.5 * (work[TEMP, i] + work[TEMP, i + 1])
        work[VAPOUR_HEAT, i] = latent + cp_vapour * between
        work[LIQUID_HEAT, i] = cp_water * between
    for i in range(n - 1):
        flow = work[AIR_THROUGH, i] * air_heat
        work[HEAT_BACK, i] = beside_flow(work[FACE_HEAT, i], flow)
        work[HEAT_PASSES, i] = work[HEAT_BACK, i] + flow
    for i in range(n - 1):
        flow = work[AIR_THROUGH, i] * work[SWELLING, i]
        work[VAPOUR_BACK, i] = beside_flow(work[FACE_VAPOUR, i], flow)
        work[VAPOUR_PASSES, i] = work[VAPOUR_BACK, i] + flow
    for i in range(n - 1):
        work[LIQUID_PASSES, i] = work[FACE_LIQUID, i] / work[VOLUME, i]
        work[LIQUID_BACK, i] = work[FACE_LIQUID, i] / work[VOLUME, i + 1]


@fast
def solve_stage(work: Any, p: Any, outside: Any, tau: float, weight: float, books: Any) -> bool:
    """Solve one implicit stage of length tau, from the bases and the first try in the workspace.

    Parameters
    ----------
    weight : seconds of the step for which this stage's exchange with the outside counts.

    Returns
    -------
    True when temperature and water have settled and are finite.
    """
    settled = False
    for _ in range(TRIES):
        _vapour(work, p)
        if not _eliminate(work, p, outside, tau):
            return False
        change_c, change_water = _substitute(work, p)
        if not change_c < WILD_C:
            return False
        settled = change_c < CLOSE_C and change_water < CLOSE_WATER
        if settled:
            break
        _settle_temperature(work, p)
    _book(work, outside, weight, books)
    _settle_temperature(work, p)
    return settled


@fast
def _vapour(work: Any, p: Any) -> None:
    n, latent, per_sorption = work.shape[1], p.latent_transport, 1.0 / p.sorption
    # the exponentials by themselves, so that the compiler takes several cells at once in the rest
    for i in range(n):
        work[PER_DRY, i] = 1.0 / work[STAGE_DRY, i]
        work[RHO_W, i] = max(work[TRY_WATER, i] * work[PER_DRY, i] * per_sorption, -1.0)
    for i in range(n):
        work[RHO, i], work[RHO_T, i] = vapour_exponent_and_slope(work[TRY_TEMP, i], p)
    for i in range(n):
        work[RHO_W, i] = exponential(-work[RHO_W, i])
        work[RHO, i] = exponential(work[RHO, i])
    scale = latent * p.saturation_a * p.molar_water / p.gas_constant
    for i in range(n):
        full, dried = scale * work[RHO, i] / (work[TRY_TEMP, i] + KELVIN), work[RHO_W, i]
        work[RHO, i] = (1.0 - dried) * full
        work[RHO_T, i] *= work[RHO, i]
        work[RHO_W, i] = dried * full * work[PER_DRY, i] * per_sorption


@fast
def _eliminate(work: Any, p: Any, outside: Any, tau: float) -> bool:
    """Run through the cells outwards: heat (a, b) and water (c, d), in dT and dW. Return whether it can be solved."""
    n = work.shape[1]
    air, cp_solid, cp_water = outside[OUT_TEMP], p.cp_solid, p.cp_water
    # l: what the cell before takes from this cell's unknowns; k: what this cell takes from the unknowns of the cell before
    la = lb = lc = ld = ka = kb = kc = kd = heat_in = water_in = 0.0
    # e: the solved row of the cell before
    ea = eb = ec = ed = er = es = 0.0
    for i in range(n):
        temp, water = work[TRY_TEMP, i], work[TRY_WATER, i]
        rho_t, rho_w = work[RHO_T, i], work[RHO_W, i]
        # what the cell holds, and what leaves it to the outside
        flow, carried = tau * work[VAPOUR_LEAVES, i], work[CARRIED_OUT, i]
        vapour = flow * work[RHO, i] - tau * work[VAPOUR_COMES, i]
        holds = work[STAGE_DRY, i] * cp_solid + water * cp_water
        a = holds + tau * work[HEAT_LEAVES, i] + carried * flow * rho_t + la
        b = cp_water * temp + carried * flow * rho_w + lb
        c, d = flow * rho_t + lc, 1.0 + flow * rho_w + ld
        r = work[BASE_HEAT, i] - holds * temp + heat_in - carried * vapour
        r -= tau * (work[HEAT_LEAVES, i] * temp - work[HEAT_HELD, i])
        s = work[BASE_WATER, i] - water - vapour + water_in
        ua = ub = uc = ud = na = nb = nc = nd = 0.0
        if i < n - 1:
            # the face outwards: conduction, vapour, liquid, and the air that passes through (from this side only)
            gas, back = tau * work[VAPOUR_PASSES, i], tau * work[VAPOUR_BACK, i]
            wets, dries = tau * work[LIQUID_PASSES, i], tau * work[LIQUID_BACK, i]
            warms, cools = tau * work[HEAT_PASSES, i], tau * work[HEAT_BACK, i]
            hv, hl = work[VAPOUR_HEAT, i], work[LIQUID_HEAT, i]
            next_t, next_w = work[RHO_T, i + 1], work[RHO_W, i + 1]
            vap = gas * work[RHO, i] - back * work[RHO, i + 1]
            drop = wets * water - dries * work[TRY_WATER, i + 1]
            water_in = vap + drop
            heat_in = warms * (temp - air) - cools * (work[TRY_TEMP, i + 1] - air) + hv * vap + hl * drop
            r, s = r - heat_in, s - water_in
            nc, nd = -gas * rho_t, -gas * rho_w - wets
            na, nb = hv * nc - warms, -hv * gas * rho_w - hl * wets
            a, b, c, d = a - na, b - nb, c - nc, d - nd
            uc, ud = -back * next_t, -back * next_w - dries
            ua, ub = hv * uc - cools, -hv * back * next_w - hl * dries
        # take out the cell before: row - K * (its solved row)
        a, b = a - (ka * ea + kb * ec), b - (ka * eb + kb * ed)
        c, d = c - (kc * ea + kd * ec), d - (kc * eb + kd * ed)
        r, s = r - (ka * er + kb * es), s - (kc * er + kd * es)
        det = a * d - b * c
        if not abs(det) > 0.0:
            return False
        whole = 1.0 / det
        ea, eb, er = whole * (d * ua - b * uc), whole * (d * ub - b * ud), whole * (d * r - b * s)
        ec, ed, es = whole * (a * uc - c * ua), whole * (a * ud - c * ub), whole * (a * s - c * r)
        work[ELIM_A, i], work[ELIM_B, i], work[ELIM_R, i] = ea, eb, er
        work[ELIM_C, i], work[ELIM_D, i], work[ELIM_S, i] = ec, ed, es
        ka, kb, kc, kd = na, nb, nc, nd
        la, lb, lc, ld = -ua, -ub, -uc, -ud
    return True


@fast
def _substitute(work: Any, p: Any) -> tuple[float, float]:
    """Run back through the cells; the try becomes the straightened solution. Return the largest changes, K and kg/kg."""
    most_c, most_water = 0.0, 0.0
    d_temp, d_water = 0.0, 0.0
    for i in range(work.shape[1] - 1, -1, -1):
        next_temp, next_water = d_temp, d_water
        d_temp = work[ELIM_R, i] - (work[ELIM_A, i] * next_temp + work[ELIM_B, i] * next_water)
        d_water = work[ELIM_S, i] - (work[ELIM_C, i] * next_temp + work[ELIM_D, i] * next_water)
        work[ELIM_R, i], work[ELIM_S, i] = d_temp, d_water
        most_c = max(most_c, abs(d_temp))
        most_water = max(most_water, abs(d_water) * work[PER_DRY, i])
    cp_solid, cp_water = p.cp_solid, p.cp_water
    for i in range(work.shape[1]):
        change_temp, change_water = work[ELIM_R, i], work[ELIM_S, i]
        temp, water = work[TRY_TEMP, i], work[TRY_WATER, i]
        holds = work[STAGE_DRY, i] * cp_solid + water * cp_water
        # the heat that closes the balance exactly is the straightened one
        work[TRY_HEAT, i] = holds * (temp + change_temp) + cp_water * temp * change_water
        work[TRY_TEMP, i] = temp + change_temp
        work[TRY_WATER, i] = water + change_water
    for i in range(work.shape[1]):
        work[RHO, i] += work[RHO_T, i] * work[ELIM_R, i] + work[RHO_W, i] * work[ELIM_S, i]
    return most_c, most_water


@fast
def _settle_temperature(work: Any, p: Any) -> None:
    cp_solid, cp_water = p.cp_solid, p.cp_water
    for i in range(work.shape[1]):
        work[TRY_TEMP, i] = work[TRY_HEAT, i] / (work[STAGE_DRY, i] * cp_solid + work[TRY_WATER, i] * cp_water)


@fast
def _book(work: Any, outside: Any, weight: float, books: Any) -> None:
    vapour = latent = warm = ground = 0.0
    for i in range(work.shape[1]):
        leaving = work[VAPOUR_LEAVES, i] * work[RHO, i] - work[VAPOUR_COMES, i]
        vapour += leaving
        latent += work[CARRIED_OUT, i] * leaving
        to_air = work[OUT_HEAT, i] + work[AIR_OUT, i] * outside[OUT_AIR_HEAT]
        warm += to_air * (work[TRY_TEMP, i] - outside[OUT_TEMP])
        ground += work[OUT_GROUND, i] * (work[TRY_TEMP, i] - outside[OUT_SOIL])
    books[WATER_VAPOUR] += weight * vapour
    books[HEAT_WITH_VAPOUR] += weight * latent
    books[HEAT_TO_AIR] += weight * warm
    books[HEAT_TO_GROUND] += weight * ground
