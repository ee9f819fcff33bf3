"""Oxygen in the pores: diffusion, chimney flow and uptake, solved together and implicitly (eq. 9, 12)."""

from __future__ import annotations

from typing import Any

from loamery.heap.elimination import factorise, substitute
from loamery.heap.fast import fast
from loamery.heap.layout import (
    AIR_IN,
    AIR_OUT,
    AIR_SPACE,
    AIR_THROUGH,
    DEMAND,
    ELIM_A,
    ELIM_B,
    ELIM_C,
    ELIM_R,
    FACE_GAS,
    OUT_OXYGEN,
    OXYGEN,
    OXYGEN_FACE,
    OXYGEN_FACTOR,
    OXYGEN_GIVEN,
    OXYGEN_HELD,
    OXYGEN_IN,
    OXYGEN_SHARE,
    TEMP,
    UPTAKE_SLOPE,
    VOLUME,
)
from loamery.heap.physics import beside_flow, oxygen_density

TRIES = 30
CLOSE = 1e-6
"""The last of Newton's steps, as a share of the pore gas: what is left is then about its square."""


@fast
def solve_oxygen(state: Any, new: Any, work: Any, h: Any, p: Any, outside_c: float, dt: float, books: Any) -> bool:
    """Find the oxygen of every cell at the end of the step and the share of the demand that it meets.

    The uptake curve bends downwards, so Newton's steps rise to the solution from below and never pass it. What is used
    is the straightened uptake of the last step: the balance then closes to rounding whatever the number of steps.

    Returns
    -------
    True when the steps have settled.
    """
    store, fresh = oxygen_density(p.oxygen_store_temp, p), oxygen_density(outside_c, p)
    n = state.shape[1]
    _prepare(state, work, h, p, dt, store, fresh)
    change = 1.0
    for _ in range(TRIES):
        change = _newton(work, p, fresh)
        if change < CLOSE:
            break
    came = 0.0
    for i in range(n):
        share = work[OXYGEN_SHARE, i]
        new[OXYGEN, i] = share * store * work[AIR_SPACE, i] * work[VOLUME, i]
        came += work[OUT_OXYGEN, i] * oxygen_density(work[TEMP, i], p) * (h.oxygen_outside - share)
        came += fresh * (work[AIR_IN, i] * h.oxygen_outside - work[AIR_OUT, i] * share)
        if p.oxygen_limit < 0.5:
            came += work[DEMAND, i]
    books[OXYGEN_IN] += dt * came
    return change < CLOSE


@fast
def _prepare(state: Any, work: Any, h: Any, p: Any, dt: float, store: float, fresh: float) -> None:
    # what does not change while the uptake is sought: what a unit of oxygen loses from its cell, and what comes from outside
    n, per_step, air = state.shape[1], 1.0 / dt, h.oxygen_outside
    for i in range(n):
        outside = work[OUT_OXYGEN, i] * oxygen_density(work[TEMP, i], p)
        held = store * per_step * work[AIR_SPACE, i] * work[VOLUME, i]
        leaving = fresh * (work[AIR_OUT, i] + work[AIR_THROUGH, i])
        work[OXYGEN_GIVEN, i] = state[OXYGEN, i] * per_step + (outside + fresh * work[AIR_IN, i]) * air
        work[OXYGEN_HELD, i] = held + outside + leaving
    for i in range(n - 1):
        # one density for both sides: what leaves one cell must reach the other
        between = oxygen_density(0.5 * (work[TEMP, i] + work[TEMP, i + 1]), p)
        work[OXYGEN_FACE, i] = beside_flow(work[FACE_GAS, i] * between, fresh * work[AIR_THROUGH, i])
    work[OXYGEN_FACE, n - 1] = 0.0
    inner = 0.0
    for i in range(n):
        work[OXYGEN_HELD, i] += inner + work[OXYGEN_FACE, i]
        inner = work[OXYGEN_FACE, i]


@fast
def _newton(work: Any, p: Any, fresh: float) -> float:
    n, limit = work.shape[1], p.oxygen_limit
    for i in range(n):
        y = max(work[OXYGEN_SHARE, i], 0.0)
        met, slope = _uptake(y, p)
        work[OXYGEN_FACTOR, i], work[UPTAKE_SLOPE, i] = met - slope * y, slope
        work[ELIM_B, i] = work[OXYGEN_HELD, i] + work[DEMAND, i] * slope
        work[ELIM_R, i] = work[OXYGEN_GIVEN, i] - limit * work[DEMAND, i] * (met - slope * y)
    # what comes from the cell before goes through its face and with the air
    for i in range(n):
        work[ELIM_A, i] = work[OXYGEN_FACE, i]
    for i in range(n - 1):
        work[ELIM_C, i + 1] = work[OXYGEN_FACE, i] + fresh * work[AIR_THROUGH, i]
    work[ELIM_C, 0] = 0.0
    factorise(work)
    substitute(work)
    change = 0.0
    for i in range(n):
        change = max(change, abs(work[ELIM_R, i] - work[OXYGEN_SHARE, i]))
    for i in range(n):
        work[OXYGEN_SHARE, i] = work[ELIM_R, i]
        work[OXYGEN_FACTOR, i] += work[UPTAKE_SLOPE, i] * work[ELIM_R, i]
    return change


@fast
def _uptake(share: float, p: Any) -> tuple[float, float]:
    if p.oxygen_limit < 0.5:
        return 1.0, 0.0
    part = 1.0 / (p.oxygen_half + share)
    return share * part, p.oxygen_half * part * part
