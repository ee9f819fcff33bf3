"""Ammonia: its equilibrium with the gas in the pores, and the way out by diffusion and chimney flow (eq. 20, 21)."""

from __future__ import annotations

from typing import Any

from loamery.heap.elimination import factorise, substitute
from loamery.heap.fast import fast
from loamery.heap.layout import (
    ACTIVITY,
    AIR_OUT,
    AIR_THROUGH,
    AMMONIA_GAS,
    DRY,
    ELIM_A,
    ELIM_B,
    ELIM_C,
    ELIM_R,
    FACE_GAS,
    N_AMM,
    N_AMMONIA,
    OUT_AMMONIA,
    RHO,
    SWELLING,
    TEMP,
    WATER,
)
from loamery.heap.physics import ammonia_fraction, ammonia_gas_over_water, beside_flow

DRIEST = 0.05
"""Water per dry matter below which the dissolved share is no longer concentrated."""


@fast
def fill_ammonia(mid: Any, work: Any, h: Any, p: Any) -> None:
    """Set the ammonia in a cubic metre of pore gas per kilogram of ammoniacal nitrogen in the cell, 1/m3 (eq. 20, 21)."""
    ph_start, warming, held = h.ph_start, p.ph_hot - h.ph_start, p.ammonium_retardation / p.rho_water
    for i in range(mid.shape[1]):
        ph = ph_start + warming * mid[ACTIVITY, i]
        work[AMMONIA_GAS, i] = ammonia_fraction(work[TEMP, i], ph, p) * ammonia_gas_over_water(work[TEMP, i], p)
    for i in range(mid.shape[1]):
        work[AMMONIA_GAS, i] /= held * max(mid[WATER, i], DRIEST * work[DRY, i])


@fast
def move_ammonia(state: Any, new: Any, work: Any, p: Any, dt: float, gamma: float, books: Any) -> None:
    """Let ammonia move between cells and out over the step, in the same two stages as heat and water.

    Parameters
    ----------
    state, new : at the start of the step; with what decay and seepage brought over the step, then with the movement too.
    """
    n, per_gamma = new.shape[1], 1.0 / gamma
    first = second = 0.0
    _factors(work, p, gamma * dt)
    for i in range(n):
        work[ELIM_R, i] = state[N_AMM, i] + gamma * (new[N_AMM, i] - state[N_AMM, i])
    substitute(work)
    for i in range(n):
        first += _out(work, i) * work[AMMONIA_GAS, i] * work[ELIM_R, i]
    for i in range(n):
        # the base of the second stage holds what the first stage moved
        moved = (work[ELIM_R, i] - state[N_AMM, i]) * per_gamma - (new[N_AMM, i] - state[N_AMM, i])
        work[ELIM_R, i] = new[N_AMM, i] + (1.0 - gamma) * moved
    substitute(work)
    for i in range(n):
        new[N_AMM, i] = work[ELIM_R, i]
        second += _out(work, i) * work[AMMONIA_GAS, i] * work[ELIM_R, i]
    books[N_AMMONIA] += dt * ((1.0 - gamma) * first + gamma * second)


@fast
def _factors(work: Any, p: Any, tau: float) -> None:
    # implicit and linear, the same matrix in both stages
    n, ratio = work.shape[1], p.gas_diffusion_ammonia
    for i in range(n):
        work[RHO, i] = work[AIR_THROUGH, i] * work[SWELLING, i]
    for i in range(n - 1):
        work[ELIM_R, i] = beside_flow(ratio * work[FACE_GAS, i], work[RHO, i])
    work[ELIM_R, n - 1] = 0.0
    for i in range(n):
        going = work[ELIM_R, i] + work[RHO, i] + _out(work, i)
        work[ELIM_B, i] = 1.0 + tau * work[AMMONIA_GAS, i] * going
    for i in range(1, n):
        inner = tau * work[ELIM_R, i - 1]
        work[ELIM_A, i - 1] = inner * work[AMMONIA_GAS, i]
        work[ELIM_C, i] = (inner + tau * work[RHO, i - 1]) * work[AMMONIA_GAS, i - 1]
        work[ELIM_B, i] += inner * work[AMMONIA_GAS, i]
    work[ELIM_A, n - 1] = work[ELIM_C, 0] = 0.0
    factorise(work)


@fast
def _out(work: Any, i: int) -> float:
    return work[OUT_AMMONIA, i] + work[AIR_OUT, i] * work[SWELLING, i]
