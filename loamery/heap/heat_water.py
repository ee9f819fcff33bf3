"""Heat and water together: conduction, vapour and liquid between cells, and exchange with air and ground (eq. 13-18).

Temperature and water of a cell hang together through evaporation, so both are unknowns of one block-tridiagonal system.
"""

from __future__ import annotations

from typing import Any

from numba import njit

from loamery.heap.layout import (
    AIR_IN,
    AIR_OUT,
    AIR_THROUGH,
    BASE_HEAT,
    BASE_WATER,
    ELIM_A,
    ELIM_B,
    ELIM_C,
    ELIM_D,
    ELIM_R,
    ELIM_S,
    FACE_HEAT,
    FACE_LIQUID,
    FACE_VAPOUR,
    HEAT_TO_AIR,
    HEAT_TO_GROUND,
    HEAT_WITH_VAPOUR,
    LIQUID_HEAT,
    OUT_AIR_HEAT,
    OUT_GROUND,
    OUT_HEAT,
    OUT_RHO,
    OUT_SOIL,
    OUT_TEMP,
    OUT_VAPOUR,
    RHO,
    RHO_T,
    RHO_W,
    STAGE_DRY,
    SWELLING,
    TEMP,
    TRY_HEAT,
    TRY_TEMP,
    TRY_WATER,
    VAPOUR_HEAT,
    VOLUME,
    WATER_VAPOUR,
)
from loamery.heap.physics import KELVIN, beside_flow, saturation_slope, vapour_density, water_activity

TRIES = 8
CLOSE_C = 0.3
CLOSE_WATER = 0.01
WILD_C = 200.0
"""A straightened step that moves a temperature by more is none: the step of time is then taken again, shorter."""


@njit(cache=True)
def fill_carried(work: Any, p: Any) -> None:
    """Set the heat that vapour and liquid carry across each face, and vapour out of each cell, J/kg (eq. 13)."""
    n = work.shape[1]
    for i in range(n):
        ahead = work[TEMP, i + 1] if i < n - 1 else work[TEMP, i]
        between = 0.5 * (work[TEMP, i] + ahead)
        work[VAPOUR_HEAT, i] = p.latent_zero + p.cp_vapour * between
        work[LIQUID_HEAT, i] = p.cp_water * between


@njit(cache=True)
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
    _book(work, p, outside, weight, books)
    _settle_temperature(work, p)
    return settled


@njit(cache=True)
def _vapour(work: Any, p: Any) -> None:
    for i in range(work.shape[1]):
        temp = work[TRY_TEMP, i]
        full = p.latent_transport * vapour_density(temp, p)
        wet = water_activity(work[TRY_WATER, i] / work[STAGE_DRY, i], p)
        work[RHO, i] = wet * full
        work[RHO_T, i] = wet * full * (saturation_slope(temp, p) - 1.0 / (temp + KELVIN))
        work[RHO_W, i] = (1.0 - wet) * full / (p.sorption * work[STAGE_DRY, i])


