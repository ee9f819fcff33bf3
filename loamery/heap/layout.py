"""Where each quantity stands in the arrays of the kernel: rows of the state, of the workspace, columns of weather."""

from __future__ import annotations

from typing import Any

import numpy as np

LAYER, BIN, PILE = 0, 1, 2

# rows of the state, one column per cell; totals of the cell (kg, J), except the activity; START is the dry matter it began with
FAST, SLOW, RECAL, N_ORG, N_AMM, ACTIVITY, WATER, HEAT, OXYGEN, START = range(10)
STATES = 10
DRY_ROWS = (FAST, SLOW, RECAL)

# rows of the workspace, one column per cell (or per face, counted from the middle outwards)
(
    TEMP, DRY, VOLUME, AIR_SPACE, DIFFUSIVITY, CONDUCTIVITY, FACE_GAS, FACE_HEAT, FACE_LIQUID, HALF_WIDTH, AIR_IN,
    OUT_OXYGEN, OUT_VAPOUR, OUT_AMMONIA, OUT_HEAT, OUT_GROUND, POTENTIAL_FAST, POTENTIAL_SLOW, POTENTIAL_RECAL, DEMAND,
    OXYGEN_SHARE, OXYGEN_FACTOR, TRY_TEMP, TRY_WATER, TRY_HEAT, BASE_WATER, BASE_HEAT, SOURCE_WATER, SOURCE_HEAT,
    VAPOUR_HEAT, UPTAKE_SLOPE, ACTIVITY_RATE, ELIM_A, ELIM_B, ELIM_C, ELIM_D, ELIM_R, ELIM_S, RHO, RHO_T, RHO_W, AMMONIA_GAS,
    STAGE_DRY, LIQUID_HEAT, CARBON_DECAY, PORE, AIR_OUT, AIR_THROUGH, SWELLING, WET, VAPOUR_DIFFUSIVITY, FACE_VAPOUR,
    HEAT_PASSES, HEAT_BACK, VAPOUR_PASSES, VAPOUR_BACK, LIQUID_PASSES, LIQUID_BACK, CARRIED_OUT, HEAT_LEAVES, HEAT_HELD,
    VAPOUR_LEAVES, VAPOUR_COMES, OXYGEN_HELD, OXYGEN_GIVEN, OXYGEN_FACE, MOVED_WATER, FILLED,
    PER_DRY, ABOVE, LOST, AIRLESS_HEAT, HEAT_MOVED,
) = range(73)  # fmt: skip
WORK_ROWS = 73

# columns of the weather, one row per day from the start
AIR_C, HUMIDITY, WIND, RAIN_SUM, SUN, SOIL_C = range(6)
WEATHER_COLUMNS = 6

# what is outside during a step
OUT_TEMP, OUT_RHO, OUT_WIND, OUT_SUN, OUT_SOIL, OUT_FILM, OUT_SURFACE, OUT_AIR_HEAT = range(8)
OUTSIDE = 8

# columns of the running accounts (kg, J), each counted from the start
(
    CARBON_AIR, CARBON_AIRLESS, N_AMMONIA, N_SEEPED, WATER_FORMED, WATER_RAIN, WATER_GIVEN, WATER_VAPOUR, WATER_SEEPED,
    OXYGEN_IN, OXYGEN_USED, HEAT_AEROBIC, HEAT_AIRLESS, HEAT_TO_AIR, HEAT_TO_GROUND, HEAT_WITH_VAPOUR, HEAT_WITH_WATER,
    HEAT_WITH_SEEPAGE, HEAT_WITH_MATTER, HEAT_SUN, MATTER_LOST, MATTER_FED, CARBON_FED, N_FED, WATER_FED, HEAT_WITH_FEED,
) = range(26)  # fmt: skip
ACCOUNTS = 26

TURN, GIVE_WATER, FEED = 0, 1, 2

# what an ensemble records of each cell: temperature, oxygen, moisture, volume, dry mass, ammoniacal nitrogen
RECORDED = 6

HEAP_FIELDS = (
    "geometry", "radius_m", "area_m2", "particle_m", "vent", "wall_r", "wall_open", "cover_r", "cover_open", "rain_share",
    "ground", "ph_start", "loose_m3_per_kg", "dry_start_kg", "carbon_fast", "carbon_slow", "carbon_recal", "oxygen_fast",
    "oxygen_slow", "oxygen_recal", "oxygen_outside", "ash_share", "moisture", "fast", "slow", "recal", "nitrogen",
    "ammonium_share", "activity", "holds_kg_kg",
)  # fmt: skip


def heap_type() -> np.dtype[Any]:
    """Return the record type that describes one heap to the kernel."""
    return np.dtype([(name, np.float64) for name in HEAP_FIELDS], align=True)
