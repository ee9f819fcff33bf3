"""Heaps of every recipe tried by the heap model: when they would be ready, and what they would lose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loamery.heap.published import finished_share
from loamery.reference import coefficient
from loamery.season.plan import Batch
from loamery.season.problem import Problem
from loamery.season.replay_heaps import HeapFate, heap_fates
from loamery.season.years import DAYS, Years

Array = NDArray[np.float64]
TRIED_AT = (0.1, 0.6)
"""Shares of the season at which a heap of each recipe is tried; weeks between them lie on straight lines."""
NEVER_WEEKS = 60.0


@dataclass(frozen=True, eq=False)
class Tried:
    """What the heap model says of one recipe.

    Parameters
    ----------
    lead_weeks : from building in each week until it is ready in nine of ten seasons, (weeks,).
    lost : share lost of ``dm``, ``C``, ``N`` (medians by the model), ``P``, ``K`` (published).
    """

    lead_weeks: Array
    lost: Mapping[str, float]


def probe_heaps(problem: Problem, years: Years) -> dict[str, Tried]:
    """Return what the heap model says of every recipe, by recipe id, in a heap of the size of the first place."""
    if not problem.recipes or not problem.places:
        return {}
    weeks = sorted({round(share * (problem.calendar.weeks - 1)) for share in TRIED_AT})
    batches = [_batch(problem, row, week) for row in range(len(problem.recipes)) for week in weeks]
    fates = heap_fates(problem.garden, batches, years)
    return {
        one.id: _tried(problem, weeks, fates[row * len(weeks) : (row + 1) * len(weeks)])
        for row, one in enumerate(problem.recipes)
    }


def _batch(problem: Problem, row: int, week: int) -> Batch:
    recipe, place = problem.recipes[row], problem.places[0]
    kg = place.capacity_m3 * recipe.density_kg_m3 / (1.0 + recipe.water_kg_kg)
    day = problem.calendar.monday(week)
    return Batch(
        id=f"try-{recipe.id}-{week}", heap=place.heaps[0].id, heap_name=place.heaps[0].name, recipe=recipe, week=week, day=day,
        parts_kg={key: share * kg for key, share in recipe.shares}, water_l=recipe.water_kg_kg * kg, volume_m3=place.capacity_m3,
        ready_week=week, ready_day=day, compost_kg=0.0,
    )  # fmt: skip


def _tried(problem: Problem, weeks: list[int], fates: list[HeapFate]) -> Tried:
    sure = coefficient("limits_kept_share").value
    lead = [min(float(np.quantile(one.ready_days, sure, method="higher")) / DAYS, NEVER_WEEKS) for one in fates]
    left = {"dm": "dry_left", "C": "c_left", "N": "n_left"}
    lost = {key: float(np.mean([1.0 - np.median(getattr(one, name)) for one in fates])) for key, name in left.items()}
    lost |= {key: finished_share(key).value for key in "PK"}
    return Tried(np.interp(np.arange(problem.calendar.weeks), weeks, lead), lost)