@njit(cache=True)
def _eliminate(work: Any, p: Any, outside: Any, tau: float) -> bool:
    """Run through the cells outwards: heat (a, b) and water (c, d), in dT and dW. Return whether it can be solved."""
    n = work.shape[1]
    # l: what the cell before takes from this cell's unknowns; k: what this cell takes from the unknowns of the cell before
    la = lb = lc = ld = ka = kb = kc = kd = heat_in = water_in = 0.0
    for i in range(n):
        temp, water = work[TRY_TEMP, i], work[TRY_WATER, i]
        rho_t, rho_w = work[RHO_T, i], work[RHO_W, i]
        # what the cell holds, and what leaves it to the outside
        flow = work[OUT_VAPOUR, i] + work[AIR_OUT, i] * work[SWELLING, i]
        carried = p.latent_zero + p.cp_vapour * work[TEMP, i]
        vapour = _vapour_out(work, p, outside, i)
        warm = work[OUT_HEAT, i] + work[AIR_OUT, i] * outside[OUT_AIR_HEAT]
        sensible = warm * (temp - outside[OUT_TEMP]) + work[OUT_GROUND, i] * (temp - outside[OUT_SOIL])
        holds = work[STAGE_DRY, i] * p.cp_solid + water * p.cp_water
        a = holds + tau * (warm + work[OUT_GROUND, i] + carried * flow * rho_t) + la
        b = p.cp_water * temp + tau * carried * flow * rho_w + lb
        c = tau * flow * rho_t + lc
        d = 1.0 + tau * flow * rho_w + ld
        r, s = work[BASE_HEAT, i] - holds * temp + heat_in, work[BASE_WATER, i] - water - tau * vapour + water_in
        r -= tau * (sensible + carried * vapour)
        ua = ub = uc = ud = na = nb = nc = nd = 0.0
        if i < n - 1:
            # the face outwards: conduction, vapour, liquid, and the air that passes through (from this side only)
            flow = work[AIR_THROUGH, i] * work[SWELLING, i]
            back, liquid = beside_flow(work[FACE_VAPOUR, i], flow), work[FACE_LIQUID, i]
            gas = back + flow
            vap = gas * work[RHO, i] - back * work[RHO, i + 1]
            drop = liquid * (water / work[VOLUME, i] - work[TRY_WATER, i + 1] / work[VOLUME, i + 1])
            hv, hl, flow = work[VAPOUR_HEAT, i], work[LIQUID_HEAT, i], work[AIR_THROUGH, i] * outside[OUT_AIR_HEAT]
            passing = beside_flow(work[FACE_HEAT, i], flow)
            conduct = passing + flow
            sensible = conduct * (temp - outside[OUT_TEMP]) - passing * (work[TRY_TEMP, i + 1] - outside[OUT_TEMP])
            heat_in = tau * (sensible + hv * vap + hl * drop)
            water_in = tau * (vap + drop)
            r, s = r - heat_in, s - water_in
            nc, nd = -tau * gas * rho_t, -tau * (gas * rho_w + liquid / work[VOLUME, i])
            na = -tau * (conduct + hv * gas * rho_t)
            nb = -tau * (hv * gas * rho_w + hl * liquid / work[VOLUME, i])
            a, b, c, d = a - na, b - nb, c - nc, d - nd
            oc = tau * back * work[RHO_T, i + 1]
            od = tau * (back * work[RHO_W, i + 1] + liquid / work[VOLUME, i + 1])
            oa = tau * (passing + hv * back * work[RHO_T, i + 1])
            ob = tau * (hv * back * work[RHO_W, i + 1] + hl * liquid / work[VOLUME, i + 1])
            ua, ub, uc, ud = -oa, -ob, -oc, -od
        if i > 0:
            # take out the cell before: row - K * (its solved row)
            a -= ka * work[ELIM_A, i - 1] + kb * work[ELIM_C, i - 1]
            b -= ka * work[ELIM_B, i - 1] + kb * work[ELIM_D, i - 1]
            c -= kc * work[ELIM_A, i - 1] + kd * work[ELIM_C, i - 1]
            d -= kc * work[ELIM_B, i - 1] + kd * work[ELIM_D, i - 1]
            r -= ka * work[ELIM_R, i - 1] + kb * work[ELIM_S, i - 1]
            s -= kc * work[ELIM_R, i - 1] + kd * work[ELIM_S, i - 1]
        if not abs(a * d - b * c) > 0.0:
            return False
        whole = 1.0 / (a * d - b * c)
        work[ELIM_A, i], work[ELIM_B, i] = whole * (d * ua - b * uc), whole * (d * ub - b * ud)
        work[ELIM_C, i], work[ELIM_D, i] = whole * (a * uc - c * ua), whole * (a * ud - c * ub)
        work[ELIM_R, i], work[ELIM_S, i] = whole * (d * r - b * s), whole * (a * s - c * r)
        ka, kb, kc, kd = na, nb, nc, nd
        la, lb, lc, ld = -ua, -ub, -uc, -ud
    return True


@njit(cache=True)
def _vapour_out(work: Any, p: Any, outside: Any, i: int) -> float:
    # through the surface, and with the air that came in and goes out
    there = p.latent_transport * outside[OUT_RHO]
    with_air = work[AIR_OUT, i] * work[SWELLING, i] * work[RHO, i] - work[AIR_IN, i] * there
    return work[OUT_VAPOUR, i] * (work[RHO, i] - there) + with_air


@njit(cache=True)
def _substitute(work: Any, p: Any) -> tuple[float, float]:
    """Run back through the cells; the try becomes the straightened solution. Return the largest changes, K and kg/kg."""
    most_c, most_water = 0.0, 0.0
    d_temp, d_water = 0.0, 0.0
    for i in range(work.shape[1] - 1, -1, -1):
        next_temp, next_water = d_temp, d_water
        d_temp = work[ELIM_R, i] - work[ELIM_A, i] * next_temp - work[ELIM_B, i] * next_water
        d_water = work[ELIM_S, i] - work[ELIM_C, i] * next_temp - work[ELIM_D, i] * next_water
        temp, water = work[TRY_TEMP, i], work[TRY_WATER, i]
        holds = work[STAGE_DRY, i] * p.cp_solid + water * p.cp_water
        # the heat that closes the balance exactly is the straightened one
        work[TRY_HEAT, i] = holds * (temp + d_temp) + p.cp_water * temp * d_water
        work[RHO, i] += work[RHO_T, i] * d_temp + work[RHO_W, i] * d_water
        work[TRY_TEMP, i] = temp + d_temp
        work[TRY_WATER, i] = water + d_water
        most_c = max(most_c, abs(d_temp))
        most_water = max(most_water, abs(d_water) / work[STAGE_DRY, i])
    return most_c, most_water


@njit(cache=True)
def _settle_temperature(work: Any, p: Any) -> None:
    for i in range(work.shape[1]):
        holds = work[STAGE_DRY, i] * p.cp_solid + work[TRY_WATER, i] * p.cp_water
        work[TRY_TEMP, i] = work[TRY_HEAT, i] / holds


@njit(cache=True)
def _book(work: Any, p: Any, outside: Any, weight: float, books: Any) -> None:
    n = work.shape[1]
    for i in range(n):
        carried = p.latent_zero + p.cp_vapour * work[TEMP, i]
        vapour = _vapour_out(work, p, outside, i)
        warm = work[OUT_HEAT, i] + work[AIR_OUT, i] * outside[OUT_AIR_HEAT]
        books[WATER_VAPOUR] += weight * vapour
        books[HEAT_WITH_VAPOUR] += weight * carried * vapour
        books[HEAT_TO_AIR] += weight * warm * (work[TRY_TEMP, i] - outside[OUT_TEMP])
        books[HEAT_TO_GROUND] += weight * work[OUT_GROUND, i] * (work[TRY_TEMP, i] - outside[OUT_SOIL])
