"""Rain, sun and water that drains, with the ammoniacal nitrogen dissolved in it (eq. 17, 22)."""

from __future__ import annotations

import math
from typing import Any

from loamery.heap.fast import fast
from loamery.heap.layout import (
    ABOVE,
    BIN,
    CONDUCTIVITY,
    DRY,
    HALF_WIDTH,
    HEAT_SUN,
    HEAT_WITH_SEEPAGE,
    HEAT_WITH_WATER,
    LAYER,
    MOVED_WATER,
    N_AMM,
    N_SEEPED,
    OUT_SUN,
    OUT_SURFACE,
    OUT_TEMP,
    PORE,
    SOURCE_HEAT,
    SOURCE_WATER,
    TEMP,
    VOLUME,
    WATER,
    WATER_RAIN,
    WATER_SEEPED,
)
from loamery.heap.physics import DAY_S


@fast
def add_rain_and_sun(
    work: Any, h: Any, p: Any, outside: Any, area: Any, ring: Any, height: float, rain: float, dt: float, books: Any
) -> None:
    """Add the rain (kg/m2/s) and the sun that reach the top to the sources of water and heat."""
    n = ring.shape[0]
    carried = p.cp_water * max(outside[OUT_TEMP], 0.0)
    taken = p.absorptivity * outside[OUT_SUN]
    for i in range(n):
        if h.geometry == BIN:
            open_m2, path = ring[i], height / 3.0
        elif i == n - 1:
            open_m2, path = _ground_plan(h, ring), work[HALF_WIDTH, i]
        else:
            continue
        # what the surface sends straight back to the air does not heat the cell
        inside = 1.0 / (1.0 + outside[OUT_SURFACE] * (h.cover_r + path / work[CONDUCTIVITY, i]))
        sun = taken * open_m2 * inside
        water = rain * h.rain_share * open_m2
        work[SOURCE_WATER, i] += water
        work[SOURCE_HEAT, i] += sun + water * carried
        books[WATER_RAIN] += dt * water
        books[HEAT_WITH_WATER] += dt * water * carried
        books[HEAT_SUN] += dt * sun


@fast
def _ground_plan(h: Any, ring: Any) -> float:
    total = 0.0
    for i in range(ring.shape[0]):
        total += ring[i]
    return total


@fast
def drain(
    state: Any, mid: Any, new: Any, work: Any, h: Any, p: Any, area: Any, height: float, dt: float, books: Any
) -> None:
    """Let water above field capacity run to the cell below, and what has no cell below run out (eq. 22).

    Water only sinks, so the cells are taken in turn, the outermost first, each with what reaches it. The nitrogen dissolved
    is that at the end of the step: rain may pass many times the water of a thin cell through it in one step.
    """
    n, by_dry, by_pores = mid.shape[1], h.holds_kg_kg, p.drained_pores * p.rho_water
    for i in range(n):
        holds = min(by_dry * work[DRY, i], by_pores * work[PORE, i] * work[VOLUME, i])
        work[ABOVE, i] = state[WATER, i] - holds
    velocity, leached = p.drain_velocity / DAY_S, p.ammonium_leach_share / p.ammonium_retardation
    arriving, warm, ammonium = 0.0, 0.0, 0.0
    for i in range(n - 1, -1, -1):
        coming = arriving + work[SOURCE_WATER, i] + work[MOVED_WATER, i]
        if arriving == 0.0 and work[ABOVE, i] <= 0.0 and work[ABOVE, i] + coming * dt <= 0.0:
            continue
        pace = velocity / (height if h.geometry == BIN else 2.0 * work[HALF_WIDTH, i])
        leaving = _sinks(work[ABOVE, i], coming, pace, dt)
        heat = leaving * p.cp_water * work[TEMP, i]
        dissolved = leached / max(mid[WATER, i], 1e-12)
        new[N_AMM, i] = (new[N_AMM, i] + dt * ammonium) / (1.0 + dt * leaving * dissolved)
        nitrogen = leaving * dissolved * new[N_AMM, i]
        work[SOURCE_WATER, i] += arriving - leaving
        work[SOURCE_HEAT, i] += warm - heat
        down = _share_below(h, area, i)
        arriving, warm, ammonium = down * leaving, down * heat, down * nitrogen
        books[WATER_SEEPED] += dt * (1.0 - down) * leaving
        books[HEAT_WITH_SEEPAGE] += dt * (1.0 - down) * heat
        books[N_SEEPED] += dt * (1.0 - down) * nitrogen


@fast
def _sinks(above: float, coming: float, pace: float, dt: float) -> float:
    # mean over the step of pace times the water above what the cell holds, exact for a steady inflow (or loss)
    if above <= 0.0 and above + coming * dt <= 0.0:
        return 0.0
    time = dt if above >= 0.0 else dt + above / coming
    gone = 1.0 - math.exp(-pace * time)
    return max(max(above, 0.0) * gone + coming * (time - gone / pace), 0.0) / dt


@fast
def _share_below(h: Any, area: Any, i: int) -> float:
    # a layer drains down through itself, a bin along its rings, a pile by the plan area of the shell inside
    if i == 0 or h.geometry == BIN:
        return 0.0
    if h.geometry == LAYER:
        return 1.0
    return area[i] / area[i + 1]
