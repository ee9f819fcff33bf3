"""Conductances of a heap: gas, heat and liquid between cells, and to the air and the ground (eq. 4, 5, 14, 17, 18)."""

from __future__ import annotations

from typing import Any

from loamery.heap.exponential import exponential, logarithm
from loamery.heap.fast import fast
from loamery.heap.layout import (
    AIR_IN,
    AIR_OUT,
    AIR_SPACE,
    AIR_THROUGH,
    BIN,
    CONDUCTIVITY,
    DIFFUSIVITY,
    DRY,
    FACE_GAS,
    FACE_HEAT,
    FACE_LIQUID,
    FACE_VAPOUR,
    FILLED,
    HALF_WIDTH,
    LAYER,
    OUT_AIR_HEAT,
    OUT_AMMONIA,
    OUT_FILM,
    OUT_GROUND,
    OUT_HEAT,
    OUT_OXYGEN,
    OUT_SURFACE,
    OUT_TEMP,
    OUT_VAPOUR,
    OUT_WIND,
    PORE,
    SWELLING,
    TEMP,
    VAPOUR_DIFFUSIVITY,
    VOLUME,
    WATER,
    WET,
)
from loamery.heap.physics import (
    KELVIN,
    air_density,
    conductivity,
    draught_excess,
    oxygen_diffusivity_air,
    permeability_m2,
    saturation_pressure_pa,
    vapour_share,
    water_activity,
)


@fast
def fill_conductances(state: Any, work: Any, h: Any, p: Any, outside: Any, area: Any, ring: Any, height: float) -> None:
    """Set every conductance of the step from the state at its middle."""
    _properties(state, work, p)
    _faces(work, p, area)
    _chimney(work, h, p, outside, height)
    _to_the_air(work, h, p, outside, area, ring, height)


@fast
def _properties(state: Any, work: Any, p: Any) -> None:
    n = state.shape[1]
    fill_pore_shares(work, p.diffusion_model)
    for i in range(n):
        work[WET, i] = water_activity(state[WATER, i] / work[DRY, i], p)
    for i in range(n):
        free = oxygen_diffusivity_air(work[TEMP, i], p)
        work[DIFFUSIVITY, i] *= free
        work[VAPOUR_DIFFUSIVITY, i] = p.gas_diffusion_vapour * vapour_share(work[AIR_SPACE, i], work[PORE, i], p) * free
    for i in range(n):
        per_volume = 1.0 / work[VOLUME, i]
        work[CONDUCTIVITY, i] = conductivity(state[WATER, i] * per_volume, work[DRY, i] * per_volume, p)


@fast
def fill_pore_shares(work: Any, model: float) -> None:
    """Set the diffusivity in the pores over that in free air (eq. 4), in the row of the diffusivity.

    Parameters
    ----------
    model : 0 eps^2/phi^(2/3) (Millington and Quirk 1960), 1 eps^2, 2 eps^(10/3)/phi^2 (Millington and Quirk 1961), of
        eps, the share of gas, and phi, that of gas and water.
    """
    n = work.shape[1]
    # one loop for each, without a question inside, so that the compiler takes several cells at once
    if model < 0.5:
        for i in range(n):
            work[DIFFUSIVITY, i] = exponential(-2.0 / 3.0 * logarithm(work[PORE, i]))
    elif model < 1.5:
        for i in range(n):
            work[DIFFUSIVITY, i] = 1.0
    else:
        for i in range(n):
            root = exponential(2.0 / 3.0 * logarithm(work[AIR_SPACE, i]))
            work[DIFFUSIVITY, i] = root * root / (work[PORE, i] * work[PORE, i])
    for i in range(n):
        work[DIFFUSIVITY, i] *= work[AIR_SPACE, i] * work[AIR_SPACE, i]


@fast
def _faces(work: Any, p: Any, area: Any) -> None:
    # half cells in series on both sides of a face
    last, full = area.shape[0] - 2, 0.125 * p.liquid_diffusion
    for i in range(last):
        work[FACE_GAS, i] = _in_series(work, DIFFUSIVITY, area[i + 1], i)
    for i in range(last):
        work[FACE_VAPOUR, i] = _in_series(work, VAPOUR_DIFFUSIVITY, area[i + 1], i)
    for i in range(last):
        work[FACE_HEAT, i] = _in_series(work, CONDUCTIVITY, area[i + 1], i)
    for i in range(last + 1):
        work[FILLED, i] = 1.0 - work[AIR_SPACE, i] / work[PORE, i]
    for i in range(last):
        filled, apart = work[FILLED, i] + work[FILLED, i + 1], work[HALF_WIDTH, i] + work[HALF_WIDTH, i + 1]
        work[FACE_LIQUID, i] = full * area[i + 1] * filled * filled * filled / apart


@fast
def _in_series(work: Any, row: int, area: float, i: int) -> float:
    # area over the sum of half width by conductance of both, at the price of one division
    here, there = work[row, i], work[row, i + 1]
    return area * here * there / (work[HALF_WIDTH, i] * there + work[HALF_WIDTH, i + 1] * here)


