"""Cells of a layer, bin or pile: how a heap is cut, and its faces and distances as it shrinks (eq. 1-3)."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loamery.heap.exponential import exponential, logarithm
from loamery.heap.fast import fast
from loamery.heap.layout import (
    AIR_SPACE,
    BIN,
    DRY,
    FAST,
    HALF_WIDTH,
    LAYER,
    PORE,
    RECAL,
    SLOW,
    START,
    VOLUME,
    WATER,
)

FINEST = (0.01, 0.01, 0.005)
"""Width of the outermost cell over that of the widest one, by shape: where stuff dries, and what the air takes, is at the surface."""
STEEPEST = 0.72
"""No cell is narrower than this share of the one inside it, so that few cells leave room for the middle."""
GROUND, GROUND_SHARE = 0.3, 0.2
"""Width of the cell on the ground of a layer over that of the widest one, and the share of the cells that grow from there."""


def cell_shares(geometry: int, cells: int) -> NDArray[np.float64]:
    """Return the share of the volume in each cell, from the middle (or the ground) outwards.

    Parameters
    ----------
    geometry : 0 layer, 1 bin, 2 pile.
    cells : number of cells.

    Returns
    -------
    Array of shape (cells,) that sums to 1; cells grow finer towards the surface, and in a layer towards the ground.

    Notes
    -----
    Chosen on the heaps of validation/check_heap_grid.py against a solution with 288 cells.
    """
    finest = max(FINEST[geometry], STEEPEST ** (cells - 1))
    lowest = max(2, round(GROUND_SHARE * cells)) if geometry == LAYER and cells > 4 else 0
    near_ground = np.geomspace(GROUND, 1.0, lowest + 1)[:-1]
    widths = np.concatenate([near_ground, np.geomspace(1.0, finest, cells - lowest)])
    faces = np.concatenate([[0.0], np.cumsum(widths) / widths.sum()])
    return np.asarray(np.diff(faces ** (geometry + 1)))


@fast
def fill_volumes(state: Any, work: Any, h: Any, p: Any, settled: float) -> None:
    """Set dry mass, volume and pores of every cell (eq. 2, 3).

    Parameters
    ----------
    settled : share of the loose volume lost by settling so far.
    """
    ash_share, loose_m3, soft_part = h.ash_share, h.loose_m3_per_kg, p.soft_volume * (1.0 - settled)
    per_organic, per_ash, per_water = 1.0 / p.rho_organic, 1.0 / p.rho_ash, 1.0 / p.rho_water
    least = 1.0 / (1.0 - p.air_space_floor)
    for i in range(state.shape[1]):
        soft = state[FAST, i] + state[SLOW, i]
        organic = soft + state[RECAL, i]
        ash = ash_share * state[START, i]
        solid = organic * per_organic + ash * per_ash
        full = solid + max(state[WATER, i], 0.0) * per_water
        loose = loose_m3 * (soft_part * soft + state[RECAL, i] + ash)
        volume = max(loose, full * least)
        per_volume = 1.0 / volume
        work[DRY, i] = organic + ash
        work[VOLUME, i] = volume
        work[AIR_SPACE, i] = 1.0 - full * per_volume
        work[PORE, i] = 1.0 - solid * per_volume


@fast
def fill_geometry(work: Any, h: Any, area: Any, ring: Any) -> float:
    """Set face areas, half widths and base areas from the volumes (eq. 1).

    Parameters
    ----------
    area : shape (cells + 1,), filled: faces from the middle outwards, m2.
    ring : shape (cells,), filled: what of each cell lies over the ground, m2.

    Returns
    -------
    Height over which warm air rises, m.
    """
    n = ring.shape[0]
    total = 0.0
    for i in range(n):
        total += work[VOLUME, i]
    if h.geometry == LAYER:
        return _layer(work, h.area_m2, area, ring, total)
    if h.geometry == BIN:
        return _bin(work, h.radius_m, area, ring, total)
    return _pile(work, area, ring)


@fast
def _layer(work: Any, area_m2: float, area: Any, ring: Any, total_m3: float) -> float:
    half = 0.5 / area_m2
    area[:] = area_m2
    for i in range(ring.shape[0]):
        work[HALF_WIDTH, i] = half * work[VOLUME, i]
        ring[i] = 0.0
    ring[0] = area_m2
    return total_m3 / area_m2


@fast
def _bin(work: Any, radius_m: float, area: Any, ring: Any, total_m3: float) -> float:
    height = total_m3 / (math.pi * radius_m * radius_m)
    below, inner, inside = 0.0, 0.0, 0.0
    area[0] = 0.0
    for i in range(ring.shape[0]):
        below += work[VOLUME, i]
        base = math.pi * radius_m * radius_m * (below / total_m3)
        outer = radius_m * math.sqrt(below / total_m3)
        area[i + 1] = 2.0 * math.pi * outer * height
        work[HALF_WIDTH, i] = 0.5 * (outer - inner)
        ring[i] = base - inside
        inner, inside = outer, base
    return height


@fast
def _pile(work: Any, area: Any, ring: Any) -> float:
    below = 0.0
    for i in range(ring.shape[0]):
        below += work[VOLUME, i]
        area[i + 1] = 1.5 / math.pi * below
    area[0] = 0.0
    # exp-log in place of a cube root keeps the compiled function free of a slow power
    for i in range(ring.shape[0]):
        ring[i] = exponential(logarithm(area[i + 1]) * (1.0 / 3.0))
    height = ring[-1]
    work[HALF_WIDTH, 0] = 0.5 * ring[0]
    for i in range(1, ring.shape[0]):
        work[HALF_WIDTH, i] = 0.5 * (ring[i] - ring[i - 1])
    for i in range(ring.shape[0]):
        area[i + 1] = 2.0 * math.pi * (ring[i] * ring[i])
    for i in range(ring.shape[0]):
        ring[i] = 0.5 * (area[i + 1] - area[i])
    return height
