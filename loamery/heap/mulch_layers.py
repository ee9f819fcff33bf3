"""Layers of mulch run by the heap model: freshly laid, soaked by rain, at several depths, for each draw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from loamery.heap.climate import Normals
from loamery.heap.layout import RAIN_SUM
from loamery.heap.matter import fullest_kg_m3
from loamery.heap.model import ensemble
from loamery.heap.mulch_rain import conductivity, standing_water_m
from loamery.heap.parameters import drawn_parameters
from loamery.heap.result import EnsembleRun
from loamery.heap.spec import HeapSpec, Stuff
from loamery.heap.weather import Weather
from loamery.reference import coefficient

Array = NDArray[np.float64]
DEPTHS_M = (0.01, 0.02, 0.03, 0.05, 0.075, 0.10, 0.15, 0.20, 0.30)
REASONS = ("airless", "heats", "seals")
CELLS, DAYS = 8, 21
ANY_DAY = date(2027, 7, 1)
"""Normals that are the same all year round look alike from any day."""


@dataclass(frozen=True)
class Site:
    """Where a mulch lies: mean air, the shower to let in (m/s), rain of a month (mm)."""

    air_c: float
    shower_m_s: float
    month_mm: float

    def weather(self, draws: int, seed: int) -> list[Weather]:
        """Return seeded showers under air of one temperature, so that warming is the mulch's own."""
        place = Normals.constant(self.air_c, self.month_mm)
        fallen = [np.diff(one.table[:, RAIN_SUM]) for one in place.draws(ANY_DAY, DAYS, draws, seed)]
        return [Weather.daily(np.full(DAYS, self.air_c), one) for one in fallen]


class Layers:
    """Layers of one mix, soaked by rain, for every draw.

    Parameters
    ----------
    stuff : draws of the mix.
    fines : share of its dry matter finer than 2 mm.
    """

    def __init__(self, stuff: Sequence[Stuff], fines: float, site: Site, seed: int) -> None:
        self.site, self.numbers = site, drawn_parameters(len(stuff), seed)
        self.wet = [_soaked(one, fines, _holds(one, each)) for one, each in zip(stuff, self.numbers, strict=True)]
        self.weather = site.weather(len(stuff), seed)
        self.water = conductivity(fines, len(stuff), seed)

    def run(self, which: Sequence[tuple[int, int]]) -> Faults:
        """Return what goes wrong in layers, each a draw and a place in DEPTHS_M."""
        specs = [
            HeapSpec(
                self.wet[draw], "layer", depth_m=DEPTHS_M[place], start_temp_c=self.site.air_c, weather=self.weather[draw],
                changes=self.numbers[draw],
            )
            for draw, place in which
        ]  # fmt: skip
        run = ensemble(specs, DAYS, CELLS, every_days=0.25)
        low = coefficient("heap_low_oxygen").value
        rise = run.temp_c.max(axis=(1, 2)) - self.site.air_c
        return Faults(run.o2_frac.min(axis=(1, 2)), _longest_below(run, low), rise)

    def standing_m(self) -> Array:
        """Return the water that stands on a layer of each depth in the design shower, m, shape (draws, depths)."""
        air = np.array([1.0 - one.bulk_density_kg_m3 / fullest_kg_m3(one.moisture, one.ash_dm) for one in self.wet])
        minutes = coefficient("mulch_design_minutes").value
        return standing_water_m(DEPTHS_M, self.water[:, None], air[:, None], self.site.shower_m_s, minutes)


@dataclass(frozen=True, eq=False)
class Faults:
    """What went wrong in layers that were run, arrays of shape (layers,).

    Parameters
    ----------
    least_o2 : lowest oxygen anywhere, volume fraction.
    airless_days : longest time on end that some part was short of it.
    rise_k : most warming above the air.
    """

    least_o2: Array
    airless_days: Array
    rise_k: Array


def _holds(stuff: Stuff, numbers: Mapping[str, float]) -> float:
    return numbers["field_capacity"] if stuff.field_capacity is None else stuff.field_capacity


def _soaked(stuff: Stuff, fines: float, holds: float) -> Stuff:
    """Return a mulch after rain: its fines hold water up to field capacity, in their pores; coarse pieces shed it."""
    moisture = stuff.moisture + fines * max(holds - stuff.moisture, 0.0)
    density = stuff.bulk_density_kg_m3 * (1.0 - stuff.moisture) / (1.0 - moisture)
    most = fullest_kg_m3(moisture, stuff.ash_dm)
    return replace(stuff, moisture=moisture, bulk_density_kg_m3=min(density, most))


def _longest_below(run: EnsembleRun, share: float) -> Array:
    """Return the longest unbroken time any cell was short of oxygen, days, shape (members,)."""
    step = float(run.day[1] - run.day[0])
    short = np.any(np.less(run.o2_frac, share), axis=2)
    longest, current = np.zeros(len(run.specs)), np.zeros(len(run.specs))
    for k in range(1, run.day.size):
        current = np.where(short[:, k] & short[:, k - 1], current + step, 0.0)
        longest = np.maximum(longest, current)
    return longest


def crossing(values: Array, limit: float) -> Array:
    """Return the depth at which values, shape (draws, depths), first pass a limit; straight lines between depths."""
    depths, out = np.array((0.0, *DEPTHS_M)), np.full(values.shape[0], DEPTHS_M[-1])
    padded = np.concatenate([np.zeros((values.shape[0], 1)), values], axis=1)
    for i, row in enumerate(padded):
        over = np.flatnonzero(row > limit)
        if over.size:
            k = int(over[0])
            part = (limit - row[k - 1]) / (row[k] - row[k - 1])
            out[i] = depths[k - 1] + part * (depths[k] - depths[k - 1])
    return out
