"""Heaps that the checks share: stuff with plain figures, none of it measured by us (handbook-like, recalled)."""

from __future__ import annotations

from typing import Any

from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather

BALANCED = Stuff(0.60, 450, 0.46, 0.016, 0.10, 0.28, 0.47, 0.25, particle_m=0.006)
GROUNDS = Stuff(0.60, 600, 0.52, 0.023, 0.02, 0.20, 0.45, 0.35, particle_m=0.0004, ph=6.0)
# half and half by volume with coarse chips: 300 kg/m3 of grounds at 60 % and 140 of chips at 35 %
GROUNDS_CHIPS = Stuff(0.52, 440, 0.51, 0.012, 0.02, 0.12, 0.53, 0.35, particle_m=0.004, ph=6.0)
# equal weights of grounds at 60 % and dry leaves at 20 %, watered to 58 %
GROUNDS_LEAVES = Stuff(0.58, 400, 0.49, 0.013, 0.06, 0.175, 0.455, 0.37, particle_m=0.004, ph=6.2)


RAIN_MM = 2.0


def constant(temp_c: float, days: int = 140) -> Weather:
    """Return weather of one temperature with two millimetres of rain a day (730 a year)."""
    return Weather.constant(temp_c, days, rain_mm_per_day=RAIN_MM)


def layer(stuff: Stuff, depth_m: float, temp_c: float = 20.0, **more: Any) -> HeapSpec:
    """Return a layer on the soil, open to rain and air."""
    return HeapSpec(stuff, "layer", depth_m=depth_m, weather=constant(temp_c), **more)


def pile(stuff: Stuff, volume_m3: float, temp_c: float = 15.0, **more: Any) -> HeapSpec:
    """Return a pile on the soil."""
    return HeapSpec(stuff, "pile", volume_m3=volume_m3, weather=constant(temp_c), **more)
