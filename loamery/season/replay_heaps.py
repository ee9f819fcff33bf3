"""What becomes of the batches of a plan in seasons that may come, by the heap model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from loamery.garden.model import Garden
from loamery.heap import layout as at
from loamery.heap.forecast import HeapPlan, ready_days
from loamery.heap.matter import Part, stuff_draws
from loamery.heap.model import ensemble
from loamery.heap.published import lead_time_weeks
from loamery.heap.result import EnsembleRun
from loamery.heap.spec import Geometry, HeapSpec
from loamery.reference import coefficient
from loamery.season.plan import Batch
from loamery.season.work import turning_weeks
from loamery.season.years import DAYS, Years

Array = NDArray[np.float64]
CELLS, EVERY_DAYS, LONGEST_DAYS = 8, 1.0, 210
"""Coarser than a forecast of one heap: hundreds are run, and only what they leave behind is asked for."""
SHAPES: dict[str, tuple[Geometry, str]] = {
    "bin": ("bin", "open"),
    "pile": ("pile", "open"),
    "tumbler": ("bin", "insulated"),
}
HOT_C = 55.0


@dataclass(frozen=True, eq=False)
class HeapFate:
    """What became of one batch, each array of shape (n,).

    Parameters
    ----------
    ready_days : from building until it is ready; infinite when it is not in the time simulated.
    dry_left, n_left, c_left : shares of dry matter, nitrogen and carbon when it is ready, or at the end.
    volume_m3 : as built. fits : share of what is planned that goes into the heap; the rest is left over. hot_days : with some part above 55 °C. peak_c : highest temperature.
    """

    ready_days: Array
    dry_left: Array
    n_left: Array
    c_left: Array
    volume_m3: Array
    fits: Array
    hot_days: Array
    peak_c: Array


def heap_fates(garden: Garden, batches: Sequence[Batch], years: Years) -> list[HeapFate]:
    """Return what becomes of each batch, in the same order.

    Parameters
    ----------
    batches : of a plan; what two plans have in common is run once for the same years.

    Raises
    ------
    HeapFailed : the equations of a member could not be solved.
    """
    keys = [_key(one) for one in batches]
    new = {key: one for key, one in zip(keys, batches, strict=True) if key not in years.fates}
    if new:
        specs = [spec for one in new.values() for spec in _specs(garden, one, years)]
        run = ensemble(specs, LONGEST_DAYS, CELLS, every_days=EVERY_DAYS)
        for position, key in enumerate(new):
            members = slice(position * years.n, (position + 1) * years.n)
            years.fates[key] = _fate(run, members, _fits(garden, new[key], years)[0])
    return [cast(HeapFate, years.fates[key]) for key in keys]


def _key(batch: Batch) -> tuple[object, ...]:
    parts = tuple((name, round(kg, 1)) for name, kg in sorted(batch.parts_kg.items()))
    return (*parts, round(batch.water_l), batch.week, batch.heap)


def _specs(garden: Garden, batch: Batch, years: Years) -> list[HeapSpec]:
    parts = [Part(years.compositions[name], kg) for name, kg in batch.parts_kg.items()]
    stuff = stuff_draws(parts, years.n, years.seed, water_kg=batch.water_l)
    volumes = _fits(garden, batch, years)[1]
    heap = next(one for one in garden.heaps if one.id == batch.heap)
    shape, shelter = SHAPES[heap.kind]
    turns = tuple(float(DAYS * (week - batch.week)) for week in turning_weeks(batch.week))
    weather = years.weather_from(DAYS * batch.week)
    out = []
    for one, volume, sky, numbers in zip(stuff, volumes, weather, years.heap_numbers, strict=True):
        plan = HeapPlan(tuple(parts), batch.day, shape, float(volume), shelter, turn_days=turns)
        out.append(plan.spec(one, sky, numbers))
    return out


def _fits(garden: Garden, batch: Batch, years: Years) -> tuple[Array, Array]:
    """Return the share of a batch that goes into its heap, and the volume that is built, m3; one who builds sees it full."""
    parts = [Part(years.compositions[name], kg) for name, kg in batch.parts_kg.items()]
    stuff = stuff_draws(parts, years.n, years.seed, water_kg=batch.water_l)
    wet_kg = sum(batch.parts_kg.values()) + batch.water_l
    volume = wet_kg / np.array([one.bulk_density_kg_m3 for one in stuff])
    room = next(one.capacity_m3 for one in garden.heaps if one.id == batch.heap)
    return np.minimum(room / volume, 1.0), np.minimum(volume, room)


def _fate(run: EnsembleRun, members: slice, fits: Array) -> HeapFate:
    part = EnsembleRun(run.specs[members], run.day, run.record[members], run.accounts[members])
    ready = ready_days(part)
    rows = np.arange(len(part.specs))
    when = np.minimum(np.searchsorted(part.day, np.where(np.isfinite(ready), ready, np.inf)), part.day.size - 1)
    dry = part.dry_kg.sum(axis=2)
    nitrogen = dry[:, 0] * np.array([one.stuff.n_dm for one in part.specs])
    carbon = dry[:, 0] * np.array([one.stuff.c_dm for one in part.specs])
    books = part.accounts[rows, when]
    warmest = part.temp_c.max(axis=2)
    return HeapFate(
        ready_days=ready,
        dry_left=dry[rows, when] / dry[:, 0],
        n_left=1.0 - (books[:, at.N_AMMONIA] + books[:, at.N_SEEPED]) / nitrogen,
        c_left=np.clip(1.0 - (books[:, at.CARBON_AIR] + books[:, at.CARBON_AIRLESS]) / carbon, 0.0, 1.0),
        volume_m3=part.volume_m3[:, 0].sum(axis=1),
        fits=fits,
        hot_days=part.core_days_above(HOT_C),
        peak_c=warmest.max(axis=1),
    )


def published_fates(garden: Garden, batches: Sequence[Batch], years: Years) -> list[HeapFate]:
    """Return what published ranges say of each batch, without running it; the same draw for every batch of a season."""
    left = {key: 1.0 - np.clip(years.drawn(coefficient(f"heap_{key}_loss")), 0.0, 1.0) for key in ("dm", "n", "c")}
    weeks = years.drawn(coefficient("heap_lead_time_weeks"))
    out = []
    for one in batches:
        winter = lead_time_weeks(float(years.temp_c[:, min(one.week, years.temp_c.shape[1] - 1)].mean()))
        wait = winter - coefficient("heap_lead_time_weeks").value
        fits, volume = _fits(garden, one, years)
        unknown = np.full(years.n, np.nan)
        out.append(HeapFate(DAYS * (weeks + wait), left["dm"], left["n"], left["c"], volume, fits, unknown, unknown))
    return out
