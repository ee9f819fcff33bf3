"""Rain, sun and water that drains, with the ammoniacal nitrogen dissolved in it (eq. 17, 22)."""

from __future__ import annotations

from typing import Any

from loamery.heap.fast import fast
from loamery.heap.layout import (
    BIN,
    CONDUCTIVITY,
    DRY,
    HALF_WIDTH,
    HEAT_SUN,
    HEAT_WITH_SEEPAGE,
    HEAT_WITH_WATER,
    LAYER,
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

    Water only sinks, so each cell is solved implicitly in turn, the outermost first, with what reaches it.
    """
    arriving, ammonium = 0.0, 0.0
    warm = 0.0
    for i in range(mid.shape[1] - 1, -1, -1):
        holds = min(h.holds_kg_kg * work[DRY, i], p.drained_pores * p.rho_water * work[PORE, i] * work[VOLUME, i])
        pace = p.drain_velocity / DAY_S / (height if h.geometry == BIN else 2.0 * work[HALF_WIDTH, i])
        above = (state[WATER, i] - holds) / dt + arriving + work[SOURCE_WATER, i]
        leaving = max(above, 0.0) * pace * dt / (1.0 + pace * dt)
        heat = leaving * p.cp_water * work[TEMP, i]
        dissolved = p.ammonium_leach_share * mid[N_AMM, i] / (p.ammonium_retardation * max(mid[WATER, i], 1e-12))
        nitrogen = leaving * dissolved
        work[SOURCE_WATER, i] += arriving - leaving
        work[SOURCE_HEAT, i] += warm - heat
        new[N_AMM, i] += dt * (ammonium - nitrogen)
        down = _share_below(h, area, i)
        arriving, warm, ammonium = down * leaving, down * heat, down * nitrogen
        books[WATER_SEEPED] += dt * (1.0 - down) * leaving
        books[HEAT_WITH_SEEPAGE] += dt * (1.0 - down) * heat
        books[N_SEEPED] += dt * (1.0 - down) * nitrogen


@fast
def _share_below(h: Any, area: Any, i: int) -> float:
    # a layer drains down through itself, a bin along its rings, a pile by the plan area of the shell inside
    if i == 0 or h.geometry == BIN:
        return 0.0
    if h.geometry == LAYER:
        return 1.0
    return area[i] / area[i + 1]
