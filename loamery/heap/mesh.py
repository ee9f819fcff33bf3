"""Cells of a layer, bin or pile: how a heap is cut, and its faces and distances as it shrinks (eq. 1-3)."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

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
    for i in range(state.shape[1]):
        organic = state[FAST, i] + state[SLOW, i] + state[RECAL, i]
        start = state[START, i]
        ash = h.ash_share * start
        dry = organic + ash
        water = max(state[WATER, i], 0.0)
        solid = organic / p.rho_organic + ash / p.rho_ash
        full = solid + water / p.rho_water
        soft = p.soft_volume * (state[FAST, i] + state[SLOW, i])
        loose = h.loose_m3_per_kg * (soft * (1.0 - settled) + state[RECAL, i] + ash)
        volume = max(loose, full / (1.0 - p.air_space_floor))
        work[DRY, i] = dry
        work[VOLUME, i] = volume
        work[AIR_SPACE, i] = 1.0 - full / volume
        work[PORE, i] = 1.0 - solid / volume


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
    height = total / h.area_m2 if h.geometry == LAYER else total / (math.pi * h.radius_m**2)
    below, inner = 0.0, 0.0
    area[0] = _face(0.0, height, total, h)[1]
    for i in range(n):
        below += work[VOLUME, i]
        outer, area[i + 1] = _face(below, height, total, h)
        work[HALF_WIDTH, i] = 0.5 * (outer - inner)
        ring[i] = math.pi * (outer * outer - inner * inner)
        inner = outer
    if h.geometry == LAYER:
        ring[:] = 0.0
        ring[0] = h.area_m2
    return height if h.geometry <= BIN else inner


@fast
def _face(below_m3: float, height: float, total_m3: float, h: Any) -> tuple[float, float]:
    if h.geometry == LAYER:
        return below_m3 / h.area_m2, h.area_m2
    if h.geometry == BIN:
        radius = h.radius_m * math.sqrt(below_m3 / total_m3)
        return radius, 2.0 * math.pi * radius * height
    # exp-log in place of a cube root keeps the compiled function free of a slow power
    radius = math.exp(math.log(3.0 * below_m3 / (2.0 * math.pi)) / 3.0) if below_m3 > 0.0 else 0.0
    return radius, 2.0 * math.pi * radius * radius