@fast
def _chimney(work: Any, h: Any, p: Any, outside: Any, height: float) -> None:
    # warm air rises through the whole height, so its drive is the mean excess; the way is the cell's own pores (eq. 5).
    # Fresh air reaches every cell; what it took up passes outwards through the cooler cells, where vapour can condense
    n = work.shape[1]
    heat, total = 0.0, 0.0
    for i in range(n):
        heat += work[TEMP, i] * work[VOLUME, i]
        total += work[VOLUME, i]
    air = outside[OUT_TEMP]
    excess = draught_excess(heat / total - air, p)
    drive = air_density(air, p) * p.gravity * excess / ((air + KELVIN) * p.air_viscosity)
    crust = 1.0 if h.geometry == LAYER else p.crust_share
    share = p.buoyancy * h.vent * (p.chimney_bin if h.geometry == BIN else p.chimney) / height
    per_most = 1.0 / p.chimney_max
    for i in range(n):
        speed = permeability_m2(h.particle_m, work[AIR_SPACE, i], p) * drive
        work[AIR_IN, i] = share * work[VOLUME, i] * speed / (1.0 + speed * per_most)
        work[AIR_OUT, i] = (1.0 - crust) * work[AIR_IN, i]
    through = 0.0
    for i in range(n):
        through += crust * work[AIR_IN, i]
        work[AIR_THROUGH, i] = through
    work[AIR_OUT, n - 1] += through
    work[AIR_THROUGH, n - 1] = 0.0
    for i in range(n):
        work[SWELLING, i] = saturation_pressure_pa(work[TEMP, i], p)
    pressure, per_outside = p.air_pressure, p.air_pressure / (air + KELVIN)
    for i in range(n):
        vapour = min(work[WET, i] * work[SWELLING, i], 0.7 * pressure)
        work[SWELLING, i] = (work[TEMP, i] + KELVIN) * per_outside / (pressure - vapour)


@fast
def _to_the_air(work: Any, h: Any, p: Any, outside: Any, area: Any, ring: Any, height: float) -> None:
    n = work.shape[1]
    film, surface = outside[OUT_FILM], outside[OUT_SURFACE]
    ground, per_exchange, third = h.ground, 1.0 / p.ground_exchange, height / 3.0
    for i in range(n):
        work[OUT_OXYGEN, i] = work[OUT_VAPOUR, i] = work[OUT_AMMONIA, i] = work[OUT_HEAT, i] = 0.0
    for i in range(n):
        # a cell of a bin or pile reaches the ground along itself: a third of the height, as for an even source
        work[OUT_GROUND, i] = ground * ring[i] * work[CONDUCTIVITY, i] / (per_exchange * work[CONDUCTIVITY, i] + third)
    if h.geometry == LAYER:
        below = per_exchange + work[HALF_WIDTH, 0] / work[CONDUCTIVITY, 0]
        work[OUT_GROUND, 0] = ground * ring[0] / below
    if h.geometry == BIN:
        for i in range(n):
            _open(work, i, p, ring[i], third, 1.0, film, surface, h.cover_r, h.cover_open)
    # water rises to a wet surface by itself: only the dried share of the outermost cell is a way for vapour
    outer, dried = work[HALF_WIDTH, n - 1], 1.0 - work[WET, n - 1]
    if h.geometry == BIN:
        _open(work, n - 1, p, area[n], outer, dried, film, surface, h.wall_r, h.wall_open)
    else:
        _open(work, n - 1, p, area[n], outer, dried, film, surface, h.cover_r, h.cover_open)


@fast
def _open(
    work: Any,
    i: int,
    p: Any,
    area: float,
    path: float,
    dried: float,
    film: float,
    surface: float,
    cover_r: float,
    opening: float,
) -> None:
    # the path inside the material, the holes of a wall and the film of air outside in series (eq. 17)
    work[OUT_HEAT, i] += area / (1.0 / surface + cover_r + path / work[CONDUCTIVITY, i])
    if opening <= 0.0:
        return
    pores, holes = path / work[DIFFUSIVITY, i], 1.0 / (opening * film)
    work[OUT_OXYGEN, i] += area / (holes + pores)
    work[OUT_VAPOUR, i] += area / (holes + dried * path / work[VAPOUR_DIFFUSIVITY, i])
    work[OUT_AMMONIA, i] += area / (holes + pores / p.gas_diffusion_ammonia)


@fast
def fill_surface(outside: Any, p: Any) -> None:
    """Set the heat and gas films of the surface from air temperature and wind (eq. 17)."""
    kelvin = outside[OUT_TEMP] + KELVIN
    convection = p.convection_calm + p.convection_wind * outside[OUT_WIND]
    outside[OUT_SURFACE] = convection + 4.0 * p.emissivity * p.stefan_boltzmann * kelvin**3
    outside[OUT_AIR_HEAT] = air_density(outside[OUT_TEMP], p) * p.air_cp
    outside[OUT_FILM] = convection / outside[OUT_AIR_HEAT]
